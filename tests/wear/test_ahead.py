"""What vehicles are taken to go on with, from tables by hand."""

import numpy as np
import pandas as pd
import pytest

from tests.wear.books import MOUNTS, VEHICLES, make_book
from tirelife.driving import default_profile
from tirelife.wear import ahead
from tirelife.wear.ahead import PRESSURES, book_about, conditions_table

BOTH = VEHICLES + "B,rear,32,32\n"
TWO = MOUNTS + "2024-01-01,0,B,T5,LF\n"
TIRES = "tire_id,tire_line,new_depth_32nds\n" + "".join(f"T{i},Plain,10\n" for i in range(1, 6))


def test_of_a_car_that_nothing_is_told_of_all_is_usual(tmp_path):
    table = conditions_table(make_book(tmp_path))
    assert table.index.tolist() == ["A"]
    row = table.loc["A"]
    assert row["drive"] == "front"
    assert row["drive_v2"] == default_profile().drive_v2
    assert row[list(PRESSURES)].tolist() == [1.0] * 4
    assert row[["front_toe_mm", "rear_toe_mm"]].tolist() == [0.0, 0.0]
    assert row.index[row.isna()].tolist() == ["distance_km"]  # of nothing that was driven


def test_toe_is_as_last_set_whichever_way_it_points(tmp_path):
    book = make_book(
        tmp_path, vehicles=BOTH, tires=TIRES, mounts=TWO,
        alignment="date,odometer_mi,vehicle_id,axle,toe_mm\n2024-02-01,500,A,front,1\n2024-06-01,900,A,front,-3\n2024-03-01,500,B,rear,2\n",
    )  # fmt: skip
    table = conditions_table(book)
    assert table.loc["A", ["front_toe_mm", "rear_toe_mm"]].tolist() == pytest.approx([3.0, 0.0])
    assert table.loc["B", ["front_toe_mm", "rear_toe_mm"]].tolist() == pytest.approx([0.0, 2.0])


def test_pressures_are_those_of_the_last_year_by_distance(tmp_path, monkeypatch):
    book = make_book(tmp_path)
    day = pd.Timestamp("2026-01-01")
    path = pd.DataFrame(
        {"vehicle_id": "A", "position": ["LF", "LF", "LF", "RF", "LR", "RR"], "from_km": [0.0, 5e3, 6e3, 0.0, 0.0, 0.0],
         "to_km": [5e3, 6e3, 9e3, 0.0, 9e3, 9e3], "cold_kpa": [100.0, 2.0, 1.0, 3.0, np.nan, 1.5], "placard_kpa": 1.0,
         "to_date": [day - pd.Timedelta(days=365), *[day - pd.Timedelta(days=364)] * 2, day, day, day]}
    )  # fmt: skip
    monkeypatch.setattr(ahead, "pressure_path", lambda book: path)
    monkeypatch.setattr(ahead, "pressure_wear", lambda cold, placard: cold.to_numpy(float))
    row = conditions_table(book).loc["A"]
    # 1,000 km at twice the wear and 3,000 at once; what ran a year ago or nothing, or is not known, counts for nothing.
    assert row[list(PRESSURES)].tolist() == pytest.approx([(2 + 3) / 4, 1.0, 1.0, 1.5])


def test_habits_are_the_latest_of_each_car(tmp_path, monkeypatch):
    book = make_book(tmp_path, vehicles=BOTH, tires=TIRES, mounts=TWO)
    usual = ahead.profiles_to_frame([default_profile()])
    rows = pd.concat([usual.assign(drive_v2=v) for v in (100.0, 200.0)], ignore_index=True)
    habits = rows.assign(
        vehicle_id="B", from_date=pd.Timestamp("2024-01-01"), to_date=pd.Timestamp("2024-06-01")
    )
    monkeypatch.setattr(ahead, "profiles_from_habits", lambda book: habits)
    table = conditions_table(book)
    assert table["drive_v2"].tolist() == [default_profile().drive_v2, 200.0]
    assert "from_date" not in table


def test_a_small_log_is_given_whole_and_of_a_large_one_what_its_tires_ever_touched(tmp_path, monkeypatch):
    # T1 moved from A to B; C has nothing to do with either.
    book = make_book(
        tmp_path, vehicles=BOTH + "C,front,32,32\n", tires=TIRES,
        mounts=MOUNTS + "2024-06-01,5000,A,T1,OFF\n2024-06-02,0,B,T1,LF\n2024-01-01,0,C,T5,LF\n",
        depths="date,odometer_mi,vehicle_id,position,groove,depth_32nds\n2025-01-01,9000,A,LR,center,8\n",
    )  # fmt: skip
    assert book_about(book, {"B"}) is book
    monkeypatch.setattr(ahead, "SMALL", len(book.tables["mounts"]))
    assert book_about(book, {"B"}) is book
    monkeypatch.setattr(ahead, "SMALL", len(book.tables["mounts"]) - 1)
    part = book_about(book, {"B"})
    assert set(part.vehicles["vehicle_id"]) == {"A", "B"}
    assert set(part.mounts["vehicle_id"]) == {"A", "B"}
    assert len(part.tires) == len(book.tires)
    assert set(book_about(book, {"C"}).vehicles["vehicle_id"]) == {"C"}
