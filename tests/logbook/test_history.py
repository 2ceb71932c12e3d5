"""Changes to a logbook file as people read them, from entries of a history made by hand."""

import json

import pandas as pd
import pytest

from tests.logbook.folders import folder
from tirelife.errors import InputError
from tirelife.logbook import history
from tirelife.logbook.convert import convert_logbook
from tirelife.logbook.history import logbook_changes, untrue
from tirelife.logbook.refused import Refused


@pytest.fixture
def changes(monkeypatch, tmp_path):
    """Changes that a history of (action, record, sealed) makes."""
    path = tmp_path / "logbook.sqlite"
    path.write_bytes(b"SQLite format 3\x00")

    def told(*entries):
        rows = [
            {"id": i, "at": f"2025-01-0{i}", "action": action, "table": "tires", "row": i,
             "record": record if isinstance(record, str) else json.dumps(record), "sealed": sealed}
            for i, (action, record, sealed) in enumerate(entries, 1)
        ]  # fmt: skip
        frame = pd.DataFrame(rows, columns=["id", "at", "action", "table", "row", "record", "sealed"])
        monkeypatch.setattr(history, "audit", lambda path: frame)
        return logbook_changes(path)

    return told


def test_what_came_in_is_told_without_blanks_and_bookkeeping(changes):
    out = changes(("insert", {"tire_id": "T1", "size": None, "_visit": 3}, True))
    assert list(out) == ["at", "deed", "table", "row", "before", "after", "by"]
    (one,) = out.to_dict("records")
    assert (one["at"], one["deed"], one["table"], one["row"]) == ("2025-01-01", "insert", "tires", 1)
    assert (one["before"], one["after"], one["by"]) == (None, {"tire_id": "T1"}, "tirelife")


def test_a_change_tells_the_columns_that_changed_before_and_after(changes):
    before = {"tire_id": "T1", "tire_line": "A", "size": None, "_as_written": "{}"}
    after = {"tire_id": "T1", "tire_line": "B", "size": "195", "_as_written": None}
    out = changes(("insert", {"tire_id": "T0"}, True), ("before", before, True), ("change", after, True))
    assert out["deed"].tolist() == ["insert", "change"]
    assert out["before"].iloc[1] == {"tire_line": "A", "size": None}
    assert out["after"].iloc[1] == {"tire_line": "B", "size": "195"}


@pytest.mark.parametrize("deed", ["supersede", "withdraw"])
def test_what_goes_out_of_use_was_and_is_no_more(changes, deed):
    (one,) = changes((deed, {"tire_id": "T1", "_superseded_by": 4}, True)).to_dict("records")
    assert (one["before"], one["after"]) == ({"tire_id": "T1"}, None)


def test_who_made_a_change_is_told_since_the_last_import(changes):
    one = {"tire_id": "T1"}
    out = changes(
        ("insert", one, False), ("import", one, True), ("insert", one, False), ("import", one, True),
        ("insert", one, False), ("insert", one, True),
    )  # fmt: skip
    assert out["by"].tolist() == ["", "", "", "tirelife", "another program", "tirelife"]
    assert changes(("insert", one, False))["by"].tolist() == ["another program"]


@pytest.mark.parametrize("text", ["no json", "[1]", "3"])
def test_a_record_that_cannot_be_read_is_told_as_it_stands(changes, text):
    assert changes(("insert", text, True))["after"].tolist() == [{"text": text}]


def test_no_entries_are_no_changes(changes):
    out = changes()
    assert out.empty
    assert str(out["row"].dtype) == "Int64"


def test_a_file_or_the_folder_it_lies_in_has_a_history_and_nothing_else_has(tmp_path):
    convert_logbook(folder(tmp_path / "book"), tmp_path / "logbook.sqlite")
    for path in (tmp_path, tmp_path / "logbook.sqlite"):
        assert logbook_changes(path)["deed"].tolist() == ["import"]
        assert untrue(path).empty
    for path in (tmp_path / "book", tmp_path / "none.sqlite"):
        for call in (logbook_changes, untrue):
            with pytest.raises(InputError) as caught:
                call(path)
            assert caught.value.problems[0].code == Refused.NO_HISTORY
