"""What was measured last on each mounted tire, judged against its limit anywhere on the tread."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from tests.tread.books import POSITIONS, make_book, read_depths
from tirelife.codes import Severity
from tirelife.logbook import GROOVES
from tirelife.tread import (
    STAYS_PUT,
    Verdict,
    judge,
    measured,
    measured_by_hand,
    unclaimed,
    verdict_columns,
    verdict_notes,
    verdicts,
    worst_of_vehicles,
)
from tirelife.tread.verdict import MEASURED_COLUMNS, NEAR_MM, VERDICT_COLUMNS
from tirelife.tread.visits import depth_biases

N32 = 25.4 / 32
LIMIT = 2 * N32
EVEN = {g: [6.0, 6.0, 6.0] for g in ("outer", "center", "inner")}


def at(table, position):
    return table.set_index("position").loc[position]


def one_spot(folder, depth, **tables):
    """All wheels at 6 mm at three spots of three grooves, but for one spot of the right rear's center."""
    parts = [read_depths(EVEN, p) for p in POSITIONS[:3]]
    parts.append(read_depths({**EVEN, "center": [6.0, depth, 6.0]}, "RR"))
    return make_book(folder, pd.concat(parts), **tables)


def test_the_least_reading_decides_where_every_mean_is_far_over(tmp_path):
    book = one_spot(tmp_path, N32)
    table = verdicts(book)
    assert list(measured(book).columns) == MEASURED_COLUMNS
    worn = at(table, "RR")
    assert worn["verdict"] == Verdict.AT_OR_UNDER
    assert (worn["groove"], worn["spot"], worn["least_mm"]) == ("center", "2", pytest.approx(N32))
    assert (worn["read_at_position"], worn["read_date"]) == ("RR", pd.Timestamp("2025-07-01"))
    assert worn["read_odometer_km"] == 20_000
    assert worn["chance_at_limit"] > 0.95
    assert set(at(table, list(POSITIONS[:3]))["verdict"]) == {Verdict.OVER}
    assert at(table, "LF")["chance_at_limit"] < 1e-6


@pytest.mark.parametrize(
    ("over_n32", "verdict"),
    [
        (0.0, Verdict.AT_OR_UNDER), (-0.5, Verdict.AT_OR_UNDER), (-2.0, Verdict.AT_OR_UNDER),
        (0.01, Verdict.NEAR), (1.1, Verdict.NEAR), (1.5, Verdict.NEAR), (1.6, Verdict.OVER),
    ],
)  # fmt: skip
def test_at_the_limit_near_it_and_over_it(tmp_path, over_n32, verdict):
    found = at(verdicts(one_spot(tmp_path, LIMIT + over_n32 * N32)), "RR")
    assert found["verdict"] == verdict


def test_codes_are_the_words_that_files_carry():
    assert {code.name: code.value for code in Verdict} == {
        "AT_OR_UNDER": "at-or-under", "NEAR": "near", "OVER": "over", "NOT_READ": "not-read"
    }  # fmt: skip


def test_near_is_what_the_longest_usual_interval_takes():
    # 8,000 miles (TireWise, NHTSA) of a tread of 8.5/32 in over its limit that lasts 45,000 (NHTSA, FMVSS 138).
    assert pytest.approx(8.5 * 8000 / 45_000, abs=0.02) == NEAR_MM / N32


def test_a_coarse_gauge_leaves_more_in_doubt(tmp_path):
    read = judge(measured_by_hand({"LF": [LIMIT + 1.0]}, pd.Timestamp("2025-07-01")), LIMIT, near_mm=0.0)
    assert read["verdict"].tolist() == [Verdict.OVER]
    doubtful = judge(read.assign(error_mm=1.0), LIMIT, near_mm=0.0)
    assert doubtful["verdict"].tolist() == [Verdict.NEAR]
    assert doubtful["chance_at_limit"].iloc[0] == pytest.approx(norm.cdf(-1.0))
    sure = judge(read.assign(error_mm=0.5), LIMIT, near_mm=0.0)  # a chance of 2.3 % is under 5 %
    assert sure["verdict"].tolist() == [Verdict.OVER]


def test_the_chance_is_that_of_a_simulated_gauge():
    # Treads anywhere with equal chance, read by a gauge of spread 0.2 mm in steps of 1/32 in: of those that
    # read 1/32 in over the limit, how many are at or under it?
    rng = np.random.default_rng(3)
    true = rng.uniform(0, 6, 2_000_000)
    read = np.round((true + rng.normal(0, 0.2, true.size)) / N32) * N32
    share = np.mean(true[np.isclose(read, LIMIT + N32)] <= LIMIT)
    told = judge(measured_by_hand({"LF": [LIMIT + N32, 5 * N32]}, pd.Timestamp("2025-07-01")))
    assert told["error_mm"].iloc[0] == pytest.approx(np.hypot(0.2, N32 / 12**0.5), rel=1e-3)
    assert told["chance_at_limit"].iloc[0] == pytest.approx(share, abs=0.006)


def compared(reading, master=5.0):
    return pd.DataFrame(
        {"gauge_id": "D1", "date": "2025-05-01", "kind": "depth", "reading": [reading] * 3,
         "master": master, "unit": "mm"}
    )  # fmt: skip


def test_a_deep_reading_gauge_is_corrected_before_the_limit_is_asked(tmp_path):
    depths = pd.concat(
        [
            read_depths({**EVEN, "inner": [6.0, 2.0, 6.0]} if p == "LF" else EVEN, p, gauge="D1")
            for p in POSITIONS
        ]
    )
    found = at(verdicts(make_book(tmp_path, depths, gauges=compared(5.5))), "LF")
    assert (found["least_mm"], found["least_raw_mm"]) == pytest.approx((1.5, 2.0))
    assert found["verdict"] == Verdict.AT_OR_UNDER
    assert found["gauge_id"] == "D1"


def test_a_correction_lifts_no_reading_over_the_limit(tmp_path):
    depths = pd.concat(
        [
            read_depths({**EVEN, "inner": [6.0, 1.5, 6.0]} if p == "LF" else EVEN, p, gauge="D1")
            for p in POSITIONS
        ]
    )
    found = at(verdicts(make_book(tmp_path, depths, gauges=compared(4.5))), "LF")
    assert (found["least_mm"], found["least_raw_mm"]) == pytest.approx((2.0, 1.5))
    assert found["verdict"] == Verdict.AT_OR_UNDER


def test_the_newest_visit_counts_alone_whatever_came_before(tmp_path):
    visits = [
        read_depths(EVEN if date != "2025-10-01" else {g: [1.2] for g in EVEN}, p, date, km)
        for date, km in (("2025-04-01", 14_000), ("2025-07-01", 20_000), ("2025-10-01", 26_000))
        for p in POSITIONS
    ]
    table = verdicts(make_book(tmp_path / "down", pd.concat(visits)))
    assert set(table["verdict"]) == {Verdict.AT_OR_UNDER}
    assert table["least_mm"].tolist() == [1.2] * 4
    # And the other way round: a slip of an earlier day is over once the tire was read again.
    slip = [v if v["date"].iloc[0] != "2025-07-01" else v.assign(depth_mm=0.0) for v in visits[:8]]
    again = [read_depths(EVEN, p, "2025-10-01", 26_000) for p in POSITIONS]
    assert set(verdicts(make_book(tmp_path / "slip", pd.concat([*slip, *again])))["verdict"]) == {
        Verdict.OVER
    }


def test_a_groove_that_was_down_and_not_read_again_is_still_down(tmp_path):
    first = [read_depths({"outer": 6.0, "center": 6.0, "inner": 1.4}, p) for p in POSITIONS]
    center = [read_depths({"center": 5.5}, p, "2025-10-01", 26_000) for p in POSITIONS]
    found = at(verdicts(make_book(tmp_path, pd.concat([*first, *center]))), "LF")
    assert found["verdict"] == Verdict.AT_OR_UNDER
    assert (found["groove"], found["read_date"]) == ("inner", pd.Timestamp("2025-07-01"))
    assert found["least_raw_mm"] == pytest.approx(1.4)


def swapped(**more):
    """Tires go from front to rear, each on its side, after they were read; as mounts."""
    first = {"date": "2025-01-01", "odometer_km": 10_000, "vehicle_id": "V1"}
    then = {**first, "date": "2025-08-01", "odometer_km": 22_000}
    to = {"LF": "LR", "LR": "LF", "RF": "RR", "RR": "RF"}
    rows = [{**first, "tire_id": f"T-{p}", "position": p} for p in POSITIONS]
    return pd.DataFrame(rows + [{**then, "tire_id": f"T-{p}", "position": q} for p, q in to.items()])


def test_a_tire_is_named_where_it_is_and_its_reading_where_it_was(tmp_path):
    depths = [read_depths({**EVEN, "outer": [6.0, 1.5, 6.0]} if p == "LF" else EVEN, p) for p in POSITIONS]
    odometer = pd.DataFrame({"date": ["2025-09-01"], "vehicle_id": ["V1"], "odometer_km": [24_000]})
    table = verdicts(make_book(tmp_path, pd.concat(depths), mounts=swapped(), odometer=odometer))
    found = at(table, "LR")
    assert (found["tire_id"], found["read_at_position"], found["moved"]) == ("T-LF", "LF", True)
    assert found["verdict"] == Verdict.AT_OR_UNDER
    (note,) = verdict_notes(table)
    assert (note.value("position"), note.value("read_at_position"), note.value("moved")) == ("LR", "LF", True)


def test_a_limit_by_position_is_that_of_the_place_where_the_tire_is(tmp_path):
    depths = pd.concat([read_depths({"center": 4.0}, p) for p in POSITIONS])
    table = verdicts(make_book(tmp_path, depths), pd.Series({"LF": 4.0, "RF": 4.0, "LR": 1.6, "RR": 3.0}))
    found = table.set_index("position")["verdict"]
    assert found.to_dict() == {
        "LF": Verdict.AT_OR_UNDER, "RF": Verdict.AT_OR_UNDER, "LR": Verdict.OVER, "RR": Verdict.NEAR,
    }  # fmt: skip


def test_a_tire_that_was_never_read_is_not_judged(tmp_path):
    table = verdicts(make_book(tmp_path, read_depths(EVEN, "LF")))
    assert table["verdict"].tolist() == [Verdict.OVER, *[Verdict.NOT_READ] * 3]
    assert table.loc[1:, ["least_mm", "chance_at_limit"]].isna().all().all()
    assert table.loc[1, "groove"] == ""
    assert not table["moved"].any()
    assert verdict_notes(table) == ()


def test_a_tire_that_came_off_is_no_longer_judged(tmp_path):
    mounts = pd.DataFrame(
        [
            {
                "date": "2025-01-01",
                "odometer_km": 10_000,
                "vehicle_id": "V1",
                "tire_id": f"T-{p}",
                "position": p,
            }
            for p in POSITIONS
        ]
        + [
            {
                "date": "2025-08-01",
                "odometer_km": 22_000,
                "vehicle_id": "V1",
                "tire_id": "T-LF",
                "position": "OFF",
            },
            {
                "date": "2025-08-01",
                "odometer_km": 22_000,
                "vehicle_id": "V1",
                "tire_id": "N",
                "position": "LF",
            },
        ]
    )
    tires = pd.DataFrame({"tire_id": mounts["tire_id"].unique(), "tire_line": "A", "new_depth_mm": 8.0})
    depths = pd.concat([read_depths({"center": 1.0 if p == "LF" else 6.0}, p) for p in POSITIONS])
    table = verdicts(make_book(tmp_path, depths, mounts=mounts, tires=tires))
    assert at(table, "LF")["tire_id"] == "N"
    assert at(table, "LF")["verdict"] == Verdict.NOT_READ
    assert not table["verdict"].isin(STAYS_PUT).any()


def test_both_tires_of_a_replaced_place_keep_their_own_least(tmp_path):
    # The worn tire and the new one were read at one wheel on one day.
    mounts = pd.DataFrame(
        [
            {
                "date": "2025-01-01",
                "odometer_km": 10_000,
                "vehicle_id": "V1",
                "tire_id": f"T-{p}",
                "position": p,
            }
            for p in POSITIONS
        ]
        + [
            {
                "date": "2025-07-01",
                "odometer_km": 20_000,
                "vehicle_id": "V1",
                "tire_id": "T-LF",
                "position": "OFF",
            },
            {
                "date": "2025-07-01",
                "odometer_km": 20_000,
                "vehicle_id": "V1",
                "tire_id": "N",
                "position": "LF",
            },
        ]
    )
    tires = pd.DataFrame({"tire_id": mounts["tire_id"].unique(), "tire_line": "A", "new_depth_mm": 8.0})
    depths = pd.concat(
        [
            read_depths({"center": [1.4, 8.0], "outer": [1.3, 8.0]}),
            *(read_depths(EVEN, p) for p in POSITIONS[1:]),
        ]
    )
    found = at(verdicts(make_book(tmp_path, depths, mounts=mounts, tires=tires)), "LF")
    assert (found["tire_id"], found["verdict"]) == ("N", Verdict.OVER)
    assert (found["least_mm"], found["least_raw_mm"]) == (8.0, 8.0)


@pytest.mark.parametrize("slipped", [203_000, 32_000, 2_000, 2_300, 16_000, 23_900])
@pytest.mark.parametrize("later", [True, False])
def test_a_slipped_odometer_lays_a_reading_to_no_other_tire(slipped, later, tmp_path):
    # Three visits, tires rotated at the second; at the third one groove is at the limit and the odometer is mistyped.
    moves = [("2024-01-01", 0, p, p) for p in POSITIONS]
    moves += [("2025-01-01", 15_000, p, q) for p, q in zip(POSITIONS, ("LR", "RR", "LF", "RF"), strict=True)]
    mounts = pd.DataFrame(moves, columns=["date", "odometer_km", "tire_id", "position"]).assign(
        vehicle_id="V1"
    )
    mounts["tire_id"] = "T-" + mounts["tire_id"]
    visits = (("2024-07-01", 7_500, 7.4), ("2025-01-01", 15_000, 6.8), ("2025-07-01", slipped, 6.2))
    depths = pd.concat(
        [
            read_depths(dict.fromkeys(("outer", "center", "inner"), depth), place, date, km)
            for date, km, depth in visits
            for place in POSITIONS
        ]
    )
    low = (depths["date"] == "2025-07-01") & (depths["position"] == "LF") & (depths["groove"] == "center")
    depths.loc[low, "depth_mm"] = 1.2
    days = [("2024-04-01", 3_700), ("2024-10-01", 11_200), ("2025-04-01", 18_800), ("2025-09-01", 25_000)]
    odometer = pd.DataFrame(days[: 4 if later else 3], columns=["date", "odometer_km"]).assign(
        vehicle_id="V1"
    )
    found = at(verdicts(make_book(tmp_path, depths, mounts=mounts, odometer=odometer)), "LF")
    assert (found["tire_id"], found["read_at_position"]) == ("T-LR", "LF")
    assert (found["verdict"], found["least_mm"]) == (Verdict.AT_OR_UNDER, pytest.approx(1.2))
    assert found["read_date"] == pd.Timestamp("2025-07-01")


@pytest.mark.parametrize("slipped", [151_000, 1_500, 51_000])
@pytest.mark.parametrize("newest", [False, True])
def test_a_slipped_odometer_of_a_rotation_moves_no_tire(slipped, newest, tmp_path):
    # The same log with the rotation's odometer as it was and mistyped; it may be the newest thing known.
    visits = (("2024-07-01", 7_500, 7.4), ("2024-10-01", 11_200, 7.1), ("2025-02-01", 16_300, 6.7))
    depths = pd.concat(
        [
            read_depths(dict.fromkeys(("outer", "center"), depth), place, date, km)
            for date, km, depth in visits[: 2 if newest else 3]
            for place in POSITIONS
        ]
    )
    found = []
    for n, km in enumerate((15_000, slipped)):
        moves = [("2024-01-01", 0, p, p) for p in POSITIONS]
        moves += [("2025-01-01", km, p, q) for p, q in zip(POSITIONS, ("LR", "RR", "LF", "RF"), strict=True)]
        mounts = pd.DataFrame(moves, columns=["date", "odometer_km", "tire_id", "position"])
        found.append(make_book(tmp_path / str(n), depths, mounts=mounts.assign(vehicle_id="V1")))
    ways, same = (book.stretches for book in found)
    assert same[["tire_id", "position"]].equals(ways[["tire_id", "position"]])
    for name in ("from_km", "to_km", "before_km"):  # on the line, or on the mean pace, of 41 km a day
        assert same[name].to_numpy() == pytest.approx(ways[name].to_numpy(), abs=400)
    assert found[1].odometer["date"].max() == pd.Timestamp("2025-01-01" if newest else "2025-02-01")
    read, slip = (verdicts(book)[["tire_id", "position", "least_mm", "read_at_position"]] for book in found)
    pd.testing.assert_frame_equal(slip, read)


@pytest.mark.parametrize("taken_off", [False, True])
def test_a_wheel_read_at_its_limit_is_told_though_no_tire_is_known_there(taken_off, tmp_path):
    moves = [("2024-01-01", 0, p) for p in POSITIONS if taken_off or p != "LF"]
    mounts = pd.DataFrame(moves, columns=["date", "odometer_km", "position"]).assign(
        vehicle_id="V1", tire_id=lambda frame: "T-" + frame["position"]
    )
    if taken_off:
        mounts.loc[len(mounts)] = ["2025-06-01", 19_000, "OFF", "V1", "T-LF"]
    before = read_depths({"center": 1.4, "outer": 1.1}, "LF", date="2025-05-01", km=18_000)
    low = read_depths({"center": 1.3, "outer": 5.0}, "LF")
    lying = read_depths({"center": 1.0}, "SP")  # a spare that nobody recorded runs on no road
    depths = pd.concat(
        [low, lying, *(read_depths(EVEN, p) for p in POSITIONS[1:]), *([before] if taken_off else [])]
    )
    book = make_book(tmp_path, depths, mounts=mounts)
    found = at(verdicts(book), "LF")
    assert (found["tire_id"], found["verdict"]) == ("", Verdict.AT_OR_UNDER)
    assert (found["least_mm"], found["groove"]) == (pytest.approx(1.3), "center")
    assert found["read_date"] == pd.Timestamp("2025-07-01")  # not what was read of the tire that went
    assert measured(book)["position"].tolist() == list(POSITIONS[1:])
    assert unclaimed(book)["position"].tolist() == ["LF"]
    assert unclaimed(book, ["V2"]).empty


def test_what_was_read_before_a_tire_came_on_is_not_that_tires(tmp_path):
    low = read_depths({"center": 1.3}, "LF", date="2024-02-01", km=1_000)
    moves = [("2024-01-01" if p != "LF" else "2024-06-01", 0 if p != "LF" else 5_000, p) for p in POSITIONS]
    mounts = pd.DataFrame(moves, columns=["date", "odometer_km", "position"]).assign(
        vehicle_id="V1", tire_id=lambda frame: "T-" + frame["position"]
    )
    book = make_book(tmp_path, pd.concat([low, *(read_depths(EVEN, p) for p in POSITIONS)]), mounts=mounts)
    assert unclaimed(book).empty
    assert set(verdicts(book)["verdict"]) == {Verdict.OVER}


def test_depths_of_no_logbook_are_judged_alike():
    read = measured_by_hand({"LF": [3.0, 1.5], "RF": 6.0}, pd.Timestamp("2025-07-01"))
    assert list(read.columns) == MEASURED_COLUMNS
    assert judge(read)["verdict"].tolist() == [Verdict.AT_OR_UNDER, Verdict.OVER]


@pytest.mark.parametrize(("chance", "verdict"), [(0.051, Verdict.NEAR), (0.049, Verdict.OVER)])
def test_a_chance_of_one_in_twenty_that_it_is_at_the_limit_is_near_it(chance, verdict):
    read = measured_by_hand({"LF": [LIMIT + 2 * N32]}, pd.Timestamp("2025-07-01"))
    found = judge(read.assign(error_mm=2 * N32 / norm.isf(chance)))
    assert found["verdict"].item() == verdict
    assert found["chance_at_limit"].item() == pytest.approx(chance)


def test_notes_come_most_urgent_first(tmp_path):
    depths = pd.concat(
        [read_depths({"center": d}, p) for p, d in zip(POSITIONS, (2.5, 6.0, 1.2, 2.4), strict=True)]
    )
    notes = verdict_notes(verdicts(make_book(tmp_path, depths)))
    assert [note.value("position") for note in notes] == ["LR", "LF", "RR"]
    assert [note.severity for note in notes] == [Severity.URGENT, Severity.WARNING, Severity.WARNING]
    assert notes[0].value("limit_mm") == pytest.approx(LIMIT)
    assert [note.value("read_mm") for note in notes] == [1.2, 2.5, 2.4]
    assert [note.value("read_raw_mm") for note in notes] == [1.2, 2.5, 2.4]


def test_columns_for_other_frames_and_the_worst_of_each_vehicle(tmp_path):
    depths = pd.concat(
        [read_depths({"center": d}, p) for p, d in zip(POSITIONS, (2.5, 6.0, 1.2, 2.4), strict=True)]
    )
    table = verdicts(make_book(tmp_path, depths))
    columns = verdict_columns(table)
    assert list(columns.columns) == VERDICT_COLUMNS
    assert columns.loc["T-LR", "read_mm"] == 1.2
    worst = worst_of_vehicles(columns.assign(vehicle_id="V1"))
    assert worst.loc["V1", "read_mm"] == 1.2
    near = worst_of_vehicles(columns.drop("T-LR").assign(vehicle_id="V1"))
    assert (near.loc["V1", "read_mm"], near.loc["V1", "verdict"]) == (2.4, Verdict.NEAR)


def test_a_logbook_without_readings_or_mounts_has_an_empty_answer(tmp_path):
    book = make_book(tmp_path / "none", read_depths({"center": 6.0}).iloc[:0])
    assert set(verdicts(book)["verdict"]) == {Verdict.NOT_READ}
    assert len(GROOVES) == 5


def test_each_verdict_matters_so_much():
    assert [Verdict(v).severity for v in ("at-or-under", "near", "not-read", "over")] == [
        Severity.URGENT, Severity.WARNING, Severity.DOUBT, Severity.NOTE
    ]  # fmt: skip


def by_hand(*rows):
    """Tires of one car as measured, by hand: least, least as read, error."""
    names = ["least_mm", "least_raw_mm", "error_mm"]
    return pd.DataFrame(rows, columns=names).assign(position=list(POSITIONS[: len(rows)]))


def test_two_thirtyseconds_may_reach_us_a_rounding_higher():
    assert judge(by_hand((LIMIT + 5e-7, LIMIT + 5e-7, 0.1)))["verdict"].tolist() == [Verdict.AT_OR_UNDER]


def test_the_chance_is_of_the_corrected_depth():
    found = judge(by_hand((2.0, 2.4, 0.2), (2.4, 2.0, 0.2)), 1.9)
    assert found["chance_at_limit"].tolist() == pytest.approx(norm.cdf([-0.5, -2.5]))


def test_how_little_is_near_and_which_vehicles_can_be_said(tmp_path):
    mounts = pd.DataFrame(
        {"date": "2025-01-01", "odometer_km": 10_000, "vehicle_id": [v for v in ("V2", "V1") for _ in POSITIONS],
         "tire_id": [f"{v}-{p}" for v in ("V2", "V1") for p in POSITIONS], "position": [*POSITIONS, *POSITIONS]}
    )  # fmt: skip
    vehicles = pd.DataFrame(
        {"vehicle_id": ["V2", "V1"], "drive": "front", "placard_front_kpa": 230, "placard_rear_kpa": 220}
    )
    depths = pd.concat([read_depths({"center": 4.0}, p, vehicle=v) for v in ("V2", "V1") for p in POSITIONS])
    book = make_book(tmp_path, depths, mounts=mounts, vehicles=vehicles)
    assert verdicts(book)["tire_id"].tolist() == [f"{v}-{p}" for v in ("V1", "V2") for p in POSITIONS]
    assert set(verdicts(book, vehicles=["V2"])["vehicle_id"]) == {"V2"}
    assert set(measured(book, ["V1"])["vehicle_id"]) == {"V1"}
    assert set(verdicts(book)["verdict"]) == {Verdict.OVER}
    assert set(verdicts(book, near_mm=3.0)["verdict"]) == {Verdict.NEAR}


def test_of_equal_readings_the_later_is_told_and_a_lower_odometer_makes_none_older(tmp_path):
    first = [read_depths({"outer": 3.0, "inner": 5.0}, p) for p in POSITIONS]
    then = [read_depths({"center": 3.0}, p, "2025-10-01", 26_000) for p in POSITIONS]
    found = at(measured(make_book(tmp_path / "later", pd.concat([*first, *then]))), "LF")
    assert (found["groove"], found["read_date"]) == ("center", pd.Timestamp("2025-10-01"))
    slip = [read_depths({"outer": 2.0, "inner": 4.0}, p, "2025-10-01", 19_000) for p in POSITIONS]
    found = at(measured(make_book(tmp_path / "slip", pd.concat([*first, *slip]))), "LF")
    assert (found["least_mm"], found["read_date"]) == (2.0, pd.Timestamp("2025-10-01"))


def test_the_error_is_that_of_one_reading_and_of_the_bias(tmp_path):
    depths = pd.concat([read_depths({"outer": [6.0, 3.0], "center": 5.0}, p, gauge="D1") for p in POSITIONS])
    alone = at(measured(make_book(tmp_path / "alone", depths)), "LF")["error_mm"]
    # A hand gauge's spread of 0.2 mm (our assumption) and steps of 1 mm, which the readings show.
    assert alone == pytest.approx((0.2**2 + 1 / 12) ** 0.5)
    book = make_book(tmp_path / "compared", depths, gauges=compared(5.5))
    bias = depth_biases(book).set_index("gauge_id").loc["D1"]
    found = at(measured(book), "LF")
    more = bias["bias_se"] if bias["bias_se"] == bias["bias_se"] else alone
    assert found["error_mm"] == pytest.approx(float(np.hypot(alone, more)))
    assert found["error_mm"] > alone


def test_a_reading_less_its_bias_is_never_under_nothing_and_keeps_its_spot(tmp_path):
    depths = pd.concat([read_depths({**EVEN, "inner": [6.0, 0.1, 6.0]}, p, gauge="D1") for p in POSITIONS])
    found = at(measured(make_book(tmp_path, depths, gauges=compared(5.3))), "LF")
    assert (found["least_mm"], found["least_raw_mm"], found["spot"]) == (0.0, pytest.approx(0.1), "2")


def test_notes_and_columns_tell_corrected_and_raw_apart_and_where_each_was(tmp_path):
    depths = [
        read_depths({**EVEN, "outer": [6.0, 2.0, 6.0]} if p == "LF" else EVEN, p, gauge="D1")
        for p in POSITIONS
    ]
    odometer = pd.DataFrame({"date": ["2025-09-01"], "vehicle_id": ["V1"], "odometer_km": [24_000]})
    more = {"mounts": swapped(), "odometer": odometer, "gauges": compared(5.5)}
    table = verdicts(make_book(tmp_path, pd.concat(depths), **more))
    (note,) = verdict_notes(table)
    assert (note.value("read_mm"), note.value("read_raw_mm")) == pytest.approx((1.5, 2.0))
    assert [name for name, _ in note.values] == [
        "vehicle_id", "tire_id", "position", "read_at_position", "read_date", "groove", "spot", "read_mm",
        "read_raw_mm", "limit_mm", "chance_at_limit", "moved",
    ]  # fmt: skip
    row = verdict_columns(table).loc["T-LF"]
    assert (row["read_mm"], row["read_raw_mm"]) == pytest.approx((1.5, 2.0))
    assert (row["read_at"], row["read_groove"]) == ("LF", "outer")


def test_a_tire_that_nobody_read_is_worse_than_one_that_is_over():
    row = {name: "" for name in VERDICT_COLUMNS}
    table = pd.DataFrame(
        [{**row, "vehicle_id": "V1", "verdict": v, "read_mm": d}
         for v, d in ((Verdict.OVER.value, 5.0), (Verdict.NOT_READ.value, np.nan))]
    )  # fmt: skip
    assert worst_of_vehicles(table).loc["V1", "verdict"] == Verdict.NOT_READ


def test_depths_by_hand_are_where_they_were_read():
    found = measured_by_hand({"LF": [5.0, 4.0], "RR": 6.0}, pd.Timestamp("2025-07-01"))
    assert not found["moved"].any()
    assert found["read_at_position"].tolist() == found["position"].tolist() == ["LF", "RR"]
