"""A what-if's decisions: whose state, at which limit, taken for granted what."""

import importlib
from types import SimpleNamespace

import pytest

from tirelife.advice import Settings

MODULE = importlib.import_module("tirelife.advice.otherwise")


@pytest.mark.parametrize(("own", "changed", "limit"), [(1.6, None, 1.6), (1.6, 3.0, 3.0), (1.6, 0.0, 0.0)])
def test_the_changes_removal_depth_takes_the_place_of_the_usual_one(monkeypatch, own, changed, limit):
    asked = {}
    monkeypatch.setattr(MODULE, "otherwise_states", lambda *a: asked.update(states=a) or "state")
    monkeypatch.setattr(MODULE, "project", lambda state: f"rows of {state}")
    monkeypatch.setattr(MODULE, "first_of_sets", lambda state: f"first of {state}")
    monkeypatch.setattr(
        MODULE, "facts_of", lambda *a, **k: asked.update(args=a, **k) or {"V2": "b", "V1": "a"}
    )
    monkeypatch.setattr(MODULE, "decide", lambda known, settings: (known, settings))
    change, settings = SimpleNamespace(removal_depth_mm=changed), Settings(sure=0.9)
    found = MODULE.decisions_otherwise(
        "book", "fit", change, ["V1", "V2"], removal_depth_mm=own, settings=settings
    )
    assert asked["states"] == (
        "book",
        "fit",
        change,
        ["V1", "V2"],
        own,
    )  # the change makes its own of it there
    assert asked["args"] == ("book", "fit", "state", "rows of state")
    assert asked["removal_depth_mm"] == limit
    assert (asked["assumed"], asked["first"], asked["settings"]) == (change, "first of state", settings)
    assert found.decisions == {"V2": ("b", settings), "V1": ("a", settings)}
    assert list(found.facts) == ["V2", "V1"]
