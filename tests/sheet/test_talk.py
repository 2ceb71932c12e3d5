"""The customer talk with its widgets filled in as a person would, its pages stood in for."""

from types import SimpleNamespace

import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.sheet import talk

pytest.importorskip("ipywidgets", reason="ipywidgets is not installed: pip install '.[notebook]'")
N32, MI = 0.79375, 1.609344


@pytest.fixture
def made(monkeypatch, tmp_path):
    """A talk of two cars, and what its pages were asked."""
    monkeypatch.chdir(tmp_path)
    asked = {}
    book = SimpleNamespace(units="us", vehicles=pd.DataFrame({"vehicle_id": ["V1", "<V2>"]}))
    fit = SimpleNamespace(posterior="posterior")
    due = pd.DataFrame(
        [("<V2> now", "left front", "3", "soon", "Look & see.")], columns=list("abcde"), index=["<V2>"]
    )

    def page(of, vehicle, fitted, **how):
        if vehicle == "V1":
            raise InputError("no <tire> on V1")
        return f"page of {vehicle}"

    monkeypatch.setattr(talk, "read_logbook", lambda source: book)
    monkeypatch.setattr(talk, "calibrated_fit", lambda book: fit)
    monkeypatch.setattr(talk, "due_next", lambda book, fit, most, removal_depth_mm: due)
    monkeypatch.setattr(talk, "customer_page", page)
    monkeypatch.setattr(
        talk, "walkin_page", lambda depths, **how: asked.update(how, depths=depths) or "walk-in page"
    )
    return SimpleNamespace(talk=talk._Talk(tmp_path / "book", 3.175, None), asked=asked, book=book)


def fields(form):
    return {getattr(one, "description", ""): one for one in form.children}


def test_every_car_can_be_chosen_and_those_due_next_by_a_button(made):
    assert [value for _, value in made.talk.car.options] == ["", "V1", "<V2>"]
    (grid,) = made.talk.due.children
    assert len(grid.children) == 10
    assert "Look &amp; see." in grid.children[-1].value
    grid.children[5].click()
    assert made.talk.html == "page of <V2>"
    assert made.talk.status.value == "Showing &lt;V2&gt;."
    assert "page of" in made.talk.frame.value
    assert not made.talk.save.disabled


def test_a_page_that_cannot_be_made_says_why_and_leaves_what_was_shown(made):
    made.talk.car.value = "<V2>"
    shown = made.talk.frame.value
    made.talk.pick("V1")
    assert made.talk.status.value == "<b>no &lt;tire&gt; on V1</b>"
    assert made.talk.frame.value == shown
    made.talk.pick("")
    assert made.talk.status.value == "<b>no &lt;tire&gt; on V1</b>"


def test_a_page_is_saved_under_a_name_that_any_folder_takes(made, tmp_path):
    assert made.talk.save.disabled
    made.talk.pick("<V2>")
    made.talk.save.click()
    assert (tmp_path / "page--V2-.html").read_text() == "page of <V2>"
    assert "Saved as page--V2-.html" in made.talk.status.value


def test_a_visit_recorded_shows_its_car_anew(made):
    made.book.vehicles = pd.DataFrame({"vehicle_id": ["V1", "<V2>", "V3"]})
    made.talk.afresh("V3")
    assert made.talk.html == "page of V3"
    assert [value for _, value in made.talk.car.options][-1] == "V3"


def test_a_walk_in_is_asked_in_the_logbook_s_units_and_nought_is_not_known(made):
    form = made.talk.walk_in()
    by_label = fields(form)
    by_label["Show the answer"].click()
    assert made.talk.status.value == "<b>Enter the depth of each tire first.</b>"
    for wheel, depth in zip(talk.WHEELS, (6, 6, 7, 8), strict=True):
        by_label["Show the answer"].click()  # a wheel that was not read is not down to nothing
        assert made.asked == {}
        by_label[f"{wheel}, 32nds"].value = depth
    by_label["Miles a year"].value = 12_000
    by_label["Show the answer"].click()
    assert made.asked["depths"] == pytest.approx([6 * N32, 6 * N32, 7 * N32, 8 * N32])
    assert made.asked["km_per_year"] == pytest.approx(12_000 * MI)
    assert (made.asked["new_depth_mm"], made.asked["distance_km"]) == (None, None)
    assert (made.asked["removal_mm"], made.asked["prior"], made.asked["units"]) == (3.175, "posterior", "us")
    assert made.talk.html == "walk-in page"


def test_a_logbook_is_copied_once_for_its_visits(monkeypatch, tmp_path):
    sources, copies = [], []
    monkeypatch.setattr(
        talk, "_Talk", lambda source, *_: sources.append(source) or SimpleNamespace(shown=lambda: "shown")
    )
    monkeypatch.setattr(talk, "convert_logbook", lambda book, to: copies.append((book, to)) or to.touch())
    copy = tmp_path / "shop.sqlite"
    assert talk.customer_talk("book", copy=copy) == talk.customer_talk("book", copy=copy) == "shown"
    assert copies == [("book", copy)]
    assert talk.customer_talk("book") == "shown"
    assert [str(source) for source in sources] == [str(copy), str(copy), "book"]
