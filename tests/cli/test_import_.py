"""``tirelife import``: what it prints, writes and saves, and what is asked of a person who is there."""

import io
import json
import sys

import pytest

from tirelife.cli import main
from tirelife.logbook import read_logbook

SHEET = "Vehicle,Date,Odometer (mi),LF 32nds,RF 32nds,LR 32nds,RR 32nds\nV1,2026-01-05,10000,9,9,9,9\nV1,2026-05-05,15000,8,8,8,8\n"


class Person(io.StringIO):
    """A terminal with somebody at it."""

    def isatty(self):
        return True


@pytest.fixture
def sheet(tmp_path):
    path = tmp_path / "shop.csv"
    path.write_text(SHEET)
    return path


def test_without_out_nothing_is_written_and_it_is_said(sheet, tmp_path, capsys):
    assert main(["import", str(sheet)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("shop:\n  A  Vehicle")
    assert said.endswith("Nothing was written; give --out LOGBOOK.\n")
    assert [path.name for path in tmp_path.iterdir()] == ["shop.csv"]


def test_json_is_alone_on_standard_output_and_a_mapping_is_saved(sheet, tmp_path, capsys):
    saved = tmp_path / "map.toml"
    assert (
        main(["import", str(sheet), "--json", "--out", str(tmp_path / "book"), "--save-mapping", str(saved)])
        == 0
    )
    answer = json.loads(capsys.readouterr().out)
    assert answer["visits"] == 2
    assert answer["out"] == str(tmp_path / "book")
    assert len(read_logbook(tmp_path / "book").depths) == 8
    assert saved.read_text()
    assert main(["import", str(sheet), "--mapping", str(saved)]) == 0


@pytest.fixture
def open_dates(sheet):
    """A sheet whose dates may be read by day or by month."""
    sheet.write_text(SHEET.replace("2026-01-05", "03/04/2026").replace("2026-05-05", "05/06/2026"))
    return sheet


def asked(path, answer, monkeypatch):
    """What somebody at a terminal is asked, and the exit code after the answer."""
    screen = Person()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setattr(sys, "stdin", Person(answer))
    code = main(["import", str(path)])
    return code, screen.getvalue()


def test_somebody_who_is_there_is_asked_once(open_dates, monkeypatch, capsys):
    code, told = asked(open_dates, "2\n", monkeypatch)
    assert code == 0
    options = [line.split() for line in told.splitlines() if line.startswith("  ")]
    assert [number for number, _ in options] == ["1", "2"]
    assert f"\n{options[1][1].replace('-', ' ')}: " in capsys.readouterr().out


@pytest.mark.parametrize("answer", ["7\n", "\n", "x\n"])
def test_an_answer_that_is_none_leaves_the_question_standing(open_dates, answer, monkeypatch):
    code, told = asked(open_dates, answer, monkeypatch)
    assert code == 2
    assert "shop.csv" in told


def test_where_nobody_is_there_the_question_is_an_error(open_dates, monkeypatch, capsys):
    monkeypatch.setattr(sys, "stdin", io.StringIO("1\n"))
    assert main(["import", str(open_dates)]) == 2
    assert "shop.csv" in capsys.readouterr().err
