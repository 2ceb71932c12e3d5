"""Folder to file and back: nothing lost, nothing written by halves."""

import json
import os
import sqlite3

import pandas as pd
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.logbook.folders import HABITS, TABLES, folder, swap
from tirelife.errors import InputError
from tirelife.logbook import check_logbook, read_logbook
from tirelife.logbook.convert import Copied, convert_logbook, create_logbook
from tirelife.logbook.store import audit, connect

ODD = {
    "vehicles": "vehicle_id,colour,drive,placard_rear_psi,placard_front_psi,note\nV1,red,front,33,33.00,\"a, \"\"b\"\"\"\nV2,=1+1,REAR,38, 35 ,é😀\n",
    "depths": swap("depths", "9.5", "9.50", 3).replace("9.0", "9").replace("groove", "groove,gauge_id,spot", 1).replace(",center,", ",center,007,1.0,").replace(",outer,", ",outer,,,").replace(",inner,", ",inner,D1,2,"),
    "habits": HABITS + "V1,2025-01-01,2025-02-01,0.20,.2,2e-1,0.2,0.2,1,1,1\n",
    "gauges": "gauge_id,date,kind,reading,master,unit\n",
    "mounts": swap("mounts", "2025-01-10", " 2025-01-10 ", 1),
}  # fmt: skip


def same_books(left, right):
    for name, table in left.tables.items():
        pd.testing.assert_frame_equal(table, right.tables[name])
    assert left.units == right.units
    assert left.as_of == right.as_of
    columns = ["row", "column", "value", "code", "ask", "values", "doubt"]
    pd.testing.assert_frame_equal(left.problems[columns], right.problems[columns])


def test_every_byte_of_plain_tables_comes_back(tmp_path):
    source = folder(tmp_path / "book", **ODD)
    convert_logbook(source, tmp_path / "logbook.sqlite")
    convert_logbook(tmp_path / "logbook.sqlite", tmp_path / "back")
    for file in sorted(source.iterdir()):
        assert (tmp_path / "back" / file.name).read_bytes() == file.read_bytes(), file.name
    same_books(read_logbook(source), read_logbook(tmp_path / "logbook.sqlite"))
    same_books(read_logbook(source), read_logbook(tmp_path / "back"))


def test_units_and_order_of_the_source_are_kept(tmp_path):
    text = (
        TABLES["depths"]
        .replace("depth_32nds", "depth_mils")
        .replace("9.5", "296.875")
        .replace("9.0", "281.25")
        .replace("8.5", "265.625")
    )
    source = folder(tmp_path / "book", depths=text)
    convert_logbook(source, tmp_path / "a.db")
    same_books(read_logbook(source), read_logbook(tmp_path / "a.db"))
    with connect(tmp_path / "a.db") as connection:
        names = [entry[0] for entry in connection.execute("select * from depths limit 1").description]
    assert "depth_mils" in names


def test_an_imported_logbook_holds_doubts_and_gives_the_same_ones(tmp_path):
    source = folder(
        tmp_path / "book", depths=swap("depths", "8.5", "12.5"), tires=swap("tires", "0724", "724")
    )
    said = convert_logbook(source, tmp_path / "logbook.sqlite")
    count = len(check_logbook(source))
    assert count > 24
    assert [(note.code, note.value("doubts")) for note in said] == [(Copied.DOUBTS, count)]
    same_books(read_logbook(source), read_logbook(tmp_path / "logbook.sqlite"))


def test_a_logbook_with_errors_is_refused_and_nothing_written(tmp_path):
    source = folder(tmp_path / "book", depths=swap("depths", "8.5", "x", 1))
    with pytest.raises(InputError, match=r"depths\.csv, row 50, column depth_32nds: is not a number"):
        convert_logbook(source, tmp_path / "logbook.sqlite")
    assert os.listdir(tmp_path) == ["book"]


def test_a_target_that_is_there_is_left_alone(tmp_path):
    source = folder(tmp_path / "book")
    (tmp_path / "logbook.sqlite").write_text("mine")
    with pytest.raises(
        InputError, match=r"logbook\.sqlite: is there already\. Choose a new name; nothing was changed\."
    ):
        convert_logbook(source, tmp_path / "logbook.sqlite")
    assert (tmp_path / "logbook.sqlite").read_text() == "mine"
    with pytest.raises(InputError, match="is there already"):
        convert_logbook(source, source)
    with pytest.raises(InputError, match="would be a folder like its source"):
        convert_logbook(source, tmp_path / "other")
    with pytest.raises(InputError, match="cannot be written: no such file or directory"):
        convert_logbook(source, tmp_path / "no" / "logbook.sqlite")


def test_a_backup_is_whole_while_somebody_writes(tmp_path):
    convert_logbook(folder(tmp_path / "book"), tmp_path / "logbook.sqlite")
    with connect(tmp_path / "logbook.sqlite", write=True) as connection:
        connection.execute("begin immediate")
        connection.execute(
            "insert into odometer (date, vehicle_id, odometer_mi) values ('2025-08-01', 'V1', 11000)"
        )
        convert_logbook(tmp_path / "logbook.sqlite", tmp_path / "backup.sqlite")
        connection.execute("commit")
    assert len(read_logbook(tmp_path / "backup.sqlite").tables["odometer"]) == 0
    assert len(read_logbook(tmp_path / "logbook.sqlite").tables["odometer"]) == 1


def test_history_goes_out_and_comes_back(tmp_path):
    convert_logbook(folder(tmp_path / "book"), tmp_path / "a.sqlite")
    with connect(tmp_path / "a.sqlite", write=True) as connection:
        connection.execute("update tires set tire_line = 'Line B' where tire_id = 'T1'")
    before = audit(tmp_path / "a.sqlite")
    assert before["action"].tolist() == ["import", "before", "change"]
    assert [json.loads(r)["tire_line"] for r in before["record"][1:]] == ["Line A", "Line B"]
    convert_logbook(tmp_path / "a.sqlite", tmp_path / "back")
    convert_logbook(tmp_path / "back", tmp_path / "b.sqlite")
    after = audit(tmp_path / "b.sqlite")
    pd.testing.assert_frame_equal(after.iloc[:3].drop(columns="sealed"), before.drop(columns="sealed"))
    assert after["action"].tolist()[3:] == ["import"]


def test_trips_go_along_as_they_are(tmp_path):
    source = folder(tmp_path / "book", trips="not,read\n1,2\n")
    (tmp_path / "store").mkdir()
    convert_logbook(source, tmp_path / "store" / "logbook.sqlite")
    assert read_logbook(tmp_path / "store" / "logbook.sqlite").trips == tmp_path / "store" / "trips.csv"
    convert_logbook(tmp_path / "store" / "logbook.sqlite", tmp_path / "back")
    assert (tmp_path / "back" / "trips.csv").read_text() == "not,read\n1,2\n"


def test_a_folder_with_only_the_file_in_it_is_that_logbook(tmp_path):
    (tmp_path / "shop").mkdir()
    convert_logbook(folder(tmp_path / "book"), tmp_path / "shop" / "logbook.sqlite")
    assert len(read_logbook(tmp_path / "shop").depths) == 72
    (tmp_path / "shop" / "tires.csv").write_text(TABLES["tires"])
    with pytest.raises(InputError, match=r"is beside a logbook\.sqlite: which of the two is the logbook"):
        read_logbook(tmp_path / "shop")


def test_formulas_are_kept_and_told(tmp_path):
    source = folder(tmp_path / "book", **ODD)
    convert_logbook(source, tmp_path / "logbook.sqlite")
    said = convert_logbook(tmp_path / "logbook.sqlite", tmp_path / "back")
    assert [(note.code, dict(note.values)) for note in said] == [
        (Copied.FORMULAS, {"file": "vehicles.csv", "texts": 1})
    ]


@pytest.mark.parametrize(
    ("sql", "refusal"),
    [
        ("delete from depths", "nothing is deleted: record a correction"),
        ("update depths set depth_32nds = 1", "a record is not overwritten: record a correction"),
        ("delete from audit", "audit is not changed"),
        ("update audit set record = ''", "audit is not changed"),
        ("update mounts set odometer_mi = 5", "a record is not overwritten: record a correction"),
        ("insert into odometer (date, vehicle_id, odometer_mi) values ('2025-08-01', 'V9', 1)", "FOREIGN KEY constraint failed"),
        ("insert into odometer (date, vehicle_id, odometer_mi) values ('1 May', 'V1', 1)", "CHECK constraint failed"),
        ("insert into odometer (date, vehicle_id, odometer_mi) values ('2025-08-01', 'V1', -1)", "CHECK constraint failed"),
        ("insert into odometer (date, vehicle_id, odometer_mi) values ('2025-08-01', 'V1', 'x')", "cannot store TEXT value in REAL column"),
        ("insert into vehicles (vehicle_id, drive, placard_front_psi, placard_rear_psi) values ('V1', 'rear', 33, 33)", "UNIQUE constraint failed"),
        ("insert into vehicles (vehicle_id, drive, placard_front_psi, placard_rear_psi) values ('V7', 'side', 33, 33)", "CHECK constraint failed"),
    ],
)  # fmt: skip
def test_the_file_itself_refuses(sql, refusal, tmp_path):
    convert_logbook(folder(tmp_path / "book"), tmp_path / "logbook.sqlite")
    with (
        pytest.raises(InputError, match=refusal),
        connect(tmp_path / "logbook.sqlite", write=True) as connection,
    ):
        connection.execute(sql)
    assert len(read_logbook(tmp_path / "logbook.sqlite").depths) == 72


def test_a_new_empty_logbook(tmp_path):
    create_logbook(tmp_path / "new.sqlite", "metric")
    with connect(tmp_path / "new.sqlite") as connection:
        names = [entry[0] for entry in connection.execute("select * from depths").description]
    assert {"odometer_km", "depth_mm"} <= set(names)
    with pytest.raises(InputError, match="is there already"):
        create_logbook(tmp_path / "new.sqlite", "us")


@pytest.mark.parametrize("cut", [0, 10, 100, 4096, 20_000])
def test_a_cut_or_foreign_file_is_one_clear_error(cut, tmp_path):
    convert_logbook(folder(tmp_path / "book"), tmp_path / "logbook.sqlite")
    data = (tmp_path / "logbook.sqlite").read_bytes()
    (tmp_path / "logbook.sqlite").write_bytes(data[:cut])
    with pytest.raises(InputError) as caught:
        read_logbook(tmp_path / "logbook.sqlite")
    assert "\n" not in str(caught.value)
    sqlite3.connect(tmp_path / "other.sqlite").execute("create table t (x)").connection.close()
    with pytest.raises(InputError, match="is not a logbook of this version"):
        read_logbook(tmp_path / "other.sqlite")


text = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=12)


@given(notes=st.lists(text, min_size=2, max_size=2), line=text.filter(str.strip), gauge=text)
@settings(
    max_examples=6,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_any_text_comes_back(notes, line, gauge, tmp_path_factory):
    top = tmp_path_factory.mktemp("any")
    vehicles = pd.read_csv(folder(top / "book") / "vehicles.csv").assign(note=notes)
    tires = pd.read_csv(top / "book" / "tires.csv", dtype="str")
    tires["tire_line"] = line
    depths = pd.read_csv(top / "book" / "depths.csv", dtype="str").assign(gauge_id=gauge)
    for name, frame in (("vehicles", vehicles), ("tires", tires), ("depths", depths)):
        frame.to_csv(top / "book" / f"{name}.csv", index=False, lineterminator="\r\n")  # quotes \r too
    there = read_logbook(top / "book")
    convert_logbook(top / "book", top / "logbook.sqlite")
    convert_logbook(top / "logbook.sqlite", top / "back")
    same_books(there, read_logbook(top / "logbook.sqlite"))
    same_books(there, read_logbook(top / "back"))
    assert there.tires["tire_line"].iloc[0] == line.strip()
