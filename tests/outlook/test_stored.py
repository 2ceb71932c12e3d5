"""Sets in store: the logbook with the sets changed today, and which removal depth they are held to."""

from dataclasses import dataclass, field
from types import SimpleNamespace

import pandas as pd
import pytest

from tirelife.outlook.stored import _by_season, _swapped

TODAY = pd.Timestamp("2026-06-01")


@dataclass(frozen=True)
class Log:
    tables: dict = field(default_factory=dict)
    as_of: pd.Timestamp = TODAY

    @property
    def mounts(self):
        return self.tables["mounts"].copy()

    @property
    def odometer(self):
        return self.tables["odometer"].copy()


def test_the_set_on_the_car_goes_off_and_the_stored_one_on_at_todays_odometer():
    mounts = pd.DataFrame(
        {"date": [TODAY - pd.Timedelta(days=90)], "odometer_km": [100.0], "vehicle_id": ["V1"], "tire_id": ["S1"],
         "position": ["LF"], "row": [2], "doubt": [""], "codes": [""], "source": ["recorded"]}
    )  # fmt: skip
    odometer = pd.DataFrame({"vehicle_id": ["V1", "V1", "V2"], "odometer_km": [900.0, 5_000.0, 70.0]})
    sets = pd.DataFrame(
        {"vehicle_id": "V1", "tire_id": ["S1", "W1"], "position": ["LF", "RR"], "on": [True, False]}
    )
    log = Log({"mounts": mounts, "odometer": odometer, "depths": "kept"})
    made = _swapped(log, sets)
    assert made.tables["depths"] == "kept"
    rows = made.tables["mounts"]
    assert rows.columns.tolist() == mounts.columns.tolist()
    new = rows.iloc[1:]
    assert new[["tire_id", "position"]].to_numpy().tolist() == [["S1", "OFF"], ["W1", "RR"]]
    assert (new["date"] == TODAY).all()
    assert new["odometer_km"].tolist() == [5_000.0] * 2
    assert new[["doubt", "codes"]].to_numpy().tolist() == [["", ""]] * 2
    assert new["row"].tolist() == [0, 0]
    assert len(log.mounts) == 1


@pytest.mark.parametrize("depth", [1.6, pd.Series({"LF": 1.6, "RR": 3.0})])
def test_one_depth_for_all_seasons_has_no_name(depth):
    (only,) = _by_season(depth).items()
    assert only[0] == ""
    assert only[1] is depth


def test_depths_of_winter_and_summer_are_told_apart_by_wheel():
    depths = pd.Series({"LF": 1.6, "winter LF": 4.0, "winter RR": 3.5, "summer LF": 2.0, "summer RR": 2.5})
    found = _by_season(depths)
    assert {name: part.to_dict() for name, part in found.items()} == {
        "winter": {"LF": 4.0, "RR": 3.5}, "summer": {"LF": 2.0, "RR": 2.5}
    }  # fmt: skip


def test_what_is_in_store_is_picked_by_its_season(monkeypatch):
    import importlib

    module = importlib.import_module("tirelife.outlook.stored")
    sets = pd.DataFrame(
        {"vehicle_id": "V1", "tire_id": ["S", "W", "X"], "position": "LF", "on": [True, False, False]}
    )
    states = {
        "winter": pd.DataFrame({"tire_id": ["W", "X", "other"], "held": "winter"}),
        "summer": pd.DataFrame({"tire_id": ["W", "X", "other"], "held": "summer"}),
        "": pd.DataFrame({"tire_id": ["W", "X", "other"], "held": "all"}),
    }
    asked = SimpleNamespace(sets=sets, removal=None)
    monkeypatch.setattr(module, "sets_in_turn", lambda book: asked.sets)
    monkeypatch.setattr(module, "of_winter", lambda sets: (sets["tire_id"] == "W").to_numpy())
    monkeypatch.setattr(module, "_swapped", lambda book, sets: book)
    monkeypatch.setattr(module, "turn_columns", lambda book, tires: {"turn_on": 0.0})
    monkeypatch.setattr(
        module, "present_states", lambda book, fit, removal, years: {k: states[k] for k in removal}
    )
    seasons = pd.Series({"winter LF": 4.0, "summer LF": 1.6})
    found = module.stored_state(SimpleNamespace(), None, seasons)
    # Of the winter's a tire that is on the car in January, of the summer's another.
    assert sorted(found[["tire_id", "held"]].to_numpy().tolist()) == [["W", "winter"], ["X", "summer"]]
    assert found["turn_on"].tolist() == [0.0, 0.0]
    every = module.stored_state(SimpleNamespace(), None, 1.6)
    assert every["tire_id"].tolist() == ["W", "X"]
    asked.sets = sets[sets["on"]]
    assert module.stored_state(SimpleNamespace(), None).empty
