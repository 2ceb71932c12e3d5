"""Decisions in words: every action of every hand-made car can be said, in each language."""

import itertools
import re

import pandas as pd
import pytest

from tests.advice.cars import CARS
from tests.sheet.reading import grade
from tirelife.advice import Action, Kind, Reason, WouldChange, decide
from tirelife.codes import Note, Severity
from tirelife.language import LANGUAGES
from tirelife.sheet.language import say, texts
from tirelife.sheet.language.decisions import action_words, decision_words, first_words


def all_said(language, units="us"):
    return [s for car in CARS for s in decision_words(decide(car.facts()), units, language)]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_action_is_a_sentence_in_one_unit_system(language, units):
    for said in all_said(language, units):
        assert re.fullmatch(r"[A-ZÁÉÍÓÚ].*\.", said), said
        assert not re.search(r"[{}]|nan|_", said), said
        assert not re.search(r"\b(mm|km|kPa)\b" if units == "us" else r"/32|\bmiles\b|\bpsi\b", said), said


def test_no_sentence_promises_or_advises_to_bleed_a_hot_tire():
    text = " ".join(all_said("en"))
    assert not re.search(r"\b(will|guarantee|surely|certainly)\b", text)
    assert "Never let air out of a hot tire" in text
    assert grade(text) <= 8


def test_what_cannot_wait_says_what_was_read_and_the_limit():
    car = next(c for c in CARS if c.name == "one tire at the bars")
    assert decision_words(decide(car.facts()), "us")[0] == (
        "Have a qualified person look at the tread now, before the car is driven far: read left front 2/32 inch, "
        "at or under the 2/32 inch at which it comes off."
    )


def test_a_pair_joined_for_its_mate_says_why():
    car = next(c for c in CARS if c.name == "one tire at the bars")
    assert decision_words(decide(car.facts()), "us")[1].startswith(
        "Replace both front tires now. The right front goes with it: a new tire beside it would be 5/32 inch deeper."
    )


def test_a_window_within_a_month_is_said_once():
    day = pd.Timestamp("2027-03-02")
    why = Note(Reason.DUE_IN_WINDOW, Severity.NOTE, (("position", "LF"),))
    plan = Action(
        Kind.REPLACE,
        Severity.NOTE,
        ("LF",),
        reasons=(why,),
        window=(day, day),
        as_of=day - pd.Timedelta(days=90),
    )
    assert action_words(plan, "us") == "Plan to replace the left front tire around early March 2027."


def test_a_tie_is_said_as_one():
    car = CARS[0]
    assert first_words(decide(car.facts())) == "About equally likely to be first: both front tires."


@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(LANGUAGES, 2)) or [("en", "en")])
def test_no_text_is_missing_in_either_language(one, other):
    assert set(texts(one)) == set(texts(other))
    for code, text in texts(one).items():
        assert set(re.findall(r"{(\w+)}", text)) == set(re.findall(r"{(\w+)}", texts(other)[code])), code


@pytest.mark.parametrize(
    ("least", "words"), [(15_900.0, "now just under that"), (11_265.4, "now 7,000 miles")]
)
def test_what_all_but_reaches_the_distance_that_would_change_it_is_not_said_to_be_that_distance(least, words):
    values = (("position", "LF"), ("over_km", 16_093.44), ("least_km", least), ("spread_km", 20_000.0))
    said = say(Note(WouldChange.SURELY_FURTHER, values=values), "us")
    assert said == f"9 chances in 10 that the left front goes over 10,000 miles more ({words})"
