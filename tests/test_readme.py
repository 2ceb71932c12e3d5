"""The README's commands run as they are printed."""

import re
import shlex
from pathlib import Path

import pytest

from tirelife.cli import main
from tirelife.logbook import read_logbook
from tirelife.outlook import backtest

TOP = Path(__file__).parent.parent
TEXT = (TOP / "README.md").read_text("utf-8")
BLOCKS = re.findall(r"```sh\n(.*?)```", TEXT, re.S)
COMMANDS = [
    shlex.split(part, comments=True)[1:]
    for block in BLOCKS
    for line in block.splitlines()
    for part in line.split("&&")
    if "bin/tirelife" in part
]


def test_the_two_commands_stand_there_once_each():
    assert len(re.findall(r"^python3 -m venv .*tirelife sheet .*--out page.html$", TEXT, re.M)) == 1
    assert len(re.findall(r"^python3 -m venv .*pytest$", TEXT, re.M)) == 1


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: words[0])
def test_every_command_of_the_readme_runs(words, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "data_synthetic").symlink_to(TOP / "data_synthetic")
    assert main(words) == 0
    if "--out" in words:
        assert (tmp_path / words[words.index("--out") + 1]).stat().st_size > 100
    else:
        assert len(capsys.readouterr().out) > 100


@pytest.mark.parametrize("code", re.findall(r"```python\n(.*?)```", TEXT, re.S))
def test_the_python_of_the_readme_runs(code, monkeypatch, capsys):
    monkeypatch.chdir(TOP)
    exec(code, {})
    assert "Trust:" in capsys.readouterr().out


def test_the_back_tests_figures_are_those_of_the_demo():
    told = {name: re.search(pattern, TEXT) for name, pattern in {
        "depth": r"(\d+) % of ([\d,]+) later readings fell in their 80 % ranges \((\d+) to (\d+) % from day to day\)",
        "distance": r"Distances left held (\d+) % \((\d+) to (\d+) %\), give or take (\d+): only (\d+) of (\d+)",
    }.items()}  # fmt: skip
    own = backtest(read_logbook(TOP / "data_synthetic" / "logbook")).scores.query("method == 'tirelife'")
    rows = {target: own[own["target"] == target].set_index("part") for target in told}
    for target, row in rows.items():
        found = told[target].groups()
        low, high = found[2:4] if target == "depth" else found[1:3]
        days = 100 * row.loc[[part for part in row.index if part.startswith("origin-")], "cover_80"]
        # Words are rounded, and a last digit may move with a library.
        got = [100 * row.loc["all", "cover_80"], days.min(), days.max()]
        assert got == pytest.approx([float(found[0]), float(low), float(high)], abs=2)
    assert rows["depth"].loc["all", "forecasts"] == int(told["depth"][2].replace(",", ""))
    whole = rows["distance"].loc["all"]
    assert 100 * whole["cover_80_error"] == pytest.approx(float(told["distance"][4]), abs=2)
    assert whole["forecasts"] - whole["censored"] == pytest.approx(int(told["distance"][5]), abs=1)
    assert whole["forecasts"] == int(told["distance"][6])
