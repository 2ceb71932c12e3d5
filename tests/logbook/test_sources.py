"""Where the tables of a logbook are: what is read, what is missing, what stands in another's way."""

import pytest

from tests.logbook.folders import folder
from tirelife.errors import InputError
from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.refused import Refused
from tirelife.logbook.sources import STORE_NAME, read_texts


def read(path):
    found = Findings()
    texts, trips = read_texts(path, found)
    return texts, trips, found.frame()


def test_a_whole_folder_has_nothing_wrong(tmp_path):
    texts, trips, found = read(folder(tmp_path))
    assert set(texts) == {"vehicles", "tires", "mounts", "depths"}
    assert trips is None
    assert found.empty


@pytest.mark.parametrize("name", ["trips.csv", "trips.parquet"])
def test_trips_are_pointed_to_and_not_read(tmp_path, name):
    path = folder(tmp_path)
    (path / name).write_text("no table at all")
    texts, trips, found = read(path)
    assert trips == path / name
    assert "trips" not in texts
    assert found.empty


def test_a_missing_table_is_named_with_the_file_that_is_nearly_called_so(tmp_path):
    path = folder(tmp_path, tires=None)
    (path / "Tire.csv").write_text("tire_id\nT1\n")
    _, _, found = read(path)
    (row,) = found.to_dict("records")
    assert (row["file"], row["code"], row["doubt"], row["ask"]) == (
        "tires.csv", Found.FILE_MISSING, False, Ask.RENAME_FILE,
    )  # fmt: skip
    assert dict(row["values"])["near"] == "Tire.csv"


def test_a_missing_table_without_a_like(tmp_path):
    _, _, found = read(folder(tmp_path, tires=None))
    assert found["ask"].tolist() == [""]
    assert dict(found["values"][0])["near"] == ""


def test_two_files_of_one_table_are_an_error(tmp_path):
    path = folder(tmp_path)
    (path / "tires.parquet").write_bytes(b"PAR1")
    texts, _, found = read(path)
    assert found[["file", "code"]].to_numpy().tolist() == [["tires.parquet", Found.FILE_TWICE]]
    assert texts["tires"].file == "tires.csv"


def test_tables_beside_a_file_of_them_are_an_error(tmp_path):
    path = folder(tmp_path)
    (path / STORE_NAME).write_bytes(b"")
    _, _, found = read(path)
    assert found["code"].tolist() == [Found.FILE_BESIDE]


def test_what_is_no_logbook_is_refused(tmp_path):
    sheet, other = tmp_path / "shop.xlsx", tmp_path / "shop.pdf"
    for path in (sheet, other):
        path.write_bytes(b"x")
    for path, code, ask in (
        (tmp_path / "gone", Refused.SOURCE_MISSING, ""),
        (sheet, Refused.NO_LOGBOOK, Ask.LOGBOOK_OF_SHEET),
        (other, Refused.NO_LOGBOOK, ""),
    ):
        with pytest.raises(InputError) as caught:
            read_texts(path, Findings())
        assert (caught.value.problems[0].code, caught.value.problems[0].ask) == (code, ask)
