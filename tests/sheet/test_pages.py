"""Pages of all vehicles: made once, kept while nothing they rest on changes, and what could not be made told."""

import pandas as pd
import pytest

from tests.tread.books import EVEN, make_book, read_depths
from tirelife.errors import InputError, refusal
from tirelife.logbook import GROOVES
from tirelife.logbook.refused import NoSheet
from tirelife.sheet import pages, write_pages

LIMITS = pd.Series({"LF": 1.6, "RF": 1.6, "LR": 1.6, "RR": 1.6, "SP": 1.6})


@pytest.fixture
def book(tmp_path):
    vehicles = pd.DataFrame(
        {"vehicle_id": ["V1", "V 2/x"], "drive": "front", "placard_front_kpa": 230, "placard_rear_kpa": 220}
    )
    depths = read_depths(dict(zip(GROOVES, EVEN, strict=True)))
    return make_book(tmp_path / "book", depths, vehicles=vehicles)


@pytest.fixture
def asked(monkeypatch):
    """Vehicles that a page was made of; a stand-in makes them."""
    names = []

    def page(book, vehicle, fit, **look):
        names.append(vehicle)
        if look.get("rule") == "none":
            raise refusal("page", NoSheet.EMPTY)
        return f"<p>{vehicle} {look.get('paper', '')}</p>"

    monkeypatch.setattr(pages, "customer_page", page)
    return names


def test_each_vehicle_has_a_page_and_is_not_made_again(book, asked, tmp_path):
    told = []
    done = write_pages(book, tmp_path / "out", lambda: None, LIMITS, progress=lambda *n: told.append(n))
    assert (done.kept, done.made, done.without) == (0, 2, {})
    assert told == [(0, 2), (1, 2), (2, 2)]
    names = {file.name for file in (tmp_path / "out").glob("*.html")}
    assert names == {"V1.html", "V 2%2Fx.html"}
    assert (tmp_path / "out" / "V1.html").read_text() == "<p>V1 </p>"
    again = write_pages(book, tmp_path / "out", lambda: pytest.fail("no fit is needed"), LIMITS)
    assert (again.kept, again.made) == (2, 0)
    assert len(asked) == 2


@pytest.mark.parametrize("change", [{"paper": "a4"}, {"removal_mm": LIMITS + 1.0}, {"prior": "another"}])
def test_it_is_made_again_where_what_it_rests_on_is_another(book, asked, tmp_path, change):
    write_pages(book, tmp_path / "out", lambda: None, LIMITS)
    done = write_pages(book, tmp_path / "out", lambda: None, **{"removal_mm": LIMITS, **change})
    assert (done.kept, done.made) == (0, 2)


def test_a_page_that_was_touched_is_made_again_alone(book, asked, tmp_path):
    write_pages(book, tmp_path / "out", lambda: None, LIMITS)
    (tmp_path / "out" / "V1.html").write_text("touched")
    done = write_pages(book, tmp_path / "out", lambda: None, LIMITS)
    assert (done.kept, done.made) == (1, 1)
    assert asked[-1] == "V1"


def test_vehicles_without_a_page_are_told_and_the_others_go_on(book, asked, tmp_path):
    done = write_pages(book, tmp_path / "out", lambda: None, LIMITS, rule="none")
    assert (done.made, set(done.without)) == (0, {"V1", "V 2/x"})
    assert not list((tmp_path / "out").glob("*.html"))


def test_somebody_elses_folder_is_left_alone(book, asked, tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("x")
    with pytest.raises(InputError):
        write_pages(book, tmp_path / "out", lambda: None, LIMITS)
    assert asked == []
