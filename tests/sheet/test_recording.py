"""The form that records a visit, filled in as a person would, with no browser."""

import datetime as dt

import pytest

from tests.logbook.folders import folder
from tirelife.logbook import convert_logbook, create_logbook, read_logbook
from tirelife.sheet import visit_form

pytest.importorskip("ipywidgets", reason="ipywidgets is not installed: pip install '.[notebook]'")


@pytest.fixture
def store(tmp_path):
    convert_logbook(folder(tmp_path / "book"), tmp_path / "shop.sqlite")
    return tmp_path / "shop.sqlite"


class Person:
    def __init__(self, form):
        self.widgets, left = [], [form]
        while left:
            one = left.pop()
            self.widgets.append(one)
            left += getattr(one, "children", ())
        self.by_label = {w.description: w for w in self.widgets if getattr(w, "description", "")}

    def enter(self, **values):
        given = {"Vehicle": "V1", "Date": dt.date(2025, 9, 10), "Odometer, miles": "13000", **values}
        for label, value in given.items():
            self.by_label[label].value = value

    def press(self, label):
        assert not self.by_label[label].disabled
        self.by_label[label].click()

    @property
    def told(self):
        return " ".join(w.value for w in self.widgets if type(w).__name__ == "HTML")


def test_a_visit_is_shown_beside_the_last_one_and_then_in_the_file(store):
    person = Person(visit_form(store))
    depths = {"Left front read, 32nds": "8, 8.5, 8", "Right rear read, 32nds": "7.5"}
    person.enter(
        **depths, **{"Left front found, psi": "31", "Left front set to, psi": "33", "Tires were": "city"}
    )
    assert person.by_label["Write"].disabled
    person.press("Check")
    row = person.told.split("<td>T1</td>")[1].split("</tr>")[0]
    assert [cell.split("</td>")[0] for cell in row.split("<td>")[1:]] == [
        "2025-07-10",
        "8.5",
        "8.0",
        "-0.5",
        "32nds",
    ]
    assert len(read_logbook(store).depths) == 72  # nothing is written by a check
    person.press("Write")
    assert "Visit 1 of V1 is written." in person.told
    book = read_logbook(store)
    new = book.depths[book.depths["date"] == "2025-09-10"]
    assert new["vehicle_id"].unique().tolist() == ["V1"]
    assert dict(
        zip(new["position"] + " " + new["groove"], new["depth_mm"] * 32 / 25.4, strict=True)
    ) == pytest.approx({"LF outer": 8, "LF center": 8.5, "LF inner": 8, "RR center": 7.5})
    pressure = book.tables["pressures"].iloc[0]
    assert (pressure["position"], pressure["state"]) == ("LF", "city")
    assert [pressure["pressure_kpa"], pressure["set_to_kpa"]] == pytest.approx([31 * 6.894757, 33 * 6.894757])
    assert person.by_label["Write"].disabled  # not twice
    assert person.by_label["Left front read, 32nds"].value == ""


def test_a_slip_is_not_written_without_the_tick(store):
    person = Person(visit_form(store))
    person.enter(**{"Left front read, 32nds": "3"})  # it read 8.5/32 in 3,000 miles before
    person.press("Check")
    assert "has fallen faster than tires wear" in person.told
    write, sure = person.by_label["Write"], person.by_label["I have read it again, and it is right"]
    assert write.disabled
    write.click()  # however it came to be pressed
    assert len(read_logbook(store).depths) == 72
    person.press("Check")
    sure.value = True
    assert not write.disabled
    person.enter(**{"Left front read, 32nds": "2.5"})  # a tick holds for what it was given for
    assert write.disabled
    assert not sure.value
    person.press("Check")
    sure.value = True
    person.press("Write")
    assert len(read_logbook(store).depths) == 73


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"Odometer, miles": " "}, "give the odometer first"),
        ({"Vehicle": ""}, "Choose the vehicle"),
        ({"Date": None}, "Choose the vehicle and the date"),
        ({"Left front read, 32nds": "7,5"}, "may be 7.5, or two grooves, 7 and 5"),
        ({"Left front read, 32nds": "<b>"}, "&lt;b&gt;"),
        ({"Left front set to, psi": "33"}, "Left front: give the pressure as found, too."),
        ({"Odometer, miles": "13000 or so"}, "odometer_mi"),
    ],
)
def test_what_cannot_be_is_said_and_not_written(values, told, store):
    person = Person(visit_form(store))
    person.enter(**values)
    person.press("Check")
    assert told in person.told
    assert person.by_label["Write"].disabled


def test_labels_have_the_units_of_the_file(tmp_path):
    tables = {"depths": folder(tmp_path / "us") / "depths.csv"}
    text = (
        tables["depths"].read_text().replace("depth_32nds", "depth_mm").replace("odometer_mi", "odometer_km")
    )
    convert_logbook(folder(tmp_path / "metric", depths=text), tmp_path / "shop.sqlite")
    labels = Person(visit_form(tmp_path / "shop.sqlite")).by_label
    assert {"Left front read, mm", "Odometer, km"} <= set(labels)


def test_for_a_folder_it_says_how_to_make_one_file(tmp_path):
    said = visit_form(folder(tmp_path / "book")).children[0].value
    assert f"tirelife convert {tmp_path / 'book'} shop.sqlite" in said


def test_a_new_car_with_a_new_set_and_then_a_rotation_start_from_an_empty_logbook(tmp_path):
    path = tmp_path / "new.sqlite"
    create_logbook(path, "us")
    person = Person(visit_form(path))
    given = {"Or a new vehicle": "AB 12", "New set of four": "Line B", "When new, 32nds": "10"}
    person.enter(Vehicle="", **given)
    person.press("Check")
    person.press("Write")
    assert "Visit 1 of AB 12 is written." in person.told
    later = {"Vehicle": "AB 12", "Date": dt.date(2026, 3, 10), "Odometer, miles": "19000"}
    person.enter(**later, Rotated="front-to-rear")
    person.press("Check")
    person.press("Write")
    stretches = read_logbook(path).stretches
    now = dict(stretches[stretches["open"]][["position", "tire_id"]].to_numpy())
    assert now == {
        w: f"AB 12 {f} 2025-09"
        for w, f in zip(("LF", "RF", "LR", "RR"), ("LR", "RR", "LF", "RF"), strict=True)
    }


def test_a_new_set_that_was_rotated_is_asked_about(store):
    person = Person(visit_form(store))
    person.enter(**{"New set of four": "Line B", "Rotated": "x"})
    person.press("Check")
    assert "A new set has not been rotated" in person.told
