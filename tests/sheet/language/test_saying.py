"""Notes as sentences: how each kind of argument is said, which are rounded together, and what scripts are given."""

from datetime import date
from enum import StrEnum

import numpy as np
import pandas as pd
import pytest

from tirelife import InputError
from tirelife.advice import WouldChange
from tirelife.codes import Note
from tirelife.language import LANGUAGES, codes_words
from tirelife.sheet.language import saying, texts
from tirelife.sheet.language.saying import (
    ELSEWHERE,
    say,
    say_all,
    say_short,
    scripted,
    sentences,
    upper_first,
)

MI, PSI = 1.609344, 6.894757293168


class Odd(StrEnum):
    ONE = "odd-one"
    TWO = "odd-two"


@pytest.fixture
def tongue(monkeypatch):
    """Lends a language sentences of a kind of code that is known here alone."""

    def lent(one, two="Two."):
        module = saying.import_module("tirelife.sheet.language.en")
        monkeypatch.setitem(module.SENTENCES, "Odd", {"odd-one": one, "odd-two": two})

    return lent


def told(tongue, sentence, units="us", order="", **values):
    tongue(sentence)
    return say(Note(Odd.ONE, values=tuple(values.items())), units, order=order)


def test_depths_distances_and_pressures_lose_their_unit_s_name_and_get_the_shown_one(tongue):
    words = told(tongue, "{a}, {b}, {c}", a_mm=2 * 0.79375, b_km=6000 * MI, c_kpa=3 * PSI)
    assert words == "2/32 inch, 6,000 miles, 3 psi"
    assert (
        told(tongue, "{a}, {b}, {c}", "metric", a_mm=1.6, b_km=6000, c_kpa=21.0) == "1.6 mm, 6,000 km, 21 kPa"
    )


def test_other_values_are_chances_days_numbers_and_names(tongue):
    assert (
        told(tongue, "{chance_now} {share} {days} {count}", chance_now=0.845, share=0.5, days=2.50, count=7)
        == "85% 50% 2.5 7"
    )
    assert (
        told(tongue, "{chance} {share}", chance=np.nan, share=np.nan)
        == f"{texts()['unknown']} {texts()['unknown']}"
    )
    assert told(tongue, "{place} {odd}", place="LF", odd="Zed") == "left front Zed"
    assert told(tongue, "[{a}]", a_mm="none") == "[none]"


def test_a_day_is_in_the_order_of_the_units_or_the_one_asked_for_and_no_day_is_nothing(tongue):
    day = date(2026, 3, 14)
    assert told(tongue, "{day}", day=day) == "March 14, 2026"
    assert told(tongue, "{day}", "metric", day=day) == "14 March 2026"
    assert told(tongue, "{day}", order="ymd", day=pd.Timestamp(day)) == "2026 March 14"
    assert told(tongue, "[{day}]", day=pd.NaT) == "[]"


def test_what_is_part_of_a_range_is_rounded_by_the_range_and_not_said_twice():
    def least(km, spread):
        values = (("position", "LF"), ("over_km", 16_000.0), ("least_km", km), ("spread_km", spread))
        return say(Note(WouldChange.SURELY_FURTHER, values=values), "metric")

    assert "now 12,350 km" in least(12_345.0, 300.0)
    assert "now 10,000 km" in least(12_345.0, 60_000.0)
    assert f"now {texts()['hardly-less']}" in least(15_990.0, 5000.0)


def test_reasons_of_a_fit_are_said_by_their_codes(tongue):
    code = "fit-read-once"
    assert told(tongue, "{reason}", reason=code) == codes_words(code)
    assert codes_words(code) != code


def test_the_same_sentence_is_said_once_and_in_a_line_without_its_points(tongue):
    tongue("One.", "Two.")
    one, two = Note(Odd.ONE), Note(Odd.TWO)
    assert say_all([one, two, one]) == ["One.", "Two."]
    assert say_short([one, two, one]) == "One; Two"
    assert say_short([]) == ""


def test_only_the_first_letter_is_raised():
    assert [upper_first(text) for text in ("left front", "", "éa", "US")] == ["Left front", "", "Éa", "US"]


def test_scripts_are_given_what_no_other_place_says():
    table = scripted(texts())
    assert not [code for code in table if code.startswith(ELSEWHERE)]
    assert {"replace-now", "point-us", "day-mdy", "and"} <= set(table)
    assert scripted({"fleet-x": "a", "fleetx": "b"}) == {"fleetx": "b"}


def test_sentences_are_handed_out_as_a_copy_and_an_unknown_language_is_refused():
    held = sentences("WouldChange")
    held.clear()
    assert set(sentences("WouldChange")) == {code.value for code in WouldChange}
    with pytest.raises(InputError, match="there are no words in 'xx'"):
        texts("xx")
    assert [texts(one)["LF"] for one in LANGUAGES].count("left front") == 1
