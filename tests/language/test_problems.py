"""Every code of the logbook has words in every language, and no words stand without a code."""

import re
from importlib import import_module
from pathlib import Path
from string import Formatter

import pytest

from tirelife.errors import InputError, Problem
from tirelife.language import LANGUAGES, problem_words, title_of
from tirelife.logbook import Ask, Found, Slip
from tirelife.tread.visits import VisitDoubt

CODES = [*Found, *Slip]


def fields(text):
    return {name for _, name, _, _ in Formatter().parse(text) if name}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_code_has_words_and_none_stand_without_a_code(language):
    tongue = import_module(f"tirelife.language.problems_{language}")
    assert set(tongue.WHAT) == {*CODES, *VisitDoubt}
    assert set(tongue.ADVICE) == {*CODES, *Ask}
    for code in tongue.WHAT:
        assert title_of(code, language)


@pytest.mark.parametrize("language", LANGUAGES)
def test_languages_take_the_same_arguments(language):
    tongue, english = (import_module(f"tirelife.language.problems_{one}") for one in (language, "en"))
    for name in ("WHAT", "ADVICE", "TEXT"):
        for code, text in getattr(tongue, name).items():
            assert fields(text) == fields(getattr(english, name)[code]), code


def test_an_argument_that_is_missing_is_an_error_and_no_sentence_with_a_hole():
    with pytest.raises(KeyError):
        problem_words(Found.KEY_TWICE)


def test_a_problem_of_a_code_says_it_where_it_is_caught():
    problem = Problem("depths.csv", 7, "depth_mm", "70", code=Found.OUT_OF_RANGE, ask=Ask.TYPED_UNIT,
                      values=(("low", "0"), ("high", "40"), ("column_unit", "mm"), ("unit", "mils"),
                              ("typed", "70"), ("meant", "1.778")))  # fmt: skip
    assert str(InputError(problem)) == (
        "depths.csv, row 7, column depth_mm: is outside 0 to 40 mm (found '70'). "
        "Was it typed in mils? 70 mils is 1.778 mm."
    )


def test_the_logbook_holds_no_sentence_of_what_it_doubts():
    import tirelife.logbook as room

    found = {
        match[0]
        for path in Path(room.__file__).parent.rglob("*.py")
        for match in re.finditer(
            r"found\.add\([^)]*\"[a-z]+ [a-z]+ [^\"]*\"", path.read_text(encoding="utf-8")
        )
    }
    assert not found


def test_check_says_its_problems_in_spanish(tmp_path, capsys):
    import shutil

    from tirelife.cli import main

    book = tmp_path / "book"
    shutil.copytree("data_synthetic/logbook", book)
    with (book / "depths.csv").open("a", encoding="utf-8") as file:
        file.write(
            next(iter((book / "depths.csv").read_text().splitlines()[-1:])).rsplit(",", 1)[0] + ",abc\n"
        )
    assert main(["check", str(book), "--language", "es"]) in (0, 2)
    said = capsys.readouterr().out
    assert re.search(r"depths\.csv, fila \d+, columna \w+: ", said), said
    assert not re.search(r"\b(row|column|Doubts|Errors|kept|found)\b", said), said
