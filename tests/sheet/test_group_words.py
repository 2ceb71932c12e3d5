"""Words of a comparison of groups, in each language."""

import re
from string import Formatter

import pytest

from tirelife.cli import main
from tirelife.groups.advice import Advice, Apart, Basis, Change, Remark, Told, Worth
from tirelife.language import LANGUAGES
from tirelife.sheet.group_tables import group_texts


def fields(text):
    return {name for _, name, _, _ in Formatter().parse(text) if name}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_code_of_groups_has_words_with_the_same_arguments(language):
    say, english = group_texts(language), group_texts()
    for kind in (Told, Apart, Worth, Remark, Change, Basis):
        assert {code.value for code in kind} <= set(say)
    names = {f"check-{code.value}" for code in Advice}
    assert set(say) - names == set(english) - names
    assert language == "en" or names <= set(say)
    for code in english:
        assert fields(say[code]) == fields(english[code]), code
        assert say[code].strip()


def test_groups_are_compared_in_spanish(capsys):
    assert main(["groups", "data_synthetic/logbook", "--fitting", "20", "--language", "es"]) == 0
    said = capsys.readouterr().out
    assert "No use solo estas cifras para premiar" in said
    assert re.search(r"(gasta las llantas|ninguna diferencia entre|no se distinguen)", said)
    english = r"\b(Range|range|wears|over|Told apart|Checks|adjusted|Group|Vehicles|What to do|drove|yes)\b"
    assert not re.search(english, said), re.search(english, said)


def test_what_cannot_be_compared_is_said_in_spanish(capsys):
    assert main(["groups", "data_synthetic/logbook", "--by", "colour", "--language", "es"]) == 2
    assert "no se puede agrupar por 'colour'" in capsys.readouterr().err
