"""``tirelife record`` and ``tirelife convert`` from the command line."""

import json

import pytest

from tests.logbook.folders import folder, swap
from tirelife.cli import main
from tirelife.logbook import read_logbook


@pytest.fixture
def store(tmp_path, capsys):
    assert main(["convert", str(folder(tmp_path / "book")), str(tmp_path / "logbook.sqlite")]) == 0
    assert capsys.readouterr().out == f"{tmp_path / 'logbook.sqlite'} written.\n"
    return str(tmp_path / "logbook.sqlite")


VISIT = ["--vehicle", "V1", "--date", "2025-09-10", "--odometer", "13000"]


def test_a_visit_is_shown_and_written(store, capsys):
    assert (
        main(["record", store, *VISIT, "--depth", "LF", "8", "8.5", "8", "--pressure", "LF", "31", "33"]) == 0
    )
    out, err = capsys.readouterr()
    assert out.split("\n")[1].split() == [
        "depth",
        "LF",
        "outer",
        "T1",
        "2025-07-10",
        "8.5",
        "8.0",
        "-0.5",
        "32nds",
    ]
    assert out.endswith("Visit 1 written.\n")
    assert err == ""
    assert len(read_logbook(store).depths) == 75


@pytest.mark.parametrize(
    ("words", "grooves"),
    [
        (["8"], ["center"]),
        (["8", "8"], ["outer", "inner"]),
        (["8", "8", "8"], ["outer", "center", "inner"]),
        (["8", "8", "8", "8"], ["outer", "outer_mid", "inner_mid", "inner"]),
        (["8", "8", "8", "8", "8"], ["outer", "outer_mid", "center", "inner_mid", "inner"]),
        (["inner=8", "outer@2=8"], ["inner", "outer"]),
    ],
)
def test_depths_go_to_their_grooves(words, grooves, store):
    assert main(["record", store, *VISIT, "--depth", "LF", *words]) == 0
    assert read_logbook(store).depths["groove"].iloc[72:].tolist() == grooves


def test_a_doubt_needs_a_yes(store, capsys):
    slip = ["record", store, *VISIT, "--depth", "LF", "center=80"]
    assert main(slip) == 2
    assert "is outside 0 to 50.39 32nds (found '80')" in capsys.readouterr().err
    slip[-1] = "center=12"
    assert main(slip) == 2
    out, err = capsys.readouterr()
    assert "8.5 12.0     3.5 32nds" in out
    assert err.startswith(
        "doubt: this visit, column depth_32nds of LF center: is deeper than the tire was new (found '12')."
    )
    assert err.endswith("Not written: correct the visit, or accept the doubts with --yes.\n")
    assert len(read_logbook(store).depths) == 72
    assert main([*slip, "--yes"]) == 0
    assert len(read_logbook(store).depths) == 73


def test_a_trial_writes_nothing(store, capsys):
    assert main(["record", store, *VISIT, "--depth", "LF", "8", "--trial", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["written"] is False
    assert told["changes"][0]["before"] == 8.5
    assert len(read_logbook(store).depths) == 72


def test_tires_are_changed_corrected_and_withdrawn(store, capsys):
    change = ["--new-tire", "T20", "Line B", "11", "--off", "T1", "--mount", "T20", "LF"]
    assert main(["record", store, *VISIT, *change]) == 0
    assert main(["record", store, "--correct", "tires:10", "tire_line=Line C"]) == 0
    assert main(["record", store, "--withdraw", "depths:73"]) == 0
    assert capsys.readouterr().out.endswith("Written.\n")
    book = read_logbook(store)
    assert book.tires["tire_line"].iloc[-1] == "Line C"
    assert len(book.depths) == 71


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "A visit needs --vehicle, --odometer."),
        ([*VISIT, "--depth", "LF"], "--depth LF: give one to five depths, or GROOVE=VALUE."),
        ([*VISIT, "--depth", "LF", "mid:8", "a=8"], "--depth LF: 'mid:8' is not GROOVE=VALUE or GROOVE@SPOT=VALUE."),
        ([*VISIT, "--pressure", "LF"], "--pressure takes a position, what was found and, if it was set, what to: LF 31 33."),
        (["--correct", "depths"], "'depths' is not TABLE:ROW, such as depths:1056."),
        (["--correct", "depths:3"], "--correct needs a column and its new value, such as depth_32nds=7."),
        (["--correct", "depths:3", "depth_32nds"], "'depth_32nds' is not COLUMN=VALUE, such as depth_32nds=7."),
        (["--withdraw", "depths:99"], "logbook.sqlite: depths, row 99: is no current record. Look up its row with: tirelife check, or export the logbook."),
    ],
)  # fmt: skip
def test_what_cannot_be_understood_is_one_line(words, message, store, capsys):
    assert main(["record", store, *words]) == 2
    assert capsys.readouterr().err == f"tirelife record: {message}\n"


def test_convert_there_and_back(tmp_path, capsys):
    source = folder(tmp_path / "book", tires=swap("tires", "Line A", "=Line"))
    assert main(["convert", str(source), str(tmp_path / "a.sqlite")]) == 0
    assert main(["convert", str(tmp_path / "a.sqlite"), str(tmp_path / "out")]) == 0
    out, err = capsys.readouterr()
    assert out.endswith(f"{tmp_path / 'out'} written.\n")
    assert "tires.csv: 1 texts begin like a formula" in err
    assert (tmp_path / "out" / "tires.csv").read_bytes() == (source / "tires.csv").read_bytes()
    assert main(["convert", str(tmp_path / "a.sqlite"), str(tmp_path / "out")]) == 2
    assert main(["convert", str(tmp_path / "none"), str(tmp_path / "b.sqlite")]) == 2
    assert main(["convert", str(tmp_path / "b.sqlite")]) == 2
    assert main(["convert", "--empty", "us", str(tmp_path / "b.sqlite")]) == 0
    err = capsys.readouterr().err
    assert "out: is there already." in err
    assert "none: is not there." in err
    assert "Give a logbook to copy, or --empty us or --empty metric; not both." in err
