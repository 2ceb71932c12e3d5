"""Tables of a logbook held against each other: names, week codes, units of distance."""

import pytest

from tests.logbook.folders import TABLES, folder, swap
from tirelife.logbook import check_logbook
from tirelife.logbook.codes import Ask, Found


def found(tmp_path, code, **tables):
    out = check_logbook(folder(tmp_path / "book", **tables))
    return out[out["code"] == code].reset_index(drop=True)


def test_a_whole_logbook_has_nothing_wrong(tmp_path):
    assert check_logbook(folder(tmp_path)).empty


def test_a_name_that_is_not_known_is_told_with_the_nearest(tmp_path):
    vehicles = TABLES["vehicles"].replace("V1", "VAN-1").replace("V2", "VAN-2")
    mounts = TABLES["mounts"].replace("V1", "VAN-1").replace("V2", "VAN-2")
    depths = TABLES["depths"].replace("V1", "VAN-1").replace("V2", "VAN-2")
    odd = depths + "2025-08-10,11000,VAM-1,LF,outer,8\n2025-08-10,11000,zz,LF,outer,8\n"
    rows = found(tmp_path, Found.UNKNOWN_ID, vehicles=vehicles, mounts=mounts, depths=odd)
    assert rows[["row", "column", "value", "ask"]].to_numpy().tolist() == [
        [74, "vehicle_id", "VAM-1", Ask.NEAR_ID], [75, "vehicle_id", "zz", ""],
    ]  # fmt: skip
    assert dict(rows["values"][0])["near"] == "VAN-1"


def test_a_tire_that_is_not_in_its_table(tmp_path):
    rows = found(tmp_path, Found.UNKNOWN_ID, mounts=swap("mounts", "T8", "T80"))
    assert rows[["file", "row", "column", "value"]].to_numpy().tolist() == [
        ["mounts.csv", 9, "tire_id", "T80"]
    ]


@pytest.mark.parametrize(
    ("code", "odd", "ask"),
    [("0724", False, ""), ("0125", False, ""), ("5324", False, ""), ("", False, ""), ("5424", True, ""),
     ("0024", True, ""), ("724", True, Ask.LOST_ZERO), ("07/24", True, ""), ("07241", True, "")],
)  # fmt: skip
def test_form_of_week_codes(tmp_path, code, odd, ask):
    rows = found(tmp_path, Found.WEEK_ODD, tires=swap("tires", "T1,Line A,10,0724", f"T1,Line A,10,{code}"))
    assert rows[["row", "ask", "doubt"]].to_numpy().tolist() == ([[2, ask, True]] if odd else [])


@pytest.mark.parametrize(("code", "late"), [("0225", False), ("0325", True), ("0126", True), ("0724", False)])
def test_no_tire_is_mounted_before_it_was_made(tmp_path, code, late):
    # Mounted on 10 January 2025: week 2 begins on 8 January, week 3 on the 15th.
    rows = found(tmp_path, Found.WEEK_LATE, tires=swap("tires", "T1,Line A,10,0724", f"T1,Line A,10,{code}"))
    assert rows["row"].tolist() == ([2] if late else [])


def test_miles_in_two_tables_and_km_in_one_is_a_doubt_of_the_one(tmp_path):
    odometer = "date,vehicle_id,odometer_km\n2025-03-10,V1,6437\n"
    rows = found(tmp_path, Found.DISTANCE_UNITS, odometer=odometer)
    assert rows[["file", "column", "doubt"]].to_numpy().tolist() == [["odometer.csv", "odometer_km", True]]
    miles = "date,vehicle_id,odometer_mi\n2025-03-10,V1,4000\n"
    assert found(tmp_path / "alike", Found.DISTANCE_UNITS, odometer=miles).empty
