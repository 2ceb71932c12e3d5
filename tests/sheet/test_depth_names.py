"""Every heading that speaks of a depth, on pages, in charts and at a terminal, is a name of ``tests.depths``."""

import ast
import json
import re
from pathlib import Path

import pytest

import tirelife
from tests.commands import asked
from tests.depths import COLUMNS, HEADINGS, PROSE, keys, names_of
from tirelife.captions import WORDS
from tirelife.language import LANGUAGES
from tirelife.sheet.language import texts
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


ANSWERS = {"page-not-read", "page-key-least", "chart-deep-us", "head-since", "chart-day", "chart-read-on",
           "chart-residual"}  # fmt: skip
"""What a cell or a mark says, a unit, heads of days, and what a fit leaves: no depth's."""


def test_every_heading_of_a_terminal_and_every_axis_of_a_notebook_s_chart_is_one_of_these():
    said = []
    for path in [*ROOM.glob("terminal/*.py"), *ROOM.glob("cli/*.py"), *ROOM.glob("charts/*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or getattr(node.func, "id", "") not in ("Column", "axis_title"):
                continue
            first = node.args[0]
            if isinstance(first, ast.Subscript) and isinstance(first.slice, ast.Constant):
                first = ast.Constant(WORDS[first.slice.value])  # a caption by its code
            parts = first.values if isinstance(first, ast.JoinedStr) else [first]
            text = "".join(p.value for p in parts if isinstance(p, ast.Constant))
            if SPEAKS["en"].search(text):
                said.append(bare(text))
    assert {"least read, corrected", "least today, estimate", "mean of the grooves, corrected"} <= set(said)
    assert set(said) <= HEADINGS["en"]


def told(node):
    """Words in an expression."""
    return "".join(
        c.value for c in ast.walk(node) if isinstance(c, ast.Constant) and isinstance(c.value, str)
    )


def test_every_heading_that_a_command_sets_out_by_hand_is_one_of_these():
    heads = []
    for path in [*ROOM.glob("terminal/*.py"), *ROOM.glob("cli/*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.FormattedValue) or node.format_spec is None:
                continue
            wide = re.match(r"[<>]?\d", told(node.format_spec))
            if (
                wide
                and isinstance(node.value, ast.Constant | ast.BinOp)
                and SPEAKS["en"].search(told(node.value))
            ):
                heads.append((path.stem, bare(told(node.value))))
    assert "walkin" in {name for name, _ in heads}
    assert {text for _, text in heads} <= HEADINGS["en"]


@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_walk_in_s_answer_names_its_depths_as_every_other(units):
    depths = ["3", "3", "2", "3"] if units == "us" else ["2.4", "2.4", "1.6", "2.4"]
    answer = asked("walkin", "--units", units, "--as-of", "2026-11-01", "--depths", *depths)
    found = names_of(keys(answer), "32nds" if units == "us" else "mm")
    assert {"read", "read_raw", "depth_now", "limit"} <= found <= COLUMNS


@pytest.mark.parametrize(
    "path", sorted((ROOM.parent / "notebooks").glob("*.ipynb")), ids=lambda path: path.stem
)
def test_a_notebook_s_prose_says_which_depth(path):
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    prose = [
        line for c in cells if c["cell_type"] == "markdown" for line in "".join(c["source"]).splitlines()
    ]
    bare_of_name = [
        sentence
        for line in prose
        for sentence in re.split(r"(?<=[.]) ", line)
        if re.search(r"\bdepths?\b", sentence, re.I) and not re.search("|".join(PROSE), sentence, re.I)
    ]
    assert bare_of_name == []


def test_a_notebook_draws_profiles_as_read_as_their_axis_says():
    (path,) = (ROOM.parent / "notebooks").glob("tread_reading.ipynb")
    code = "\n".join(
        "".join(c["source"])
        for c in json.loads(path.read_text(encoding="utf-8"))["cells"]
        if c["cell_type"] == "code"
    )
    drawn = [
        n
        for n in ast.walk(ast.parse(code))
        if getattr(getattr(n, "func", None), "id", "") == "tread_profiles"
    ]
    assert drawn
    for call in drawn:
        assert any(k.arg == "as_read" and k.value.value is True for k in call.args[0].keywords)
