"""What a person types of a visit and of a record to correct."""

import datetime as dt

import pytest

from tirelife.errors import InputError, misused
from tirelife.logbook import (
    create_logbook,
    place_typed,
    record_visit,
    values_typed,
    visit_typed,
)
from tirelife.logbook.wrong import Wrong

VISIT = {
    "vehicle": "AB 12", "odometer": "41000", "date": "2026-01-05", "gauge": "D1", "state": "city", "ambient": "70",
    "pressure_gauge": "P1", "note": "a word", "depth": [["LF", "7", "7.5"]], "pressure": [["LF", "31"], ["RF", "30", "33"]],
    "mount": [["T1", "LF"]], "off": ["T0"], "new_tire": [["T1", "Line B", "10"]], "new_vehicle": ["front"], "set": None,
    "rotated": None,
}  # fmt: skip


def test_each_word_of_a_visit_goes_to_its_place():
    visit = visit_typed("not looked at", VISIT)
    assert visit.depths == [("LF", "outer", "7", ""), ("LF", "inner", "7.5", "")]
    assert visit.pressures == [("LF", "31", ""), ("RF", "30", "33")]
    assert visit.mounts == [("T0", "OFF"), ("T1", "LF")]
    assert visit.new_tires == [("T1", "Line B", "10")]
    assert visit.new_vehicle == ("front", "", "")
    assert (visit.vehicle_id, visit.date, visit.odometer, visit.note) == (
        "AB 12",
        "2026-01-05",
        "41000",
        "a word",
    )
    assert (visit.gauge_id, visit.pressure_gauge_id, visit.state, visit.ambient) == ("D1", "P1", "city", "70")
    assert dt.date.fromisoformat(visit_typed("", VISIT | {"date": ""}).date) > dt.date(2026, 1, 5)
    assert visit_typed("", VISIT | {"new_vehicle": None}).new_vehicle is None
    assert visit_typed("", VISIT | {"new_vehicle": []}).new_vehicle == ("", "", "")


def test_a_set_is_named_and_a_pattern_moves_the_tires_that_the_logbook_knows(tmp_path):
    path = tmp_path / "shop.sqlite"
    create_logbook(path, "us")
    plain = VISIT | {
        "depth": [],
        "pressure": [],
        "mount": [],
        "off": [],
        "new_tire": [],
        "gauge": "",
        "pressure_gauge": "",
    }
    first = visit_typed(path, plain | {"set": ["Line B", "10"]})
    assert first.new_tires == [
        (f"AB 12 {wheel} 2026-01", "Line B", "10") for wheel in ("LF", "RF", "LR", "RR")
    ]
    record_visit(path, first, accept_doubts=True)
    moved = visit_typed(path, plain | {"new_vehicle": None, "date": "2026-06-05", "rotated": "front-to-rear"})
    assert ("AB 12 LR 2026-01", "LF") in moved.mounts
    assert len(moved.mounts) == 4
    assert moved.new_tires == []


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"vehicle": None}, Wrong.VISIT_NEEDS),
        ({"odometer": ""}, Wrong.VISIT_NEEDS),
        ({"pressure": [["LF"]]}, Wrong.PRESSURE),
        ({"pressure": [["LF", "1", "2", "3"]]}, Wrong.PRESSURE),
        ({"new_vehicle": ["front", "33"]}, Wrong.NEW_VEHICLE),
        ({"set": ["Line B", "10"], "rotated": "x"}, Wrong.SET_ROTATED),
    ],
)
def test_words_of_a_visit_that_are_missing_or_too_many_are_refused(given, code):
    with pytest.raises(InputError) as refused:
        visit_typed("", VISIT | given)
    missing = [name for name in given if not given[name]]
    said = misused(code, missing=", ".join(f"--{name}" for name in missing)) if missing else misused(code)
    assert str(refused.value) == str(said)


def test_a_place_and_values_of_a_record():
    assert place_typed("depths:1056") == ("depths", 1056)
    assert values_typed(["a=1", "b=x=y"]) == {"a": "1", "b": "x=y"}


@pytest.mark.parametrize(
    "text", ["depths", "depths1057", "Depths:1", "depths:", ":3", "depths:1234567890123456"]
)
def test_what_names_no_record_is_refused(text):
    with pytest.raises(InputError, match="is not TABLE:ROW"):
        place_typed(text)


def test_a_correction_says_a_column_and_its_value():
    with pytest.raises(InputError, match="is not COLUMN=VALUE"):
        values_typed(["a=1", "b"])
    with pytest.raises(InputError, match="needs a column"):
        values_typed([])
