"""What a whole sheet settles of its units, dates and marks, and what it has to ask."""

import datetime as dt

import pytest

from tirelife.logbook.sheets.columns import find_table
from tirelife.logbook.sheets.decide import Conventions, conventions, read_day
from tirelife.logbook.sheets.files import Grid
from tirelife.logbook.sheets.told import Asked, Settled

WHEELS = ("LF", "RF", "LR", "RR")
DAYS = ("2025-01-10", "2025-02-10", "2025-03-10", "2025-04-10", "2025-05-10", "2025-06-10")
MILES = (10_000, 12_000, 14_000, 16_000, 18_000, 20_000)


def settled(
    depths=(9, 9, 8, 8, 7, 7), days=DAYS, miles=MILES, head=None, told=None, title=None, delimiter=""
):
    """Conventions of a sheet of one vehicle."""
    head = head or ("Vehicle", "Date", "Odometer", *WHEELS)
    rows = [["AB1", d, m, *[x] * 4] for d, m, x in zip(days, miles, depths, strict=True)]
    above = [[title]] if title else []
    table = find_table(Grid("Tab", [*above, list(head), *rows], delimiter=delimiter))
    assert table is not None
    return conventions([table], told or {})


def asked(found):
    return [question.asked for question in found.questions]


@pytest.mark.parametrize(
    ("kind", "unit", "why"),
    [
        ({"head": ("Vehicle", "Date", "Odometer", *(f"{w} mm" for w in WHEELS))}, "mm", Settled.IN_HEADERS),
        ({"depths": ["9/32"] * 6}, "32nds", Settled.IN_CELLS),
        ({"title": "Tread in 32nds"}, "32nds", Settled.IN_TITLE),
        ({"depths": (6.1, 6.0, 5.8, 5.7, 5.4, 5.2)}, "mm", Settled.TENTHS),
        ({"depths": (14, 14, 13, 12, 11, 10)}, "32nds", Settled.TOO_DEEP),
        ({"depths": (0.3, 0.3, 0.25, 0.25, 0.2, 0.2)}, "in", Settled.NONE_OVER),
        ({"depths": (10, 10, 9, 9, 8, 8)}, "32nds", Settled.WHOLE_STEPS),
        ({"told": {"depth_unit": "mm"}}, "mm", Settled.GIVEN),
        ({"title": "Tyre log"}, "mm", Settled.SPELLING),
        ({"head": ("Vehicle", "Date", "Odometer", *(f"{w} tire" for w in WHEELS))}, "32nds", Settled.TIRE_NO_KM),
        ({"head": ("Fahrzeug", "Datum", "km", "VL", "VR", "HL", "HR")}, "mm", Settled.LANGUAGE),
    ],
)  # fmt: skip
def test_units_of_depths(kind, unit, why):
    found = settled(**kind)
    assert (found.depth_unit, found.why["depth_unit"].code) == (unit, why)


def test_depths_that_may_be_either_are_asked_about():
    found = settled()
    assert found.depth_unit == ""
    assert Asked.DEPTHS_BARE in asked(found)


def test_cells_that_disagree_are_asked_about():
    found = settled(depths=("9/32", "7 mm", 7, 7, 6, 6))
    assert Asked.DEPTHS_DIFFER in asked(found)


@pytest.mark.parametrize(
    ("days", "first", "why"),
    [
        (("13/1/2025", *(f"1/{m}/2025" for m in range(2, 7))), True, Settled.NO_OTHER_ORDER),
        (("1/13/2025", *(f"{m}/1/2025" for m in range(2, 7))), False, Settled.NO_OTHER_ORDER),
        (tuple(f"1.{m}.2025" for m in range(1, 7)), True, Settled.DOTTED),
        (("1/5/2025", "2/3/2025", "3/1/2025", "4/6/2025", "5/2/2025", "6/4/2025"), False, Settled.ODOMETERS_RISE),
    ],
)  # fmt: skip
def test_the_order_of_days(days, first, why):
    # The last: from 5 January to 4 June with months first; days first the odometer would fall twice.
    found = settled(days=days)
    assert (found.day_first, found.why["day_first"].code) == (first, why)


def test_days_that_need_no_order_settle_none():
    found = settled()
    assert found.day_first is None
    assert "day_first" not in found.why


def test_days_that_disagree_or_stay_open_are_asked_about():
    both = ("13/1/2025", "2/14/2025", "1/3/2025", "1/4/2025", "1/5/2025", "1/6/2025")
    assert Asked.DATES_DISAGREE in asked(settled(days=both))
    assert Asked.DATES_OPEN in asked(settled(days=tuple(f"{m}/{m}/2025" for m in range(1, 7))))
    mixed = (dt.date(2025, 1, 10), *(f"{m}/1/2025" for m in range(2, 7)))
    assert Asked.MIXED_DATES in asked(settled(days=mixed))


def test_a_header_that_writes_the_order_and_what_is_told():
    days = tuple(f"{m}/1/2025" for m in range(1, 7))
    head = ("Vehicle", "Date (dd/mm/yyyy)", "Odometer", *WHEELS)
    assert settled(days=days, head=head).why["day_first"].code == Settled.HEADER
    assert settled(days=days, head=head).day_first is True
    assert settled(days=days, head=head, told={"day_first": False}).day_first is False


@pytest.mark.parametrize(
    ("kind", "unit", "why"),
    [
        ({"head": ("Vehicle", "Date", "Odometer km", *WHEELS)}, "km", Settled.IN_HEADERS),
        ({"miles": [f"{m} mi" for m in MILES]}, "mi", Settled.IN_CELLS),
        ({"depths": ["9/32"] * 6}, "mi", Settled.DEPTHS_32NDS),
        ({"told": {"distance_unit": "km"}}, "km", Settled.GIVEN),
    ],
)
def test_units_of_distance(kind, unit, why):
    found = settled(**kind)
    assert (found.distance_unit, found.why["distance_unit"].code) == (unit, why)


def test_distances_that_may_be_either_are_asked_about():
    assert Asked.DISTANCES_BARE in asked(settled(told={"depth_unit": "mm"}))
    two = ["10000 km", *(f"{m} mi" for m in MILES[1:])]
    assert Asked.DISTANCES_DIFFER in asked(settled(miles=two))


@pytest.mark.parametrize(
    ("miles", "thousands"),
    [
        (("10.100", "12.100", "14.100", "16.100", "18.100", "20.100"), True),
        (("10.1", "12.1", "14.1", "16.15", "18.123", "20.1"), False),
    ],
)
def test_marks_before_three_digits(miles, thousands):
    assert settled(miles=miles).thousands is thousands


def test_one_mark_alone_is_asked_about():
    assert Asked.POINTS in asked(settled(miles=("10.100", "12", "14", "16", "18", "20")))


def test_odometers_in_thousands():
    head = ("Vehicle", "Date", "km x 1000", *WHEELS)
    assert settled(head=head, miles=(10, 12, 14, 16, 18, 20)).odometer_times == 1000.0
    assert settled(head=head, miles=MILES).odometer_times == 1.0
    assert settled(miles=(10, 12, 14, 16, 18, 20), told={"odometer_in": "thousands"}).odometer_times == 1000.0
    long = ("2024-01-10", *DAYS[1:])
    assert Asked.THOUSANDS in asked(settled(days=long, miles=(10, 12, 14, 16, 18, 20)))
    assert Asked.THOUSANDS not in asked(settled(miles=(10, 12, 14, 16, 18, 20)))  # five months
    assert Asked.THOUSANDS not in asked(settled(days=long, miles=(10, 12, 14, 16, 18, 1000)))


def test_an_odometer_written_out_stays_in_a_column_of_thousands():
    found = Conventions(odometer_times=1000.0)
    assert found.odometer("45.2") == (45_200.0, "")
    assert found.odometer("45200 km") == (45_200.0, "km")


@pytest.mark.parametrize(
    ("depths", "kind", "commas", "question"),
    [
        (("6,5,4",) * 6, {}, "grooves", None),
        (("6,5",) * 6, {"delimiter": ";"}, "decimals", None),
        (("6,5",) * 6, {"told": {"depth_commas": "grooves"}}, "grooves", None),
        (("6,5",) * 6, {}, "", Asked.TWO_GROOVES),
        (("6.5",) * 6, {}, "", None),
    ],
)
def test_commas_in_depths(depths, kind, commas, question):
    found = settled(depths=depths, **kind)
    assert found.commas == commas
    about = [q for q in asked(found) if q in (Asked.TWO_GROOVES, Asked.MORE_GROOVES)]
    assert about == ([question] if question else [])


@pytest.mark.parametrize(
    ("cell", "want"),
    [(dt.date(2025, 1, 2), dt.date(2025, 1, 2)), (45_659, dt.date(2025, 1, 2)), ("45659", dt.date(2025, 1, 2)),
     (29_000, None), (73_000, None), (True, None), (None, None), ("soon", None), ("1/2/2025", dt.date(2025, 2, 1))],
)  # fmt: skip
def test_days_of_cells(cell, want):
    # 45,658 days from 30 December 1899 are 1 January 2025: 125 years and 31 leap days and 2.
    assert read_day(cell, True) == want
