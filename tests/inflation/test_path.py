import numpy as np
import pytest

from tests.logbook.folders import folder
from tests.wear.books import MOUNTS, make_book
from tirelife.cli import main
from tirelife.inflation import cold_pressures, pressure_path, tire_readings
from tirelife.logbook import read_logbook
from tirelife.units import convert

PRESSURES = """date,vehicle_id,position,pressure_psi,state,odometer_mi,set_to_psi
2024-04-10,A,LF,31,cold,2740,35
2024-07-19,A,LF,30,cold,5480,
"""
ROTATED = MOUNTS + "2024-07-19,5480,A,T3,LF\n2024-07-19,5480,A,T1,LR\n"


def psi(value):
    return convert(np.asarray(value, dtype=float), "kpa", "psi")


def test_straight_between_readings_assumed_before_held_after(tmp_path):
    path = pressure_path(make_book(tmp_path, pressures=PRESSURES))
    own = path[path["tire_id"] == "T1"]
    assert psi(own["start_kpa"]) == pytest.approx([35, 35, 30])
    assert psi(own["end_kpa"]) == pytest.approx([31, 30, 30])
    assert psi(own["cold_kpa"]) == pytest.approx([33, 32.5, 30])
    assert own["ratio"].to_numpy() == pytest.approx([33 / 35, 32.5 / 35, 30 / 35])
    assert [s.split(",")[0] for s in own["source"]] == [
        "to-first", "between", "held",
    ]  # fmt: skip
    assert own["from_km"].to_numpy() == pytest.approx(1.609344 * np.array([0, 2740, 5480]))


def test_a_tire_without_readings_lies_at_the_placard_and_says_so(tmp_path):
    path = pressure_path(make_book(tmp_path, pressures=PRESSURES))
    own = path[path["tire_id"] == "T4"]
    assert psi(own["cold_kpa"]).tolist() == pytest.approx([30])
    assert own["source"].tolist() == ["assumed"]


def test_distances_add_up_to_those_of_the_stretches(tmp_path):
    book = make_book(tmp_path, pressures=PRESSURES, mounts=ROTATED)
    path, stretches = pressure_path(book), book.stretches
    run = (path["to_km"] - path["from_km"]).groupby(path["tire_id"]).sum()
    whole = (stretches["to_km"] - stretches["from_km"]).groupby(stretches["tire_id"]).sum()
    assert run.to_numpy() == pytest.approx(whole.to_numpy(), abs=1e-9)
    assert (path["to_km"] >= path["from_km"]).all()


def test_pressure_goes_with_the_tire_and_the_placard_with_the_place(tmp_path):
    # T1, found at 30 psi on the left front on the day it goes to the left rear, keeps its 30 psi there.
    path = pressure_path(make_book(tmp_path, pressures=PRESSURES, mounts=ROTATED))
    last = path[path["tire_id"] == "T1"].iloc[-1]
    assert last["position"] == "LR"
    assert psi(last["cold_kpa"]) == pytest.approx(30)
    assert last["ratio"] == pytest.approx(1.0)
    other = path[path["tire_id"] == "T3"].iloc[-1]
    assert other["position"] == "LF"
    assert other["source"] == "assumed"


def test_a_move_between_readings_falls_on_the_straight_line(tmp_path):
    # Left at 35 psi on 10 April, found at 30 on 19 July, moved half way between, on 30 May.
    moved = MOUNTS + "2024-05-30,4110,A,T3,LF\n2024-05-30,4110,A,T1,LR\n"
    text = PRESSURES.replace("2024-07-19,A,LF", "2024-07-19,A,LR")
    path = pressure_path(make_book(tmp_path, pressures=text, mounts=moved))
    own = path[path["tire_id"] == "T1"]
    assert own["position"].tolist() == ["LF", "LF", "LR", "LR"]
    assert psi(own["start_kpa"]) == pytest.approx([35, 35, 32.5, 30])
    assert psi(own["end_kpa"]) == pytest.approx([31, 32.5, 30, 30])


def test_pressure_set_on_the_day_of_a_move_belongs_to_the_tire_that_came(tmp_path):
    text = PRESSURES.replace("5480,\n", "5480,35\n")
    readings = tire_readings(make_book(tmp_path, pressures=text, mounts=ROTATED))
    day = readings[readings["date"] == "2024-07-19"].set_index("tire_id")
    assert psi(day.loc["T1", "found_kpa"]) == pytest.approx(30)
    assert np.isnan(day.loc["T3", "found_kpa"])
    assert psi(day.loc["T3", "left_kpa"]) == pytest.approx(35)
    assert psi(day.loc["T1", "left_kpa"]) == pytest.approx(30)


def test_a_doubtful_reading_is_shown_and_not_used(tmp_path):
    # 3.1 typed for 31: kept, flagged by the logbook, and no tire is taken to have run nearly flat.
    book = make_book(tmp_path, pressures=PRESSURES.replace(",31,cold", ",3.1,cold"))
    shown = cold_pressures(book)
    assert shown["doubt"].iloc[0] != ""
    assert "doubtful-pressure" in shown["note"].iloc[0]
    own = pressure_path(book)
    own = own[own["tire_id"] == "T1"]
    assert psi(own["start_kpa"]).tolist() == pytest.approx([35, 35, 30])
    assert psi(own["end_kpa"]).min() > 29


def test_no_readings_at_all(tmp_path):
    path = pressure_path(make_book(tmp_path))
    assert path["ratio"].tolist() == [1.0] * 4


def test_a_pressure_read_before_any_tire_was_mounted_is_nobodys(tmp_path):
    log = "date,vehicle_id,position,pressure_psi,state\n2025-01-02,V1,LF,31,cold\n"
    book = read_logbook(folder(tmp_path, pressures=log), as_of="2025-01-05")
    assert book.stretches.empty
    assert tire_readings(book)["tire_id"].tolist() in ([], [""])
    assert main(["forecast", str(tmp_path), "--as-of", "2025-01-05"]) == 2
