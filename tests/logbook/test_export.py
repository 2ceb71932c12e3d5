"""Files for people: whole or not at all, and harmless in a spreadsheet."""

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.logbook.folders import TABLES, folder
from tirelife.cli import main
from tirelife.errors import InputError
from tirelife.logbook import csv_text, safe_cell, write_csv


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


def test_a_place_that_is_not_there(tmp_path):
    with pytest.raises(InputError, match=r"cannot be written: no such file or directory"):
        write_csv(pd.DataFrame({"a": [1]}), tmp_path / "no" / "out.csv")


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
