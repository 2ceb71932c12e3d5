"""The empty sheet: it is a sheet that spreadsheets open, and it imports without a question."""

import zipfile
from xml.dom import minidom

import openpyxl
import pytest

from tirelife.errors import InputError
from tirelife.logbook.sheets import import_sheet
from tirelife.logbook.sheets.template import template_rows, write_template
from tirelife.logbook.wrong import Wrong
from tirelife.units import convert


@pytest.mark.parametrize("name", ["empty.csv", "empty.xlsx", "EMPTY.XLSX"])
@pytest.mark.parametrize("units", ["us", "metric"])
def test_its_made_up_visit_imports_without_a_question(tmp_path, name, units):
    write_template(tmp_path / name, units)
    plan = import_sheet(tmp_path / name).plan
    assert (plan.how.depth_unit, plan.how.distance_unit) == {"us": ("32nds", "mi"), "metric": ("mm", "km")}[
        units
    ]
    assert plan.questions == []
    roles = [column.field.role for table, _ in plan.tables for column in table.columns]
    assert {"date", "vehicle", "odometer", "depth", "pressure", "new_depth", "product", "driver"} <= set(
        roles
    )
    assert "" not in roles


def test_the_visit_is_much_the_same_in_both_units():
    us, metric = (dict(zip(*template_rows(units), strict=True)) for units in ("us", "metric"))
    assert convert(float(us["Odometer miles"]), "mi", "km") == pytest.approx(
        float(metric["Odometer km"]), rel=0.001
    )
    for wheel in ("Left front", "Right front", "Left rear", "Right rear"):
        deep = convert(float(us[f"{wheel} depth 32nds"]), "32nds", "mm")
        assert deep == pytest.approx(float(metric[f"{wheel} depth mm"]), abs=0.3)
        pressed = convert(float(us[f"{wheel} pressure psi"]), "psi", "bar")
        assert pressed == pytest.approx(float(metric[f"{wheel} pressure bar"]), abs=0.05)
    assert convert(float(us["New depth 32nds"]), "32nds", "mm") == pytest.approx(
        float(metric["New depth mm"]), abs=0.1
    )


def test_a_workbook_has_the_rows_numbers_as_numbers_and_lines_to_write_on(tmp_path):
    write_template(tmp_path / "empty.xlsx", "metric")
    tab = openpyxl.load_workbook(tmp_path / "empty.xlsx")["Tread"]
    head, row = template_rows("metric")
    assert [cell.value for cell in tab[1]] == head
    written = [cell.value for cell in tab[2]]
    assert written[:3] == ["2026-03-14", "EXAMPLE 1", 66350]
    assert written[3:5] == [7.1, 7]
    assert [str(value) for value in written[-3:]] == row[-3:]
    with zipfile.ZipFile(tmp_path / "empty.xlsx") as file:
        assert file.testzip() is None
        sheet = minidom.parseString(file.read("xl/worksheets/sheet1.xml"))
        for part in file.namelist():
            minidom.parseString(file.read(part))
    lines = sheet.getElementsByTagName("row")
    assert [line.getAttribute("r") for line in lines] == [str(i) for i in range(1, 27)]
    assert sheet.getElementsByTagName("col")[0].getAttribute("max") == str(len(head))
    assert lines[0].getElementsByTagName("c")[-1].getAttribute("r") == f"{'ABCDEFGHIJKLMNO'[len(head) - 1]}1"


def test_the_same_sheet_is_the_same_file(tmp_path):
    for name in ("a.xlsx", "b.xlsx"):
        write_template(tmp_path / name)
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()


def test_a_name_that_ends_otherwise_is_refused(tmp_path):
    with pytest.raises(InputError) as caught:
        write_template(tmp_path / "empty.pdf")
    assert caught.value.problems[0].code == Wrong.TEMPLATE_NAME
    assert list(tmp_path.iterdir()) == []
