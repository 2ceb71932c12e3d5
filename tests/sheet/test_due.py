"""The cars due next: as many as asked for, in the owner's order, each with the first thing to do."""

from types import SimpleNamespace

import pandas as pd
import pytest

from tests.sheet.owners import N32, decision, vehicle
from tirelife.sheet import due
from tirelife.sheet.due import due_next


@pytest.fixture
def fleet(monkeypatch):
    """Three cars, and the removal depth that their decisions were asked with."""
    asked = {}
    names = ["V3", "V1", "V2"]
    found = SimpleNamespace(decisions={name: decision(name) for name in names})
    rows = pd.DataFrame([vehicle("V3", 3, read=2.0), vehicle("V1", 2), vehicle("V2")])
    monkeypatch.setattr(
        due, "fleet_decisions", lambda book, fit, removal_depth_mm: asked.update(mm=removal_depth_mm) or found
    )
    monkeypatch.setattr(due, "vehicles_due", lambda book, found: rows)
    return SimpleNamespace(asked=asked, book=SimpleNamespace(units="us"))


def test_each_car_has_its_mark_wheel_reading_window_and_first_action(fleet):
    table = due_next(fleet.book, None, 2)
    assert list(table.index) == ["V3", "V1"]
    assert table.iloc[0].tolist() == [
        "V3 now", "left front", "2.0", "early January to late July 2027",
        "Have a qualified person look at the left front now, before the car is driven far.",
    ]  # fmt: skip
    assert list(table) == ["Vehicle", "First due", "Least read, 32nds", "Replace, 8 in 10", "What to do"]
    assert len(due_next(fleet.book, None)) == 3
    assert due_next(fleet.book, None, 0).empty


def test_the_depth_is_two_32nds_or_the_one_told_even_nought(fleet):
    for told, asked in ((None, 2 * N32), (3.2, 3.2), (0.0, 0.0)):
        due_next(fleet.book, None, removal_depth_mm=told)
        assert fleet.asked["mm"] == pytest.approx(asked)
