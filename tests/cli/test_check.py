"""``tirelife check``: what it prints, what it returns, what it writes."""

import json

import pandas as pd
import pytest

from tests.logbook.folders import TABLES, folder, swap
from tirelife.cli import main


def test_a_good_logbook(tmp_path, capsys):
    assert main(["check", str(folder(tmp_path))]) == 0
    out, err = capsys.readouterr()
    assert out == f"{tmp_path}: 0 errors, 0 doubts.\n"
    assert err == ""


def test_errors_and_doubts_are_counted_by_kind(tmp_path, capsys):
    path = folder(
        tmp_path,
        depths=swap("depths", "9.5", "worn"),
        tires=swap("tires", "T1,Line A,10,0724", "T1,Line A,10,724"),
    )
    assert main(["check", str(path), "--show", "1"]) == 2
    assert capsys.readouterr().out == (
        "Errors: 24\n"
        "  depths.csv, row 2, column depth_32nds: is not a number (found 'worn'). "
        "Write digits, with a point for decimals, such as 7.5.\n"
        "  … and 23 more like it, to row 25\n\n"
        "Doubts: 1\n"
        "  tires.csv, row 2, column made_week: is no week and year (found '724'). "
        "A leading zero may be lost: 712 may be 0712. Write week and year, four digits.\n\n"
        f"{tmp_path}: 24 errors, 1 doubt. Correct the errors; until then the logbook is not used.\n"
    )


def test_doubts_alone_are_no_failure(tmp_path, capsys):
    path = folder(tmp_path, tires=swap("tires", "T1,Line A,10,0724", "T1,Line A,10,724"))
    assert main(["check", str(path)]) == 0
    assert capsys.readouterr().out.endswith("0 errors, 1 doubt. Doubtful records are kept and flagged.\n")


def test_as_json_and_as_a_file(tmp_path, capsys):
    path = folder(tmp_path / "book", vehicles=TABLES["vehicles"] + "V1,front,33,33\n")
    out = tmp_path / "problems.csv"
    assert main(["check", str(path), "--json", "--out", str(out)]) == 2
    told = json.loads(capsys.readouterr().out)
    assert told.pop("urgent") == told.pop("near") == []
    assert told["problems"] == [
        {
            "file": "vehicles.csv", "row": 4, "column": "vehicle_id", "value": "V1", "what": "is there twice",
            "advice": "It stands in row 2 already; each may stand once.", "doubt": False,
            "code": "key-twice", "severity": 2,
        }
    ]  # fmt: skip
    assert pd.read_csv(out).to_dict("records") == told["problems"]


def test_as_of_leaves_out_what_came_later(tmp_path, capsys):
    path = folder(tmp_path, depths=TABLES["depths"].replace("8.5", "bad"))
    assert main(["check", str(path)]) == 2
    assert main(["check", str(path), "--as-of", "2025-07-09"]) == 0
    assert capsys.readouterr().out.endswith("0 errors, 0 doubts.\n")


@pytest.mark.parametrize("arguments", [["nowhere"], ["nowhere", "--as-of", "soon"]])
def test_what_is_not_there_is_one_line(arguments, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["check", *arguments]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert "Traceback" not in err
