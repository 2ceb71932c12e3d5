"""Rows of a tab become visits, and each row is accounted for: used, doubted, or left out and why."""

import datetime as dt
import math

import pytest

from tirelife.errors import InputError
from tirelife.logbook.refused import NoSheet
from tirelife.logbook.sheets.columns import Column, Table
from tirelife.logbook.sheets.decide import Conventions
from tirelife.logbook.sheets.files import Grid
from tirelife.logbook.sheets.headers import read_field
from tirelife.logbook.sheets.records import entries
from tirelife.logbook.sheets.told import How, Row

DEPTHS = ("depth LF", "depth RF", "depth LR", "depth RR")
PLAIN = ("date", "vehicle", "odometer", *DEPTHS, "note")
JAN, FEB, MAR = dt.date(2025, 1, 5), dt.date(2025, 2, 5), dt.date(2025, 3, 5)


def table(rows, fields=PLAIN, heads=None, above=(), tab="Log", **grid):
    """A tab with its header, and what each of its columns holds."""
    heads = list(heads or fields)
    cells = [*(list(row) for row in above), heads, *(list(row) for row in rows)]
    columns = [
        Column(i, head, read_field(text), How.NAME)
        for i, (head, text) in enumerate(zip(heads, fields, strict=True))
    ]
    return Table(Grid(tab, cells, **grid), columns, (len(above),), len(above) + 1)


def read(*tables, vehicle="", **how):
    how = Conventions(**{"depth_unit": "mm", "distance_unit": "km", "day_first": True, **how})
    return entries([(one, vehicle) for one in tables], how)


def fates(found):
    return [(fate.row, fate.status, [note.code for note in fate.notes]) for fate in found]


def values(fate):
    return dict(fate.notes[0].values)


def test_a_row_is_a_visit():
    (visit,), found = read(table([[JAN, " A  1 ", 1000, 8, 7.5, "6.5", "6,25", "rotated"]]))
    assert (visit.vehicle, visit.date, visit.odometer_km) == ("A 1", JAN, 1000)
    assert visit.depths == [
        ("LF", "center", 8),
        ("RF", "center", 7.5),
        ("LR", "center", 6.5),
        ("RR", "center", 6.25),
    ]
    assert (visit.note, visit.rows, visit.pressures) == ("rotated", [("Log", 2)], [])
    assert fates(found) == [(2, "used", [])]


def test_units_are_those_of_the_cell_then_of_the_column_then_of_the_sheet():
    fields = ("date", "vehicle", "odometer mi", "depth LF mm", "depth RF", "depth LR mm", "depth RR")
    (visit,), _ = read(table([[JAN, "A", 100, 8, 8, "8/32", "250 mils"]], fields), depth_unit="32nds")
    assert visit.odometer_km == pytest.approx(160.9344)
    assert [mm for _, _, mm in visit.depths] == pytest.approx([8, 6.35, 6.35, 6.35])
    (visit,), _ = read(table([[JAN, "A", "100 km", 8, 8, 8, 8]], fields))
    assert visit.odometer_km == 100
    (visit,), _ = read(table([[JAN, "A", "100 miles", 8, 8, 8, 8, ""]]), distance_unit="km")
    assert visit.odometer_km == pytest.approx(160.9344)
    (visit,), _ = read(table([[JAN, "A", 100, 8, 8, 8, 8, ""]]), distance_unit="mi")
    assert visit.odometer_km == pytest.approx(160.9344)


@pytest.mark.parametrize(
    ("cell", "grooves"),
    [
        ("7", {"center": 7}),
        ("7-6", {"outer": 7, "inner": 6}),
        ("7-6-5", {"outer": 7, "center": 6, "inner": 5}),
        ("7-6-5-4", {"outer": 7, "outer_mid": 6, "inner_mid": 5, "inner": 4}),
        ("7-6-5-4-3", {"outer": 7, "outer_mid": 6, "center": 5, "inner_mid": 4, "inner": 3}),
    ],
)
def test_depths_of_a_cell_go_to_its_grooves_from_outer_to_inner(cell, grooves):
    fields = ("date", "vehicle", "odometer", "depth LF")
    (visit,), _ = read(table([[JAN, "A", 1, cell]], fields))
    assert {groove: mm for _, groove, mm in visit.depths} == grooves
    inwards = Column(3, "LF i-o", read_field("depth LF"), How.NAME)
    turned = table([[JAN, "A", 1, cell]], fields)
    field = type(inwards.field)("depth", "LF", "inner_first")
    turned.columns[3] = Column(3, "LF i-o", field, How.NAME)
    (visit,), _ = read(turned)
    assert list({groove: mm for _, groove, mm in visit.depths}) == list(grooves)[::-1]


def test_a_groove_is_named_by_the_column_or_by_a_cell_of_the_row():
    fields = ("date", "vehicle", "odometer", "groove", "depth LF", "depth RF inner")
    (visit,), _ = read(table([[JAN, "A", 1, "outer", 7, 6]], fields))
    assert visit.depths == [("LF", "outer", 7), ("RF", "inner", 6)]


def test_depths_of_an_axle_are_of_its_wheels_left_first():
    fields = ("date", "vehicle", "odometer", "depth front", "depth rear")
    (visit,), found = read(table([[JAN, "A", 1, "7 / 6", 5]], fields))
    assert visit.depths == [
        ("LF", "center", 7), ("RF", "center", 6), ("LR", "center", 5), ("RR", "center", 5),
    ]  # fmt: skip
    assert fates(found) == [(2, "used", [])]


def test_all_four_wheels_in_one_cell():
    fields = ("date", "vehicle", "odometer", "depth LF/RF/LR/RR")
    rows = [[JAN, "A", 1, "8-7-6-5"], [FEB, "A", 2, "8-7-6"], [MAR, "A", 3, "RF 7 LF 8-6"]]
    visits, found = read(table(rows, fields))
    assert [(w, mm) for w, _, mm in visits[0].depths] == [("LF", 8), ("RF", 7), ("LR", 6), ("RR", 5)]
    assert visits[1].depths == []
    assert visits[2].depths == [("RF", "center", 7), ("LF", "outer", 8), ("LF", "inner", 6)]
    assert fates(found) == [(2, "used", []), (3, "doubted", [Row.NOT_A_WHEEL]), (4, "used", [])]


@pytest.mark.parametrize(("depth", "used"), [(0, True), (26, True), (26.1, False), (-0.1, False)])
def test_a_depth_out_of_reach_is_doubted(depth, used):
    (visit,), found = read(table([[JAN, "A", 1, depth, 5, 5, 5, ""]]))
    assert len(visit.depths) == 3 + used
    assert fates(found) == [(2, "used", []) if used else (2, "doubted", [Row.DEPTH_OUTSIDE])]


def test_cells_that_are_no_depth_are_doubted_by_name_and_blank_ones_pass():
    (visit,), found = read(table([[JAN, "A", 1, "worn", "n/a", None, 5]], PLAIN[:-1]))
    assert [w for w, _, _ in visit.depths] == ["RR"]
    assert fates(found) == [(2, "doubted", [Row.NO_DEPTH])]
    assert values(found[0]) == {"column": "depth LF", "cell": "worn"}
    nameless = table([[JAN, "A", 1, "worn", 5]], (*PLAIN[:4], "depth RF"), heads=("d", "v", "o", "", "RF"))
    assert values(read(nameless)[1][0]) == {"column": "D", "cell": "worn"}


def test_a_short_row_has_what_it_has():
    (visit,), found = read(table([[JAN, "A", 1, 8]]))
    assert (visit.depths, visit.note) == ([("LF", "center", 8)], "")
    assert fates(found) == [(2, "used", [])]


PRESSED = ("date", "vehicle", "odometer", "pressure LF", "pressure front", "pressure", "pressure RR psi")


@pytest.mark.parametrize(
    ("cell", "kpa"),
    [
        (2.2, 220), (11.9, None), (10.0, 1000), (12, 82.737), (114, 786.002), (115, 115), (220, 220),
        ("2,2 bar", 220), ("32 psi", 220.632), ("220 kPa", 220), (0.69, None), (0.7, 70), (1001, None),
        (1000, 1000), ("low", None),
    ],
)  # fmt: skip
def test_a_pressure_without_a_unit_is_in_the_one_that_a_tire_can_have(cell, kpa):
    (visit,), found = read(table([[JAN, "A", 1, cell]], PRESSED[:4]))
    assert [p for _, p, _ in visit.pressures] == pytest.approx([kpa] if kpa else [], rel=1e-5)
    assert fates(found) == [(2, "used", []) if kpa else (2, "doubted", [Row.NO_PRESSURE])]


@pytest.mark.parametrize(
    ("index", "cell", "told"),
    [
        (4, "32/30", {"LF": 32, "RF": 30}),
        (4, "32 - 30", {"LF": 32, "RF": 30}),
        (4, "32|30", {"LF": 32, "RF": 30}),
        (4, 32, {"LF": 32, "RF": 32}),
        (5, 33, {"LF": 33, "RF": 33, "LR": 33, "RR": 33}),
        (6, 8, {}),  # a column in psi: 8 psi is no pressure of a tire
        (6, 40, {"RR": 40}),
    ],
)
def test_pressures_of_an_axle_and_of_all_wheels(index, cell, told):
    row = [JAN, "A", 1, None, None, None, None]
    row[index] = cell
    (visit,), _ = read(table([row], PRESSED))
    assert {w: p / 6.894757 for w, p, _ in visit.pressures} == pytest.approx(told, rel=1e-5)
    assert all(math.isnan(told) for _, _, told in visit.pressures)


def test_two_pressures_of_one_wheel_or_of_four_are_none():
    row = [JAN, "A", 1, "32/30", None, "32/30", None]
    (visit,), found = read(table([row], PRESSED))
    assert visit.pressures == []
    assert fates(found) == [(2, "doubted", [Row.NO_PRESSURE] * 2)]


def test_a_date_that_cannot_be_read_or_is_not_there_leaves_its_row_out():
    rows = [["soon", "A", 1, 8], [None, "A", 1, 8], ["31/2/2025", "A", 1, 8], ["5/1/2025", "A", 1, 8]]
    visits, found = read(table(rows, PLAIN[:4]))
    assert [visit.date for visit in visits] == [JAN]
    assert fates(found)[:3] == [
        (2, "left out", [Row.DATE_UNREAD]), (3, "left out", [Row.NO_DATE]), (4, "left out", [Row.DATE_UNREAD]),
    ]  # fmt: skip
    assert values(found[0]) == {"cell": "soon"}


def test_a_row_whose_vehicle_nothing_tells_is_left_out():
    bare = table([[JAN, None, 1, 8]], PLAIN[:4])
    assert fates(read(bare)[1]) == [(2, "left out", [Row.NO_VEHICLE])]
    (visit,), _ = read(bare, vehicle="Van 7")
    assert visit.vehicle == "Van 7"


def test_rows_that_hold_no_visit_are_told_apart():
    rows = [
        ["Total", None, 5, 8], ["average of all", None, 5, 8], ["Checked by", None, None, "Sam"],
        [FEB, "A", None, None], [JAN, "A", 1, 8],
    ]  # fmt: skip
    above = [["Our log", None, None, None]]
    visits, found = read(table(rows, PLAIN[:4], above=above))
    assert len(visits) == 1
    assert fates(found) == [
        (1, "left out", [Row.ABOVE]), (3, "left out", [Row.TOTAL]), (4, "left out", [Row.TOTAL]),
        (5, "left out", [Row.TO_SIGN]), (6, "left out", [Row.NOTHING]), (7, "used", []),
    ]  # fmt: skip


def test_a_date_and_an_odometer_or_a_note_are_a_visit_without_depths():
    visits, found = read(table([[JAN, "A", 1000, None, None, None, None, None], [FEB, "A", None, *[None] * 4, "ok"],
                                [MAR, "A", 3000, None, None, None, None, None]]))  # fmt: skip
    assert [len(visit.depths) for visit in visits] == [0, 0, 0]
    assert [status for _, status, _ in fates(found)] == ["used", "doubted", "used"]


def test_a_line_of_its_own_names_the_vehicle_of_the_rows_below_it():
    fields = ("date", "odometer", "depth LF")
    rows = [["Van: B 2", None, None], [JAN, 1, 8], ["C 3", None, None], [JAN, 1, 7]]
    visits, found = read(table(rows, fields), vehicle="Tab")
    assert [(v.vehicle, v.depths[0][2]) for v in visits] == [("B 2", 8), ("C 3", 7)]
    assert fates(found)[0] == (2, "left out", [Row.SECTION])
    assert values(found[0]) == {"vehicle": "B 2"}


def test_a_line_below_a_visit_that_tells_of_work_is_its_note():
    fields = ("date", "odometer", "depth LF", "note")
    rows = [
        [JAN, 1, 8, "seen"],
        [None, None, None, "rotated"],
        [None, None, None, "4 new tires"],
        [FEB, 9, 7, None],
    ]
    visits, found = read(table(rows, fields), vehicle="A")
    assert [visit.note for visit in visits] == ["seen rotated 4 new tires", ""]
    assert fates(found)[1:3] == [(3, "used", [Row.NOTE_ABOVE]), (4, "used", [Row.NOTE_ABOVE])]
    # Where a column names the vehicles, any words below a visit are of it; not so a row further down.
    rows = [[JAN, "A", 1, 8, None, None, None, None], [*[None] * 7, "hello"], [FEB, "A", None, *[None] * 5],
            [*[None] * 7, "hello"]]  # fmt: skip
    visits, found = read(table(rows))
    assert visits[0].note == "hello"
    assert fates(found)[3] == (5, "left out", [Row.NO_DATE])


BY_WHEEL = ("date", "vehicle", "odometer", "wheel", "depth", "pressure")


def test_rows_of_single_wheels_carry_the_visit_on():
    rows = [[JAN, "A", 1000, "LF", 8, None], [None, None, None, "RF", 7, 2.2], ['"', "ditto", "do", "LR", 6, None],
            [JAN, "B", 500, "rear right", 5, None], [None, None, None, "LR", 4, None]]  # fmt: skip
    visits, found = read(table(rows, BY_WHEEL))
    assert [(v.vehicle, v.odometer_km, [d[0] for d in v.depths]) for v in visits] == [
        ("A", 1000, ["LF", "RF", "LR"]), ("B", 500, ["RR", "LR"]),
    ]  # fmt: skip
    assert [(w, round(kpa)) for w, kpa, _ in visits[0].pressures] == [("RF", 220)]
    assert visits[0].rows == [("Log", 2), ("Log", 3), ("Log", 4)]
    assert {status for _, status, _ in fates(found)} == {"used"}


def test_another_vehicle_carries_nothing_over():
    rows = [[JAN, "A", 1000, "LF", 8, None], [None, "B", None, "LF", 7, None]]
    visits, found = read(table(rows, BY_WHEEL))
    assert [visit.vehicle for visit in visits] == ["A"]
    assert fates(found)[1] == (3, "left out", [Row.NO_DATE])


def test_a_ditto_repeats_the_date_above_and_a_blank_does_not():
    rows = [[JAN, "A", 1000, 8], ["do", "B", 500, 7], [None, "C", 500, 7]]
    visits, _ = read(table(rows, PLAIN[:4]))
    assert [visit.vehicle for visit in visits] == ["A"]  # of another vehicle, nothing is carried
    rows = [[JAN, "A", 1000, 8], ["do", "A", 1000, 7]]
    (visit,), _ = read(table(rows, PLAIN[:4]))
    assert len(visit.depths) == 2


def test_a_wheel_that_is_none_is_told_and_numbers_are_wheels_in_the_order_given():
    rows = [
        [JAN, "A", 1000, "spare", 8, None],
        [JAN, "A", 1000, 2, 7, None],
        [JAN, "A", 1000, "Tire 3", 6, None],
    ]
    visits, found = read(table(rows, BY_WHEEL), wheel_numbers="lf-rf-rr-lr")
    assert [d[0] for d in visits[0].depths if d[0] != "SP"] == ["RF", "RR"]
    _, found = read(table([[JAN, "A", 1, "left", 8, None], [JAN, "A", 1, 2, 7, None]], BY_WHEEL))
    assert [fate.notes[0].code for fate in found] == [Row.NO_WHEEL, Row.NO_WHEEL]
    assert values(found[0]) == {"cell": "left"}


@pytest.mark.parametrize(("near", "wheels"), [("left", ["LF", "RR"]), ("right", ["RF", "LR"]), ("", [])])
def test_near_and_off_are_sides_of_the_road(near, wheels):
    fields = ("date", "vehicle", "odometer", "depth near front", "depth off rear")
    (visit,), found = read(table([[JAN, "A", 1, 8, 7]], fields), near_side=near)
    assert [d[0] for d in visit.depths] == wheels
    assert found[0].status == ("used" if near else "doubted")


@pytest.mark.parametrize(
    ("cell", "km", "why"),
    [(5_000_000, 5_000_000, []), (5_000_001, None, [Row.ODOMETER_FAR]), (-1, None, [Row.ODOMETER_FAR]),
     (0, 0, []), ("unknown", None, [Row.ODOMETER_UNREAD])],
)  # fmt: skip
def test_odometers_out_of_reach_are_read_off_the_line(cell, km, why):
    rows = [[JAN, "A", 1000, 8], [FEB, "A", cell, 7], [MAR, "A", 2000, 6]]
    visits, found = read(table(rows, PLAIN[:4]))
    line = 1000 + 1000 * 31 / 59  # 31 days of 59
    assert visits[1].odometer_km == pytest.approx(line if km is None else km)
    assert fates(found)[1] == (3, "doubted" if why else "used", [*why, *([Row.ON_THE_LINE] if why else [])])


def test_an_odometer_before_the_first_or_after_the_last_is_not_made_up():
    rows = [[JAN, "A", None, 8], [FEB, "A", 1000, 7], [MAR, "A", 2000, 6], [dt.date(2025, 4, 5), "A", None, 5],
            [JAN, "B", 5, 4], [FEB, "B", None, 3]]  # fmt: skip
    visits, found = read(table(rows, PLAIN[:4]))
    assert [(v.vehicle, v.date) for v in visits] == [("A", FEB), ("A", MAR), ("B", JAN)]
    assert [fate.row for fate in found if fate.status == "left out"] == [2, 5, 7]
    assert {note.code for fate in found for note in fate.notes} == {Row.NO_ODOMETER}


@pytest.mark.parametrize(("cell", "used"), [(40, True), (41, False), (1, True), (0.9, False)])
def test_a_new_depth_that_no_logbook_takes_is_doubted(cell, used):
    fields = ("date", "vehicle", "odometer", "depth LF mm", "new_depth mm")
    (visit,), found = read(table([[JAN, "A", 1000, 8, cell]], fields))
    assert visit.new_depth == ({"": cell} if used else {})
    assert fates(found) == [(2, "used", []) if used else (2, "doubted", [Row.DEPTH_OUTSIDE])]


def test_visits_come_by_vehicle_and_date_from_all_tabs():
    one, other = (
        table([[FEB, "B", 2, 7], [JAN, "B", 1, 8]], PLAIN[:4]),
        table([[JAN, "A", 1, 6]], PLAIN[:4], tab="Two"),
    )
    visits, found = read(one, other)
    assert [(v.vehicle, v.date, v.rows[0][0]) for v in visits] == [
        ("A", JAN, "Two"),
        ("B", JAN, "Log"),
        ("B", FEB, "Log"),
    ]
    assert [(fate.tab, fate.row) for fate in found] == [("Log", 2), ("Log", 3), ("Two", 2)]


def test_what_is_told_of_tires_is_kept_by_wheel():
    fields = ("date", "vehicle", "odometer", "depth LF", "product", "size LF", "tire_id front", "made_week RR",
              "new_depth 32nds", "new_depth LF")  # fmt: skip
    (visit,), _ = read(table([[JAN, "A", 1, 8, " Line  A ", "195", "T1", 2324, 10, "9 mm"]], fields))
    assert (visit.product, visit.size, visit.made_week) == ({"": "Line A"}, {"LF": "195"}, {"RR": "2324"})
    assert visit.tire_id == {"LF": "T1", "RF": "T1"}
    assert visit.new_depth == pytest.approx({"": 7.9375, "LF": 9})
    (visit,), _ = read(table([[JAN, "A", 1, 8, "", "", "-", None, "8-7", None]], fields))
    assert (visit.product, visit.tire_id, visit.new_depth) == ({}, {}, {})


def test_a_new_depth_without_any_unit_is_not_known():
    fields = ("date", "vehicle", "odometer", "depth LF mm", "new_depth")
    (visit,), _ = read(table([[JAN, "A", 1, 8, 10]], fields), depth_unit="")
    assert math.isnan(visit.new_depth[""])


@pytest.mark.parametrize(
    ("cell", "note"),
    [
        ("x", "Rotated"),
        ("yes", "Rotated"),
        ("no", ""),
        ("", ""),
        (None, ""),
        ("-", ""),
        ("cross", "Rotated cross"),
    ],
)
def test_a_column_of_one_kind_of_work_tells_it_where_it_is_ticked(cell, note):
    fields = ("date", "vehicle", "odometer", "depth LF", "note", "work", "work")
    heads = ("Date", "Van", "Km", "LF", "Note", "Rotated?", "Washed")
    (visit,), _ = read(table([[JAN, "A", 1, 8, None, cell, "no"]], fields, heads))
    assert visit.note == note
    (visit,), _ = read(table([[JAN, "A", 1, 8, "seen", cell, None]], fields, heads))
    assert visit.note == "; ".join(text for text in ("seen", note) if text)


@pytest.mark.parametrize(
    ("cell", "drive"),
    [
        ("FWD", "front"),
        ("Rear wheel", "rear"),
        ("AWD", "all"),
        ("4x4", "all"),
        ("Allrad", "all"),
        ("?", ""),
        (None, ""),
    ],
)
def test_the_driven_axle_is_read_in_several_languages(cell, drive):
    fields = ("date", "vehicle", "odometer", "depth LF", "drive")
    (visit,), _ = read(table([[JAN, "A", 1, 8, cell]], fields))
    assert visit.drive == drive


HEADS = ("Date", "Vehicle", "Km", "LF", "RF", "LR", "RR", "Notes")


def test_a_header_that_stands_again_is_passed_over():
    rows = [[JAN, "A", 1, 8, 8, 8, 8, None], list(HEADS), [FEB, "A", 2, 7, 7, 7, 7, None]]
    visits, found = read(table(rows, heads=HEADS))
    assert len(visits) == 2
    assert fates(found)[1] == (3, "left out", [Row.HEADER])


def test_a_header_that_differs_from_the_first_is_refused_where_it_differs():
    other = ["Date", "Vehicle", "Km", "LR", "RF", "LF", "RR", "Notes"]
    with pytest.raises(InputError) as caught:
        read(table([[JAN, "A", 1, 8, 8, 8, 8, None], other], heads=HEADS, above=[["Log"]]))
    (problem,) = caught.value.problems
    assert (problem.code, problem.file, problem.row, problem.column, problem.value) == (
        NoSheet.HEADER_AGAIN, "Log", 4, "D", "LR",
    )  # fmt: skip
    assert dict(problem.values) == {"header_row": 2, "header": "LF"}


def test_a_row_of_which_three_fifths_name_columns_is_a_header():
    mostly, less = ["Date", "Vehicle", "?!", "LR", "why"], ["Date", "Vehicle", "?!", "LR", "why", "who"]
    with pytest.raises(InputError):
        read(table([mostly], heads=HEADS))
    assert len(read(table([less], heads=HEADS))[1]) == 1


def test_two_words_of_the_header_or_a_row_mostly_of_numbers_are_no_header_again():
    few = [JAN, "A", 1, "LF", "RF", 8, 8, None]
    one = [None, None, None, "LF", "RF", None, None, None]
    _, found = read(table([[FEB, "A", 2, 8, 8, 8, 8, None], few, one], heads=HEADS))
    assert [fate.notes[0].code for fate in found[1:]] == [Row.NO_DEPTH, Row.NO_DATE]


def test_words_in_a_row_are_no_header():
    rows = [
        [JAN, "A", "12 km", "6/32", "7/32", "8/32", "~8/32", "see front"],
        [FEB, "A", None, "worn", "flat", "bald", 8, None],
    ]
    _, found = read(table(rows, heads=HEADS))
    assert [fate.row for fate in found] == [2, 3]
    assert Row.HEADER not in [note.code for fate in found for note in fate.notes]


def test_a_row_of_the_sheet_that_holds_several_visits_has_one_fate():
    # Two blocks side by side were put one below the other; both records are of the sheet's row 2.
    rows = [[JAN, "A", 1, 8], [JAN, "B", 1, "worn"]]
    visits, found = read(table(rows, PLAIN[:4], origin=[0, 1, 1]))
    assert len(visits) == 2
    assert fates(found) == [(2, "doubted", [Row.NO_DEPTH])]
    _, found = read(table([[JAN, "A", 1, 8], [JAN, "B", 1, 7]], PLAIN[:4], origin=[0, 1, 1]))
    assert fates(found) == [(2, "used", [])]


def test_a_tab_with_a_column_a_visit_is_told_of_by_its_own_rows():
    # Turned: its rows are the sheet's columns B and C, its columns the sheet's rows 1 to 5.
    fields = ("vehicle", "date", "odometer", "depth LF", "")
    rows = [["A", JAN, 1, 8, "x"], ["A", FEB, 2, "worn", None]]
    visits, found = read(table(rows, fields, turned=True))
    assert len(visits) == 2
    by_row = {fate.row: (fate.status, [note.code for note in fate.notes]) for fate in found}
    assert by_row == {
        1: ("used", []), 2: ("doubted", [Row.NO_DEPTH]), 3: ("used", []), 4: ("used", []),
        5: ("left out", [Row.UNKNOWN]),
    }  # fmt: skip
    (doubt,) = [fate for fate in found if fate.status == "doubted"]
    assert values(doubt) == {"column": "depth LF", "cell": "worn", "at": "C"}
    assert doubt.reason == "row-no-depth(column=depth LF, cell=worn, at=C)"


def test_a_cell_that_names_wheels_is_read_by_them_only_in_a_column_of_all_wheels():
    fields = ("date", "vehicle", "odometer", "depth LF", "depth RF")
    (visit,), found = read(table([[JAN, "A", 1, "LF 7 RF 6", 5]], fields))
    assert visit.depths == [("RF", "center", 5)]
    assert fates(found) == [(2, "doubted", [Row.NO_DEPTH])]


def test_a_single_number_in_a_column_of_all_wheels_is_no_depth_of_any():
    fields = ("date", "vehicle", "odometer", "depth LF/RF/LR/RR")
    (visit,), found = read(table([[JAN, "A", 1, 8]], fields))
    assert visit.depths == []
    assert fates(found) == [(2, "doubted", [Row.NOT_A_WHEEL])]
