import numpy as np
import pytest

from tests.sheet.answers import Ready
from tirelife.errors import InputError
from tirelife.outlook import walk_in
from tirelife.sheet.interactive import recompute
from tirelife.sheet.page import compose_page
from tirelife.sheet.walkin import walkin_answer

DEPTHS = [[4.7, 5.0, 4.8], [4.6, 5.0, 4.7], 5.5, 5.4]
FACTS = {"new_depth_mm": 8.0, "distance_km": 34_000.0, "km_per_year": 18_000.0, "as_of": "2026-10-01"}
KM = [f"km_left_p{q}" for q in (10, 25, 50, 75, 90)]


@pytest.fixture(scope="module")
def answer():
    return walkin_answer(DEPTHS, **FACTS)


def test_it_is_the_outlook_s_walk_in(answer):
    rows = walk_in(DEPTHS, **FACTS).forecast
    assert answer.tires[KM].to_numpy() == pytest.approx(rows[KM].to_numpy())
    assert answer.overall["first"] in ("LF", "RF")


def test_its_page_tells_that_it_comes_from_one_visit_and_has_the_same_sliders(answer):
    html = compose_page(answer, bundle=Ready())
    assert "This comes from one visit" in html
    assert "Your car" in html
    assert {c["id"] for c in answer.sliders["controls"]} >= {"pressure", "year", "removal", "rotation"}
    slower = recompute(answer.sliders, {"year": 9000})["tires"]["LF"]
    assert slower["km"] == pytest.approx(recompute(answer.sliders, {})["tires"]["LF"]["km"])


def test_the_depths_alone_are_enough_and_the_range_is_wide():
    bare = walkin_answer([4.7, 4.6, 5.5, 5.4], units="metric")
    width = np.log(bare.tires["km_left_p90"] / bare.tires["km_left_p10"])
    assert (width > 0.5).all()
    assert "We had no facts on:" in " ".join(bare.how)
    compose_page(bare, bundle=Ready())


def test_one_reading_a_wheel_is_no_section_through_a_tread_and_one_visit_is_no_path():
    bare = compose_page(walkin_answer([4.7, 4.6, 5.5, 5.4], units="metric"), bundle=Ready())
    assert 'id="profiles"' not in bare
    assert 'id="h-paths"' not in bare
    across = compose_page(walkin_answer([[4.7, 5, 4.8], 4.6, 5.5, 5.4], units="metric"), bundle=Ready())
    assert 'id="profiles"' in across


def test_a_depth_that_cannot_be_is_refused():
    with pytest.raises(InputError, match="LF: depth 60 mm is outside 0 to 25 mm"):
        walkin_answer([60, 5, 5, 5])
