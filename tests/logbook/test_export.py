"""Files for people: whole or not at all, and harmless in a spreadsheet."""

import os

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.logbook.folders import TABLES, folder
from tirelife.cli import main
from tirelife.errors import InputError
from tirelife.logbook import csv_text, safe_cell, whole_file, write_csv
from tirelife.logbook.whole import temporary


@pytest.mark.parametrize(
    "text", ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", " =1", "=cmd|' /C calc'!A0"]
)
def test_formulas_are_quoted(text):
    assert safe_cell(text) == "'" + text


@pytest.mark.parametrize("text", ["", "V1", "-7.5", "+3", "-1e3", "a=b", "Ann's van", "'=1"])
def test_other_texts_are_left(text):
    assert safe_cell(text) == text


@given(st.text())
def test_no_text_begins_like_a_formula_unless_it_is_a_number(text):
    safe = safe_cell(text)
    assert safe.endswith(text)
    if safe.lstrip(" ")[:1] in ("=", "+", "-", "@", "\t", "\r", "\n"):
        float(safe)


def test_a_table_is_written_safe_and_comes_back(tmp_path):
    frame = pd.DataFrame({"tire_id": ["=T1", "T,2", 'T"3'], "depth_mm": [7.5, -1.0, None]})
    write_csv(frame, tmp_path / "out.csv", for_spreadsheet=True)
    back = pd.read_csv(tmp_path / "out.csv", dtype={"tire_id": "str"})
    assert back["tire_id"].tolist() == ["'=T1", "T,2", 'T"3']
    pd.testing.assert_series_equal(back["depth_mm"], frame["depth_mm"])


def test_a_table_printed_is_as_safe_as_one_in_a_file(tmp_path):
    frame = pd.DataFrame({"tire_id": ["=T1", "T\r2"], "note": ["", None]})
    write_csv(frame, tmp_path / "out.csv", for_spreadsheet=True)
    assert (
        csv_text(frame, for_spreadsheet=True)
        == (tmp_path / "out.csv").read_bytes().decode()
        == 'tire_id,note\n\'=T1,\n"T\n2",\n'
    )


def fail(target, error):
    with whole_file(target) as part:
        part.write_text("half")
        raise error


def test_a_write_that_fails_leaves_what_was_there(tmp_path):
    target = tmp_path / "out.csv"
    target.write_text("before")
    message = r"out\.csv: cannot be written: no space left on device\. Nothing was changed"
    with pytest.raises(InputError, match=message):
        fail(target, OSError(28, "No space left on device"))
    assert target.read_text() == "before"
    with pytest.raises(ZeroDivisionError):
        fail(target, ZeroDivisionError())
    assert target.read_text() == "before"
    assert os.listdir(tmp_path) == ["out.csv"]


def test_a_place_that_is_not_there(tmp_path):
    with pytest.raises(InputError, match=r"cannot be written: no such file or directory"):
        write_csv(pd.DataFrame({"a": [1]}), tmp_path / "no" / "out.csv")


def test_devices_folders_and_links_are_not_replaced(tmp_path):
    with pytest.raises(InputError, match=r"is not a plain file\. Give the name of a file\."):
        write_csv(pd.DataFrame({"a": [1]}), tmp_path)
    if os.path.exists("/dev/null"):
        with pytest.raises(InputError, match="is not a plain file"):
            write_csv(pd.DataFrame({"a": [1]}), "/dev/null")
        assert not os.path.isfile("/dev/null")
    (tmp_path / "real.csv").write_text("")
    (tmp_path / "link.csv").symlink_to(tmp_path / "real.csv")
    write_csv(pd.DataFrame({"a": [1]}), tmp_path / "link.csv")
    assert (tmp_path / "link.csv").is_symlink()
    assert (tmp_path / "real.csv").read_text() == "a\n1\n"


def test_what_a_killed_run_left_is_cleared_and_what_runs_is_left_alone(tmp_path):
    for name in (
        ".out.csv.x1.tirelife-part.csv",
        ".b.sqlite.x2.tirelife-part.sqlite",
        ".b.sqlite.x2.tirelife-part.sqlite-wal",
        ".mine.csv",
    ):
        (tmp_path / name).write_text("left")
    (tmp_path / ".folder.x3.tirelife-part").mkdir()
    (tmp_path / ".folder.x3.tirelife-part" / "depths.csv").write_text("left")
    with temporary(tmp_path / "other", folder=True) as part, temporary(tmp_path / "other.csv") as more:
        write_csv(pd.DataFrame({"a": [1]}), tmp_path / "out.csv")
        assert sorted(os.listdir(tmp_path)) == sorted([".mine.csv", part.name, more.name, "out.csv"])
    assert sorted(os.listdir(tmp_path)) == [".mine.csv", "out.csv"]


def test_an_id_survives_an_export_unless_a_spreadsheet_is_to_open_it(tmp_path, capsys):
    tires = TABLES["tires"].replace("T1,", "=1+1,")
    mounts = TABLES["mounts"].replace(",T1,", ",=1+1,")
    book = folder(tmp_path / "book", tires=tires, mounts=mounts)
    assert main(["forecast", str(book), "--out", str(tmp_path / "out.csv")]) == 0
    assert pd.read_csv(tmp_path / "out.csv")["tire_id"].iloc[0] == "=1+1"
    assert main(["forecast", str(book), "--csv"]) == 0
    assert "=1+1" in capsys.readouterr().out.replace("'=1+1", "")
    assert main(["forecast", str(book), "--for-spreadsheet", "--out", str(tmp_path / "safe.csv")]) == 0
    assert pd.read_csv(tmp_path / "safe.csv")["tire_id"].iloc[0] == "'=1+1"
