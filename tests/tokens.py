"""Run every command with each sentence of the package replaced by a token, to see that nothing goes by words.

``python -m tests.tokens plain OUT.json`` runs the commands as they are, ``tokens`` with every sentence in the
source (four words or more; shorter ones are names of rows), wherever it stands, turned into a token of its own before it is compiled: a sentence that is written in
two places becomes two tokens, so that a branch which compares words takes another way. Fields of a sentence
keep their places. What is kept of each command is its exit code and the shape of what it says: JSON with sentences
left out, a page's elements and classes, a table's codes and numbers.
"""

from __future__ import annotations

import ast
import hashlib
import importlib.abc
import importlib.machinery
import io
import json
import re
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from html.parser import HTMLParser
from pathlib import Path
from string import Formatter

DEMO = "data_synthetic"
CARS = ("V03", "V04")
COMMANDS = {
    "check": ["check", "{book}", "--json"],
    "check of a log with errors": ["check", "{wrong}", "--json"],
    "forecast of a log with errors": ["forecast", "{wrong}", "--json"],
    "fit": ["fit", "{book}", "--json"],
    "tread": ["tread", "{book}", "--vehicle", "V03", "--json"],
    "forecast": ["forecast", "{book}", "--json"],
    "whatif": ["whatif", "{book}", "--stops", "0.8", "--json"],
    "rotate": ["rotate", "{book}", "--vehicle", "V03", "--json"],
    "replace": ["replace", "{book}", "--vehicle", "V04", "--json"],
    "pressures": ["pressures", "{book}", "--json"],
    "walkin": ["walkin", "--depths", "5", "2", "6", "6", "--json"],
    "align": ["align", "--axle", "rear", "--unit", "in", "--distances", "58.98", "59.11", "--json"],
    "convert": ["convert", "{book}", "{store}"],
    "record": ["record", "{store}", "--vehicle", "V04", "--date", "2026-11-10", "--odometer", "{ahead}", "--json"],
    "record with a doubt": ["record", "{store}", "--vehicle", "V03", "--date", "2026-11-11", "--odometer", "900",
                            "--depth", "LF", "11;11;11", "--json"],
    "audit": ["audit", "{store}", "--json"],
    "import": ["import", "data_synthetic/shop.csv", "--json"],
    "sheet": ["sheet", "{book}", "--vehicle", "V03", "--out", "{out}.html"],
    "fleet": ["fleet", "{book}", "--out", "{out}.html"],
    "no such logbook": ["check", "{out}"],
    "no such vehicle": ["tread", "{book}", "--vehicle", "V77"],
    "no such place": ["forecast", "{book}", "--place", "Atlantis"],
    "no such plan": ["rotate", "{book}", "--vehicle", "V03", "--plan", "round about"],
    "no depth": ["walkin", "--depths", "5", "2", "soft", "6"],
    "no such record": ["record", "{store}", "--vehicle", "V77", "--date", "2026-11-12", "--odometer", "900"],
    "groups of too few": ["groups", "{book}", "--json"],
    "groups": ["groups", "{book}", "--by", "tire_line", "--min-vehicles", "1", "--json"],
    "template": ["template", "{out}.csv"],
    "import of a sheet that asks": ["import", "{asks}", "--language", "es"],
    "walkin's page": ["walkin", "--depths", "5", "2", "6", "6", "--language", "es", "--out", "{out}.html"],
    "checklist": ["align", "--checklist"],
    "backtest": ["backtest", "{book}", "--origins", "1", "--json"],
    "counter": ["counter", "{book}", "--out", "{out}.html"],
    "trips": ["trips", "data_synthetic/trips.csv", "--json"],
}  # fmt: skip
"""As people type them; ``{out}`` is a file of its own, ``{book}`` two cars of the demo with the last visit of one in mm
where the column has 32nds, ``{wrong}`` the same with a depth that is no number, ``{asks}`` a sheet that asks."""
EXITS = {"check of a log with errors": 2, "forecast of a log with errors": 2, "record with a doubt": 2,
         "no such logbook": 2, "no such vehicle": 2, "no such place": 2, "no such plan": 2, "no depth": 2,
         "no such record": 2, "groups of too few": 2, "import of a sheet that asks": 2}  # fmt: skip
_SENTENCE = re.compile(r"[A-Za-z’'][^_<>\n=$\\|]*( [^_<>\n=$\\|]+){3,}")
_NO_SENTENCE = re.compile(
    r"\s*(select|insert|update|delete|create|pragma|begin|alter|drop|from|where|on) ", re.I
)
_NOT = (
    "logbook/sheets/template",
    "logbook/storeschema",
    "logbook/store.py",
    "logbook/seals",
    "charts/changes",
    "charts/notebook",
    "charts/theme",
    "charts/windows",
    "sheet/bundle",
)
"""Modules whose words are run and not said: SQL, XML, drawing code."""
_CLOCK = re.compile(r"\d{4}-\d\d-\d\dT\d\d:")
_TOKEN = re.compile("T[0-9a-f]{8}")
_NAMES = re.compile("on both axles|per 1000 km")
"""Names of rows and units, not sentences."""
_CALLS = {
    "execute",
    "executescript",
    "compile",
    "fullmatch",
    "match",
    "search",
    "sub",
    "add_argument",
    "split",
}


def token(text: str, where: str) -> str:
    """Return a token for a sentence, with its fields in their places."""
    mark = "T" + hashlib.sha256(f"{where}{text}".encode()).hexdigest()[:8]
    try:
        fields = [
            "{" + name + (f"!{kind}" if kind else "") + (f":{form}" if form else "") + "}"
            for _, name, form, kind in Formatter().parse(text)
            if name is not None
        ]
    except ValueError:
        return text
    return " ".join([mark, *fields])


class _Tokens(ast.NodeTransformer):
    def __init__(self, path: str) -> None:
        self.path = path

    def visit_Call(self, node: ast.Call) -> ast.AST:
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        return node if name in _CALLS else self.generic_visit(node)

    def visit_Expr(self, node: ast.Expr) -> ast.AST:
        docstring = isinstance(node.value, ast.Constant)
        return node if docstring else self.generic_visit(node)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> ast.AST:
        whole = "".join(str(v.value) for v in node.values if isinstance(v, ast.Constant))
        if (
            len(whole.split()) > 3
            and not _NO_SENTENCE.match(whole)
            and not re.search("[<_]|on both axles", whole)
        ):
            for i, value in enumerate(node.values):
                if isinstance(value, ast.Constant) and re.search("[A-Za-z]{3}", str(value.value)):
                    plain = str(value.value).replace("{", "").replace("}", "")
                    said = token(plain, f"{self.path}:{node.lineno}:{i}")
                    value.value = f" {said} "
        return node

    def visit_Constant(self, node: ast.Constant) -> ast.AST:
        text = node.value
        if (
            isinstance(text, str)
            and _SENTENCE.fullmatch(text)
            and not _NO_SENTENCE.match(text)
            and not _NAMES.search(text)
        ):
            node.value = token(text, f"{self.path}:{node.lineno}:{node.col_offset}")
        return node


class _Loader(importlib.machinery.SourceFileLoader):
    def source_to_code(self, data, path, *, _optimization=-1):  # type: ignore[no-untyped-def, override]
        tree = ast.parse(data, filename=str(path))
        if not any(part in str(path).replace("\\", "/") for part in _NOT):
            tree = ast.fix_missing_locations(_Tokens(str(path)).visit(tree))
        return compile(tree, path, "exec", dont_inherit=True, optimize=_optimization)

    def get_code(self, fullname: str):  # type: ignore[no-untyped-def]
        path = self.get_filename(fullname)
        return self.source_to_code(self.get_data(path), path)


class _Finder(importlib.abc.MetaPathFinder):
    def find_spec(self, fullname, path, target=None):  # type: ignore[no-untyped-def]
        if fullname.split(".")[0] != "tirelife":
            return None
        spec = importlib.machinery.PathFinder.find_spec(fullname, path, target)
        if spec is not None and isinstance(spec.loader, importlib.machinery.SourceFileLoader):
            spec.loader = _Loader(spec.loader.name, spec.loader.path)
        return spec


class _Boxes(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        held = dict(attrs)
        if tag == "tspan":  # into how many lines a text is broken goes by its length
            return
        self.found.append(f"{tag}.{held.get('class') or ''}#{held.get('id') or ''}")


def _shape(value: object) -> object:
    """JSON with the times of its making left out."""
    if isinstance(value, dict):
        return {name: _shape(one) for name, one in value.items()}
    if isinstance(value, list):
        return [_shape(one) for one in value]
    return "…" if isinstance(value, str) and _CLOCK.match(value) else value


def differs(plain: object, tokens: object, at: str = "") -> list[str]:
    """Where two results differ by more than a sentence that became a token: numbers, codes, names, order, length.

    A text of the second that holds a token may stand for any text of two words or more.
    """
    if isinstance(plain, dict) and isinstance(tokens, dict) and len(plain) == len(tokens):
        out = []
        for (one, left), (other, right) in zip(plain.items(), tokens.items(), strict=True):
            out += differs(one, other, f"{at}.{one}") + differs(left, right, f"{at}.{one}")
        return out
    if isinstance(plain, list) and isinstance(tokens, list) and len(plain) == len(tokens):
        return [
            word
            for i, (left, right) in enumerate(zip(plain, tokens, strict=True))
            for word in differs(left, right, f"{at}[{i}]")
        ]
    if isinstance(plain, str) and isinstance(tokens, str) and " " in plain and _TOKEN.search(tokens):
        return []
    same = plain == tokens and type(plain) is type(tokens)
    return [] if same else [f"{at}: {plain!r} {tokens!r}"]


def _books(places: dict[str, Path]) -> None:
    source = Path(DEMO) / "logbook"
    for name in ("book", "wrong"):
        places[name].mkdir()
        for file in source.glob("*.csv"):
            lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
            at = next((i for i, head in enumerate(lines[0].strip().split(",")) if head == "vehicle_id"), None)
            rows = [line for line in lines[1:] if at is None or line.strip().split(",")[at] in CARS]
            (places[name] / file.name).write_text("".join([lines[0], *rows]), encoding="utf-8")
    for name, change in (("book", _in_mm), ("wrong", lambda word: "soft")):
        _change_last_visit(places[name] / "depths.csv", change)


def _in_mm(word: str) -> str:
    return f"{float(word) * 25.4 / 32:.1f}"


def _change_last_visit(file: Path, change: Callable[[str], str]) -> None:
    head, *rows = (line.split(",") for line in file.read_text(encoding="utf-8").split())
    date, car, depth = (head.index(name) for name in ("date", "vehicle_id", "depth_32nds"))
    last = max(row[date] for row in rows if row[car] == CARS[0])
    for row in rows:
        if (row[car], row[date]) == (CARS[0], last):
            row[depth] = change(row[depth])
    file.write_text("\n".join(",".join(row) for row in (head, *rows)) + "\n", encoding="utf-8")


def run() -> Iterator[tuple[str, dict[str, object]]]:
    """Each command's exit code and shape."""
    from tirelife.cli import main

    with tempfile.TemporaryDirectory() as folder:
        places = {name: Path(folder) / name for name in ("book", "wrong")}
        places |= {"store": Path(folder) / "store.sqlite", "asks": Path(folder) / "asks.csv"}
        places["asks"].write_text("Date,Van,LF,RF\n03/04/2025,A,7,6\n05/06/2025,A,6,6\n", encoding="utf-8")
        _books(places)
        for name, words in COMMANDS.items():
            out = Path(folder) / name.replace(" ", "-")
            said = io.StringIO()
            with redirect_stdout(said), redirect_stderr(wrong := io.StringIO()):
                try:
                    code = main([word.format(out=out, ahead=64_900, **places) for word in words])
                except SystemExit as end:
                    code = end.code
            result: dict[str, object] = {"exit": code}
            if "--json" in words and said.getvalue():
                result["json"] = _shape(json.loads(said.getvalue()))
            if code == 2:
                result["lines"] = len(wrong.getvalue().splitlines())
            if code != EXITS.get(name, 0):
                result["error"] = wrong.getvalue()[-1500:]
            page = Path(f"{out}.html")
            if page.exists():
                boxes = _Boxes()
                boxes.feed(page.read_text(encoding="utf-8"))
                result["boxes"] = boxes.found
            yield name, result


if __name__ == "__main__":
    if sys.argv[1] == "tokens":
        sys.meta_path.insert(0, _Finder())
    Path(sys.argv[2]).write_text(json.dumps(dict(run()), default=str), encoding="utf-8")
