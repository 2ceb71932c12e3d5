"""``tirelife convert``: one of a copy and a new logbook."""

import pytest

from tests.logbook.folders import folder
from tirelife.cli import main
from tirelife.logbook import read_logbook


def test_a_new_logbook_is_made_or_one_is_copied(tmp_path, capsys):
    new, copy = tmp_path / "new.sqlite", tmp_path / "copy.sqlite"
    assert main(["convert", "--empty", "metric", str(new)]) == 0
    assert capsys.readouterr().out == f"{new} written.\n"
    assert len(read_logbook(new).vehicles) == 0
    assert main(["convert", str(folder(tmp_path / "book")), str(copy)]) == 0
    assert len(read_logbook(copy).vehicles) == len(read_logbook(tmp_path / "book").vehicles)


@pytest.mark.parametrize("words", [["new.sqlite"], ["book", "new.sqlite", "--empty", "us"]])
def test_both_or_neither_are_refused(words, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["convert", *words]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []
