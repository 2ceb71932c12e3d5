"""Every heading that speaks of a depth, on pages, in charts and at a terminal, is a name of ``tests.depths``."""

import ast
import re
from pathlib import Path

import pytest

import tirelife
from tests.depths import HEADINGS
from tirelife.sheet.language import LANGUAGES, texts
from tirelife.sheet.language.counter_en import TEXTS as COUNTER_EN
from tirelife.sheet.language.counter_es import TEXTS as COUNTER_ES

ROOM = Path(tirelife.__file__).parent
SPEAKS = {
    "en": re.compile(r"\bdepths?\b|\bread\b|\bleast\b|32nds|\bgrooves?, corrected", re.I),
    "es": re.compile(r"profundidad|le[íi]d[oa]|lectura|m[íi]nim[oa]\b|medida", re.I),
}


def bare(text):
    """A heading without units, places left open and days."""
    text = re.sub(r",? ?\{(deep|unit)\}|\s*\((32nds|mm)[^)]*\)", "", text.replace("\n", " "))
    return re.sub(r"\s+", " ", text).strip(" ,").lower()


def short(text):
    """Whether a text can be a heading: no sentence, no answer to a question."""
    return len(text) <= 45 and not re.search(r"[.:?]$|\{(?!deep|unit)", text.strip())


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_heading_that_speaks_of_a_depth_is_one_of_these(language):
    table = {**texts(language), **{"en": COUNTER_EN, "es": COUNTER_ES}[language]}
    heads = {
        code: bare(text)
        for code, text in table.items()
        if code.startswith(("page-", "head-", "stored-", "chart-", "fact-", "col-", "usual-depth"))
        or code.endswith("-head")
        if short(text) and SPEAKS[language].search(text)
    }
    heads = {code: text for code, text in heads.items() if code not in ANSWERS}
    assert {code: text for code, text in heads.items() if text not in HEADINGS[language]} == {}
    assert len(heads) >= 8


ANSWERS = {"page-not-read", "page-key-least", "chart-deep-us", "head-since"}
"""What a cell or a mark says, a unit, and the head of days: no depth's."""


def test_every_heading_of_a_terminal_and_every_axis_of_a_notebook_s_chart_is_one_of_these():
    said = []
    for path in [*ROOM.glob("cli/*.py"), *ROOM.glob("charts/*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or getattr(node.func, "id", "") not in ("Column", "axis_title"):
                continue
            first = node.args[0]
            parts = first.values if isinstance(first, ast.JoinedStr) else [first]
            text = "".join(p.value for p in parts if isinstance(p, ast.Constant))
            if SPEAKS["en"].search(text):
                said.append(bare(text))
    assert {"least read, corrected", "least today, estimate", "mean of the grooves, corrected"} <= set(said)
    assert set(said) <= HEADINGS["en"]
