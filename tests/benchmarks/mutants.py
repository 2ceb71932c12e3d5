"""Break one line at a time, at random, and count how many of the breaks a test notices.

Each break is made in a copy of the repository: a number 5 % (a whole number by one) larger, a sign or an operation
turned round, a comparison turned, a larger of two for a smaller. Which test files of these rooms reach which lines is
measured first; of those that reach the break the one that mirrors the module is asked first, then those that hold
answers to what they were (``tests/unmoved``), then the quickest, as far as
``ENOUGH`` goes. How many: ``TIRELIFE_MUTANTS``; another choice of them: ``TIRELIFE_MUTANTS_SEED``; some rooms alone:
``TIRELIFE_MUTANTS_ROOMS``, separated by commas; ``TIRELIFE_MUTANTS_OWN=1`` asks the module's own test file alone, in some
minutes: no more than a lower bound. Survivors are printed as they are found.

The verdict on a tire is broken at every such place instead of some (``small``), and in ``TIRELIFE_MUTANTS_WORDS``
words, True for False, 0 for 1; the test file of the module alone must notice. :data:`SAME` names those that change nothing.
"""

from __future__ import annotations

import ast
import json
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from multiprocessing import Pool
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest
from coverage import Coverage

TOP = Path(__file__).parents[2]
ROOMS = (
    "units",
    "logbook",
    "inflation",
    "tread",
    "driving",
    "wear",
    "rates",
    "outlook",
    "rotation",
    "advice",
    "groups",
)
UNMOVED = "unmoved"
"""Tests that hold answers to what they were: asked after the module's own."""
PATIENCE = 300
"""Longest time of one test file; a break that makes it hang is noticed. [s]"""
ENOUGH = 60.0
"""How long test files are asked about one break, by what they take with nothing broken; one is asked at least. [s]"""
LEFT_OUT = shutil.ignore_patterns(".git", ".venv", "__pycache__", ".hypothesis", ".*_cache")
TURNED: dict[type, tuple[str, str]] = {
    ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*"),
    ast.Lt: ("<", ">="), ast.LtE: ("<=", ">"), ast.Gt: (">", "<="), ast.GtE: (">=", "<"),
    ast.Eq: ("==", "!="), ast.NotEq: ("!=", "=="), ast.And: ("and", "or"), ast.Or: ("or", "and"),
}  # fmt: skip
VERDICT = TOP / "tirelife" / "tread" / "verdict.py"
TURNED_WORDS = {"last": "first"}
SAME: dict[tuple[str, str, str], str] = {
    ("_SAME_MM: Final = 1e-6", "1e-6", "1.05e-06"): "far under any step of a gauge, and over rounding",
    (
        'error = np.maximum(found["error_mm"].to_numpy(float), 1e-9)',
        "1e-9",
        "1.05e-09",
    ): "keeps a zero out alone",
}
"""Breaks of the verdict that change no answer: the line's text, what stands there and instead, and why."""
OTHER = {"min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum"}


class Break(NamedTuple):
    """A piece of a file and what stands there instead; offsets are in bytes."""

    path: Path
    line: int
    start: int
    end: int
    text: str


def breaks(path: Path) -> Iterator[Break]:
    """Every break of one module that is worth a try, in the order of its text."""
    source = path.read_bytes()
    at = [0]
    for line in source.splitlines(keepends=True):
        at.append(at[-1] + len(line))

    def begin(node: ast.expr) -> int:
        return at[node.lineno - 1] + node.col_offset

    def end(node: ast.expr) -> int:
        return at[(node.end_lineno or 1) - 1] + (node.end_col_offset or 0)

    def between(left: ast.expr, right: ast.expr, kind: type) -> Iterator[Break]:
        old, new = TURNED[kind]
        found = source.find(old.encode(), end(left), begin(right))
        if found >= 0:
            yield Break(path, left.end_lineno or 1, found, found + len(old), new)

    for node in ast.walk(ast.parse(source)):
        if (
            isinstance(node, ast.Constant)
            and type(node.value) in (int, float)
            and abs(node.value) not in (0, 1)
        ):
            new = repr(node.value * 1.05) if isinstance(node.value, float) else str(node.value + 1)
            yield Break(path, node.lineno, begin(node), end(node), new)
        elif isinstance(node, ast.BinOp) and type(node.op) in TURNED:
            yield from between(node.left, node.right, type(node.op))
        elif isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in TURNED:
            yield from between(node.left, node.comparators[0], type(node.ops[0]))
        elif isinstance(node, ast.BoolOp):
            yield from between(node.values[0], node.values[1], type(node.op))
        elif isinstance(node, ast.Attribute) and node.attr in OTHER:
            stop = end(node)
            yield Break(path, node.end_lineno or 1, stop - len(node.attr), stop, OTHER[node.attr])


def words(path: Path) -> Iterator[Break]:
    """Every text of a module but docstrings and names told to others, each True and False, each 0 and 1."""
    source = path.read_bytes()
    tree = ast.parse(source)
    told = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "__all__":
            told |= {id(one) for one in ast.walk(node)}
    at = np.cumsum([0, *(len(line) for line in source.splitlines(keepends=True))])
    for node in ast.walk(tree):
        if not isinstance(node, ast.Constant) or id(node) in told:
            continue
        start, end = (
            at[node.lineno - 1] + node.col_offset,
            at[(node.end_lineno or 1) - 1] + (node.end_col_offset or 0),
        )
        if isinstance(node.value, bool) or (isinstance(node.value, int) and node.value in (0, 1)):
            yield Break(path, node.lineno, int(start), int(end), repr(type(node.value)(1 - node.value)))
        elif isinstance(node.value, str) and source[start:end][:1] in (b'"', b"'"):
            text = TURNED_WORDS.get(node.value, node.value + "x")
            yield Break(path, node.lineno, int(start), int(end), repr(text))


def noticed_here(one: Break, copy: Path) -> bool:
    """Whether the module's own tests fail when the break is made in the copy."""
    with _made(one, copy):
        return _tried(copy, mirror(one.path)) != 0


def mirror(path: Path) -> str:
    """The test file that mirrors a module, from the top of the repository."""
    inside = path.relative_to(TOP)
    return str(Path("tests", *inside.parts[1:-1], f"test_{inside.stem}.py"))


@contextmanager
def _made(one: Break, copy: Path) -> Iterator[None]:
    """A break made in the copy, and unmade."""
    source = one.path.read_bytes()
    file = copy / one.path.relative_to(TOP)
    file.write_bytes(source[: one.start] + one.text.encode() + source[one.end :])
    try:
        yield
    finally:
        file.write_bytes(source)


def _tried(copy: Path, tests: str, lines: Path | None = None) -> int:
    """How a test file of the copy ends, in a fork, which spares the imports; 0 if nothing fails.

    ``lines``: where to write which lines of which module it reached.
    """
    child = os.fork()
    if not child:
        signal.alarm(PATIENCE)
        for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "tirelife")]:
            del sys.modules[name]
        os.chdir(copy)
        sys.path[:] = [str(copy), *(entry for entry in sys.path if entry not in ("", str(TOP)))]
        sys.dont_write_bytecode = True
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        traced = Coverage(data_file=None, source=[str(copy / "tirelife")]) if lines else None
        if traced:
            traced.start()
        code = pytest.main(["-x", "-q", "-n", "0", "-p", "no:cacheprovider", "-W", "ignore", tests])
        if traced and lines:
            traced.stop()
            data = traced.get_data()
            reached = {str(Path(f).relative_to(copy)): data.lines(f) or [] for f in data.measured_files()}
            lines.write_text(json.dumps(reached))
        os._exit(int(code != 0))
    return os.waitpid(child, 0)[1]


def small() -> list[dict[str, Any]]:
    """The verdict on a tire, broken at every place; ``TIRELIFE_MUTANTS_WORDS`` of its words too, some seconds each."""
    others = list(words(VERDICT))
    many = min(int(os.environ.get("TIRELIFE_MUTANTS_WORDS", "0")), len(others))
    picked = np.random.default_rng(1).choice(len(others), many, replace=False)
    made = [*breaks(VERDICT), *(others[int(k)] for k in picked)]
    for name in ("pandas", "scipy.stats", "scipy.optimize"):  # once, and not in each fork
        import_module(name)
    text = VERDICT.read_text(encoding="utf-8").splitlines()
    every = VERDICT.read_bytes()
    alive, same = [], 0
    with tempfile.TemporaryDirectory() as name:
        copy = Path(name) / "copy"
        shutil.copytree(TOP, copy, ignore=LEFT_OUT)
        if noticed_here(Break(VERDICT, 1, 0, 0, ""), copy):
            raise SystemExit("the tests of the verdict fail with nothing broken")
        for count, one in enumerate(made, 1):
            old = every[one.start : one.end].decode()
            if (text[one.line - 1].strip(), old, one.text) in SAME:
                same += 1
            elif not noticed_here(one, copy):
                alive.append(one)
                print(
                    f"  {count}: {one.line}: {old} -> {one.text} noticed by no test",
                    file=sys.stderr,
                    flush=True,
                )
    different = len(made) - same
    return [
        {
            "name": f"the verdict on a tire, each sign and limit{f' and {many} words' if many else ''} broken: "
            "noticed by its own tests",
            "figure": round(100 * (1 - len(alive) / different), 1),
            "unit": "%",
            "against": "100",
            "note": f"{different - len(alive)} of {different} breaks, and {same} that change no answer",
        }
    ]


def chosen(number: int, seed: int, rooms: tuple[str, ...]) -> list[Break]:
    """That many breaks over the rooms, each break as likely as any other."""
    top = TOP / "tirelife"
    files = sorted(
        {path for room in rooms for path in (*top.glob(f"{room}.py"), *(top / room).rglob("*.py"))}
    )
    every = [one for path in files for one in breaks(path)]
    picked = np.random.default_rng(seed).choice(len(every), min(number, len(every)), replace=False)
    return [every[int(k)] for k in picked]


class Reached(NamedTuple):
    """A test file, how long it takes, and which lines of which module it reaches, those of imports among them."""

    tests: str
    seconds: float
    lines: dict[str, set[int]]


def asked(one: Break, every: list[Reached]) -> list[str]:
    """The test files to ask about a break, in turn: its mirror, then the quickest that reach it, up to ENOUGH."""
    module = str(one.path.relative_to(TOP))
    touch = [each for each in every if each.lines.get(module)]
    lines = [each.lines[module] for each in touch]
    by_import = set.intersection(*lines) if lines else set()
    here = (
        _statement(one) & set().union(*lines)
    ) - by_import  # of a statement of several lines the first is traced
    near = [each for each in touch if each.lines[module] & here] if here else touch
    first = mirror(one.path)
    out, spent = [], 0.0
    for each in sorted(near, key=lambda by: (by.tests != first, UNMOVED not in by.tests, by.seconds)):
        spent += each.seconds
        if out and spent > ENOUGH:
            break
        out.append(each.tests)
    return out


def _statement(one: Break) -> set[int]:
    """The lines of the smallest statement that a break lies in, without those of statements inside it."""
    found = range(one.line, one.line + 1)
    least = 10**9
    for node in ast.walk(ast.parse(one.path.read_bytes())):
        if isinstance(node, ast.stmt) and node.lineno <= one.line <= (node.end_lineno or node.lineno):
            body = getattr(node, "body", None)
            end = body[0].lineno if body else (node.end_lineno or node.lineno) + 1
            if one.line < end and end - node.lineno < least:
                found, least = range(node.lineno, end), end - node.lineno
    return set(found)


_copy: list[Path] = []


def _with_copy(folder: str) -> None:
    """Give a process that works beside others a copy of the repository of its own."""
    _copy[:] = [Path(folder) / str(os.getpid())]
    shutil.copytree(TOP, _copy[0], ignore=LEFT_OUT)


def _reach(tests: str) -> Reached | None:
    """What a test file reaches; None, and said, where it fails with nothing broken, traced as it is here."""
    lines = _copy[0] / "lines.json"
    begun = time.perf_counter()
    if _tried(_copy[0], tests, lines):
        print(f"  {tests} fails with nothing broken, so it is not asked", file=sys.stderr, flush=True)
        return None
    reached = json.loads(lines.read_text())
    return Reached(tests, time.perf_counter() - begun, {name: set(some) for name, some in reached.items()})


def _noticed(task: tuple[Break, list[str]]) -> str | None:
    """The first of some test files that fails when a break is made; None where none does."""
    one, files = task
    with _made(one, _copy[0]):
        return next((tests for tests in files if _tried(_copy[0], tests)), None)


def run() -> list[dict[str, Any]]:
    number = int(os.environ.get("TIRELIFE_MUTANTS", "200"))
    seed = int(os.environ.get("TIRELIFE_MUTANTS_SEED", "1"))
    rooms = tuple(os.environ.get("TIRELIFE_MUTANTS_ROOMS", ",".join(ROOMS)).split(","))
    for name in ("pandas", "scipy.stats", "scipy.optimize", "altair", "statsmodels.api"):
        import_module(name)
    files = [
        str(path.relative_to(TOP))
        for room in (*rooms, UNMOVED)
        for path in (TOP / "tests" / room).rglob("test_*.py")
    ]
    survivors, by_mirror, made = [], 0, chosen(number, seed, rooms)
    alone = bool(os.environ.get("TIRELIFE_MUTANTS_OWN"))
    with (
        tempfile.TemporaryDirectory() as folder,
        Pool(2, _with_copy, (folder,)) as pool,
    ):
        every = [] if alone else [one for one in pool.imap_unordered(_reach, sorted(files)) if one]
        own = {one: [mirror(one.path)] if (TOP / mirror(one.path)).exists() else [] for one in made}
        tasks = [(one, own[one] if alone else asked(one, every)) for one in made]
        for count, (one, by) in enumerate(zip(made, pool.imap(_noticed, tasks), strict=True), 1):
            by_mirror += by == mirror(one.path)
            if by is None:
                survivors.append(one)
                where = f"{one.path.relative_to(TOP)}:{one.line}"
                old = one.path.read_bytes()[one.start : one.end].decode()
                print(
                    f"  {count}: {where}: {old} -> {one.text} noticed by no test", file=sys.stderr, flush=True
                )
    return [
        {
            "name": f"{len(made)} lines broken at random: noticed{' by their own test files' if alone else ''}",
            "figure": round(100 * (1 - len(survivors) / len(made)), 1),
            "unit": "%",
            "against": "90",
            "note": f"seed {seed}; {by_mirror} by the module's own test file, "
            + (
                f"no other was asked: {', '.join(rooms)}"
                if alone
                else f"the rest by others of {', '.join(rooms)}"
            ),
        }
    ]
