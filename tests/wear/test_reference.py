import numpy as np
import pandas as pd
import pytest

from tests.wear.books import MOUNTS, make_book
from tirelife.driving import default_profile, profiles_from_habits
from tirelife.tread import tire_visits
from tirelife.wear import (
    CAUSES,
    Factors,
    Vehicle,
    add_reference,
    severity,
    stretch_severity,
    toe_history,
    usual_moments,
    vehicle_table,
)
from tirelife.wear.energy import causes_at_wheel

MI = 1.609344
HABITS = (
    "vehicle_id,from_date,to_date,share_under_25mph,share_25_40mph,share_40_55mph,share_55_70mph,"
    "share_over_70mph,hard_starts_per_100mi,hard_stops_per_100mi,hard_turns_per_100mi\n"
    "A,2024-01-01,2024-06-30,0.1,0.2,0.3,0.3,0.1,1,2,3\n"
    "A,2024-07-01,2024-09-30,0.6,0.3,0.1,0,0,6,9,9\n"
)
ROTATED = MOUNTS + "2024-07-01,5000,A,T3,LF\n2024-07-01,5000,A,T1,LR\n"
PRESSURES = "date,vehicle_id,position,pressure_psi,state\n2024-05-01,A,LF,26,cold\n2024-11-01,A,LR,22,cold\n"
ALIGNMENT = "date,odometer_mi,vehicle_id,axle,toe_mm\n2024-03-01,1600,A,front,5\n2024-03-01,1600,A,front,1\n"


def visits_of(*rows):
    return pd.DataFrame(
        [(t, pd.Timestamp(d), mi * MI) for t, d, mi in rows], columns=["tire_id", "date", "odometer_km"]
    )


def test_bare_logbook_has_the_default_severity_by_place(tmp_path):
    parts = stretch_severity(make_book(tmp_path))
    usual = severity(default_profile(), Vehicle())["severity"]
    assert parts.set_index("position")["severity"].to_dict() == pytest.approx(usual.to_dict())
    assert set(parts["driving"]) == {"default profile"}
    assert set(parts["pressure_source"]) == {"assumed"}


def test_parts_add_up_to_the_stretches_and_causes_to_severity(tmp_path):
    book = make_book(tmp_path, mounts=ROTATED, habits=HABITS, pressures=PRESSURES, alignment=ALIGNMENT)
    parts, stretches = stretch_severity(book), book.stretches
    run = (parts["to_km"] - parts["from_km"]).groupby(parts["tire_id"]).sum()
    whole = (stretches["to_km"] - stretches["from_km"]).groupby(stretches["tire_id"]).sum()
    assert run.to_numpy() == pytest.approx(whole.to_numpy(), abs=1e-9)
    total = parts[list(CAUSES)].sum(axis=1)
    assert total.to_numpy() == pytest.approx(parts["severity"].to_numpy(), rel=1e-13)
    assert set(parts["driving"]) == {"habits", "nearest habits"}
    assert (parts.loc[parts["from_date"] >= "2024-10-01", "driving"] == "nearest habits").all()


def test_habits_hold_through_their_last_day(tmp_path):
    # A move on the last day of a record: that day is still the record's own, the next day is not.
    last = MOUNTS + "2024-09-30,7500,A,T3,LF\n2024-09-30,7500,A,T1,LR\n"
    parts = stretch_severity(make_book(tmp_path, mounts=last, habits=HABITS))
    own = parts[parts["tire_id"] == "T1"].set_index("from_date")["driving"]
    assert own["2024-09-30"] == "habits"
    assert own["2024-10-01"] == "nearest habits"


def test_a_part_is_priced_by_its_own_conditions(tmp_path):
    book = make_book(tmp_path, mounts=ROTATED, habits=HABITS, pressures=PRESSURES, alignment=ALIGNMENT)
    parts = stretch_severity(book)
    town = parts[(parts["tire_id"] == "T3") & (parts["from_date"] == "2024-07-01")].iloc[0]
    profile = profiles_from_habits(book).iloc[1]
    car = vehicle_table(book).loc["A"]
    alone = causes_at_wheel(profile, car, True, 1.0, 1.0)  # T3 unread: placard; toe set to 1 mm in March
    assert town["severity"] == pytest.approx(float(sum(alone.values())))
    low = parts[(parts["tire_id"] == "T1") & (parts["position"] == "LF")]
    assert (low["pressure"] > 0).all()


def test_reference_distance_is_severity_times_distance(tmp_path):
    book = make_book(tmp_path, mounts=ROTATED)
    usual = severity(default_profile(), Vehicle())["severity"]
    got = add_reference(
        book, visits_of(("T1", "2024-01-01", 0), ("T1", "2024-07-01", 5000), ("T1", "2025-01-01", 10_000))
    )
    front, rear = 5000 * MI * usual["LF"], 5000 * MI * usual["LR"]
    assert got["reference_km"].tolist() == pytest.approx([0, front, front + rear])
    assert got["reference_front_km"].tolist() == pytest.approx([0, front, front])
    assert got["reference_rear_km"].tolist() == pytest.approx([0, 0, rear])


def test_visit_on_the_day_of_a_move_counts_the_same_from_both_sides(tmp_path):
    book = make_book(tmp_path, mounts=ROTATED, habits=HABITS)
    got = add_reference(book, visits_of(("T1", "2024-07-01", 5000), ("T3", "2024-07-01", 5000)))
    parts = stretch_severity(book)
    early = parts[parts["from_date"] < "2024-07-01"]
    weight = ((early["to_km"] - early["from_km"]) * early["severity"]).groupby(early["tire_id"]).sum()
    assert got["reference_km"].tolist() == pytest.approx([weight["T1"], weight["T3"]])


def test_reference_grows_with_distance_and_keeps_rows(tmp_path):
    book = make_book(tmp_path, habits=HABITS, pressures=PRESSURES, alignment=ALIGNMENT)
    visits = tire_visits(book)
    got = add_reference(book, visits)
    assert got[visits.columns.tolist()].equals(visits)
    assert got.groupby("tire_id")["reference_km"].apply(lambda s: s.is_monotonic_increasing).all()


def test_unknown_tire_is_nan_not_a_guess(tmp_path):
    got = add_reference(make_book(tmp_path), visits_of(("T9", "2024-07-01", 5000), ("T1", "2023-01-01", 0)))
    assert got["reference_km"].isna().all()
    assert got["reference_front_km"].isna().all()


def test_factors_share_out_wear_and_leave_the_reference_where_it_is(tmp_path):
    book = make_book(tmp_path, habits=HABITS)
    three = Factors(log_mean=tuple(np.log(3.0) if c == "corners" else 0.0 for c in CAUSES))
    plain, hard = stretch_severity(book), stretch_severity(book, three)
    ratio = hard[list(CAUSES)] / plain[list(CAUSES)]
    assert (ratio["corners"] / ratio["base"]).dropna().to_numpy() == pytest.approx(3.0)
    assert hard[list(CAUSES)].sum(axis=1).to_numpy() == pytest.approx(hard["severity"].to_numpy())
    table = severity(default_profile(), Vehicle(), factors=three)
    assert table["severity"].mean() == pytest.approx(1.0)


def test_habits_not_believed_are_the_usual_ones(tmp_path):
    book = make_book(tmp_path, habits=HABITS)
    usual = usual_moments(book)
    none = stretch_severity(book, Factors(belief=0.0, usual=usual))
    half = stretch_severity(book, Factors(belief=0.5, usual=usual))
    full = stretch_severity(book, Factors(usual=usual))
    assert none.groupby("position")["severity"].nunique().max() == 1  # nothing sets one date apart
    middle = (none["severity"] + full["severity"]) / 2
    assert half["severity"].to_numpy() == pytest.approx(middle.to_numpy())


def test_spare_wears_nothing(tmp_path):
    mounts = MOUNTS.replace("T4,RR", "T4,SP")
    book = make_book(tmp_path, mounts=mounts)
    parts = stretch_severity(book)
    spare = parts[parts["position"] == "SP"]
    assert spare[["severity", *CAUSES]].to_numpy() == pytest.approx(0.0)
    assert add_reference(book, visits_of(("T4", "2025-01-01", 10_000)))["reference_km"].tolist() == [0.0]


def test_toe_before_between_and_after_measurements(tmp_path):
    rows = ALIGNMENT + "2024-09-01,6600,A,front,3\n"
    toe = toe_history(make_book(tmp_path, alignment=rows))
    # Found 5 and set to 1 in March, found 3 in September, and left so.
    assert toe["toe2_mm2"].tolist() == pytest.approx([25, (1 + 9) / 2, 9])


def test_same_answer_in_miles_and_kilometres(tmp_path):
    us, metric = tmp_path / "us", tmp_path / "metric"
    us.mkdir()
    metric.mkdir()
    one = make_book(us, habits=HABITS, mounts=ROTATED)
    mounts = pd.read_csv(us / "mounts.csv")
    mounts["odometer_km"] = mounts.pop("odometer_mi") * MI
    depths = pd.read_csv(us / "depths.csv")
    depths["odometer_km"] = depths.pop("odometer_mi") * MI
    two = make_book(
        metric, habits=HABITS, mounts=mounts.to_csv(index=False), depths=depths.to_csv(index=False)
    )
    a, b = stretch_severity(one), stretch_severity(two)
    assert a["severity"].to_numpy() == pytest.approx(b["severity"].to_numpy(), rel=1e-12)
    assert np.allclose(a["to_km"], b["to_km"])
