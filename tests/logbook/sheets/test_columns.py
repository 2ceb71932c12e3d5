"""The header of a tab is found, and each column by its name and by what stands in it."""

import pytest

from tirelife.logbook.sheets.columns import find_table, names_vehicles
from tirelife.logbook.sheets.files import Grid
from tirelife.logbook.sheets.told import How

WHEELS = ("LF", "RF", "LR", "RR")
DAYS = [f"2025-{m:02d}-10" for m in range(1, 7)]


def fields(head, *rows, given=None, above=()):
    found = find_table(Grid("Tab", [*map(list, above), list(head), *map(list, rows)]), given)
    return None if found is None else [str(column.field) for column in found.columns]


def visits(*cells):
    """Six visits of two vehicles: cells are values, or functions of the number of the visit."""
    return [[cell(i) if callable(cell) else cell for cell in cells] for i in range(6)]


def day(i):
    return DAYS[i]


def van(i):
    return f"AB{i % 2}"


def miles(i):
    return 10_000 + 3_000 * i


def test_headers_name_what_columns_hold():
    said = fields(("Vehicle", "Date", "Odometer (mi)", *WHEELS), *visits(van, day, miles, 8, 8, 7, 7))
    assert said == ["vehicle", "date", "odometer mi", *(f"depth {wheel}" for wheel in WHEELS)]


@pytest.mark.parametrize(
    ("value", "role"),
    [(8, "depth"), (17.5, "depth"), (17.6, "pressure"), (33, "pressure"), (230, "pressure")],
)
def test_a_wheel_alone_is_of_depths_or_pressures_by_size(value, role):
    said = fields(("Vehicle", "Date", *WHEELS), *visits(van, day, value, value, value, value))
    assert said[2:] == [f"{role} {wheel}" for wheel in WHEELS]


def test_a_title_above_is_no_header_and_units_below_belong_to_it():
    grid = Grid(
        "Tab",
        [["Tread of our vans"], ["Vehicle", "Date", "Odometer", *WHEELS], [None, None, "km", *["mm"] * 4],
         *visits(van, day, miles, 6, 6, 5, 5)],
    )  # fmt: skip
    found = find_table(grid)
    assert found.title == ["Tread of our vans"]
    assert found.header_rows == (1, 2)
    assert found.first == 3
    assert str(found.of("odometer")[0].field) == "odometer km"
    assert [str(c.field) for c in found.of("depth")] == [f"depth {wheel} mm" for wheel in WHEELS]


def test_names_over_several_columns_are_spread_over_them():
    over = ["Vehicle", "Date", "LF", None, None, "RF", None, None]
    under = [None, None, *["outer", "center", "inner"] * 2]
    said = fields(under, *visits(van, day, 8, 8, 7, 8, 8, 7), above=[over])
    assert said[2:] == [f"depth {w} {g}" for w in ("LF", "RF") for g in ("outer", "center", "inner")]


@pytest.mark.parametrize(("times", "grooves"), [(2, ["outer", "inner"]), (3, ["outer", "center", "inner"])])
def test_a_wheel_named_again_and_again_is_of_grooves_from_outside(times, grooves):
    head = ["Vehicle", "Date", *(w for w in ("LF", "RF") for _ in range(times))]
    found = find_table(Grid("Tab", [head, *visits(van, day, *[7] * (2 * times))]))
    assert [c.field.groove for c in found.of("depth")] == grooves * 2
    assert {c.how for c in found.of("depth")} == {How.NAME_ORDER}


def test_columns_without_a_name_are_known_by_what_stands_in_them():
    found = find_table(Grid("Tab", [["x", "y", "z", *WHEELS], *visits(van, day, miles, 8, 8, 7, 7)]))
    assert [(str(c.field), c.how) for c in found.columns[:3]] == [
        ("vehicle", How.CONTENT), ("date", How.CONTENT), ("odometer", How.CONTENT),
    ]  # fmt: skip


def test_what_is_given_wins_by_letter_or_by_header():
    rows = visits(van, day, miles, 8, 8, 7, 7)
    given = {"D": "depth RR", "RR": "depth LF mm"}
    found = find_table(Grid("Tab", [["Vehicle", "Date", "Miles", *WHEELS], *rows]), given)
    assert [str(c.field) for c in found.columns[3:]] == ["depth RR", "depth RF", "depth LR", "depth LF mm"]
    assert [c.how for c in found.columns[3:]].count(How.GIVEN) == 2


def test_of_two_dates_the_one_that_fits_is_taken():
    rows = [[van(i), "unknown", DAYS[i], 8, 8, 7, 7] for i in range(6)]
    assert fields(("Vehicle", "Date", "Date", *WHEELS), *rows)[1:3] == ["ignored", "date"]
    both = [[van(i), DAYS[i], DAYS[i], 8, 8, 7, 7] for i in range(6)]
    assert fields(("Vehicle", "Date", "Date", *WHEELS), *both)[1:3] == ["date", "ignored"]


def test_a_column_of_depths_that_holds_none_is_not_taken_for_one():
    rows = [[van(i), DAYS[i], 8, 8, 7, "good"] for i in range(6)]
    assert fields(("Vehicle", "Date", "LF", "RF", "LR", "RR depth"), *rows)[-1] == "?"


def test_a_column_of_ticks_is_of_work():
    rows = [[van(i), DAYS[i], 8, 8, 7, 7, "x" if i % 2 else None] for i in range(6)]
    assert fields(("Vehicle", "Date", *WHEELS, "Rotated?"), *rows)[-1] == "work"


def test_cells_that_name_their_wheels():
    cells = "LF 6 RF 6 LR 5 RR 5"
    assert fields(("Vehicle", "Date", "Tires"), *visits(van, day, cells))[-1] == "depth LF/RF/LR/RR"


def test_inner_in_inches_is_a_unit():
    rows = visits(van, day, 0.25, 0.25, 0.2, 0.2)
    said = fields(("Vehicle", "Date", *(f"{w} in" for w in WHEELS)), *rows)
    assert said[2:] == [f"depth {wheel} in" for wheel in WHEELS]


@pytest.mark.parametrize(
    "cells",
    [
        [],
        [["Name", "Address", "Town"], ["A", "B", "C"]],
        [["Vehicle", "Date"], ["AB1", "2025-01-10"]],
        [[1, 2, 3], [4, 5, 6]],
    ],
)
def test_what_is_no_table_of_depths_is_none(cells):
    assert find_table(Grid("Tab", cells)) is None


def test_names_of_vehicles_are_short_mixed_and_come_again():
    assert names_vehicles(["AB1", "AB2"] * 3) == 1.0
    assert names_vehicles(["AB1", "rest"] * 3) == 0.5
    assert names_vehicles([f"AB{i}" for i in range(6)]) == 0.0  # none comes again
    assert names_vehicles(["12", "13"] * 3) == 0.0
    assert names_vehicles(["A1" * 13, "B1" * 13] * 3) == 0.0  # 26 letters
    assert names_vehicles([]) == 0.0
