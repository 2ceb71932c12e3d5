"""Rows of one day become one visit, and what they say twice is told once."""

from tests.logbook.sheets.test_records import JAN, PLAIN, fates, read, table, values
from tirelife.logbook.sheets.told import Row


def test_rows_of_one_day_are_one_visit():
    fields = ("date", "vehicle", "odometer", "depth LF", "depth RF", "note", "driver", "drive")
    rows = [[JAN, "A", None, 8, None, "seen", None, None], [JAN, "A", 1000, None, 7, "rotated", "Ann", "FWD"],
            [JAN, "A", 2000, None, None, None, "Bob", "rear"]]  # fmt: skip
    (visit,), _ = read(table(rows, fields))
    assert visit.odometer_km == 1000
    assert [d[0] for d in visit.depths] == ["LF", "RF"]
    assert (visit.note, visit.driver, visit.drive) == ("seen rotated", "Ann", "front")
    assert [row for _, row in visit.rows] == [2, 3, 4]


def test_what_says_the_same_again_is_not_doubled_and_a_second_reading_is_doubted():
    rows = [[JAN, "A", 1000, 8, 7], [JAN, "A", 1000, 8, 7], [JAN, "A", 1000, 8, 6.5]]
    (visit,), found = read(table(rows, PLAIN[:5]))
    assert visit.depths == [
        ("LF", "center", 8),
        ("RF", "center", 7),
        ("LF", "center", 8),
        ("RF", "center", 6.5),
    ]
    assert fates(found) == [(2, "used", []), (3, "left out", [Row.AGAIN]), (4, "doubted", [Row.SECOND])]
    assert values(found[1]) == values(found[2]) == {"row": 2}


def test_a_row_that_says_the_depths_again_keeps_what_else_it_says():
    fields = ("date", "vehicle", "odometer", "depth LF mm", "pressure LF kpa", "note", "driver")
    rows = [[JAN, "A", 1000, 8, None, "seen", ""], [JAN, "A", 1000, 8, 230, "rotated", "Ann"],
            [JAN, "A", 1000, 8, 230, "seen", ""]]  # fmt: skip
    (visit,), found = read(table(rows, fields))
    assert [(w, mm) for w, _, mm in visit.depths] == [("LF", 8)]
    assert [(w, kpa) for w, kpa, _ in visit.pressures] == [("LF", 230)]
    assert (visit.note, visit.driver) == ("seen rotated", "Ann")
    assert fates(found) == [(2, "used", []), (3, "used", []), (4, "left out", [Row.AGAIN])]


def test_what_several_rows_of_a_visit_note_is_told_once():
    rows = [[JAN, "A", 1000, 8, *[None] * 3, "seen"], [JAN, "A", 1000, None, 7, None, None, "rotated"],
            [JAN, "A", 1000, None, None, 6, None, "seen"]]  # fmt: skip
    (visit,), _ = read(table(rows))
    assert visit.note == "seen rotated"
