"""A table of texts turned into values: which column is which, units, and what is told of cells."""

import numpy as np
import pytest

from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.parse import parse
from tirelife.logbook.textfile import TextTable, cells_of


def parsed(name, text):
    head, *lines = [line.split(",") for line in text.strip().splitlines()]
    cells = {}
    for i, column in enumerate(head):
        free = column if column and column not in cells else f"\x00{len(cells)}\x00{column}"
        cells[free] = cells_of([line[i] for line in lines])
    found = Findings()
    table = TextTable(name, f"{name}.csv", np.arange(len(lines), dtype=np.int64) + 2, cells)
    return parse(table, found), found.frame()


def told(found):
    return found[["row", "column", "code"]].to_numpy().tolist()


TIRES = "tire_id,tire_line,new_depth_32nds\nT1,A,10\nT2,A,11\n"


def test_values_stand_in_inside_units():
    out, found = parsed("tires", TIRES)
    assert found.empty
    assert out.number["new_depth_mm"] == pytest.approx([7.9375, 8.73125])
    assert (out.raw["new_depth_mm"], out.unit["new_depth_mm"]) == ("new_depth_32nds", "32nds")
    assert list(out.text["tire_id"].text()) == ["T1", "T2"]
    assert len(out) == 2


def test_a_key_that_comes_again_names_the_row_before():
    _, found = parsed("tires", TIRES + "T3,A,10\nT1,A,10\n")
    assert told(found) == [[5, "tire_id", Found.KEY_TWICE]]
    assert dict(found["values"][0]) == {"row": 2}


def test_blanks_where_there_may_be_none():
    _, found = parsed("tires", TIRES + ",A,10\n")
    assert told(found) == [[4, "tire_id", Found.BLANK]]


@pytest.mark.parametrize(
    ("head", "column", "code", "ask"),
    [
        ("tire_id,tire_line,new_depth", "new_depth", Found.UNIT_MISSING, Ask.NAME_COLUMN),
        ("tire_id,tire_line,new_depth_cm", "new_depth_cm", Found.UNIT_WRONG, Ask.NAME_COLUMN),
        ("Tire ID,tire_line,new_depth_mm", "tire_id", Found.COLUMN_MISSING, Ask.RENAME_COLUMN),
        ("tyre_id,tire_line,new_depth_mm", "tire_id", Found.COLUMN_MISSING, Ask.RENAME_COLUMN),
        ("x,tire_line,new_depth_mm", "tire_id", Found.COLUMN_MISSING, ""),
    ],
)
def test_a_column_that_is_not_there(head, column, code, ask):
    _, found = parsed("tires", f"{head}\nT1,A,8\n")
    first = found[~found["doubt"]].iloc[0]
    assert (first["row"], first["column"], first["code"], first["ask"]) == (1, column, code, ask)


def test_one_quantity_in_two_units_is_an_error_and_so_are_two_of_a_kind():
    _, twice = parsed("tires", "tire_id,tire_line,new_depth_mm,new_depth_32nds\nT1,A,8,10\n")
    assert told(twice) == [[1, "new_depth_32nds", Found.TWO_UNITS]]
    _, apart = parsed("vehicles", "vehicle_id,drive,placard_front_psi,placard_rear_kpa\nV1,front,33,230\n")
    assert told(apart) == [[1, "placard_rear_kpa", Found.UNITS_DIFFER]]
    _, alike = parsed("vehicles", "vehicle_id,drive,placard_front_psi,placard_rear_psi\nV1,front,33,33\n")
    assert alike.empty


def test_a_column_twice_is_an_error_and_unknown_ones_a_doubt():
    _, found = parsed("tires", "tire_id,tire_line,new_depth_mm,tire_line,shelf,\nT1,A,8,B,9,x\n")
    assert told(found) == [[1, "tire_line", Found.COLUMN_TWICE], [1, "", Found.COLUMN_UNKNOWN]]
    assert dict(found["values"][1])["names"] == ("shelf", "")
    assert found["doubt"].tolist() == [False, True]


def test_what_is_out_of_range_is_told_with_its_text():
    _, found = parsed("tires", "tire_id,tire_line,new_depth_mm\nT1,A,81\nT2,A,8\n")
    assert told(found) == [[2, "new_depth_mm", Found.OUT_OF_RANGE]]
    assert found["value"][0] == "81"


HABITS = (
    "vehicle_id,from_date,to_date,share_under_25mph,share_25_40mph,share_40_55mph,share_55_70mph,"
    "share_over_70mph,hard_starts_per_100mi,hard_stops_per_100mi,hard_turns_per_100mi\n"
)


@pytest.mark.parametrize(
    ("last", "codes"),
    [("0.2", []), ("0.225", []), ("0.175", []), ("0.226", [Found.SHARES]), ("0.17", [Found.SHARES])],
)
def test_shares_add_up_to_one_but_for_rounding(last, codes):
    _, found = parsed("habits", f"{HABITS}V1,2025-01-01,2025-02-01,0.2,0.2,0.2,0.2,{last},1,1,1\n")
    assert found["code"].tolist() == codes


@pytest.mark.parametrize(("end", "codes"), [("2025-01-01", []), ("2024-12-31", [Found.ENDS_BEFORE])])
def test_habits_end_no_sooner_than_they_begin(end, codes):
    _, found = parsed("habits", f"{HABITS}V1,2025-01-01,{end},0.2,0.2,0.2,0.2,0.2,1,1,1\n")
    assert found["code"].tolist() == codes


@pytest.mark.parametrize(
    ("row", "codes"),
    [("depth,5,5,mm", []), ("pressure,30,30,psi", []), ("depth,5,5,psi", [Found.UNIT_NOT_OF_KIND]),
     ("depth,5,5,inches", [Found.UNIT_NOT_OF_KIND]), ("depth,500,5,mm", [Found.OUT_OF_RANGE]),
     ("depth,5,-1,mm", [Found.OUT_OF_RANGE]), ("depth,30,25,32nds", []), ("depth,60,5,mm", [Found.OUT_OF_RANGE])],
)  # fmt: skip
def test_comparisons_of_a_gauge(row, codes):
    _, found = parsed("gauges", f"gauge_id,date,kind,reading,master,unit\nD1,2025-01-01,{row}\n")
    assert found["code"].tolist() == codes


def test_commas_for_decimals_are_a_doubt_of_the_file():
    head = "tire_id;tire_line;new_depth_mm".replace(";", ",")
    cells = {
        name: cells_of(words) for name, words in zip(head.split(","), (["T1"], ["A"], ["7,9"]), strict=True)
    }
    found = Findings()
    out = parse(TextTable("tires", "tires.csv", np.array([2]), cells), found)
    assert out.number["new_depth_mm"].tolist() == [7.9]
    assert found.frame()[["column", "code", "doubt"]].to_numpy().tolist() == [
        ["new_depth_mm", Found.DECIMAL_COMMAS, True],
    ]  # fmt: skip


def test_a_table_without_records():
    for name, head, doubt in (
        ("tires", "tire_id,tire_line,new_depth_mm", False),
        ("depths", "date,odometer_km,vehicle_id,position,groove,depth_mm", True),
    ):
        found = Findings()
        cells = {column: cells_of([]) for column in head.split(",")}
        parse(TextTable(name, f"{name}.csv", np.zeros(0, dtype=np.int64), cells), found)
        assert found.frame()[["code", "doubt"]].to_numpy().tolist() == [[Found.NO_RECORDS, doubt]]


def test_records_left_out_of_a_copy_stay_in_the_table():
    out, _ = parsed("tires", TIRES)
    other = out.copy()
    other.keep(np.array([False, True]))
    assert (len(out), len(other)) == (2, 1)
    assert list(other.written("tire_id", np.array([True]))) == ["T2"]
    frame = other.frame()
    assert frame["row"].tolist() == [3]
    assert frame["new_depth_mm"].tolist() == [8.73125]
    assert (frame["doubt"] == "").all()
