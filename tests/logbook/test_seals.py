"""What is stored rules, every change is seen, and damage is named as damage."""

import contextlib
import sqlite3

import pandas as pd
import pytest

from tests.logbook import damage
from tests.logbook.folders import folder, swap
from tirelife.cli import main
from tirelife.errors import InputError
from tirelife.language import worded
from tirelife.logbook import Visit, check_logbook, correct_record, read_logbook, record_visit
from tirelife.logbook.convert import convert_logbook
from tirelife.logbook.history import logbook_changes, untrue
from tirelife.logbook.seals import record_digest
from tirelife.logbook.store import connect
from tirelife.logbook.storeschema import STORED


@pytest.fixture
def store(tmp_path):
    vehicles = "vehicle_id,drive,placard_front_psi,placard_rear_psi\nV1,front,33.0,33\nV2,rear,35,38\n"
    tires = swap("tires", ",10,", ",10.00,")
    convert_logbook(folder(tmp_path / "book", vehicles=vehicles, tires=tires), tmp_path / "logbook.sqlite")
    return tmp_path / "logbook.sqlite"


def outside(path, sql):
    with contextlib.closing(sqlite3.connect(path)) as connection:
        connection.executescript(sql)


def said(frame):
    return [
        f"{file.split(': ')[-1]} {row} {what}"
        for file, row, what in worded(frame)[["file", "row", "what"]].to_numpy()
    ]


def test_what_is_stored_rules_over_what_was_written(store):
    outside(
        store,
        "update tires set new_depth_32nds = 9 where _row = 2; update vehicles set placard_front_psi = 40 where _row = 2",
    )
    book = read_logbook(store)
    assert book.tires["new_depth_mm"].iloc[:2].tolist() == [9 * 0.79375, 10 * 0.79375]
    assert book.vehicles["placard_front_kpa"].iloc[0] == pytest.approx(40 * 6.894757293168361)
    today = pd.Timestamp.now("UTC").date()
    assert said(book.problems) == [
        f"vehicles 2 was changed by another program on {today}", f"tires 2 was changed by another program on {today}",
    ]  # fmt: skip
    # A cell that nobody changed goes out as it came in.
    convert_logbook(store, store.parent / "back")
    back = (store.parent / "back" / "tires.csv").read_text()
    assert back.split("\n")[1:3] == ["T1,Line A,9,0724", "T2,Line A,10.00,0724"]


def test_a_text_in_a_column_of_decimal_commas_goes_with_its_value(tmp_path):
    depths = swap("depths", "9.5", '"9,5"').replace("9.0", '"9,0"').replace("8.5", '"8,5"')
    convert_logbook(folder(tmp_path / "book", depths=depths), tmp_path / "a.sqlite")
    there = read_logbook(tmp_path / "a.sqlite")
    assert sorted(set(there.depths["depth_mm"] / 0.79375)) == [8.5, 9.0, 9.5]
    assert record_visit(
        tmp_path / "a.sqlite", Visit("V1", "2025-08-01", "10500", [("LF", "outer", "8.4", "")])
    ).written
    assert read_logbook(tmp_path / "a.sqlite").depths["depth_mm"].iloc[-1] == pytest.approx(8.4 * 0.79375)


def test_a_correction_makes_another_programs_change_ones_own(store):
    outside(store, "update tires set new_depth_32nds = 9 where _row = 2")
    assert correct_record(store, "tires", 2, {"tire_line": "Line B"}, accept_doubts=True).written
    assert said(read_logbook(store).problems) == []
    changes = logbook_changes(store)
    assert changes["deed"].tolist()[0] == "import"
    assert changes["by"].tolist()[1] == "another program"
    assert changes.iloc[1][["before", "after"]].tolist() == [
        {"new_depth_32nds": 10.0},
        {"new_depth_32nds": 9.0},
    ]
    assert changes["by"].iloc[-1] == "tirelife"


def test_a_record_written_by_another_program_is_used_and_told(store):
    outside(store, "insert into odometer (date, vehicle_id, odometer_mi) values ('2025-08-01', 'V1', 10500)")
    book = read_logbook(store)
    assert len(book.tables["odometer"]) == 1
    assert any("was written by another program" in line for line in said(book.problems))


@pytest.mark.parametrize("what", damage.FOREIGN)
def test_other_tables_views_and_triggers_are_refused(what, tmp_path):
    path = damage.sound_file(tmp_path)
    assert said(untrue(path)) == []
    damage.tamper(path, what)
    before = path.read_bytes()
    with pytest.raises(
        InputError, match=r"is no logbook as tirelife makes it: it has |is not a logbook of this version"
    ):
        check_logbook(path)
    with pytest.raises(InputError):
        record_visit(path, Visit("V1", "2025-09-01", "12000"), accept_doubts=True)
    assert path.read_bytes()[100:] == before[100:]
    assert main(["check", str(path)]) == main(["audit", str(path)]) == 2


BEHIND = {
    "a record gone": "depths 0 has records that its history does not know, or lacks some",
    "a record changed": "depths 20 does not match its digest: it is damaged, or was changed by other means",
    "a record put in": "odometer 4 does not match its digest: it is damaged, or was changed by other means",
    "a record in use again": "depths 73 is in use, or out of use, and its history says the other",
    "a record out of use": "depths 20 is in use, or out of use, and its history says the other",
    "a header changed": "sound.sqlite 0 has headers or rules that do not match their digest",
    "a visit's note changed": "sound.sqlite 0 has visits that do not match its history",
}


@pytest.mark.parametrize("what", damage.BEHIND)
def test_a_change_behind_the_history_is_an_error(what, tmp_path):
    path = damage.sound_file(tmp_path)
    damage.tamper(path, what)
    assert BEHIND[what] in said(untrue(path).query("not doubt"))
    with pytest.raises(InputError):
        read_logbook(path)
    assert main(["check", str(path)]) == main(["audit", str(path)]) == 2


@pytest.mark.parametrize(
    "sql", ["delete from audit where id = 3", "update audit set record = '{}' where id = 2"]
)
def test_a_damaged_history_is_told_and_the_records_are_used(sql, tmp_path, monkeypatch):
    path = damage.sound_file(tmp_path)
    monkeypatch.setitem(damage.BEHIND, "history", sql)
    damage.tamper(path, "history")
    what = "sound.sqlite 0 has a history that does not match its seals: it is damaged, or was changed by other means"
    assert said(untrue(path)) == [what]
    assert what in said(read_logbook(path).problems)
    assert main(["audit", str(path)]) == 2


def test_a_damaged_record_is_left_out_and_kept_beside(tmp_path, capsys):
    path = damage.sound_file(tmp_path)
    depths = len(read_logbook(path).depths)
    damage.tamper(path, "a record changed")
    with pytest.raises(InputError, match="does not match its digest"):
        convert_logbook(path, tmp_path / "copy.sqlite")
    assert not (tmp_path / "copy.sqlite").exists()
    assert main(["convert", str(path), str(tmp_path / "saved")]) == 0
    assert "1 records are damaged: they stand in damaged.csv, and in no table." in capsys.readouterr().err
    kept = pd.read_csv(tmp_path / "saved" / "damaged.csv")
    assert kept[["table", "row"]].to_numpy().tolist() == [["depths", 20]]
    assert '"depth_32nds": 3.0' in kept["record"].item()
    assert len(read_logbook(tmp_path / "saved").depths) == depths - 1


def test_work_without_end_is_stopped(tmp_path):
    path = damage.sound_file(tmp_path)
    endless = "with recursive t(x) as (select 1 union all select x + 1 from t) select count(*) from t"
    with (
        pytest.raises(InputError, match="takes more work to read than a logbook of its size can"),
        connect(path) as c,
    ):
        c.execute(endless)


def test_a_file_of_the_first_version_is_read_told_and_made_new(tmp_path):
    path = damage.sound_file(tmp_path)
    before = read_logbook(path)
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for (name,) in connection.execute("select name from sqlite_master where type = 'trigger'").fetchall():
            connection.execute(f"drop trigger {name}")
        for table in STORED:
            connection.execute(f"alter table {table} drop column _digest")
        connection.execute("alter table audit drop column digest")
        connection.execute("alter table audit drop column seal")
        connection.execute("delete from audit where action = 'visit'")
        connection.execute("pragma user_version = 1")
    old = read_logbook(path)
    assert (
        said(old.problems)[-1]
        == "sound.sqlite 0 is of an earlier version, without digests: damage cannot be seen"
    )
    pd.testing.assert_frame_equal(old.depths.drop(columns="doubt"), before.depths.drop(columns="doubt"))
    with pytest.raises(
        InputError, match=r"is of an earlier version, and is only read. Make a new one: tirelife convert"
    ):
        record_visit(path, Visit("V1", "2025-09-01", "12000"))
    convert_logbook(path, tmp_path / "new.sqlite")
    assert untrue(tmp_path / "new.sqlite").empty
    assert (
        read_logbook(tmp_path / "new.sqlite").depths["depth_mm"].tolist()
        == before.depths["depth_mm"].tolist()
    )
    assert record_visit(
        tmp_path / "new.sqlite", Visit("V1", "2025-09-01", "12000"), accept_doubts=True
    ).written
    assert "supersede" in logbook_changes(tmp_path / "new.sqlite")["deed"].tolist()


def test_a_digest_depends_on_every_part_of_a_record():
    record = [2, "V1", 9.5, None, None]
    one = record_digest("depths", record)
    others = [
        record_digest("mounts", record),
        *(record_digest("depths", [*record[:i], "x", *record[i + 1 :]]) for i in range(5)),
    ]
    assert len({one, *others}) == 7
    assert one == record_digest("depths", tuple(record))


def test_single_flipped_bits_change_no_answer_unseen(tmp_path):
    counts = damage.flips(25, seed=3, top=tmp_path)
    assert counts["changed unseen"] == 0
    assert counts["refused"] > 3


def test_damaged_files_are_refused_or_saved_in_part(tmp_path):
    counts = damage.damage(20, seed=4, top=tmp_path)
    assert counts["faults"] == counts["records saved that were not there"] == counts["hidden files left"] == 0
    assert counts["check refused"] > 5
    assert counts["saved"] > 3


def test_records_of_a_table_that_lost_a_columns_name_are_not_saved_as_sound(tmp_path):
    path = damage.sound_file(tmp_path)
    data = path.read_bytes()
    at = data.index(
        b"create table odometer" if b"create table odometer" in data else b"CREATE TABLE odometer"
    )
    end = data.index(b'"odometer_mi"', at)
    path.write_bytes(data[:end] + data[end:].replace(b'"odometer_mi"', b'"odometer_mh"', 1))
    with pytest.raises(InputError):
        read_logbook(path)
    convert_logbook(path, tmp_path / "saved")
    assert not (tmp_path / "saved" / "odometer.csv").exists()
    assert set(pd.read_csv(tmp_path / "saved" / "damaged.csv")["table"]) == {"odometer"}


def test_records_of_a_table_whose_optional_columns_name_is_damaged_are_not_saved_as_sound(tmp_path):
    path = damage.sound_file(tmp_path)
    data = path.read_bytes()
    at = data.lower().index(b"create table tires")
    path.write_bytes(data[:at] + data[at:].replace(b'"made_week"', b'"made_wees"', 1))
    convert_logbook(path, tmp_path / "saved")
    assert not (tmp_path / "saved" / "tires.csv").exists()
    assert set(pd.read_csv(tmp_path / "saved" / "damaged.csv")["table"]) == {"tires"}


def test_a_thousand_flipped_bits_were_tried_and_none_changed_an_answer_unseen():
    counts = pd.read_csv(damage.__file__.replace("logbook/damage.py", "benchmarks/results.csv"))
    counts = counts[counts["benchmark"] == "damage"].set_index("name")["figure"]
    assert counts["flips: flips"] >= 1000
    assert counts["flips: changed unseen"] == 0
