"""The README's commands run as they are printed."""

import re
import shlex
from pathlib import Path

import pytest

from tirelife.cli import main

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
