"""The house as a whole: what it loads, how its rooms are layered, what lies at the top level."""

import ast
import json
import os
import re
import subprocess
import sys
import tomllib
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import tirelife
from tests.logbook.folders import TABLES, folder
from tirelife.cli import COMMANDS, main
from tirelife.doors import listing

TOP = Path(__file__).parent.parent
ALLOWED = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "tirelife", "notebooks", "tests", "data_synthetic", "LICENSE",
}  # fmt: skip


def tracked():
    done = subprocess.run(["git", "ls-files"], cwd=TOP, capture_output=True, text=True)
    if done.returncode:
        pytest.skip("not a git checkout")
    return [Path(line) for line in done.stdout.splitlines()]


def test_importing_the_package_and_asking_for_help_load_nothing_heavy():
    code = (
        "import sys, contextlib, io, tirelife\nfrom tirelife.cli import main\n"
        "with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit): main(['--help'])\n"
        "print([m for m in ('numpy', 'pandas', 'scipy', 'statsmodels', 'altair') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("name", tirelife.__all__)
def test_every_public_name_can_be_had(name):
    assert getattr(tirelife, name) is not None


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example(name, capsys):
    with pytest.raises(SystemExit) as stop:
        main([name, "--help"])
    assert stop.value.code == 0
    assert f"tirelife {name}" in capsys.readouterr().out.split("usage:")[1].partition("\n")[2]


def test_what_closes_the_help_of_commands_stands_in_one_file_a_command_once():
    told = tomllib.loads((TOP / "tirelife/cli/epilogs.toml").read_text("utf-8"))
    assert set(told) == {"tirelife", "or-a-sheet", *COMMANDS}
    assert {name for name, text in told.items() if not text.startswith("examples:\n")} == {"or-a-sheet"}
    widest = {name: max(map(len, text.splitlines())) for name, text in told.items()}
    assert {name: width for name, width in widest.items() if width > 110} == {}


@pytest.mark.parametrize(("name", "sheet"), [("forecast", True), ("record", False), ("walkin", False)])
def test_the_help_says_whether_a_sheet_does_in_place_of_a_logbook(name, sheet, capsys):
    told = tomllib.loads((TOP / "tirelife/cli/epilogs.toml").read_text("utf-8"))
    with pytest.raises(SystemExit):
        main([name, "--help"])
    said = capsys.readouterr().out
    after = "\n" + told["or-a-sheet"] if sheet else ""
    assert said.endswith(f"\n\n{told[name]}{after}\n")


def test_the_help_lists_each_command_once_in_its_group_and_the_version_can_be_asked(capsys):
    for words in (["--help"], ["--version"]):
        with pytest.raises(SystemExit) as stop:
            main(words)
        assert stop.value.code == 0
    said = capsys.readouterr().out
    assert said.endswith(f"tirelife {tirelife.__version__}\n")
    heads = [said.index(f"\n{group}:\n") for group in ("every day", "now and then", "for analysts")]
    assert heads == sorted(heads)
    listed = [
        line.split()[0] for line in said.splitlines() if line.startswith("  ") and len(line.split()) > 2
    ]
    assert all(listed.count(name) == 1 for name in COMMANDS)


def test_the_version_of_the_package_is_that_of_its_metadata():
    declared = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))["project"]["version"]
    assert declared == tirelife.__version__


def test_the_version_has_its_heading_among_the_changes():
    version = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))["project"]["version"]
    headings = re.findall(r"(?m)^## (.*)$", (TOP / ".github/CHANGELOG.md").read_text("utf-8"))
    assert [one for one in headings if one.startswith(f"{version}, ")]


def test_the_top_level_holds_what_it_should_and_nothing_else():
    assert {path.parts[0] for path in tracked() if not path.parts[0].startswith(".")} <= ALLOWED


def test_factors_of_units_stand_in_one_place():
    factor = re.compile(r"25\.4 ?/ ?\d|1\.609344")
    example = re.compile(r" +(?:\d+ {5,}|>>> )")  # of a docstring: a row of a frame, or what is typed
    found = {
        str(path.relative_to(TOP)): lines
        for path in (TOP / "tirelife").rglob("*.py")
        if path.name != "units.py"
        if (
            lines := [
                s for s in path.read_text("utf-8").splitlines() if factor.search(s) and not example.match(s)
            ]
        )
    }
    assert found == {}


def test_modules_are_small():
    big = [str(path) for path in tracked() if path.suffix == ".py" and (TOP / path).stat().st_size > 24_000]
    assert [path for path in big if path.startswith("tirelife")] == []


MODULES = {
    ".".join(path.relative_to(TOP).with_suffix("").parts).removesuffix(".__init__"): path
    for path in sorted((TOP / "tirelife").rglob("*.py"))
}
DOORS = {
    name: listing(name, path.with_suffix(".pyi"))
    for name, path in MODULES.items()
    if path.stem == "__init__" and path.with_suffix(".pyi").exists()
}


def imports_of(path, types=False):
    """Modules of the package that a module imports when it runs, in functions too; those for types alone if asked.

    With the line of each; a name that is asked at a door is an import of the module that defines it.
    """
    tree = ast.parse(path.read_text("utf-8"))
    for_types = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"
        for statement in node.body
        for inner in ast.walk(statement)
    }
    for node in ast.walk(tree):
        if id(node) in for_types and not types:
            continue
        if isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                full = f"{node.module}.{alias.name}"
                yield node.lineno, full if full in MODULES else node.module, alias.name
        elif isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name, "") for alias in node.names)


def defining(module, name):
    """The module that defines a name which is asked of a module, behind as many doors as it takes."""
    while module in DOORS:
        offered = DOORS[module]
        module = (offered.users | offered.rooms).get(name, "")
    return module


def test_no_module_imports_one_that_imports_it():
    graph = {
        name: {one for _, module, asked in imports_of(path) if (one := defining(module, asked)) in MODULES}
        for name, path in MODULES.items()
    }
    assert sum(map(len, graph.values())) > 1000
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as circle:
        pytest.fail(" imports ".join(reversed(circle.args[1])))


def test_doors_offer_what_their_listings_say_after_all_modules_were_imported():
    """A module of the name of something offered would stand in its place, since an import sets it on the room."""
    code = (
        "import importlib, pkgutil, sys, tirelife\n"
        "from pathlib import Path\n"
        "from tirelife.doors import listing\n"
        "modules = [m.name for m in pkgutil.walk_packages(tirelife.__path__, 'tirelife.')]\n"
        "[importlib.import_module(name) for name in modules if not name.endswith('__main__')]\n"
        "for room in (importlib.import_module(name) for name in sys.argv[1:]):\n"
        "    offered = listing(room.__name__, Path(room.__file__).with_suffix('.pyi'))\n"
        "    assert {n for n in room.__all__ if not n.startswith('__')} == offered.users.keys(), room\n"
        "    assert not offered.users.keys() & offered.rooms.keys(), room\n"
        "    for name, where in (offered.users | offered.rooms).items():\n"
        "        found = getattr(room, name)\n"
        "        assert type(found) is not type(sys), (room, name)\n"
        "        assert found is getattr(importlib.import_module(where), name), (room, name)\n"
    )
    subprocess.run([sys.executable, "-c", code, *DOORS], check=True)


def test_every_room_has_a_door():
    plain = {
        "tirelife.cli",
        "tirelife.language",
    }  # the edge, which offers nothing; the bottom, which is tables
    rooms = {name for name, path in MODULES.items() if path.stem == "__init__"}
    assert rooms - plain == DOORS.keys()


def past_a_door(name, module):
    """Whether a module's import of another goes past the door of a room that it does not stand in."""
    room = module.rpartition(".")[0]
    return module in MODULES and MODULES[module].stem != "__init__" and not f"{name}.".startswith(f"{room}.")


def test_no_import_goes_past_the_door_of_another_room():
    past = [
        f"{path.relative_to(TOP)}:{line} {module}"
        for name, path in MODULES.items()
        for line, module, _ in imports_of(path, types=True)
        if past_a_door(name, module)
    ]
    assert past == []


HEAVY = {
    "IPython", "altair", "dask", "distributed", "duckdb", "ipywidgets", "pyarrow", "pyspark", "python_calamine",
    "scipy", "statsmodels", "vl_convert",
}  # fmt: skip
"""Libraries that take long to import, or may be absent: asked for where they are used."""


def test_no_function_imports_anything_but_a_heavy_library():
    inside = [
        f"{path.relative_to(TOP)}:{node.lineno} {module}"
        for name, path in MODULES.items()
        for function in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef)
        for node in ast.walk(function)
        if isinstance(node, ast.Import | ast.ImportFrom)
        for module in (
            [node.module or "."] if isinstance(node, ast.ImportFrom) else [a.name for a in node.names]
        )
        if module.split(".")[0] not in HEAVY
    ]
    assert inside == []


@pytest.mark.parametrize("path", sorted((TOP / "notebooks").glob("*.ipynb")), ids=lambda path: path.stem)
def test_notebooks_are_thin_and_carry_no_output(path):
    cells = [cell for cell in json.loads(path.read_text("utf-8"))["cells"] if cell["cell_type"] == "code"]
    assert all(not cell["outputs"] and cell["execution_count"] is None for cell in cells)
    assert not any("def " in "".join(cell["source"]) for cell in cells)


def test_a_fault_of_the_program_is_one_line_and_the_trace_comes_on_request(monkeypatch, capsys, caplog):
    def fault(args):
        raise KeyError("lost")

    monkeypatch.setattr("tirelife.cli.check.run", fault)
    assert main(["check", "anywhere"]) == 1
    err = capsys.readouterr().err
    assert err.startswith("tirelife check: a fault of the program, not of your data: KeyError: 'lost'.")
    assert "Traceback" not in err
    with caplog.at_level("INFO"):
        assert main(["-v", "check", "anywhere"]) == 1
    assert "Traceback" in caplog.text


def test_a_disk_that_refuses_is_one_line(monkeypatch, capsys):
    def full(args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tirelife.cli.check.run", full)
    assert main(["check", "anywhere"]) == 2
    assert capsys.readouterr().err == "tirelife check: [Errno 28] No space left on device\n"


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", ""])
def test_letters_that_a_terminal_lacks_stop_no_command(tmp_path, encoding):
    text = {name: table.replace("V1", "車1") for name, table in TABLES.items()}
    words = [sys.executable, "-c", "from tirelife.cli import main; import sys; sys.exit(main())"]
    # Without a wish of the user's, what is piped is UTF-8 whatever the system's own encoding is.
    named = (
        {"PYTHONIOENCODING": encoding}
        if encoding
        else {"PYTHONUTF8": "0", "LC_ALL": "C", "PYTHONCOERCECLOCALE": "0"}
    )
    env = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "LC_", "LANG"))} | named
    done = subprocess.run(
        [*words, "forecast", str(folder(tmp_path, **text))], capture_output=True, env=env, check=False
    )
    assert done.returncode == 0, done.stderr
    assert ("車1" if not encoding else "\\u8eca1") in done.stdout.decode(encoding or "utf-8")


def test_nothing_that_is_read_is_run_and_nothing_is_fetched():
    # eval, exec and pickle run what they read; numpy.load would, were it not told otherwise.
    risky = re.compile(
        r"\b(pickle|marshal|shelve|dill|joblib)\b|\b(eval|exec)\(|read_pickle|to_pickle|allow_pickle=True"
    )
    network = re.compile(
        r"^\s*(import|from) (socket|http|urllib\.request|requests|ftplib|smtplib)\b", re.MULTILINE
    )
    for path in (TOP / "tirelife").rglob("*.py"):
        text = path.read_text("utf-8")
        assert not risky.search(text.replace("allow_pickle=False", "")), path
        assert not network.search(text), path
        assert text.count("np.load(") == text.count("np.load(file, allow_pickle=False)"), path


def test_the_licence_is_named_as_packagers_ask_for_it():
    project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text(encoding="utf-8"))[
        "project"
    ]
    assert (
        project["license"] == "MIT"
    )  # an SPDX name, PEP 639; the table form is no longer built from 2027 on
    assert project["license-files"] == ["LICENSE"]
    assert not [one for one in project.get("classifiers", ()) if one.startswith("License")]


DECIDES = (ast.FunctionDef, ast.Lambda, ast.If, ast.For, ast.While)


def test_a_module_that_decides_anything_has_a_test_file_of_its_name():
    missing = []
    for path in sorted((TOP / "tirelife").rglob("*.py")):
        inside = path.relative_to(TOP / "tirelife")
        own = TOP / "tests" / inside.parent / f"test_{path.name}"
        decides = any(isinstance(node, DECIDES) for node in ast.walk(ast.parse(path.read_text("utf-8"))))
        if decides and not path.name.startswith("__") and not own.exists():
            missing.append(str(inside))
    assert not missing
