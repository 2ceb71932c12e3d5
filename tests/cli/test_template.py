"""``tirelife template``: the sheet opens elsewhere, and imports without a question."""

import openpyxl
import pandas as pd
import pytest

import tirelife
from tirelife.cli import main


@pytest.mark.parametrize(("units", "name"), [("us", "visits.xlsx"), ("metric", "visits.csv")])
def test_the_empty_sheet_imports_without_a_question(units, name, tmp_path, capsys):
    path = tmp_path / name
    assert main(["template", str(path), "--units", units]) == 0
    assert capsys.readouterr().err == f"empty sheet written to {path}\n"
    assert main(["import", str(path), "--out", str(tmp_path / "book")]) == 0
    assert "1 vehicles, 1 visits.\nRows: 1 used, 0 doubted, 0 left out." in capsys.readouterr().out
    book = tirelife.read_logbook(tmp_path / "book")
    assert book.units == units
    assert (len(book.depths), len(book.pressures)) == (4, 4)
    assert book.tires["new_depth_mm"].round(2).tolist() == [7.94 if units == "us" else 8.0] * 4
    read = pd.read_csv(path) if name.endswith("csv") else pd.read_excel(path, engine="openpyxl")
    assert read.iloc[0]["Vehicle"] == "EXAMPLE 1"


def test_the_workbook_opens_in_another_reader(tmp_path):
    assert main(["template", str(tmp_path / "v.xlsx")]) == 0
    sheet = openpyxl.load_workbook(tmp_path / "v.xlsx").active
    assert [cell.value for cell in sheet[1]][:3] == ["Date", "Vehicle", "Odometer miles"]
    assert sheet["D2"].value == 9


def test_another_ending_is_refused(tmp_path, capsys):
    assert main(["template", str(tmp_path / "v.doc")]) == 2
    assert "the name must end in .xlsx or .csv." in capsys.readouterr().err
