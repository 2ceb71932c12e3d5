"""Words of sheets: folding, tokens, phrases, and which wheel a text names."""

import pytest

from tirelife.logbook.sheets.words import contains, folded, tokens, wheel_of


@pytest.mark.parametrize(
    ("text", "want"),
    [
        ("Fahrzeug-Größe", "fahrzeug grosse"),
        ("Année_2", "annee 2"),
        ("N/S/F", "ns f"),
        ("O-S Rear", "os rear"),
        ("Łódź", "lodz"),
        ("前輪12", "前輪 12"),
        ("  a\t b ", "a b"),
        ("", ""),
    ],
)
def test_folding(text, want):
    assert folded(text) == want


@pytest.mark.parametrize(
    ("text", "want"),
    [
        ("L/F depth", ["lf", "depth"]),
        ("L F R", ["lf", "r"]),
        ("L 1", ["l", "1"]),
        ("front L", ["front", "l"]),
    ],
)
def test_two_letters_that_stand_alone_are_joined_and_no_third(text, want):
    assert tokens(text) == want


def test_a_phrase_stands_whole():
    words = ["tread", "depth", "mm"]
    assert contains(words, "tread depth")
    assert contains(words, "mm")
    assert not contains(words, "depth tread")
    assert not contains(words, "tread mm")
    assert not contains(["treads"], "tread")
    assert not contains([], "tread")
    assert contains(["左前輪"], "前輪")  # written without spaces, a part is enough


@pytest.mark.parametrize(
    ("text", "wheel", "rest"),
    [
        ("LF", "LF", []),
        ("Left Front tread", "LF", ["tread"]),
        ("rear right", "RR", []),
        ("R/R psi", "RR", ["psi"]),
        ("N/S/F", "near front", []),
        ("front L/R mm", "front", ["mm"]),
        ("Rear", "rear", []),
        ("LR", "LR", []),
        ("spare", "SP", []),
        ("left", "", ["left"]),
        ("depth", "", ["depth"]),
    ],
)
def test_wheels(text, wheel, rest):
    assert wheel_of(text) == (wheel, rest)
