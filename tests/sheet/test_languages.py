"""Every language has every word, with the same things filled in, and none of them promises anything."""

import re
from importlib import import_module

import pandas as pd
import pytest

from tests.advice.cars import CARS
from tirelife import InputError
from tirelife.advice import decide
from tirelife.captions import WORDS
from tirelife.language import LANGUAGES
from tirelife.sheet import words
from tirelife.sheet.cautions import cautions
from tirelife.sheet.language import texts
from tirelife.sheet.language.decisions import decision_words
from tirelife.sheet.quantities import depth, far

OTHERS = [name for name in LANGUAGES if name != "en"]
PROMISES = {
    "en": r"\b(guarantee\w*|promise\w*|will last|certainly|safe to drive)\b",
    "es": r"\b(garantiza\w*|garantía\w*|promete\w*|prometemos|durarán|aguantarán|seguro que|con certeza)\b",
}
EMPTY = {"verdict-over"}


def tables(language):
    """Every table of words of a language, by name."""
    tongue = import_module(f"tirelife.sheet.language.{language}")
    counter = import_module(f"tirelife.sheet.language.counter_{language}").TEXTS
    out = {"texts": texts(language), "counter": counter, "names": tongue.WORDS}
    return out | {kind: codes for kind, codes in tongue.SENTENCES.items()}


def filled(text):
    return set(re.findall(r"{(\w+)}", text))


@pytest.mark.parametrize("language", OTHERS)
def test_no_word_is_missing_in_either_and_the_same_is_filled_in(language):
    ours, theirs = tables("en"), tables(language)
    assert set(ours) == set(theirs)
    for name, table in ours.items():
        assert set(table) == set(theirs[name]), name
        for code, text in table.items():
            assert filled(text) == filled(theirs[name][code]), (name, code)
            assert bool(text) == bool(theirs[name][code]) == (code not in EMPTY), (name, code)


@pytest.mark.parametrize("language", OTHERS)
def test_sentences_are_translated_and_not_copied(language):
    ours, theirs = tables("en"), tables(language)
    copied = [
        (name, code)
        for name, table in ours.items()
        for code, text in table.items()
        if theirs[name][code] == text and re.search(r"[a-z]{3,} [a-z]{3,}", re.sub(r"{\w+}", "", text))
    ]
    assert copied == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_sentence_promises(language):
    said = [text for table in tables(language).values() for text in table.values()]
    assert len(said) > 500
    for text in said:
        assert not re.search(PROMISES[language], text, re.IGNORECASE), text
    assert re.search(PROMISES["es"], "Estas llantas durarán 3 años.")


def test_each_language_has_its_cautions_and_never_bleeds_a_hot_tire():
    assert "Never let air out of a hot tire" in " ".join(cautions("us"))
    assert "Nunca saque aire de una llanta caliente" in " ".join(cautions("metric", texts("es")))


def test_spanish_numbers_dates_and_units_are_as_its_readers_write_them():
    say, day = texts("es"), pd.Timestamp
    # With US units as in the United States and Mexico (comma for thousands, point for decimals); with metric ones
    # the comma before decimals and a space from five digits on (the academies' Ortografía of 2010, from memory).
    assert depth(4.7625, "us", say) == "6/32 de pulgada"
    assert depth(4.35, "us", say) == "5.5/32 de pulgada"
    assert depth(4.6, "metric", say) == "4,6 mm"
    assert far(16_093.44, "us", say) == "10,000 millas"
    assert far(17_812, "metric", say) == "18\u00a0000 km"
    assert words.distance_range(1500, 4100, "metric", say) == "1500 a 4000 km"
    assert words.full_date(day("2026-03-14"), "mdy", say) == "14 de marzo de 2026"
    assert words.month_year(day("2027-01-05"), say) == "ene 2027"
    assert words.window(day("2027-03-25"), day("2027-06-14"), day("2026-09-30"), say) == (
        "entre finales de marzo y mediados de junio de 2027"
    )
    assert (
        words.date_range(day("2027-03-25"), day("2031-10-14"), say) == "principios de 2027 a finales de 2031"
    )


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_decision_of_the_hand_made_cars_is_said_whole(language):
    for car in CARS:
        for said in decision_words(decide(car.facts()), "us", language):
            assert said.endswith("."), said
            assert not re.search(r"[{}]|\bnan\b|  ", said), said


def test_a_language_without_words_is_an_error_that_names_those_there_are():
    with pytest.raises(InputError, match="there are no words in 'xx': use en or es"):
        texts("xx")


def test_the_charts_words_are_part_of_every_table():
    assert all(set(WORDS) <= set(texts(language)) for language in LANGUAGES)
