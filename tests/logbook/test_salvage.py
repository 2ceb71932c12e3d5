"""What can still be read of a damaged file, and what of it is believed."""

import contextlib
import json
import shutil
import sqlite3

import pytest

from tests.logbook.folders import folder
from tirelife.logbook import salvage as module
from tirelife.logbook.convert import convert_logbook
from tirelife.logbook.salvage import salvage

COUNTS = {"vehicles": 2, "tires": 8, "mounts": 8, "depths": 72}


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    top = tmp_path_factory.mktemp("salvage")
    convert_logbook(folder(top / "book"), top / "made.sqlite")
    return top / "made.sqlite"


@pytest.fixture
def path(made, tmp_path):
    return shutil.copy(made, tmp_path / "book.sqlite")


def change(path, *statements):
    """What another program does to a file, whose triggers it takes away first."""
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("pragma synchronous=off")
        for (name,) in connection.execute("select name from sqlite_master where type = 'trigger'").fetchall():
            connection.execute(f"drop trigger {name}")
        for sql in statements:
            connection.execute(sql)


def counts(saved):
    return {name: len(text.rows) for name, text in saved.texts.items()}


def test_of_a_sound_file_all_is_saved(path):
    saved = salvage(path)
    assert counts(saved) == COUNTS
    assert saved.texts["depths"].cells["depth_32nds"].text()[0] == "9.5"
    assert list(saved.texts["depths"].cells) == [
        "date",
        "odometer_mi",
        "vehicle_id",
        "position",
        "groove",
        "depth_32nds",
    ]
    assert saved.damaged.empty
    assert (saved.history["action"].tolist(), saved.unread) == (["import"], 0)


def test_a_record_that_does_not_match_its_digest_stands_apart(path):
    change(
        path,
        "update depths set depth_32nds = 3 where _row = 20",
        "update tires set tire_line = 'x' where _row = 2",
    )
    saved = salvage(path)
    assert counts(saved) == COUNTS | {"tires": 7, "depths": 71}
    assert saved.damaged[["table", "row"]].to_numpy().tolist() == [["tires", 2], ["depths", 20]]
    assert json.loads(saved.damaged["record"][1])["depth_32nds"] == 3.0
    assert 20 not in saved.texts["depths"].rows


def test_records_out_of_use_are_not_saved(path):
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("update depths set _superseded_by = -1 where _row in (5, 6)")
    saved = salvage(path)
    assert counts(saved)["depths"] == 70
    assert saved.damaged.empty
    assert saved.history["action"].tolist() == ["import", "withdraw", "withdraw"]


def test_a_table_that_is_gone_leaves_the_others(path):
    change(path, "drop table mounts", "drop table audit", "drop table tables")
    saved = salvage(path)
    assert counts(saved) == {name: n for name, n in COUNTS.items() if name != "mounts"}
    assert saved.history.empty
    # Without the headers, columns stand in the order of the file.
    assert list(saved.texts["vehicles"].cells)[:2] == ["vehicle_id", "drive"]


def test_a_header_that_cannot_be_read_is_not_needed(path):
    change(
        path,
        "update tables set header = '3' where name = 'depths'",
        "update tables set header = '[1]' where name = 'tires'",
    )
    assert counts(salvage(path)) == COUNTS


@pytest.mark.parametrize(
    "sql",
    [
        "alter table depths rename column depth_32nds to depth_33nds",
        "alter table depths rename column gauge_id to gauge_it",
    ],
)
def test_a_table_that_lost_a_columns_name_is_believed_in_nothing(path, sql):
    change(path, sql)
    saved = salvage(path)
    assert "depths" not in saved.texts
    assert len(saved.damaged) == 72
    assert set(saved.damaged["table"]) == {"depths"}


def test_a_table_without_its_bookkeeping_is_passed_over(path):
    change(path, "alter table depths drop column _extra", "alter table audit drop column at")
    saved = salvage(path)
    assert counts(saved) == {name: n for name, n in COUNTS.items() if name != "depths"}
    assert saved.history.empty


def test_a_file_of_the_first_version_has_no_digests_and_is_believed(path):
    change(path, "alter table depths drop column _digest")
    assert counts(salvage(path)) == COUNTS


@pytest.mark.parametrize("kind", ["text", "other", "none", "view"])
def test_what_is_no_logbook_has_nothing_to_save(tmp_path, kind):
    path = tmp_path / "book.sqlite"
    if kind == "text":
        path.write_text("no database at all, but long enough to be read as if it were one" * 50)
    elif kind != "none":
        with contextlib.closing(sqlite3.connect(path)) as connection:
            connection.execute(
                "create table other (x)" if kind == "other" else "create view depths as select 1 as _row"
            )
    saved = salvage(path)
    assert (saved.texts, saved.unread) == ({}, 0)
    assert saved.damaged.empty
    assert saved.history.empty


def test_a_page_that_lies_twice_gives_its_records_once(path, monkeypatch):
    rows = module._rows

    def twice(connection, table, key):
        names, records, lost = rows(connection, table, key)
        return names, records + records, lost

    monkeypatch.setattr(module, "_rows", twice)
    assert counts(salvage(path)) == COUNTS


class Torn:
    """A connection on which some rows cannot be read; ``said`` is what reading them raises."""

    def __init__(self, rows, torn, said=sqlite3.DatabaseError):
        self.rows, self.torn, self.said = sorted(rows), torn, said

    def execute(self, sql, arguments=(None,)):
        self.description = [("_row",), ("word",)]
        (last,) = arguments
        if last is None:
            raise (
                self.said("malformed")
                if self.said is sqlite3.DatabaseError
                else self.said("utf-8", b"", 0, 1, "")
            )
        later = [row for row in self.rows if row > last]
        if later and later[0] in self.torn:
            raise sqlite3.DatabaseError("malformed")
        self.found = (later[0], f"word {later[0]}") if later else None
        return self

    def fetchone(self):
        return self.found


@pytest.mark.parametrize("said", [sqlite3.DatabaseError, UnicodeDecodeError])
def test_rows_beside_those_that_cannot_be_read_are_found_one_by_one(said):
    names, out, lost = module._rows(Torn([2, 3, 4, 5, 8], {4, 5}, said), "depths", "_row")
    assert names == ["_row", "word"]
    assert [row[0] for row in out] == [2, 3, 8]
    assert lost == 2  # after 3, and after 4


def test_a_search_for_rows_comes_to_an_end(monkeypatch):
    monkeypatch.setattr(module, "_TRIES", 7)
    _, out, lost = module._rows(Torn([2, 50], {50}), "depths", "_row")
    assert [row[0] for row in out] == [2]
    assert lost == 7


def test_a_torn_page_loses_its_own_rows(path, monkeypatch):
    monkeypatch.setattr(module, "_TRIES", 500)
    # The largest table lies on several pages: one of its leaves is written over.
    data = bytearray(path.read_bytes())
    size = int.from_bytes(data[16:18], "big")
    leaves = [
        at
        for at in range(size, len(data), size)
        if data[at] == 13 and data[at : at + size].count(b"outer") > 3
    ]
    data[leaves[1]:leaves[1] + 8] = b"\xff" * 8  # fmt: skip
    path.write_bytes(data)
    saved = salvage(path)
    assert saved.unread > 0
    assert 0 < counts(saved)["depths"] < 72
    assert counts(saved)["tires"] == 8
    assert saved.damaged.empty
