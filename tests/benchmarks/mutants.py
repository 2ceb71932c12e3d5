"""Break one line at a time, at random, and count how many of the breaks a test notices.

Each break is made in a copy of the repository: a number 5 % (a whole number by one) larger, a sign or an operation
turned round, a comparison turned, a larger of two for a smaller. First the test file that mirrors the module runs,
then the tests of its room. How many: ``TIRELIFE_MUTANTS``; another choice of them: ``TIRELIFE_MUTANTS_SEED``; some
rooms alone: ``TIRELIFE_MUTANTS_ROOMS``, separated by commas. Survivors are printed as they are found.

The verdict on a tire is broken at every such place instead of some (``small``), and in ``TIRELIFE_MUTANTS_WORDS``
words, True for False, 0 for 1; the test file of the module alone must notice. :data:`SAME` names those that change nothing.
"""

from __future__ import annotations

import ast
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest

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
PATIENCE = 900
"""Longest time of one run of tests; a break that makes them hang is noticed. [s]"""
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
    """Whether the module's own tests fail when the break is made in the copy: in a fork, which spares the imports."""
    source = one.path.read_bytes()
    file = copy / one.path.relative_to(TOP)
    file.write_bytes(source[: one.start] + one.text.encode() + source[one.end :])
    tests = copy / "tests" / Path(*one.path.relative_to(TOP).parts[1:-1]) / f"test_{one.path.stem}.py"
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
        code = pytest.main(["-x", "-q", "-n", "0", "-p", "no:cacheprovider", "-W", "ignore", str(tests)])
        os._exit(int(code != 0))
    return os.waitpid(child, 0)[1] != 0


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
        shutil.copytree(
            TOP, copy, ignore=shutil.ignore_patterns(".git", ".venv", "__pycache__", ".hypothesis")
        )
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


def noticed(one: Break, copy: Path) -> bool:
    """Whether a test fails when the break is made in the copy."""
    inside = one.path.relative_to(TOP)
    source = one.path.read_bytes()
    file = copy / inside
    file.write_bytes(source[: one.start] + one.text.encode() + source[one.end :])
    room = copy / "tests" / inside.parts[1]
    mirror = copy / "tests" / Path(*inside.parts[1:-1]) / f"test_{inside.stem}.py"
    try:
        return any(_fails(tests, copy) for tests in (mirror, room) if tests.exists())
    finally:
        file.write_bytes(source)


def _fails(tests: Path, copy: Path) -> bool:
    words = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "-W", "ignore", str(tests)]
    env = {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(words, cwd=copy, env=env, capture_output=True, timeout=PATIENCE, check=False)
    except subprocess.TimeoutExpired:
        return True
    return done.returncode != 0


def run() -> list[dict[str, Any]]:
    number = int(os.environ.get("TIRELIFE_MUTANTS", "200"))
    seed = int(os.environ.get("TIRELIFE_MUTANTS_SEED", "1"))
    rooms = tuple(os.environ.get("TIRELIFE_MUTANTS_ROOMS", ",".join(ROOMS)).split(","))
    survivors, made = [], chosen(number, seed, rooms)
    with tempfile.TemporaryDirectory() as name:
        copy = Path(name) / "copy"
        shutil.copytree(
            TOP, copy, ignore=shutil.ignore_patterns(".git", ".venv", "__pycache__", ".hypothesis")
        )
        for count, one in enumerate(made, 1):
            if not noticed(one, copy):
                survivors.append(one)
                where = f"{one.path.relative_to(TOP)}:{one.line}"
                old = one.path.read_bytes()[one.start : one.end].decode()
                print(
                    f"  {count}: {where}: {old} -> {one.text} noticed by no test", file=sys.stderr, flush=True
                )
    note = f"seed {seed}; noticed by the tests of the module's room"
    return [
        {
            "name": f"{len(made)} lines broken at random: noticed",
            "figure": round(100 * (1 - len(survivors) / len(made)), 1),
            "unit": "%",
            "against": "90",
            "note": note,
        }
    ]
