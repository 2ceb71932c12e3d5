"""Every code of the logbook has words in every language, and no words stand without a code."""

import ast
import re
from importlib import import_module
from pathlib import Path
from string import Formatter

import pytest

import tirelife
from tirelife.driving.faults import Fault, LeftOut, Sideways
from tirelife.driving.samples import NoTrips
from tirelife.errors import InputError, Problem, misused
from tirelife.groups.advice import Advice as GroupAdvice
from tirelife.groups.advice import Check as GroupCheck
from tirelife.inflation.cold import ColdNote, ColdWay
from tirelife.language import LANGUAGES, code_words, fault_words, problem_words, title_of
from tirelife.logbook import Ask, Found, Slip
from tirelife.logbook.convert import Copied
from tirelife.logbook.lives import Course
from tirelife.logbook.refused import NoSheet, NoStore, Refused
from tirelife.logbook.sheets.told import Asked, How, Row, Settled
from tirelife.outlook.assumed import Assumed, Basis, Held
from tirelife.rates.advice import Advice as FitAdvice
from tirelife.rates.advice import Check as FitCheck
from tirelife.rates.advice import Says
from tirelife.rates.lives import LifeFault
from tirelife.rates.prior import PriorFault
from tirelife.rotation.plan import Caution, Use
from tirelife.tread.age import Aged
from tirelife.tread.correction import NotKnown
from tirelife.tread.limits import LimitFault
from tirelife.tread.profile import Lacks
from tirelife.tread.visits import VisitDoubt
from tirelife.wear.alignment import Judged, Step

REFUSED = [*Refused, *NoStore, *NoSheet, *Asked, *NoTrips, *LifeFault, *PriorFault, *LimitFault]
OF_GAUGES = {"gauge-not-compared", "gauge-reads-high", "gauge-reads-low", "gauge-overdue"}
NOTED = (
    ColdNote, ColdWay, FitAdvice, Says, GroupAdvice, Sideways, Settled, How, Row, Step, Judged, Assumed, Held, Basis,
    Lacks, Aged, NotKnown, Use, Caution, Copied,
)  # fmt: skip
"""Enums of what rooms note; the words begin with the codes."""
EDGE = ("align-", "kind-", "limit-", "move-", "report-", "row-at", "straight-", "through-")
"""Words that only the edges ask for."""
CODES = [*Found, *Slip, *REFUSED]


def fields(text):
    return {name for _, name, _, _ in Formatter().parse(text) if name}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_code_has_words_and_none_stand_without_a_code(language):
    tongue = import_module(f"tirelife.language.problems_{language}")
    assert set(tongue.WHAT) == {*CODES, *VisitDoubt}
    assert set(tongue.ADVICE) == {*CODES, *Ask}
    for code in (*Found, *Slip, *VisitDoubt):  # what a record can be doubted for
        assert title_of(code, language)


@pytest.mark.parametrize("language", LANGUAGES)
def test_languages_take_the_same_arguments(language):
    tongue, english = (import_module(f"tirelife.language.problems_{one}") for one in (language, "en"))
    for name in ("WHAT", "ADVICE", "TEXT"):
        for code, text in getattr(tongue, name).items():
            assert fields(text) == fields(getattr(english, name)[code]), code


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_argument_that_may_be_wrong_has_words_in_every_language(language):
    words, english = (import_module(f"tirelife.language.wrong_{one}").WRONG for one in (language, "en"))
    top = Path(tirelife.__file__).parent
    rooms = [f"tirelife.{path.parent.name}.wrong" for path in top.glob("*/wrong.py")]
    codes = [code for name in [*rooms, "tirelife.units"] for code in import_module(name).Wrong]
    assert len(codes) == len(set(codes)) > 200
    assert set(words) == set(codes)
    for code, text in words.items():
        assert fields(text) == fields(english[code]), code
        assert language == "en" or text != english[code], code
        error = misused(code, **dict.fromkeys(fields(text), "x"))
        assert error.said(language)[:1] == text.format_map(dict.fromkeys(fields(text), "x"))[:1]


def test_no_code_stands_unused():
    top = Path(tirelife.__file__).parent
    for path in top.glob("*/wrong.py"):
        room = "".join(p.read_text("utf-8") for p in path.parent.rglob("*.py") if p != path)
        for code in import_module(f"tirelife.{path.parent.name}.wrong").Wrong:
            assert re.search(rf"\bWrong\.{code.name}\b", room), code


def test_no_code_of_a_doubt_a_refusal_or_a_sheet_stands_unused():
    top = Path(tirelife.__file__).parent
    text = "\n".join(path.read_text("utf-8") for path in top.rglob("*.py"))
    used = set(re.findall(r"\b([A-Z][A-Za-z]+)\.([A-Z][A-Z0-9_]+)\b", text))
    codes = (Found, Slip, Ask, Refused, NoStore, NoSheet, Asked, Settled, How, Row, Fault, LeftOut, Sideways)
    assert {(kind.__name__, code.name) for kind in codes for code in kind} - used == set()


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_note_has_words_with_the_same_arguments_in_every_language(language):
    words, english = (
        import_module(f"tirelife.language.problems_notes_{one}").NOTES for one in (language, "en")
    )
    codes = {str(code) for codes in NOTED for code in codes} | {f"course-{code}" for code in Course}
    codes |= {f"check-{code}" for code in (*FitCheck, *GroupCheck)}
    assert codes < set(words)
    assert {code for code in words if code not in codes and not code.startswith(EDGE)} == OF_GAUGES
    for code, text in words.items():
        assert fields(text) == fields(english[code]), code
        assert code_words(code, dict.fromkeys(fields(text), 1), language) or not english[code]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_fault_of_trips_has_words_in_every_language(language):
    table = import_module(f"tirelife.language.problems_notes_{language}").FAULTS
    assert set(table) == {*Fault, *LeftOut}
    assert all(all(fault_words(code, language)) for code in table)


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


MAKERS = {"Problem": 4, "refusal": 5, "Note": 3, "add": 4}
"""What says something by a code, and how many arguments may stand before those that would be words."""

SAID = ("InputError", "FitError", "ValueError", "KeyError", "TypeError")
"""Errors that callers see; others are caught where they are raised, or are faults of the program."""


def said_by_itself(source):
    """Lines of a room that make a sentence where a code should stand."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Dict):
            told = [
                v for k, v in zip(node.keys, node.values, strict=True) if getattr(k, "value", "") == "advice"
            ]
            texts = [c.value for arg in told for c in ast.walk(arg) if isinstance(c, ast.Constant)]
            found += [node.lineno for text in texts if re.search(r"[a-z]{2,} [a-z]{2,} ", str(text))]
        if (
            isinstance(node, ast.Raise)
            and isinstance(node.exc, ast.Call)
            and ast.unparse(node.exc.func) in SAID
        ):
            texts = [c.value for arg in node.exc.args for c in ast.walk(arg) if isinstance(c, ast.Constant)]
            found += [node.lineno for text in texts if re.search(r"[a-z]{2,} ", str(text))]
        if not isinstance(node, ast.Call):
            continue
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        if name not in MAKERS or (name == "add" and not isinstance(node.func, ast.Attribute)):
            continue
        words = {one.arg for one in node.keywords} & {"what", "advice"}
        more = name == "Problem" and len(node.args) > MAKERS[name]
        told = [*node.args[1:], *(one.value for one in node.keywords)]
        texts = [c.value for arg in told for c in ast.walk(arg) if isinstance(c, ast.Constant)]
        if words or more or any(re.search(r"[a-z]{2,} [a-z]{2,} ", str(text)) for text in texts):
            found.append(node.lineno)
    return found


def test_no_room_makes_a_sentence_of_what_it_doubts_notes_or_refuses():
    top = Path(tirelife.__file__).parent
    found = {
        str(path.relative_to(top)): lines
        for path in top.rglob("*.py")
        if path.relative_to(top).parts[0]
        not in ("language", "sheet", "terminal", "cli", "captions.py", "errors.py")
        and (lines := said_by_itself(path.read_text(encoding="utf-8")))
    }
    assert found == {}


SENTENCE = re.compile(r"[^\W_][^_<>\n=$\\|]*( [^_<>\n=$\\|]+){3,}")
QUERY = re.compile(
    r"\s*\(?(select|insert|update|delete|create|pragma|where|check|when)\b|.*\b(order by|is not null)\b", re.I
)
NO_SENTENCES = {
    "charts/changes.py": "an expression of Vega",
    "doors.py": "what Python says of a name that is not there",
    "logbook/parts.py": "how a result prints itself to whoever calls",
    "logbook/textfile.py": "what the system says",
    "rates/curved.py": "names of terms",
    "rates/paths.py": "names of terms",
    "rates/tables.py": "names of terms and units, worded in sheet.fit_tables",
    "rates/reporting.py": "names of units",
    "rates/lives.py": "sources, cited in one language",
    "rotation/plan.py": "sources, cited in one language",
    "tread/causes.py": "names of causes",
    "tread/patterns.py": "names of causes",
    **dict.fromkeys(
        [
            f"wear/cause/{name}.py"
            for name in ("alignment", "base", "corners", "parking", "pressure", "speed", "starts", "stops")
        ],
        "sources, cited in one language",
    ),
}
"""Modules below the edges that hold strings of four words or more which nobody is told, and what they are."""


def reads_as_sentence(source):
    """Strings of a module that read as a sentence: four words or more; no docstring, code, query or log line."""
    tree = ast.parse(source)
    passed = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            passed.add(id(node.value))
        codes = isinstance(node, ast.ClassDef) and any(ast.unparse(base) == "StrEnum" for base in node.bases)
        logs = isinstance(node, ast.Call) and re.match(r"_?log\w*\.|logging", ast.unparse(node.func))
        listed = isinstance(node, ast.Attribute) and node.attr == "split"
        if codes or logs or listed or isinstance(node, ast.JoinedStr):
            passed |= {id(inner) for inner in ast.walk(node) if inner is not node}
    found = []
    for node in ast.walk(tree):
        if id(node) in passed:
            continue
        if isinstance(node, ast.JoinedStr):
            text = "".join(part.value if isinstance(part, ast.Constant) else "0" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        else:
            continue
        if SENTENCE.fullmatch(text) and not QUERY.match(text) and len(re.findall("[A-Za-z]{2,}", text)) > 2:
            found.append(text)
    return found


def test_no_string_of_a_room_reads_as_a_sentence():
    top = Path(tirelife.__file__).parent
    found = {
        str(path.relative_to(top))
        for path in top.rglob("*.py")
        if path.relative_to(top).parts[0] not in ("language", "sheet", "terminal", "cli", "captions.py")
        and reads_as_sentence(path.read_text(encoding="utf-8"))
    }
    assert found - set(NO_SENTENCES) == set()
    assert set(NO_SENTENCES) - found == set()  # what is allowed for nothing


@pytest.mark.parametrize(
    ("line", "sentences"),
    [
        ('why = "nobody has read it yet"', 1),
        ('out["note"] = f"read by {name} two days ago"', 1),
        ('class Code(StrEnum):\n    ONE = "nobody has read it yet"', 0),
        ('def read():\n    """Nobody has read it yet."""', 0),
        ('cursor.execute("select what from tires where it is")', 0),
        ('log.info("read %d of %d vehicles", 1, 2)', 0),
    ],
)
def test_what_reads_as_a_sentence(line, sentences):
    assert len(reads_as_sentence(line)) == sentences


@pytest.mark.parametrize(
    "line",
    [
        'Problem(file, 0, "", "", "is not there", "Check the path.")',
        'Problem(file, 0, "", "", what=said)',
        'Problem(file, 0, "", "", code=Found.BLANK, values=(("why", "nobody has read it yet"),))',
        'refusal(path, Refused.NO_STORE, why=f"nobody has read {path} yet")',
        'found.add(file, 0, "", "", Found.BLANK, {"why": "nobody has read it yet"})',
        '{"check": "odd", "advice": "Look at the readings of this one."}',
        'raise InputError(f"{name} is not given.")',
        'raise FitError("nothing to fit")',
        'Note(Code.ONE, Severity.NOTE, (("why", "nobody has read it yet"),))',
    ],
)
def test_a_sentence_in_a_room_is_found(line):
    assert said_by_itself(line) == [1]


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_refused_has_words_of_its_own_in_each_language(language):
    tongue = import_module(f"tirelife.language.problems_{language}")
    held = {"header": "LRO", "groove": "outer", "header_row": 2, "names": ("a", "b"), "choices": ("a", "b")}
    held |= {"hidden": (("Old", (3,)),), "held": ("mm", "in"), "left_out": ((2, (("row-total", ()),)),)}
    for code in REFUSED:
        texts = (tongue.WHAT[code], tongue.ADVICE[code])
        values = {name: held.get(name.split("!")[0], "x") for text in texts for name in fields(text)}
        what, advice = problem_words(code, values=tuple(values.items()), language=language)
        assert what
        assert advice
        assert "{" not in what + advice


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
