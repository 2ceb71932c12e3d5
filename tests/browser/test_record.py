"""The record redone by the page's script and by the package: the same at every setting, for many vehicles."""

import json

import pytest

from tests.browser.records import BARE, SCRIPT, by_package, ends, grid, unlike
from tests.outlook.test_seasons import log
from tests.sheet.answers import state, two_turns
from tirelife.rates import fit_logbook
from tirelife.sheet.answer import answer_for
from tirelife.sheet.page import plain_json
from tirelife.sheet.walkin import walkin_answer

SAMPLE = ("V03", "V09", "V15")
"""One with nothing to do, one near its limit, one that a rotation would shorten; all vehicles are compared by
``python -m tests.benchmarks contradictions``."""


@pytest.fixture(scope="module")
def bare(browser):
    tab = browser.new_page()
    tab.set_content(BARE)
    yield tab
    tab.close()


def compared(tab, sliders, settings):
    said = tab.evaluate(SCRIPT, [json.loads(plain_json(sliders)), settings])
    return {str(s): found for s, one in zip(settings, said, strict=True)
            if (found := unlike(one, by_package(sliders, s)))}  # fmt: skip


@pytest.mark.long
def test_script_and_package_say_the_same_of_demo_cars(bare, demo):
    book, fit = demo
    for vehicle in SAMPLE:
        sliders = answer_for(book, vehicle, fit).sliders
        assert compared(bare, sliders, [*ends(sliders), *grid(sliders)[::4]]) == {}, vehicle


def test_script_and_package_say_the_same_of_a_car_whose_sets_take_turns(bare, tmp_path):
    book = log(tmp_path / "book")[0]
    sliders = answer_for(book, "V1", fit_logbook(book)).sliders
    assert sliders["tires"]["LF"]["turn"] is not None
    assert compared(bare, sliders, ends(sliders)) == {}


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("depths", [(6, 6, 7, 7), (3, 3, 2, 3), (2.6, 4, 8, 8), (9, 9, 9, 2)])
def test_script_and_package_say_the_same_of_walk_ins(bare, units, depths):
    drive = {2: "all", 3: "rear"}.get(depths[2], "front")
    language = "es" if sum(depths) > 23 else "en"
    sliders = walkin_answer(
        [d * 25.4 / 32 for d in depths], units=units, drive=drive, language=language
    ).sliders
    assert compared(bare, sliders, ends(sliders)) == {}


@pytest.mark.parametrize("longer", [1 - 1e-12, 1 + 1e-12, 0.5, 1.1])
def test_script_and_package_offer_the_same_of_two_rotations(bare, longer):
    assert compared(bare, two_turns(longer), [{}]) == {}


def test_script_and_package_say_the_same_of_what_no_log_may_hold(bare):
    for verdict, loss, checks, read in (
        ("at-or-under", 30.0, [{"step": "measure angles", "positions": ["LF", "RF"], "urgent": False}], 1.5),
        ("near", 16.0, [{"step": "inspect now", "positions": ["RR"], "urgent": True}], 2.2),
        ("not-read", 0.0, [{"step": "check wheel and dampers", "positions": ["LR"], "urgent": False}], None),
    ):
        s = state()
        record = s["record"]
        record["checks"], record["drive"] = checks, "all" if read == 2.2 else "rear"
        one = record["tires"]["LF"]
        one |= {"read_mm": read, "loss_kpa_per_month": loss, "fits": False, "age_end": "2026-12-24",
                "age_coded": True, "age_note": "ten years old"}  # fmt: skip
        one["at"]["2"]["verdict"] = verdict
        if verdict == "at-or-under":
            s["tires"]["LF"]["km"]["2"] = [0.0] * 5
        if verdict == "not-read":
            s["tires"]["LF"]["km"]["2"] = [None] * 5
            record["rotation"]["refused"] = "sizes-differ"
        assert compared(bare, s, [*ends(s), {"year": 1000.0, "removal": "4", "rotation": "6000"}]) == {}, (
            verdict
        )
