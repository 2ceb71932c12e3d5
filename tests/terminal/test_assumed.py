"""What nobody told of a vehicle is said to be assumed wherever it decides, and is nothing to set a tire to."""

import json

import pytest

from tests.logbook.folders import TABLES, folder
from tirelife.cli import main
from tirelife.logbook import assumed_facts, read_logbook


def vehicles(drive, placard):
    """The logbook's vehicles, the first with or without its drive and its placard."""
    head, row, *others = TABLES["vehicles"].splitlines()
    cells = dict(zip(head.split(","), row.split(","), strict=True))
    cells |= {} if drive else {"drive": ""}
    cells |= {} if placard else dict.fromkeys([name for name in cells if name.startswith("placard")], "")
    return "\n".join([head, ",".join(cells.values()), *others, ""])


def said(capsys, *words):
    assert main([str(word) for word in words]) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("told", [True, False])
def test_a_drive_that_nobody_told_is_said_to_be_assumed(tmp_path, capsys, told):
    book = folder(tmp_path, vehicles=vehicles(told, True))
    name = str(read_logbook(book).vehicles["vehicle_id"].iloc[0])
    assert ("drive" in assumed_facts(read_logbook(book).vehicles, name)) is not told
    for command, words in (
        ("tread", "assumed: the log does not say"),
        ("rotate", "does not say which wheels are driven"),
    ):
        assert (words in said(capsys, command, book, "--vehicle", name)) is not told
        assert (
            json.loads(said(capsys, command, book, "--vehicle", name, "--json"))["drive_assumed"] is not told
        )


@pytest.mark.parametrize("told", [True, False])
def test_moves_name_a_pressure_only_from_a_placard_that_the_log_states(tmp_path, capsys, told):
    book = folder(tmp_path, vehicles=vehicles(True, told))
    name = str(read_logbook(book).vehicles["vehicle_id"].iloc[0])
    answer = json.loads(said(capsys, "rotate", book, "--vehicle", name, "--json"))
    pressures = [value for move in answer["moves"] for key, value in move.items() if key.startswith("set_to")]
    assert pressures
    assert all((value is not None) is told for value in pressures)
    text = said(capsys, "rotate", book, "--vehicle", name, "--plan", "X")
    assert ("set to its placard pressure" in text) is not told


def test_a_vehicle_that_is_not_there_has_nothing_assumed(tmp_path):
    assert assumed_facts(read_logbook(folder(tmp_path)).vehicles, "nobody") == frozenset()
