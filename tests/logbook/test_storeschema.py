"""What the tables of a logbook file take, what they write into the history, and which files are refused."""

import contextlib
import json
import sqlite3
from pathlib import Path

import pytest

from tirelife.errors import InputError
from tirelife.logbook.refused import NoStore
from tirelife.logbook.schema import SCHEMA
from tirelife.logbook.storeschema import (
    APPLICATION,
    KEYED,
    STORED,
    US,
    VERSION,
    columns_of,
    create_tables,
    quoted,
    require_schema,
    stored_columns,
    watch,
)


@pytest.fixture
def file():
    with contextlib.closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        connection.execute("pragma foreign_keys=on")
        columns = {table: stored_columns(table, US) for table in STORED}
        create_tables(connection, columns)
        watch(connection, columns)
        connection.execute(
            "insert into vehicles (vehicle_id, drive, placard_front_psi) values ('V1', 'front', 33)"
        )
        connection.execute("insert into tires (tire_id, tire_line) values ('T1', 'Line A')")
        yield connection


def put(file, table, **values):
    names = ", ".join(map(quoted, values))
    marks = ", ".join("?" * len(values))
    file.execute(f"insert into {table} ({names}) values ({marks})", list(values.values()))


DEPTH = {"date": "2025-01-31", "odometer_mi": 1000.0, "vehicle_id": "V1", "position": "LF", "groove": "outer",
         "depth_32nds": 9.5}  # fmt: skip


def test_a_name_is_quoted_as_sql_takes_it(file):
    assert file.execute(f"select 1 as {quoted('a b')}").description[0][0] == "a b"
    assert file.execute(f"select 1 as {quoted(chr(34) + 'x')}").description[0][0] == '"x'


def test_trips_stay_outside_and_all_else_is_held():
    assert set(SCHEMA) - set(STORED) == {"trips"}
    assert int.from_bytes(b"tire", "big") == APPLICATION


def test_columns_are_stored_in_the_units_asked_for_by_column_before_kind():
    names = stored_columns("depths", US)
    assert {"odometer_mi", "depth_32nds", "apart_32nds", "date", "spot"} <= set(names)
    own = stored_columns("depths", {"apart": "mils", "depth": "in"})
    assert {"apart_mils", "depth_in", "odometer_km"} <= set(own)
    assert "ambient_f" in stored_columns("pressures", US)
    assert names["depth_32nds"].kind == "depth"


def test_columns_are_known_in_any_unit_and_others_are_not(file):
    assert list(columns_of(file, "vehicles"))[:3] == ["vehicle_id", "drive", "placard_front_psi"]
    with contextlib.closing(sqlite3.connect(":memory:")) as other:
        other.execute("create table tires (new_depth_in real, tire_id text, size_mm real, _row integer)")
        assert list(columns_of(other, "tires")) == ["new_depth_in", "tire_id"]


def test_a_file_says_whose_it_is_and_of_which_version(file):
    assert file.execute("pragma application_id").fetchone()[0] == APPLICATION
    assert file.execute("pragma user_version").fetchone()[0] == VERSION


def test_records_of_a_vehicle_are_found_by_their_day(file):
    for table, day in (("depths", "date"), ("habits", "from_date")):
        assert [row[2] for row in file.execute(f"pragma index_info({table}_vehicle)")] == ["vehicle_id", day]
    assert [row[2] for row in file.execute("pragma index_info(mounts_tire)")] == ["tire_id"]
    assert not file.execute("pragma index_info(vehicles_vehicle)").fetchall()


def test_a_sound_record_is_taken(file):
    put(file, "depths", **DEPTH)
    put(file, "depths", **DEPTH | {"spot": 2, "probability": 0.5})
    assert file.execute("select count(*) from depths").fetchone() == (2,)


# The widest that a reading may be is 40 mm (50.4 thirty-seconds), an odometer 5,000,000 km (3,106,855.96 miles).
@pytest.mark.parametrize(
    ("column", "value", "taken"),
    [
        ("depth_32nds", 0.0, True), ("depth_32nds", -0.001, False),
        ("depth_32nds", 40 / 0.79375, True), ("depth_32nds", 40.01 / 0.79375, False),
        ("odometer_mi", 5_000_000 / 1.609344, True), ("odometer_mi", 5_000_001 / 1.609344, False),
        ("depth_32nds", "deep", False), ("depth_32nds", None, False),
        ("position", "LF", True), ("position", "SP", True), ("position", "OFF", False), ("position", "lf", False), ("position", None, False),
        ("groove", "middle", False),
        ("date", "2025-02-28", True), ("date", "2025-02-32", False), ("date", "2025-13-01", False),
        ("date", "2025-02-29", False), ("date", "2024-02-29", True), ("date", "2025-04-31", False),
        ("date", "25-01-01", False), ("date", "2025-1-1", False), ("date", "2025-01-01T10:00", False),
        ("date", None, False),
        ("vehicle_id", "V2", False), ("vehicle_id", None, False),
        ("spot", 1, True), ("spot", 0, False), ("spot", 100, True), ("spot", 101, False), ("spot", 1.5, False),
        ("spot", None, True),
        ("probability", 1.0, True), ("probability", 1.001, False), ("gauge_id", None, True),
        ("_as_written", '{"depth_32nds": "9.50"}', True), ("_as_written", "no json", False),
        ("_extra", "no json", False), ("_visit", 7, False),
    ],
)  # fmt: skip
def test_what_a_record_may_hold(file, column, value, taken):
    record = DEPTH | {column: value}
    if taken:
        put(file, "depths", **record)
    else:
        with pytest.raises(sqlite3.IntegrityError):
            put(file, "depths", **record)


@pytest.mark.parametrize("name", ["", "V1", None])
def test_a_key_is_not_blank_and_not_there_twice(file, name):
    with pytest.raises(sqlite3.IntegrityError):
        put(file, "vehicles", vehicle_id=name)


def test_limits_hold_whatever_the_unit():
    with contextlib.closing(sqlite3.connect(":memory:")) as metric:
        create_tables(metric, {table: stored_columns(table, {}) for table in STORED})
        put(metric, "vehicles", vehicle_id="A", placard_front_kpa=50.0)
        for kpa in (49.9, 1000.1):
            with pytest.raises(sqlite3.IntegrityError):
                put(metric, "vehicles", vehicle_id="B", placard_front_kpa=kpa)
        put(metric, "vehicles", vehicle_id="B", placard_front_kpa=1000.0)


def history(file):
    rows = file.execute('select action, "table", "row", record from audit order by id').fetchall()
    return [(action, table, row, json.loads(record)) for action, table, row, record in rows][2:]


def test_every_record_goes_into_the_history_with_its_time(file):
    put(file, "depths", **DEPTH, _extra='{"colour": "red"}', _digest="d")
    ((action, table, row, record),) = history(file)
    assert (action, table, row) == ("insert", "depths", 1)
    assert {name: record[name] for name in DEPTH} == DEPTH
    assert record["_extra"] == '{"colour": "red"}'
    at, digest = file.execute("select at, digest from audit order by id desc").fetchone()
    assert digest == "d"
    assert len(at) == len("2025-01-01T00:00:00.000Z")
    assert at == file.execute("select strftime('%Y-%m-%dT%H:%M:%fZ', ?)", [at]).fetchone()[0]


def test_a_vehicle_or_a_tire_is_changed_in_its_place_and_both_states_are_kept(file):
    file.execute("update tires set tire_line = 'Line B'")
    assert [(action, table, record["tire_line"]) for action, table, _, record in history(file)] == [
        ("before", "tires", "Line A"), ("change", "tires", "Line B"),
    ]  # fmt: skip


@pytest.mark.parametrize(("by", "deed"), [(2, "supersede"), (-1, "withdraw")])
def test_a_record_goes_out_of_use_and_is_not_overwritten(file, by, deed):
    put(file, "depths", **DEPTH)
    file.execute("update depths set _superseded_by = ?", [by])
    action, table, row, record = history(file)[-1]
    assert (action, table, row, record["_superseded_by"]) == (deed, "depths", 1, by)
    for change in ("depth_32nds = 8", "_row = 9", "_digest = 'x'", "_as_written = '{}'"):
        with pytest.raises(sqlite3.IntegrityError, match="is not overwritten"):
            file.execute(f"update depths set {change}")


@pytest.mark.parametrize("table", [*KEYED, "depths"])
def test_nothing_is_deleted(file, table):
    put(file, "depths", **DEPTH)
    with pytest.raises(sqlite3.IntegrityError, match="nothing is deleted"):
        file.execute(f"delete from {table}")


@pytest.mark.parametrize("table", ["audit", "visits", "tables"])
def test_the_history_itself_is_not_changed(file, table):
    put(file, "visits", at="2025-01-01", note="seen")
    put(file, "tables", name="depths", header="[]", present=1)
    column = {"audit": "record", "visits": "note", "tables": "header"}[table]
    for change in (f"delete from {table}", f"update {table} set {column} = 'x'"):
        with pytest.raises(sqlite3.IntegrityError, match=f"{table} is not changed"):
            file.execute(change)


def test_a_visit_goes_into_the_history():
    with contextlib.closing(sqlite3.connect(":memory:", isolation_level=None)) as file:
        columns = {table: stored_columns(table, US) for table in STORED}
        create_tables(file, columns)
        watch(file, columns)
        put(file, "visits", visit=3, at="2025-01-01", note="é")
        row = file.execute('select action, "table", "row", record from audit').fetchone()
        assert row[:3] == ("visit", "visits", 3)
        assert json.loads(row[3]) == {"at": "2025-01-01", "note": "é"}


def test_a_seal_is_set_once_and_alone(file):
    file.execute("update audit set seal = 's' where id = 1")
    for change in (
        "seal = 't' where id = 1",
        "seal = 's', action = 'x' where id = 2",
        "seal = null where id = 1",
    ):
        with pytest.raises(sqlite3.IntegrityError, match="audit is not changed"):
            file.execute(f"update audit set {change}")


def refused(file, version=VERSION):
    with pytest.raises(InputError) as caught:
        require_schema(file, Path("logbook.sqlite"), version)
    (problem,) = caught.value.problems
    return problem.code, dict(problem.values).get("name")


def test_a_file_with_these_tables_alone_is_taken(file):
    require_schema(file, Path("logbook.sqlite"), VERSION)


@pytest.mark.parametrize(
    ("sql", "code", "name"),
    [
        ("create view more as select 1", NoStore.VIEW, "more"),
        ("drop table audit", NoStore.LACKS_TABLE, "audit"),
        ("create table more (x)", NoStore.MORE_TABLES, "more"),
        ("drop table audit; create virtual table audit using fts5(x)", NoStore.MORE_TABLES, "audit_config"),
        ("alter table depths add column more text", NoStore.COLUMNS, "depths"),
        ("alter table depths add column gauge_nr text", NoStore.COLUMNS, "depths"),
        ("alter table depths add column depth_mm real", NoStore.COLUMNS, "depths"),  # the depth twice
        ("alter table tires add column more real generated always as (new_depth_32nds)", NoStore.COLUMNS, "tires"),
        ("drop trigger depths_in; drop trigger depths_over; drop trigger depths_out; "
         "alter table depths drop column groove", NoStore.COLUMNS, "depths"),
        ("drop trigger tires_change", NoStore.LACKS, "tires_change"),
        ("drop index mounts_tire", NoStore.LACKS, "mounts_tire"),
        ("create trigger own after insert on tires begin select 1; end", NoStore.MORE, "own"),
        ("create index own on depths (groove)", NoStore.MORE, "own"),
        ("drop trigger tires_in; create trigger tires_in after insert on tires begin select 1; end",
         NoStore.OTHER, "tires_in"),
    ],
)  # fmt: skip
def test_a_file_with_more_less_or_other_is_refused_by_name(file, sql, code, name):
    file.executescript(sql)
    assert refused(file) == (code, name)


def test_of_a_first_version_file_the_tables_are_looked_at_and_not_what_watches_them(file):
    assert refused(file, version=1)[0] == NoStore.COLUMNS  # it had no digests
    for (name,) in file.execute("select name from sqlite_master where type = 'trigger'").fetchall():
        file.execute(f"drop trigger {name}")
    for table in STORED:
        file.execute(f"alter table {table} drop column _digest")
    require_schema(file, Path("logbook.sqlite"), 1)
    assert refused(file)[0] == NoStore.COLUMNS
