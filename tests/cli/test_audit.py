"""``tirelife audit``: what changed since a day, and whether all is as it was written."""

import json
from types import SimpleNamespace

import pandas as pd
import pytest

from tirelife.cli import audit, main


@pytest.fixture
def made(monkeypatch):
    """A history of two changes, and what is found wrong with it."""
    changes = pd.DataFrame(
        {
            "at": ["2026-03-13T09:00:00Z", "2026-03-14T09:00:00Z"], "deed": "insert", "table": "depths", "row": [1, 2],
            "before": None, "after": [{"depth_mm": 5}, None], "by": "tirelife",
        }
    )  # fmt: skip
    found = SimpleNamespace(wrong=[])

    def untrue(path):
        return pd.DataFrame(found.wrong, columns=["doubt", "row"]).astype({"doubt": bool, "row": int})

    rooms = SimpleNamespace(
        logbook_changes=lambda path: changes,
        untrue=untrue,
        to_problems=lambda wrong: [f"row {n}" for n in wrong["row"]],
    )
    monkeypatch.setattr(audit, "logbook", rooms)
    return found


def test_changes_from_a_day_on_are_told_that_day_with_them(made, capsys):
    assert main(["audit", "book.sqlite", "--since", "2026-03-14"]) == 0
    told = capsys.readouterr()
    assert "2026-03-14" in told.out
    assert "2026-03-13" not in told.out
    assert told.err == "Every record matches its digest, and the history its seals.\n"
    assert main(["audit", "book.sqlite", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert [row["row"] for row in rows] == [1, 2]
    assert [row["after"] for row in rows] == [{"depth_mm": 5}, None]


@pytest.mark.parametrize(
    ("wrong", "code"),
    [([(True, 4)], 0), ([(False, 4)], 2), ([(True, 0)], 2), ([(False, 0)], 2), ([(True, 4), (False, 5)], 2)],
)
def test_a_doubt_about_one_record_is_told_and_anything_more_is_a_failure(made, wrong, code, capsys):
    made.wrong = wrong
    assert main(["audit", "book.sqlite"]) == code
    told = capsys.readouterr().err
    assert [line.removeprefix("tirelife audit: ") for line in told.splitlines()] == [
        f"row {n}" for _, n in wrong
    ]


@pytest.mark.parametrize("day", ["soon", "14/03/2026", "2026-3-14"])
def test_a_day_that_is_none_is_refused_where_it_would_hide_changes_or_show_all(made, day, capsys):
    assert main(["audit", "book.sqlite", "--since", day]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "--since" in told.err
    assert day in told.err
