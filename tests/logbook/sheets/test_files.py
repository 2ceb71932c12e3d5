"""Tables of text as grids: what parts the columns, how letters are coded, and what is refused."""

import pytest

from tirelife.errors import InputError
from tirelife.logbook.refused import NoSheet
from tirelife.logbook.sheets import files
from tirelife.logbook.sheets.files import Grid, column_letter, is_sheet, read_grids


def written(tmp_path, data, name="shop.csv"):
    path = tmp_path / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def refused(path):
    with pytest.raises(InputError) as caught:
        read_grids(path)
    return caught.value.problems[0].code


@pytest.mark.parametrize(
    ("text", "mark"),
    [("a,b\n1,2\n", ","), ("a;b\n1,5;2,5\n", ";"), ("a\tb\n1\t2\n", "\t"), ("a|b\n1|2\n", "|"), ("a\n1\n", ","),
     ("a;b;c\n1;2;3,4\nx;y;z\n", ";")],
)  # fmt: skip
def test_the_mark_that_parts_most_lines_alike_is_taken(tmp_path, text, mark):
    (grid,) = read_grids(written(tmp_path, text))
    assert grid.delimiter == mark
    assert grid.tab == "shop"


def test_cells_are_trimmed_and_blanks_are_none(tmp_path):
    (grid,) = read_grids(written(tmp_path, 'a ,"b,\n c"\n\u00a0,x\u00a0 y\n'))
    assert grid.cells[1] == [None, "x y"]
    assert grid.cells[0][0] == "a"


def test_a_mark_that_is_named_keeps_the_rows_of_the_sheet(tmp_path):
    (grid,) = read_grids(written(tmp_path, "sep=;\na;b\n1;2\n"))
    assert grid.cells == [[], ["a", "b"], ["1", "2"]]
    assert grid.place(2) == 3


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_letters_however_they_are_coded(tmp_path, coding):
    (grid,) = read_grids(written(tmp_path, "Größe,Año\n1,2\n".encode(coding)))
    assert grid.cells[0] == ["Größe", "Año"]


def test_what_cannot_be_read_is_refused(tmp_path, monkeypatch):
    assert refused(tmp_path / "gone.csv") == NoSheet.MISSING
    assert refused(tmp_path) == NoSheet.NO_FILE
    assert refused(written(tmp_path, " \n ")) == NoSheet.EMPTY
    assert refused(written(tmp_path, b"a,b\n1\x00,2\n")) == NoSheet.NO_TEXT
    assert refused(written(tmp_path, "a,b", "shop.xlsx")) == NoSheet.NO_SHEET
    assert refused(written(tmp_path, b"PK\x03\x04 no bundle", "shop.xlsx")) == NoSheet.DAMAGED
    locked = b"\xd0\xcf\x11\xe0" + "EncryptedPackage".encode("utf-16-le")
    assert refused(written(tmp_path, locked, "shop.xlsx")) == NoSheet.LOCKED
    monkeypatch.setattr(files, "LARGEST", 7)
    assert refused(written(tmp_path, "a,b\n1,2\n")) == NoSheet.LARGE
    assert len(read_grids(written(tmp_path, "a,b\n1,2"))) == 1  # seven bytes are not above seven


def test_which_files_may_be_sheets(tmp_path):
    assert is_sheet(written(tmp_path, "a", "shop.CSV"))
    assert is_sheet(written(tmp_path, "a", "shop.xlsx"))
    assert not is_sheet(written(tmp_path, "a", "shop.json"))
    assert not is_sheet(tmp_path)


def test_letters_of_columns():
    assert [column_letter(i) for i in (0, 25, 26, 51, 52, 701, 702)] == [
        "A",
        "Z",
        "AA",
        "AZ",
        "BA",
        "ZZ",
        "AAA",
    ]


def test_places_are_those_of_the_sheet():
    assert Grid("t", [[], []]).place(1) == 2
    assert Grid("t", [[], []], origin=[4, 9]).place(1) == 10
