"""A logbook in one file: what is stored of a text, what comes back, and what is said when a file cannot be used."""

import contextlib
import json
import shutil
import sqlite3

import numpy as np
import pytest

from tests.logbook.folders import folder
from tirelife.errors import InputError
from tirelife.logbook import store as module
from tirelife.logbook.codes import Found
from tirelife.logbook.convert import convert_logbook
from tirelife.logbook.findings import Findings
from tirelife.logbook.refused import NoStore
from tirelife.logbook.schema import READ_AGAIN, SCHEMA
from tirelife.logbook.store import (
    audit,
    backup,
    connect,
    insert_texts,
    is_store,
    opened,
    plain,
    read_store,
    read_tables,
    records_of,
    store_errors,
    texts_of,
    version_of,
)
from tirelife.logbook.storeschema import APPLICATION, OWN, columns_of, create_tables, stored_columns
from tirelife.logbook.textfile import TextTable, cells_of

TIRES = stored_columns("tires", {"depth": "32nds"})


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    top = tmp_path_factory.mktemp("store")
    convert_logbook(folder(top / "book"), top / "made.sqlite")
    return top / "made.sqlite"


@pytest.fixture
def path(made, tmp_path):
    return shutil.copy(made, tmp_path / "book.sqlite")


def refused(error):
    (problem,) = error.value.problems
    return problem.code


def texts(name="tires", **cells):
    n = len(next(iter(cells.values())))
    return TextTable(name, f"{name}.csv", np.arange(2, n + 2), {k: cells_of(v) for k, v in cells.items()})


def test_a_file_is_known_by_how_it_begins(path, tmp_path):
    assert is_store(path)
    other = tmp_path / "other.sqlite"
    other.write_bytes(b"SQLite format 3 ")
    assert not is_store(other)
    assert not is_store(tmp_path / "none.sqlite")
    assert not is_store(tmp_path)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, ""), ("", ""), ("007", "007"), (7, "7"), (7.0, "7"), (-7.0, "-7"), (7.5, "7.5"), (0.1, "0.1"),
        (1e14, "100000000000000"), (1e15, "1000000000000000.0"), (1e300, "1e+300"), (-0.0, "0"),
    ],
)  # fmt: skip
def test_the_plain_way_to_write_a_value(value, text):
    assert plain(value) == text
    if isinstance(value, float):
        assert float(text) == value


def stored(text, columns=TIRES):
    names = ["_row", *columns, "_visit", "_as_written", "_extra", "_digest"]
    return [dict(zip(names, record, strict=True)) for record in records_of(text, columns, 5)]


def test_values_are_stored_and_texts_that_are_not_plain_are_kept_beside():
    one, two, three = stored(
        texts(tire_id=["T1", " T2", "T3"], new_depth_32nds=["10", "10.0", ""], season=["winter", "WINTER", ""],
              colour=["red", "", "blue"])
    )  # fmt: skip
    assert (one["_row"], one["_visit"]) == (2, 5)
    assert (one["tire_id"], one["new_depth_32nds"], one["season"]) == ("T1", 10.0, "winter")
    assert one["_as_written"] is None
    assert json.loads(one["_extra"]) == {"colour": "red"}
    assert (two["tire_id"], two["new_depth_32nds"], two["season"], two["_extra"]) == (
        "T2",
        10.0,
        "winter",
        None,
    )
    assert json.loads(two["_as_written"]) == {"tire_id": " T2", "new_depth_32nds": "10.0", "season": "WINTER"}
    assert (three["new_depth_32nds"], three["season"], three["_as_written"]) == (None, None, None)
    assert one["made_week"] is None  # a column that is not there
    assert len({record["_digest"] for record in (one, two, three)}) == 3


def test_kinds_of_values():
    depths = stored_columns("depths", {"depth": "mm", "distance": "km"})
    (one,) = stored(texts("depths", date=["2025-01-31T10:00"], odometer_km=["1000"], spot=["2"], position=["lf"],
                          vehicle_id=[""], depth_mm=["-0.0"], gauge_id=[""]), depths)  # fmt: skip
    assert (one["date"], one["odometer_km"], one["position"]) == ("2025-01-31", 1000.0, "LF")
    assert (one["spot"], type(one["spot"])) == (2, int)
    assert str(one["depth_mm"]) == "0.0"  # no minus nought
    assert one["vehicle_id"] == ""  # where a value has to be, a blank is one, and an error elsewhere
    assert one["gauge_id"] is None
    (comma,) = stored(texts(tire_id=["1,5"], new_depth_32nds=["9,5"]))
    assert (comma["new_depth_32nds"], comma["tire_id"]) == (9.5, "1,5")
    assert stored(texts(tire_id=["T1"], new_depth_32nds=["deep"]))[0]["new_depth_32nds"] is None


def roundtrip(text, columns=TIRES):
    with contextlib.closing(sqlite3.connect(":memory:")) as connection:
        connection.row_factory = None
        create_tables(
            connection, {name: stored_columns(name, {"depth": "32nds"}) for name in ("tires", "mounts")}
        )
        insert_texts(connection, text, columns)
        cursor = connection.execute(f"select * from {text.name}")
        names = [entry[0] for entry in cursor.description]
        return names, cursor.fetchall(), columns_of(connection, text.name)


def test_a_table_comes_back_as_it_was_written():
    told = {"tire_id": ["T1", " T2"], "colour": ["red", ""], "new_depth_32nds": ["10.0", "10"]}
    names, records, columns = roundtrip(texts(**told))
    back = texts_of("tires", "book: tires", list(told), names, records, columns)
    assert {name: cells.text().tolist() for name, cells in back.cells.items()} == told
    assert back.rows.tolist() == [2, 3]
    assert (back.typed, back.file) == (True, "book: tires")


def test_what_is_stored_rules_over_what_was_written():
    names, records, columns = roundtrip(texts(tire_id=["T1"], new_depth_32nds=["10.00"]))
    at = names.index("new_depth_32nds")
    changed = [(*records[0][:at], 9.0, *records[0][at + 1 :])]
    for rows, text in ((records, "10.00"), (changed, "9")):
        back = texts_of("tires", "t", ["new_depth_32nds"], names, rows, columns)
        assert back.cells["new_depth_32nds"].text().tolist() == [text]


def test_columns_that_the_header_lacks_come_where_they_hold_something():
    names, records, columns = roundtrip(texts(tire_id=["T1", "T2"], season=["winter", ""]))
    assert list(texts_of("tires", "t", ["tire_id"], names, records, columns).cells) == ["tire_id", "season"]
    assert list(texts_of("tires", "t", ["tire_id"], names, records[1:], columns).cells) == ["tire_id"]
    at = names.index("_extra")
    again = [(*records[1][:at], json.dumps({READ_AGAIN: "yes"}), *records[1][at + 1 :])]
    cells = texts_of("tires", "t", ["tire_id"], names, again, columns).cells
    assert cells[READ_AGAIN].text().tolist() == ["yes"]


def test_records_in_use_are_read_and_others_are_not(path):
    with connect(path, write=True) as connection:
        connection.execute("update depths set _superseded_by = -1 where _row in (2, 5)")
    with connect(path) as connection:
        found = Findings()
        out = read_tables(connection, "book", found)
    assert len(out["depths"].rows) == 70
    assert not {2, 5} & set(out["depths"].rows.tolist())
    assert set(out) == {"vehicles", "tires", "mounts", "depths"}  # a table is there if it was on import
    assert out["tires"].file == "book: tires"
    assert not found.has_errors


def test_one_vehicle_has_its_own_records_and_its_tires_wherever_they_were(path):
    with connect(path, write=True) as connection:
        connection.execute(
            "insert into mounts (date, odometer_mi, vehicle_id, tire_id, position) values ('2025-09-01', 9000, 'V2', 'T1', 'LF')"
        )
    with connect(path) as connection:
        one = read_tables(connection, "book", Findings(), ["V1"])
        two = read_tables(connection, "book", Findings(), ["V2"])
        tire = read_tables(connection, "book", Findings(), [], ["T8"])
    assert set(one["depths"].cells["vehicle_id"].text()) == {"V1"}
    assert sorted(one["tires"].cells["tire_id"].text()) == ["T1", "T2", "T3", "T4"]
    assert sorted(one["vehicles"].cells["vehicle_id"].text()) == ["V1", "V2"]  # T1 went to the other
    assert len(one["mounts"].rows) == 5
    assert sorted(two["tires"].cells["tire_id"].text()) == ["T1", "T5", "T6", "T7", "T8"]
    assert len(tire["depths"].rows) == 0
    assert tire["tires"].cells["tire_id"].text().tolist() == ["T8"]
    assert tire["vehicles"].cells["vehicle_id"].text().tolist() == ["V2"]


def test_a_record_that_does_not_match_its_digest_is_found(path):
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        sql = connection.execute("select sql from sqlite_master where name = 'depths_over'").fetchone()[0]
        connection.execute("drop trigger depths_over")
        connection.execute("update depths set depth_32nds = 3 where _row = 20")
        connection.execute(sql)
    found = Findings()
    read_store(path, found)
    assert Found.DIGEST in found.frame()["code"].tolist()
    assert 20 in found.frame()["row"].tolist()
    with pytest.raises(InputError) as caught:
        backup(path, path.with_name("copy.sqlite"))
    assert refused(caught) == NoStore.DAMAGED
    assert not path.with_name("copy.sqlite").exists()


def test_a_sound_file_has_nothing_wrong_however_deep_one_looks(path):
    for deep in (False, True):
        found = Findings()
        assert set(read_store(path, found, deep)) == {"vehicles", "tires", "mounts", "depths"}
        assert found.frame().empty


def test_a_backup_is_a_copy_in_one_file(path, tmp_path):
    target = tmp_path / "copy.sqlite"
    target.write_text("before")
    backup(path, target)
    with connect(path) as one, connect(target) as other:
        for name in SCHEMA.keys() - {"trips"}:
            rows = [c.execute(f"select * from {name} order by _row").fetchall() for c in (one, other)]
            assert rows[0] == rows[1]
        assert other.execute("pragma journal_mode").fetchone()[0] == "delete"
    assert not target.with_name("copy.sqlite-wal").exists()


def test_the_history_is_a_frame(path):
    with connect(path, write=True) as connection:
        connection.execute("update tires set tire_line = 'Line B' where tire_id = 'T1'")
    frame = audit(path)
    assert frame["action"].tolist() == ["import", "before", "change"]
    assert frame["id"].tolist() == sorted(frame["id"])
    assert frame["sealed"].tolist() == [True, False, False]
    assert str(frame["row"].dtype) == "Int64"


def test_reading_changes_nothing_and_writing_is_flushed_and_ruled(path):
    with connect(path) as connection, pytest.raises(sqlite3.OperationalError, match="readonly"):
        connection.execute("update tires set tire_line = 'x'")
    with connect(path, write=True) as connection:
        pragmas = [connection.execute(f"pragma {name}").fetchone()[0] for name in
                   ("journal_mode", "synchronous", "foreign_keys")]  # fmt: skip
    assert pragmas == ["wal", 2, 1]  # synchronous: full


@pytest.mark.parametrize(
    ("pragma", "code"),
    [
        ("user_version = 0", NoStore.VERSION),
        ("user_version = 3", NoStore.VERSION),
        ("application_id = 5", NoStore.VERSION),
    ],
)
def test_another_version_or_another_programs_file_is_refused(path, pragma, code):
    with contextlib.closing(sqlite3.connect(path)) as connection:
        connection.execute(f"pragma {pragma}")
    with pytest.raises(InputError) as caught, connect(path):
        pass
    assert refused(caught) == code


def test_versions_that_are_read():
    with contextlib.closing(sqlite3.connect(":memory:")) as connection:
        connection.execute(f"pragma application_id = {APPLICATION}")
        for version in (1, 2):
            connection.execute(f"pragma user_version = {version}")
            assert version_of(connection) == version


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (sqlite3.OperationalError("database is locked"), NoStore.BUSY),
        (sqlite3.OperationalError("database or disk is full"), NoStore.FULL),
        (sqlite3.OperationalError("attempt to write a readonly database"), NoStore.READ_ONLY),
        (sqlite3.OperationalError("unable to open database file"), NoStore.UNOPENED),
        (sqlite3.OperationalError("disk I/O error"), NoStore.DISK),
        (sqlite3.DatabaseError("file is not a database"), NoStore.FOREIGN),
        (sqlite3.DatabaseError("database disk image is malformed"), NoStore.DAMAGED),
        (sqlite3.OperationalError("Could not decode to UTF-8 column 'x'"), NoStore.TEXT),
        (sqlite3.DataError("string or blob too big"), NoStore.LARGE),
        (sqlite3.OperationalError("interrupted"), NoStore.WORK),
        (sqlite3.DatabaseError("earlier version"), NoStore.EARLIER),
        (sqlite3.OperationalError("no such table: x"), NoStore.SAID),
        (sqlite3.IntegrityError("NOT NULL constraint failed"), NoStore.RECORD),
        (OSError(28, "No space left on device"), NoStore.UNUSABLE),
        (UnicodeDecodeError("utf-8", b"x", 0, 1, "no"), NoStore.NAME),
    ],
    ids=lambda one: "" if isinstance(one, Exception) else str(one),
)
def test_what_sqlite_and_the_system_say_is_one_clear_error(tmp_path, error, code):
    with pytest.raises(InputError) as caught, store_errors(tmp_path / "book.sqlite"):
        raise error
    assert refused(caught) == code


def test_no_room_for_what_a_reader_and_a_writer_share_is_no_room(tmp_path):
    error = sqlite3.OperationalError("disk I/O error")
    error.sqlite_errorcode = sqlite3.SQLITE_IOERR_SHMSIZE
    with pytest.raises(InputError) as caught, store_errors(tmp_path / "book.sqlite"):
        raise error
    assert refused(caught) == NoStore.FULL


@pytest.mark.parametrize("error", [ValueError, TypeError, KeyError, IndexError, OverflowError, MemoryError])
def test_content_that_makes_no_sense_is_damage(tmp_path, error):
    with pytest.raises(InputError) as caught, module.sound(tmp_path / "book.sqlite"):
        raise error
    assert refused(caught) == NoStore.CONTENT


def test_work_is_limited_by_the_size_of_a_file(path, monkeypatch):
    endless = "with recursive t(x) as (select 1 union all select x + 1 from t) select count(*) from t"
    monkeypatch.setattr(module, "_STEPS", 1000)
    monkeypatch.setattr(module, "_WORK", 1)
    allowed = 100 + path.stat().st_size // 1000
    with (
        contextlib.closing(opened(path, False)) as connection,
        pytest.raises(sqlite3.OperationalError, match="interrupted"),
    ):
        connection.execute(endless)
    some = f"with recursive t(x) as (select 1 union all select x + 1 from t limit {allowed * 20}) select count(*) from t"
    with contextlib.closing(opened(path, False)) as connection:  # some ten instructions a row
        connection.execute(some)


class Full:
    """A connection on a disk without room for what readers and a writer share."""

    def __init__(self, code):
        self.error = sqlite3.OperationalError("disk I/O error")
        self.error.sqlite_errorcode = code

    def execute(self, sql):
        raise self.error

    def close(self):
        self.closed = True


@pytest.mark.parametrize(
    ("code", "read"),
    [(sqlite3.SQLITE_IOERR_SHMSIZE, True), (sqlite3.SQLITE_CANTOPEN, True), (sqlite3.SQLITE_LOCKED, False)],
)
def test_a_file_on_a_full_disk_is_read_as_one_that_nobody_changes(path, monkeypatch, code, read):
    full, asked, connect = Full(code), [], sqlite3.connect

    def connected(name, **more):
        asked.append("immutable=1" in name)
        return connect(name, **more) if asked[-1] else full

    monkeypatch.setattr(sqlite3, "connect", connected)
    if read:
        with contextlib.closing(opened(path, False)) as connection:
            assert connection.execute("select count(*) from tires").fetchone() == (8,)
        assert asked == [False, True]
    else:
        with pytest.raises(sqlite3.OperationalError):
            opened(path, False)
    assert full.closed


def test_a_file_in_a_folder_that_takes_no_side_files_is_read(path, monkeypatch):
    monkeypatch.setattr(module, "_may_write", lambda path: False)
    with connect(path) as connection:
        assert connection.execute("select count(*) from tires").fetchone() == (8,)
    assert [one.name for one in path.parent.iterdir()] == ["book.sqlite"]


def test_what_each_table_holds_beside_its_columns_is_written(path):
    with connect(path) as connection:
        names = {entry[1] for entry in connection.execute("pragma table_xinfo(tires)")}
    assert {"_row", *OWN} <= names
