"""Visits and the lives found for their tires become tables; a folder is written whole, and keeps what was added to it."""

import datetime as dt
import math

import numpy as np
import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.logbook.lives import PATTERNS, Course, Lives
from tirelife.logbook.refused import Refused
from tirelife.logbook.sheets import write
from tirelife.logbook.sheets.decide import Conventions
from tirelife.logbook.sheets.importing import Plan, Settings
from tirelife.logbook.sheets.memory import Memory, remembered
from tirelife.logbook.sheets.visits import Entry, Fate
from tirelife.logbook.sheets.write import put_back, tables_of, write_folder
from tirelife.positions import ROAD

JAN, FEB, MAR = dt.date(2025, 1, 5), dt.date(2025, 2, 5), dt.date(2025, 3, 5)
METRIC = Conventions(depth_unit="mm", distance_unit="km")


def visit(day, km, depths=(8.0, 8.0, 7.0, 7.0), vehicle="A", **more):
    read = [(wheel, "center", mm) for wheel, mm in zip(ROAD, depths, strict=True) if mm is not None]
    return Entry(vehicle, day, km, read, rows=[("Log", day.month + 1)], **more)


def life(
    *courses, start=(0, 1, 2, 3), before=(), chance=0.95, probability=None, same=None, apart=0.0, others=()
):
    """Lives of tires that take the courses told between visits, each that sure."""
    tires, sources = [list(start)], [[-1] * 4]
    for course in courses:
        came = PATTERNS[course]
        fresh = iter(range(max(max(row) for row in tires) + 1, 99))
        tires.append([next(fresh) if k < 0 else tires[-1][k] for k in came])
        sources.append(list(came))
    n = len(tires)
    pattern = [Course.STAY, *courses]
    share = np.zeros((n, len(PATTERNS)))
    share[np.arange(n), [list(PATTERNS).index(one) for one in pattern]] = chance
    sure = np.ones((n, 4)) if probability is None else np.asarray(probability, float)
    return Lives(
        np.array(tires), np.array(sources), sure, np.ones(4), pattern, [list(others)] * n, share,
        np.ones((n, 4)) if same is None else np.asarray(same, float), np.full((n, 4), float(apart)),
        np.array([True, *(before or [True] * (n - 1))]),
    )  # fmt: skip


@pytest.fixture
def made(monkeypatch):
    """Tables of visits whose tires lived as told; ``made.asked`` is what was asked of whoever infers lives."""

    def make(visits, *lives, how=METRIC, new_depth=None):
        def infer(seen, usual):
            make.asked = (seen, usual)
            return list(lives)

        monkeypatch.setattr(write, "infer_lives", infer)
        return tables_of(visits, how, new_depth)

    return make


def rows(table, *names):
    return list(table[list(names)].itertuples(index=False, name=None))


def test_tires_of_the_first_visit_are_mounted_then_at_the_wheels_that_were_read(made):
    first = visit(JAN, 1000, (8, 8, 7, None), product={"": "Line A", "LR": "Line B"}, size={"LF": "195"},
                  made_week={"RF": "2324"}, pressures=[("RR", 220, math.nan)])  # fmt: skip
    out = made([first], life())
    assert rows(out.tables["mounts"], "date", "odometer", "tire_id", "position", "source", "probability") == [
        ("2025-01-05", "1000", f"A {wheel} 2025-01", wheel, "inferred", "1") for wheel in ROAD
    ]
    tires = out.tables["tires"]
    assert tires["tire_line"].tolist() == ["Line A", "Line A", "Line B", "Line A"]
    assert tires["size"].tolist() == ["195", "", "", ""]
    assert tires["made_week"].tolist() == ["", "2324", "", ""]
    assert set(tires["new_depth"]) == {""}  # how deep they were when new, nobody knows
    assert out.moves.empty
    lone = made([visit(JAN, 1000, (8, None, None, None))], life())
    assert lone.tables["mounts"]["position"].tolist() == ["LF"]


def test_tires_that_stay_are_mounted_once(made):
    out = made([visit(JAN, 1000), visit(FEB, 5000)], life(Course.STAY))
    assert len(out.tables["mounts"]) == 4
    assert len(out.tables["tires"]) == 4
    assert len(out.tables["depths"]) == 8


@pytest.mark.parametrize(
    ("before", "day", "odometer"), [(True, "2025-02-05", "4998"), (False, "2025-01-05", "1002")]
)
def test_moves_are_dated_by_when_their_work_was_done_two_km_off_the_reading(made, before, day, odometer):
    sure = [[1] * 4, [0.9, 0.8, 0.7004, 0.6]]
    lives = life(Course.STRAIGHT, before=[before], probability=sure, chance=0.8004,
                 others=[(Course.X, 0.1), (Course.STAY, 0.05), (Course.SIDES, 0.03), (Course.RF_NEW, 0.02)])  # fmt: skip
    out = made([visit(JAN, 1000), visit(FEB, 5000)], lives)
    mounts = out.tables["mounts"].iloc[4:]
    assert rows(mounts, "date", "odometer", "tire_id", "position", "probability") == [
        (day, odometer, f"A {was} 2025-01", now, chance)
        for was, now, chance in zip(("LR", "RR", "LF", "RF"), ROAD, ("0.9", "0.8", "0.7", "0.6"), strict=True)
    ]
    (move,) = out.moves.to_dict("records")
    assert move == {
        "vehicle_id": "A", "date": day, "what": "front-to-rear", "probability": 0.8, "source": "inferred",
        "others": (("x", 0.1), ("stay", 0.05), ("side-to-side", 0.03)),
    }  # fmt: skip


def test_new_tires_have_their_own_depth_and_those_they_replace_come_off(made):
    sure = [[1] * 4, [0.9, 0.7, 1, 1]]
    out = made([visit(JAN, 1000), visit(FEB, 5000, note="2 new front")], life(Course.FRONT_NEW, probability=sure),
               new_depth=8.0)  # fmt: skip
    mounts = out.tables["mounts"].iloc[4:]
    assert rows(mounts, "tire_id", "position", "source", "probability", "odometer") == [
        ("A LF 2025-01", "OFF", "inferred", "0.7", "4998"),
        ("A RF 2025-01", "OFF", "inferred", "0.7", "4998"),
        ("A LF 2025-02", "LF", "recorded", "0.9", "4998"),
        ("A RF 2025-02", "RF", "recorded", "0.7", "4998"),
    ]
    assert out.tables["tires"]["new_depth"].tolist() == ["", "", "", "", "8", "8"]
    assert out.moves["source"].tolist() == ["noted"]


def test_a_mount_is_recorded_where_a_note_names_the_wheel_and_its_tire_is_new(made):
    two = [visit(JAN, 1000), visit(FEB, 5000)]
    assert set(made(two, life(Course.FRONT_NEW)).tables["mounts"]["source"]) == {"inferred"}
    noted = [visit(JAN, 1000), visit(FEB, 5000, note="new fronts")]
    assert set(made(noted, life(Course.STRAIGHT)).tables["mounts"]["source"]) == {"inferred"}
    rear = made(noted, life(Course.FRONT_NEW_FRONTS_BACK)).tables["mounts"].iloc[-4:]
    assert rear["source"].tolist() == ["recorded", "recorded", "inferred", "inferred"]


def test_a_first_visit_that_notes_new_tires_tells_how_deep_they_were(made):
    out = made([visit(JAN, 1000, note="new rears")], life(), new_depth=8.0)
    assert out.tables["tires"]["new_depth"].tolist() == ["", "", "8", "8"]


def test_depths_when_new_that_the_sheet_tells_are_used_where_none_is_given(made):
    told = visit(JAN, 1000, new_depth={"": 7.5, "LF": 9.0, "RR": math.nan})
    assert made([told], life()).tables["tires"]["new_depth"].tolist() == ["9", "7.5", "7.5", ""]
    assert made.asked[1] == pytest.approx(8.25)  # the middle of what is told
    fresh = visit(FEB, 5000, new_depth={"": 7.5})
    out = made([visit(JAN, 1000), fresh], life(Course.FOUR_NEW), new_depth=9.0)
    assert out.tables["tires"]["new_depth"].tolist()[4:] == ["9"] * 4
    assert made.asked[1] == 9.0
    made([visit(JAN, 1000)], life(), how=Conventions(depth_unit="32nds", distance_unit="mi"), new_depth=10.0)
    assert made.asked[1] == pytest.approx(7.9375)
    made([visit(JAN, 1000)], life())
    assert made.asked[1] is None


def test_a_tire_goes_by_its_own_id_once(made):
    named = visit(JAN, 1000, tire_id={"LF": "T7", "RF": "T7"})
    out = made([named], life())
    assert out.tables["tires"]["tire_id"].tolist() == ["T7", "A RF 2025-01", "A LR 2025-01", "A RR 2025-01"]
    assert out.tables["mounts"]["source"].tolist() == ["recorded", "recorded", "inferred", "inferred"]


def test_names_that_are_taken_are_numbered(made):
    days = [dt.date(2025, 1, 5), dt.date(2025, 1, 15), dt.date(2025, 1, 25)]
    read = [visit(day, 1000 * k, (8, None, None, None)) for k, day in enumerate(days, 1)]
    out = made(read, life(Course.LF_NEW, Course.LF_NEW))
    assert out.tables["tires"]["tire_id"].tolist() == ["A LF 2025-01", "A LF 2025-01 (2)", "A LF 2025-01 (3)"]


def test_work_noted_after_the_last_reading_is_done_that_day(made):
    out = made([visit(JAN, 1000, note="rotated")], life(Course.STRAIGHT, before=[False]))
    mounts = out.tables["mounts"].iloc[4:]
    assert set(mounts["date"]) == {"2025-01-05"}
    assert set(mounts["odometer"]) == {"1002"}
    assert len(out.tables["depths"]) == 4
    assert out.moves[["what", "source"]].to_numpy().tolist() == [["front-to-rear", "noted"]]


@pytest.mark.parametrize(("chance", "asked"), [(0.89, 1), (0.9, 0)])
def test_tires_that_may_not_have_stayed_are_asked_about(made, chance, asked):
    lives = life(Course.STAY, chance=chance, others=[(Course.X, 0.1)])
    out = made([visit(JAN, 1000), visit(FEB, 5000)], lives)
    assert len(out.moves) == asked
    if asked:
        assert out.moves[["what", "date", "source", "others"]].to_numpy().tolist() == [
            ["stay", "2025-02-05", "inferred", (("x", 0.1),)]
        ]


def test_the_most_doubtful_move_comes_first(made):
    lives = life(Course.STRAIGHT, Course.X)
    lives.share[1] *= 0.99 / 0.95
    lives.share[2] *= 0.5 / 0.95
    out = made([visit(JAN, 1), visit(FEB, 2000), visit(MAR, 4000)], lives)
    assert out.moves["what"].tolist() == ["x", "front-to-rear"]


def test_a_reading_that_may_be_another_tires_says_how_far_off_that_is(made):
    same = [[0.9996, 0.9994, 0.5, -0.1]]
    out = made([visit(JAN, 1000)], life(same=same, apart=1.23456))
    assert rows(out.tables["depths"], "probability", "apart") == [
        ("", ""), ("0.999", "1.2346"), ("0.5", "1.2346"), ("0", "1.2346"),
    ]  # fmt: skip


def test_quantities_are_written_in_the_units_of_the_sheet(made):
    read = visit(JAN, 1609.344, (7.9375, 4.1, None, None), pressures=[("LF", 220.0, math.nan)])
    us = made([read], life(), how=Conventions(depth_unit="32nds", distance_unit="mi"))
    assert us.units == {"depth": "32nds", "odometer": "mi", "pressure": "psi"}
    assert us.tables["depths"][["odometer", "depth"]].to_numpy().tolist() == [
        ["1000", "10"],
        ["1000", "5.16535"],
    ]
    assert us.tables["pressures"][["pressure", "state", "odometer", "position"]].to_numpy().tolist() == [
        ["31.908", "cold", "1000", "LF"]
    ]
    metric = made([read], life())
    assert metric.units == {"depth": "mm", "odometer": "km", "pressure": "bar"}
    assert metric.tables["depths"]["odometer"].tolist() == ["1609.3", "1609.3"]
    assert metric.tables["pressures"]["pressure"].tolist() == ["2.2"]
    assert made([read], life(), how=Conventions()).units["odometer"] == "km"


def test_readings_of_one_groove_are_numbered_where_there_are_several(made):
    read = visit(JAN, 1000, (8, None, None, None))
    read.depths += [("LF", "center", 7.8), ("LF", "outer", 7.0), ("RF", "center", 6.0)]
    out = made([read], life())
    assert rows(out.tables["depths"], "position", "groove", "spot") == [
        ("LF", "center", "1"), ("LF", "center", "2"), ("LF", "outer", ""), ("RF", "center", ""),
    ]  # fmt: skip
    seen = made.asked[0][0]
    # A wheel's depth is the mean of its grooves' means.
    assert seen.depth_mm[0].tolist() == pytest.approx([(7.9 + 7.0) / 2, 6.0, math.nan, math.nan], nan_ok=True)


def test_a_visit_without_depths_is_an_odometer_reading(made):
    out = made([visit(JAN, 1000), visit(FEB, 5000, (None,) * 4)], life(Course.STAY))
    assert rows(out.tables["odometer"], "date", "vehicle_id", "odometer") == [("2025-02-05", "A", "5000")]
    assert out.tables["depths"]["from_sheet"].tolist() == ["Log:2"] * 4
    assert "pressures" not in out.tables
    assert "odometer" not in made([visit(JAN, 1000)], life()).tables


def test_what_is_told_of_a_vehicle(made):
    told = [
        visit(JAN, 1000, driver="Ann"),
        visit(FEB, 5000, driver="Bob", drive="rear"),
        visit(MAR, 9000, drive="all"),
    ]
    other = visit(JAN, 10, vehicle="B")
    out = made([*told, other], life(Course.STAY, Course.STAY), life())
    assert rows(out.tables["vehicles"], "vehicle_id", "drive", "driver_group") == [
        ("A", "rear", "Bob"),
        ("B", "", ""),
    ]
    assert [len(seen.depth_mm) for seen in made.asked[0]] == [3, 1]
    assert made.asked[0][0].odometer_km.tolist() == [1000, 5000, 9000]


def plan(tmp_path):
    left = [Fate("Old", 0, "left out")]
    return Plan(tmp_path / "shop.csv", [], METRIC, Settings(), left)


def put(tmp_path, made, memory=None, out=None):
    visits = [visit(JAN, 1000)]
    out = out or tmp_path / "book"
    write_folder(
        out, made(visits, life()), memory or Memory(), visits, plan(tmp_path), [Fate("Log", 2, "used")]
    )
    return out


def table(out, name):
    return pd.read_csv(out / f"{name}.csv", dtype=str, keep_default_na=False)


def test_a_folder_holds_its_tables_and_what_the_next_import_needs(made, tmp_path):
    out = put(tmp_path, made)
    assert sorted(path.name for path in out.iterdir()) == [
        "depths.csv", "imported.json", "mapping.toml", "mounts.csv", "rows_of_sheet.csv", "tires.csv", "vehicles.csv",
    ]  # fmt: skip
    assert [path.name for path in tmp_path.iterdir()] == ["book"]
    assert {"depth_mm", "odometer_km", "apart_mm"} <= set(table(out, "depths"))
    assert {"placard_front_bar", "placard_rear_bar"} <= set(table(out, "vehicles"))
    assert "new_depth_mm" in table(out, "tires")
    assert rows(table(out, "rows_of_sheet"), "tab", "row", "status") == [
        ("Log", "2", "used"),
        ("Old", "0", "left out"),
    ]
    assert set(remembered(out).visits) == {("A", "2025-01-05")}
    assert remembered(out).added == {}
    assert out.stat().st_mode & 0o777 == 0o755


def test_what_somebody_added_stays_and_what_they_completed_wins(made, tmp_path):
    added = {
        "vehicles": [{"vehicle_id": "A", "drive": "front"}, {"vehicle_id": "A", "drive": "rear"}],
        "depths": [{"date": "2025-05-01", "vehicle_id": "A", "depth_mm": "5"}],
        "alignment": [{"date": "2025-05-01", "axle": "front"}],
    }
    out = put(tmp_path, made, Memory(added=added))
    assert rows(table(out, "vehicles"), "vehicle_id", "drive") == [("A", "rear")]
    assert rows(table(out, "depths"), "date", "depth_mm").count(("2025-05-01", "5")) == 1
    assert len(table(out, "depths")) == 5
    assert len(table(out, "tires")) == 4
    assert rows(table(out, "alignment"), "axle") == [("front",)]
    assert remembered(out).added["alignment"] == added["alignment"]


def test_a_folder_takes_the_place_of_the_one_before(made, tmp_path):
    out = put(tmp_path, made)
    (out / "stray.txt").write_text("x")
    put(tmp_path, made)
    assert not (out / "stray.txt").exists()
    assert [path.name for path in tmp_path.iterdir()] == ["book"]


def test_a_folder_that_cannot_be_written_is_refused(made, tmp_path):
    with pytest.raises(InputError) as caught:
        put(tmp_path, made, out=tmp_path / "none" / "book")
    assert caught.value.problems[0].code == Refused.UNWRITTEN
    assert list(tmp_path.iterdir()) == []


def test_what_a_stopped_import_was_replacing_is_put_back(tmp_path):
    out, before = tmp_path / "book", tmp_path / ".book.before"
    put_back(out)
    assert list(tmp_path.iterdir()) == []
    before.mkdir()
    (before / "old").write_text("")
    put_back(out)
    assert [path.name for path in out.iterdir()] == ["old"]
    before.mkdir()
    put_back(out)  # the new one stands: only what was left behind goes
    assert [path.name for path in tmp_path.iterdir()] == ["book"]
    assert [path.name for path in out.iterdir()] == ["old"]
