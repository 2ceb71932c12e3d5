"""Sheets that are not laid out as a row a visit, turned into such."""

import datetime as dt

import pytest

from tirelife.logbook.sheets.files import Grid
from tirelife.logbook.sheets.layouts import days_of_month, join_dates, names_month, parted, turned, unrolled

WHEELS = ("LF", "RF", "LR", "RR")


def test_turning_swaps_rows_and_columns_and_all_that_is_told_of_them():
    grid = Grid("t", [["a", "b", "c"], [1]], merged=[(0, 1, 0, 2)], bad={(1, 0): "#REF!"})
    out = turned(grid)
    assert out.cells == [["a", 1], ["b", None], ["c", None]]
    assert out.merged == [(1, 0, 2, 0)]
    assert out.bad == {(0, 1): "#REF!"}
    assert out.turned


def test_a_group_of_columns_a_visit_becomes_a_row_a_visit():
    head = ["Van", "Plate", *("Date", *WHEELS), *("Date", *WHEELS)]
    grid = Grid(
        "t",
        [["Our vans"], head,
         ["V1", "AB", "2025-01-02", 8, 8, 7, 7, "2025-06-02", 7, 7, 6, 6],
         ["V2", "CD", None, None, None, None, None, "2025-06-03", 5, 5, 5, 5],
         ["V3", "EF"]],
    )  # fmt: skip
    out = unrolled(grid)
    assert out.cells == [
        ["Our vans"],
        ["Van", "Plate", "Date", *WHEELS],
        ["V1", "AB", "2025-01-02", 8, 8, 7, 7],
        ["V1", "AB", "2025-06-02", 7, 7, 6, 6],
        ["V2", "CD", "2025-06-03", 5, 5, 5, 5],
        ["V3", "EF"],
    ]
    assert [out.place(i) for i in range(6)] == [1, 2, 3, 3, 4, 5]


def test_days_over_the_groups_become_a_column():
    grid = Grid(
        "t",
        [[None, "2025-01-02", None, None, None, "2025-06-02"], ["Van", *WHEELS, *WHEELS],
         ["V1", 8, 8, 7, 7, 6, 6, 5, 5]],
    )  # fmt: skip
    assert unrolled(grid).cells[1:] == [
        ["Van", "Date", *WHEELS],
        ["V1", "2025-01-02", 8, 8, 7, 7],
        ["V1", "2025-06-02", 6, 6, 5, 5],
    ]


@pytest.mark.parametrize(
    "rows",
    [
        [["Van", "Date", *WHEELS], ["V1", "2025-01-02", 8, 8, 7, 7]],
        [["Van", *WHEELS, *WHEELS], ["V1", 8, 8, 7, 7, 6, 6, 5, 5]],
        [["Date", *WHEELS, "Date", *WHEELS[:3]], ["2025-01-02", 8, 8, 7, 7]],
    ],
)
def test_one_group_undated_groups_and_groups_that_differ_stay(rows):
    grid = Grid("t", rows)
    assert unrolled(grid) is grid


def test_rows_of_depths_and_of_pressures_by_turns_become_columns_of_either():
    rows = [["Date", "What", "LF", "RF"]]
    for day, deep, air in (("2025-01-02", 8, 33), ("2025-06-02", 7, 32)):
        rows += [[day, "tread", deep, deep], [None, "PSI", air, air + 1]]
    out = parted(Grid("t", rows))
    assert out.cells[0] == ["Date", None, "LF tread", "RF tread", "LF PSI", "RF PSI"]
    assert out.cells[1] == ["2025-01-02", None, 8, 8, None, None]
    assert out.cells[2] == ["2025-01-02", None, None, None, 33, 34]
    assert out.cells[4] == ["2025-06-02", None, None, None, 32, 33]


def test_rows_of_one_kind_stay():
    rows = [["Date", "What", "LF", "RF"], *([f"2025-0{i}-02", "tread", 8, 8] for i in (1, 2, 3, 4))]
    grid = Grid("t", rows)
    assert parted(grid) is grid


@pytest.mark.parametrize(
    ("words", "parts"), [("Tread depth (32nds inch)", True), ("Tread depths (32nds inch)", False)]
)
def test_words_of_more_than_24_letters_are_a_remark_and_no_kind_of_row(words, parts):
    rows = [["Date", "What", "LF", "RF"]]
    for day in ("2025-01-02", "2025-06-02"):
        rows += [[day, words, 8, 8], [None, "PSI", 33, 34]]
    assert len(words) == (24 if parts else 25)
    assert (parted(Grid("t", rows)).cells[0][-2:] == ["LF PSI", "RF PSI"]) is parts


def test_year_month_and_day_of_their_own_columns_are_one_date():
    grid = Grid("t", [["Day", "Month", "Year"], [14, "3", 26], [31, 2, 2026], ["x", 1, 2026], [5]])
    assert join_dates(grid, ["Day", "Month", "Year"], 1) == {"year": 2, "month": 1, "day": 0}
    assert [row[0] for row in grid.cells[1:]] == [dt.date(2026, 3, 14), 31, "x", 5]
    assert join_dates(grid, ["Day", "Month", "Month", "Year"], 1) == {}
    assert join_dates(grid, ["Day", "Year"], 1) == {}


def test_days_of_the_month_that_a_tab_is_called_by():
    grid = Grid("March 2026", [["Day", "LF"], ["1", 8], [31, 7], ["32", 7], ["7", 6]])
    assert days_of_month(grid, 0, 1, [])
    assert [row[0] for row in grid.cells[1:]] == [
        dt.date(2026, 3, 1),
        dt.date(2026, 3, 31),
        "32",
        dt.date(2026, 3, 7),
    ]
    few = Grid("March 2026", [["Day"], ["1"], ["soon"], ["later"]])
    assert not days_of_month(few, 0, 1, [])
    assert not days_of_month(Grid("Vans", [["Day"], ["1"]]), 0, 1, [])
    titled = Grid("Vans", [["Day"], ["1"]])
    assert days_of_month(titled, 0, 1, ["2026-04"])
    assert titled.cells[1] == [dt.date(2026, 4, 1)]


@pytest.mark.parametrize("cell", ["7", "7.", "07.", "7.0", 7, 7.0])
def test_a_day_of_the_month_may_end_with_a_point(cell):
    twelve = str(cell).replace("07", "12").replace("7", "12")
    for text, number in ((cell, 7), (twelve, 12)):
        grid = Grid("März 2026", [["Tag"], [text]])
        assert days_of_month(grid, 0, 1, [])
        assert grid.cells[1] == [dt.date(2026, 3, number)]


@pytest.mark.parametrize(
    ("text", "so"),
    [("March 2026", True), ("2026-03", True), ("3/2026", True), ("Mar 26", True), ("2026-13", False),
     ("March", False), ("Vans 2026", False), ("", False)],
)  # fmt: skip
def test_tabs_called_by_a_month(text, so):
    assert names_month(text) is so
