"""One table as text: every cell kept as written, ragged and foreign files told of by row."""

import numpy as np
import pandas as pd
import pytest

from tirelife.logbook import textfile
from tirelife.logbook.codes import Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.textfile import TextTable, cells_of, known_columns, read_csv_text, read_parquet_text

HEAD = "vehicle_id,drive,placard_front_psi"


def read(tmp_path, data, table="vehicles"):
    path = tmp_path / f"{table}.csv"
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    found = Findings()
    return read_csv_text(path, table, found), found.frame()


def columns(text):
    return {name: list(cells.text()) for name, cells in text.cells.items()}


def test_cells_stay_as_they_are_written(tmp_path):
    text, found = read(tmp_path, f'{HEAD}\n007,front,33.50\n"a, b", rear ,\n')
    assert columns(text) == {
        "vehicle_id": ["007", "a, b"], "drive": ["front", " rear "], "placard_front_psi": ["33.50", ""],
    }  # fmt: skip
    assert text.rows.tolist() == [2, 3]
    assert found.empty


def test_blank_rows_are_left_out_and_rows_keep_their_numbers(tmp_path):
    text, _ = read(tmp_path, f"{HEAD}\n,,\nV1,front,33\n\n  ,,\nV2,rear,35\n")
    assert text.rows.tolist() == [3, 6]


@pytest.mark.parametrize(("mark", "doubts"), [(",", []), (";", [Found.DELIMITER]), ("\t", [Found.DELIMITER])])
def test_the_mark_under_which_most_columns_are_known(tmp_path, mark, doubts):
    text, found = read(tmp_path, f"{HEAD}\nV1,front,33\n".replace(",", mark))
    assert columns(text)["drive"] == ["front"]
    assert found["code"].tolist() == doubts
    assert found["doubt"].all()


def test_a_mark_that_is_named_is_row_one(tmp_path):
    text, _ = read(tmp_path, f"sep=;\n{HEAD}\nV1,front,33\n".replace(",", ";"))
    assert text.rows.tolist() == [3]


@pytest.mark.parametrize(
    ("data", "row", "code"),
    [
        (b"", 0, Found.FILE_EMPTY),
        (b"\xef\xbb\xbf \r\n,,;\n", 0, Found.FILE_EMPTY),
        ("vehicle_id\nV1".encode("utf-16"), 0, Found.FILE_UTF16),
        (b"PK\x03\x04zip", 0, Found.FILE_NOT_CSV),
        (b"PAR1", 0, Found.FILE_NOT_CSV),
        (b"vehicle_id,drive\nV1,fr\x00nt\n", 2, Found.FILE_ZERO_BYTE),
        (b"vehicle_id,drive\nV1,front\nM\xfcller,rear\n", 3, Found.FILE_NOT_UTF8),
        (b"vehicle_id,drive\nV1,front,more\n", 2, Found.RAGGED),
        (b'vehicle_id,drive\nV1,"front\n', 2, Found.UNCLOSED),
        (b"Our vans\n\nvehicle_id,drive\nV1,front\n", 1, Found.HEADER_BELOW),
    ],
)
def test_what_cannot_be_read_is_told_with_its_row(tmp_path, data, row, code):
    text, found = read(tmp_path, data)
    assert text is None
    assert found[["row", "code"]].to_numpy().tolist() == [[row, code]]
    assert not found["doubt"].any()


def test_blank_cells_beyond_the_header_are_not_ragged(tmp_path):
    text, found = read(tmp_path, "vehicle_id,drive\nV1,front,, ,\nV2\n")
    assert columns(text) == {"vehicle_id": ["V1", "V2"], "drive": ["front", ""]}
    assert found.empty


def test_names_that_come_twice_and_blank_ones_hide_nothing(tmp_path):
    text, _ = read(tmp_path, "vehicle_id,drive,drive,,\nV1,front,rear,note,\n")
    assert [list(cells.text()) for cells in text.cells.values()] == [["V1"], ["front"], ["rear"], ["note"]]
    assert [name.split("\x00")[-1] for name in text.cells] == ["vehicle_id", "drive", "drive", ""]


def test_a_large_file_is_read_as_a_small_one(tmp_path, monkeypatch):
    lines = "".join(f"00{i % 7},front,{30 + i % 5}.0\n" for i in range(400))
    small, _ = read(tmp_path, f"{HEAD}\n{lines}")
    monkeypatch.setattr(textfile, "_SMALL", 100)
    monkeypatch.setattr(textfile, "_PIECE", 64)
    large, _ = read(tmp_path, f"{HEAD}\n{lines}")
    assert small.as_written is None
    assert large.as_written is not None
    assert columns(large)["vehicle_id"] == columns(small)["vehicle_id"]
    assert list(map(float, columns(large)["placard_front_psi"])) == [30.0 + i % 5 for i in range(400)]
    assert large.as_written("placard_front_psi")[large.rows].tolist() == columns(small)["placard_front_psi"]
    assert large.rows.tolist() == small.rows.tolist()


def test_a_large_file_that_is_ragged_is_told_of(tmp_path, monkeypatch):
    monkeypatch.setattr(textfile, "_SMALL", 10)
    text, found = read(tmp_path, f"{HEAD}\nV1,front,33\nV2,rear,35,x\n")
    assert text is None
    assert found[["row", "value", "code"]].to_numpy().tolist() == [[3, "x", Found.RAGGED]]


def test_columns_are_known_by_name_and_unit():
    assert known_columns("depths", ["date", "odometer_km", "odometer_mi", "depth_32nds", "groove"]) == 5
    assert known_columns("depths", ["odometer"]) == 1  # with no unit
    assert known_columns("depths", ["depth_psi", "Date", "drive", ""]) == 0


def test_stored_values_are_written_as_a_person_would(tmp_path):
    frame = pd.DataFrame(
        {
            "date": pd.to_datetime(["2026-03-14", None]), "odometer_mi": [12000.0, np.nan],
            "vehicle_id": ["V1", None], "depth_mm": [7.5, 0.1], "spot": pd.array([1, None], dtype="Int64"),
        }
    )  # fmt: skip
    frame.to_parquet(tmp_path / "depths.parquet")
    text = read_parquet_text(tmp_path / "depths.parquet", "depths", Findings())
    assert columns(text) == {
        "date": ["2026-03-14", ""], "odometer_mi": ["12000", ""], "vehicle_id": ["V1", ""],
        "depth_mm": ["7.5", "0.1"], "spot": ["1", ""],
    }  # fmt: skip
    assert text.typed
    frame.astype({"depth_mm": str}).to_parquet(tmp_path / "depths.parquet")
    assert not read_parquet_text(tmp_path / "depths.parquet", "depths", Findings()).typed


@pytest.mark.parametrize(("data", "code"), [(None, Found.FILE_UNREADABLE), (b"PAR1 cut", Found.FILE_CUT)])
def test_a_stored_file_that_is_gone_or_cut(tmp_path, data, code):
    path = tmp_path / "depths.parquet"
    if data is not None:
        path.write_bytes(data)
    found = Findings()
    assert read_parquet_text(path, "depths", found) is None
    assert found.frame()["code"].tolist() == [code]


def test_records_can_be_kept_and_cells_asked_for_at_rows():
    table = TextTable("tires", "tires.csv", np.array([2, 3, 4]), {"tire_id": cells_of(["a", "b", "a"])})
    some = table.keep(np.array([True, False, True]))
    assert some.rows.tolist() == [2, 4]
    assert list(some.cells["tire_id"].text()) == ["a", "a"]
    assert list(table.cells["tire_id"].text(np.array([False, True, False]))) == ["b"]
