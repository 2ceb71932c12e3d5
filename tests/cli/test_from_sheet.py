"""A sheet in place of a logbook: which commands take one, and that the logbook made of it goes when they end."""

import argparse
from pathlib import Path
from types import SimpleNamespace

import pytest

from tirelife.cli import from_sheet
from tirelife.cli.from_sheet import accept_sheet, logbook_of
from tirelife.logbook import read_logbook

SHEET = "Vehicle,Date,Odometer (mi),LF 32nds,RF 32nds,LR 32nds,RR 32nds\nV1,2026-01-05,10000,9,9,9,9\nV1,2026-05-05,15000,8,8,8,8\n"


def parser(*arguments):
    made = argparse.ArgumentParser()
    for name in arguments:
        made.add_argument(name)
    return made


@pytest.mark.parametrize(
    ("command", "reads", "takes"),
    [("forecast", True, True), ("record", True, False), ("audit", True, False), ("align", False, False)],
)
def test_a_command_that_reads_a_logbook_takes_a_sheet_unless_it_writes_or_holds_one(command, reads, takes):
    made = parser("logbook" if reads else "other")
    accept_sheet(made, command)
    told = made.parse_args(["book"])
    assert getattr(told, "takes_sheet", False) is takes
    assert hasattr(told, "depth_unit") is takes
    assert "--depth-unit" not in made.format_help()


def asked(path):
    made = parser("logbook")
    accept_sheet(made, "forecast")
    return made.parse_args([str(path)])


def test_a_sheet_is_a_logbook_for_the_length_of_the_command(tmp_path, capsys):
    path = tmp_path / "shop.CSV"
    path.write_text(SHEET)
    args = asked(path)
    with logbook_of(args):
        made = Path(args.logbook)
        assert made.name == "shop"
        assert len(read_logbook(made).vehicles) == 1
    assert not made.exists()
    assert capsys.readouterr().err.startswith(f"{path}: 2 visits of 1 vehicles; rows 2 used")


def test_a_folder_a_logbook_file_and_what_is_not_there_stay_as_they_are(tmp_path, monkeypatch):
    monkeypatch.setattr(from_sheet, "settings_asked", lambda *_: pytest.fail("a sheet was read"))
    (tmp_path / "folder.csv").mkdir()
    (tmp_path / "book.sqlite").touch()
    for name in ("folder.csv", "book.sqlite", "none.csv"):
        args = asked(tmp_path / name)
        with logbook_of(args):
            assert args.logbook == str(tmp_path / name)
    path = tmp_path / "shop.csv"
    path.write_text(SHEET)
    with logbook_of(SimpleNamespace(logbook=str(path))):  # a command that takes none
        pass
