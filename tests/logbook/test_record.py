"""A visit is checked before it is written, and written whole or not at all; nothing is ever deleted."""

import json
import sqlite3

import pandas as pd
import pytest

from tests.logbook.folders import TABLES, folder, swap
from tirelife.errors import InputError
from tirelife.language import worded
from tirelife.logbook import Found, Slip, read_logbook, to_problems
from tirelife.logbook import store as module
from tirelife.logbook.codes import ODOMETER_ASKED, ODOMETER_UNUSED
from tirelife.logbook.convert import convert_logbook, create_logbook
from tirelife.logbook.record import Visit, correct_record, record_visit, withdraw_record
from tirelife.logbook.store import audit

PLACES = ("LF", "RF", "LR", "RR")


@pytest.fixture
def store(tmp_path):
    convert_logbook(folder(tmp_path / "book"), tmp_path / "logbook.sqlite")
    return tmp_path / "logbook.sqlite"


def visit(**changes):
    seen = {
        "vehicle_id": "V1", "date": "2025-09-10", "odometer": "13000",
        "depths": [("LF", "outer", "8", ""), ("LF", "center", "8.0", "2")],
        "pressures": [("LF", "31", "33")], "gauge_id": "D1", "note": "before winter",
    }  # fmt: skip
    return Visit(**{**seen, **changes})


def said(frame):
    return [str(problem) for problem in to_problems(frame)]


def test_a_visit_is_written_and_read_back(store):
    done = record_visit(store, visit())
    assert done.written
    assert done.visit == 1
    assert done.doubts.empty
    book = read_logbook(store)
    new = book.depths.iloc[-2:]
    assert new[["position", "groove", "gauge_id"]].to_numpy().tolist() == [
        ["LF", "outer", "D1"],
        ["LF", "center", "D1"],
    ]
    assert new["depth_mm"].tolist() == [6.35, 6.35]
    assert new["spot"].iloc[1] == 2
    assert book.pressures["set_to_kpa"].item() == pytest.approx(33 * 6.894757293168361)
    assert book.as_of == pd.Timestamp("2025-09-10")
    history = audit(store)
    assert history["action"].tolist() == ["import", "visit", "insert", "insert", "insert"]
    assert json.loads(history["record"].iloc[2])["depth_32nds"] == 8
    with sqlite3.connect(store) as connection:
        assert connection.execute("select visit, note from visits").fetchall() == [(1, "before winter")]


def test_old_and_new_readings_stand_side_by_side(store):
    changes = record_visit(store, visit(), trial=True).changes
    assert list(changes) == [
        "what",
        "position",
        "groove",
        "tire_id",
        "last_date",
        "before",
        "now",
        "change",
        "unit",
    ]
    assert changes.iloc[0].tolist() == ["depth", "LF", "outer", "T1", "2025-07-10", 8.5, 8.0, -0.5, "32nds"]
    assert changes.iloc[2][["what", "now", "unit"]].tolist() == ["pressure", 31.0, "psi"]
    assert changes["before"].isna().tolist() == [False, False, True]
    assert len(read_logbook(store).depths) == 72


ERRORS = {
    "no number": ({"depths": [("LF", "outer", "x", "")]}, "this visit, column depth_32nds of LF outer: is not a number (found 'x'). Write digits, with a point for decimals, such as 7.5."),
    "no vehicle": ({"vehicle_id": "V3"}, "this visit, column vehicle_id: is not in vehicles (found 'V3'). A vehicle that is new to the logbook needs its drive and placards."),
    "no position": ({"depths": [("FL", "outer", "8", "")]}, "this visit, column position of FL outer: is not one of LF, RF, LR, RR, SP (found 'FL'). Write LF."),
    "no tire": ({"mounts": [("T99", "LF")], "depths": []}, "this visit, column tire_id of T99 LF: is not in tires (found 'T99'). Correct it, or add it to tires."),
    "no day": ({"date": "10/09/2025", "pressures": [], "depths": [("LF", "outer", "8", "")]}, "this visit, column date of LF outer: is not a date as YYYY-MM-DD (found '10/09/2025'). Write 2025-09-10 if the day comes first, or 2025-10-09 if the month does."),
    "a place taken": ({"mounts": [("T8", "LF")], "depths": [], "pressures": []}, "this visit, column tire_id of T8 LF: is in two places (found 'T8'). It is still at RR of V2: add a row that takes it OFF there."),
    "nothing": ({"depths": [], "pressures": [], "odometer": " "}, "this visit: holds nothing. Give an odometer, depths or pressures."),
}  # fmt: skip


@pytest.mark.parametrize("case", ERRORS)
def test_an_error_writes_nothing(case, store):
    changes, message = ERRORS[case]
    with pytest.raises(InputError) as caught:
        record_visit(store, visit(**changes), accept_doubts=True)
    assert str(caught.value) == message
    assert len(audit(store)) == 1


DOUBTS = {
    "growing": ({"depths": [("LF", "outer", "10", "")]}, "this visit, column depth_32nds of LF outer: the depth grows (found '10'). It read 8.5 before. Check the position and the reading; it is kept and flagged."),
    "falling": ({"depths": [("LF", "outer", "4", "")]}, "this visit, column depth of LF outer: has fallen faster than tires wear (found '4'). It read 8.5 on 2025-07-10. Read it again."),
    "ahead": ({"date": "2925-09-10"}, "this visit, column date: is in the future (found '2925-09-10'). Correct the date."),
    "odometer": ({"odometer": "1300", "depths": [("LF", "outer", "8", "")]}, "this visit, column odometer_mi of LF outer: the odometer goes back (found '1300'). It reads 10000 before. If the instrument was replaced, add the old one's last reading to each new one. Correct it, or its date, if it is a slip; until then the line between the readings around it counts."),
    "pressure in bar": ({"pressures": [("LF", "2.2", "")]}, "this visit, column pressure_psi of LF: may be in bar (found '2.2'). As bar it would be 31.91 psi. Was it typed in bar?"),
}  # fmt: skip


@pytest.mark.parametrize("case", DOUBTS)
def test_a_doubt_waits_for_a_yes(case, store):
    changes, message = DOUBTS[case]
    done = record_visit(store, visit(**changes))
    assert not done.written
    assert done.visit is None
    assert message in said(done.doubts)
    assert len(audit(store)) == 1
    assert record_visit(store, visit(**changes), accept_doubts=True).written
    assert len(audit(store)) > 1


def test_a_steady_loss_is_no_doubt(store):
    assert record_visit(store, visit(depths=[("LF", "outer", "7", "")])).written


def test_the_same_visit_twice_is_asked_about(store):
    depths = [(place, groove, "8", "") for place in PLACES for groove in ("outer", "center", "inner")]
    assert record_visit(store, visit(depths=depths)).written
    again = record_visit(store, visit(depths=depths))
    assert not again.written
    assert set(worded(again.doubts)["what"]) == {"stands twice"}


def test_an_odometer_alone_is_a_visit(store):
    assert record_visit(store, visit(depths=[], pressures=[])).written
    assert read_logbook(store).tables["odometer"]["odometer_km"].tolist() == [13000 * 1.609344]


def test_tires_changed_at_a_visit(store):
    changed = visit(
        depths=[], pressures=[], new_tires=[("T20", "Line B", "11")], mounts=[("T1", "OFF"), ("T20", "LF")]
    )
    assert record_visit(store, changed).written
    book = read_logbook(store)
    assert book.problems.empty
    assert book.stretches.query("open and vehicle_id == 'V1' and position == 'LF'")["tire_id"].item() == "T20"


def test_a_begun_logbook_grows_from_nothing(tmp_path):
    create_logbook(tmp_path / "new.sqlite", "metric")
    tires = [(f"N{i}", "Line A", "8") for i in range(4)]
    first = Visit(
        "CAR", "2025-01-02", "15", new_vehicle=("front", "230", "230"), new_tires=tires,
        mounts=[(f"N{i}", place) for i, place in enumerate(PLACES)],
        depths=[(place, "center", "8.0", "") for place in PLACES],
    )  # fmt: skip
    assert record_visit(tmp_path / "new.sqlite", first).written
    book = read_logbook(tmp_path / "new.sqlite")
    assert book.units == "metric"
    assert book.problems.empty
    assert book.depths["depth_mm"].tolist() == [8.0] * 4


def test_a_correction_supersedes_and_keeps_the_old(store):
    row = int(read_logbook(store).depths["row"].iloc[-1])
    assert correct_record(store, "depths", row, {"depth_32nds": "8.4"}).written
    book = read_logbook(store)
    assert len(book.depths) == 72
    assert row not in book.depths["row"].tolist()
    assert book.depths["depth_mm"].iloc[-1] == pytest.approx(8.4 * 0.79375)
    history = audit(store)
    assert history["action"].tolist() == ["import", "insert", "supersede"]
    assert json.loads(history["record"].iloc[-1])["depth_32nds"] == 8.5
    with pytest.raises(InputError, match=rf"logbook\.sqlite: depths, row {row}: is no current record\."):
        correct_record(store, "depths", row, {"depth_32nds": "8.4"})


def test_a_correction_is_checked_like_a_visit(store):
    with pytest.raises(InputError, match=r"column depth_32nds of RR inner: is not a number \(found 'x'\)"):
        correct_record(store, "depths", 73, {"depth_32nds": "x"})
    with pytest.raises(
        InputError, match=r"depths, column depth: is no column\. Its columns are date, odometer_mi"
    ):
        correct_record(store, "depths", 73, {"depth": "7"})
    with pytest.raises(InputError, match="is no table of a logbook"):
        correct_record(store, "readings", 73, {"depth": "7"})
    assert not correct_record(store, "depths", 73, {"depth_32nds": "12"}).written
    assert len(audit(store)) == 1


def test_vehicles_and_tires_are_changed_in_place_with_a_history(store):
    assert correct_record(store, "tires", 2, {"tire_line": "Line Z", "made_week": "0824"}).written
    assert read_logbook(store).tires["tire_line"].iloc[0] == "Line Z"
    history = audit(store)
    assert [json.loads(r)["tire_line"] for r in history["record"].iloc[1:]] == ["Line A", "Line Z"]
    with pytest.raises(InputError, match="it cannot be withdrawn"):
        withdraw_record(store, "tires", 2)


def test_a_record_is_withdrawn_not_deleted(store):
    assert withdraw_record(store, "depths", 73).written
    assert len(read_logbook(store).depths) == 71
    assert audit(store)["action"].tolist() == ["import", "withdraw"]
    with pytest.raises(InputError, match="goes where another tire is"):
        record_visit(store, visit(mounts=[("T1", "SP"), ("T2", "SP")], depths=[]))


def test_a_mount_that_others_rest_on_is_not_withdrawn_unasked(store):
    done = withdraw_record(store, "mounts", 2)
    assert not done.written
    assert set(worded(done.doubts)["what"]) == {"no tire is mounted there"}


def test_a_folder_and_a_missing_file_are_told_apart(store, tmp_path):
    with pytest.raises(
        InputError, match=r"book: is a folder of tables\. Make one file of it first: tirelife convert "
    ):
        record_visit(tmp_path / "book", visit())
    with pytest.raises(
        InputError,
        match=r"none\.sqlite: is not there\. Make one with: tirelife convert FOLDER logbook\.sqlite\.",
    ):
        record_visit(tmp_path / "none.sqlite", visit())


def test_a_busy_file_is_one_clear_error(store, monkeypatch):
    monkeypatch.setattr("tirelife.logbook.store._BUSY_S", 0.05)
    with sqlite3.connect(store, isolation_level=None) as other:
        other.execute("begin immediate")
        with pytest.raises(
            InputError, match=r"is busy: somebody else is writing\. Try again; nothing was written"
        ):
            record_visit(store, visit())
        other.execute("rollback")
    other.close()
    assert record_visit(store, visit()).written


def _fill(connection, path):
    with module.store_errors(path):
        connection.execute("begin immediate")
        for i in range(10_000):
            connection.execute("insert into visits (at, note) values ('now', ?)", (f"{i:0500}",))


def test_a_full_disk_leaves_what_was_there(store):
    # A page limit fails as a full disk does (SQLITE_FULL), at the same places.
    with module.connect(store, write=True) as connection:
        pages = connection.execute("pragma page_count").fetchone()[0]
        connection.execute(f"pragma max_page_count={pages}")
        with pytest.raises(InputError, match="no space left on the disk"):
            _fill(connection, store)
        if connection.in_transaction:
            connection.execute("rollback")
    assert len(read_logbook(store).depths) == 72


def test_visits_of_a_spoilt_chain_are_checked_against_other_vehicles(store):
    moved = visit(depths=[], pressures=[], mounts=[("T1", "OFF"), ("T5", "LF")])
    with pytest.raises(InputError, match="It is still at LF of V2"):
        record_visit(store, moved)
    assert record_visit(
        store, visit(vehicle_id="V2", date="2025-09-09", depths=[], pressures=[], mounts=[("T5", "OFF")])
    ).written
    assert record_visit(store, moved).written


def test_unknown_columns_survive_a_visit_and_a_correction(tmp_path):
    text = TABLES["depths"].split("\n")
    text = "\n".join([text[0] + ",weather", *(line + ",dry" for line in text[1:-1])])
    convert_logbook(
        folder(tmp_path / "book", depths=text, tires=swap("tires", "Line A", "A")), tmp_path / "a.sqlite"
    )
    record_visit(tmp_path / "a.sqlite", visit())
    correct_record(tmp_path / "a.sqlite", "depths", 73, {"weather": "wet"})
    weather = read_logbook(tmp_path / "a.sqlite").depths["weather"]
    assert weather.tolist() == ["dry"] * 71 + ["", "", "wet"]


@pytest.mark.parametrize("odometer", ["43000", "987654"])  # a digit off by the pace; faster than cars go
def test_an_odometer_that_was_read_again_and_stands_is_used(store, tmp_path, odometer):
    mile = 1.609344
    asked = record_visit(store, visit(odometer=odometer))
    assert not asked.written
    assert set(asked.doubts["code"]) <= {*ODOMETER_ASKED, *Slip, Found.FALLS_FAST}
    assert asked.doubts["code"].isin(ODOMETER_ASKED).any()
    assert record_visit(store, visit(odometer=odometer), accept_doubts=True).written
    book = read_logbook(store)
    assert book.odometer["odometer_km"].max() == pytest.approx(float(odometer) * mile)
    assert not book.problems["code"].isin(ODOMETER_UNUSED).any()
    later = visit(odometer=str(int(odometer) + 600), date="2025-09-30", depths=[], pressures=[])
    assert record_visit(store, later).written
    convert_logbook(store, tmp_path / "tables")
    again = read_logbook(tmp_path / "tables")
    assert again.odometer.equals(read_logbook(store).odometer)
    assert not again.problems["code"].isin(ODOMETER_UNUSED).any()


def test_a_doubted_odometer_of_a_log_is_used_once_it_says_that_it_was_read_again(tmp_path):
    book = folder(tmp_path / "book", odometer="date,vehicle_id,odometer_mi\n2025-09-10,V1,43000\n")
    convert_logbook(book, tmp_path / "own.sqlite")
    held = read_logbook(tmp_path / "own.sqlite")
    at = held.tables["odometer"]
    row = int(at.loc[at["codes"] != "", "row"].item())
    assert held.odometer["odometer_km"].max() < 43000
    correct_record(tmp_path / "own.sqlite", "odometer", row, {"odometer_read_again": "yes"})
    used = read_logbook(tmp_path / "own.sqlite")
    assert used.odometer["odometer_km"].max() == pytest.approx(43000 * 1.609344)
    with pytest.raises(InputError, match="is no column"):
        correct_record(tmp_path / "own.sqlite", "tires", 2, {"odometer_read_again": "yes"})


def test_an_odometer_that_goes_back_is_not_used_whoever_stands_by_it(store):
    back = visit(odometer="1300", depths=[], pressures=[])
    assert record_visit(store, back, accept_doubts=True).written
    book = read_logbook(store)
    assert pd.Timestamp("2025-09-10") not in set(book.odometer["date"])
    assert Found.ODOMETER_BACK in set(book.problems["code"])
