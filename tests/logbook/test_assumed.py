"""What a logbook does not say of its vehicles: what is taken instead, and the doubt that says so."""

import pandas as pd
import pytest

from tests.logbook.folders import TABLES, folder
from tirelife.logbook import read_logbook
from tirelife.logbook.assumed import ASSUMED_DRIVE, ASSUMED_KPA, assume_vehicles
from tirelife.logbook.codes import Found

NAN = float("nan")
NONE = pd.DataFrame({"vehicle_id": [], "position": [], "pressure_kpa": [], "state": []})


def vehicles(drive="rear", front=230.0, rear=250.0, name="V1"):
    return pd.DataFrame(
        {"vehicle_id": [name], "drive": [drive], "placard_front_kpa": [front], "placard_rear_kpa": [rear]}
    )


def pressures(*rows):
    return pd.DataFrame(rows, columns=["vehicle_id", "position", "pressure_kpa", "state"])


def test_what_is_known_stays():
    out = assume_vehicles(vehicles(), pressures(("V1", "LF", 300.0, "cold")))
    assert out.loc[0, ["drive", "placard_front_kpa", "placard_rear_kpa", "assumed"]].tolist() == [
        "rear", 230.0, 250.0, "",
    ]  # fmt: skip


def test_what_is_not_known_is_named():
    out = assume_vehicles(vehicles("", NAN, NAN), NONE)
    assert out.loc[0, "assumed"] == "drive, placard_front, placard_rear"
    assert out.loc[0, "drive"] == ASSUMED_DRIVE
    assert out.loc[0, "placard_front_kpa"] == ASSUMED_KPA


def test_a_placard_is_the_median_of_its_axles_cold_readings():
    read = pressures(
        ("V1", "LF", 210.0, "cold"), ("V1", "RF", 220.0, "cold"), ("V1", "LF", 245.0, "cold"),
        ("V1", "RF", 330.0, "warm"), ("V1", "LR", 260.0, "cold"), ("V2", "LF", 300.0, "cold"),
    )  # fmt: skip
    out = assume_vehicles(vehicles(front=NAN), read)
    assert out.loc[0, "placard_front_kpa"] == 220.0
    assert out.loc[0, "placard_rear_kpa"] == 250.0  # known, so not the 260 read
    assert out.loc[0, "assumed"] == "placard_front"


@pytest.mark.parametrize(("read", "want"), [(120.0, 180.0), (180.0, 180.0), (350.0, 350.0), (400.0, 350.0)])
def test_a_placard_lies_within_180_to_350_kpa(read, want):
    out = assume_vehicles(vehicles(rear=NAN), pressures(("V1", "RR", read, "cold")))
    assert out.loc[0, "placard_rear_kpa"] == want


def test_the_frame_that_is_given_stays_as_it_was():
    given = vehicles("")
    assume_vehicles(given, NONE)
    assert given.loc[0, "drive"] == ""


def test_each_gap_is_a_doubt_at_its_row_and_column(tmp_path):
    text = "vehicle_id,drive,placard_front_psi,placard_rear_psi\nV1,,33,33\nV2,rear,,38\n"
    book = read_logbook(folder(tmp_path / "book", vehicles=text))
    found = book.problems[book.problems["code"] == Found.NOT_KNOWN]
    assert found[["row", "column", "doubt"]].to_numpy().tolist() == [
        [2, "drive", True], [3, "placard_front_psi", True],
    ]  # fmt: skip
    assert not (read_logbook(folder(tmp_path / "whole")).problems["code"] == Found.NOT_KNOWN).any()
    assert "33,33" in TABLES["vehicles"]
