"""Rotation advice from Python: what the command prints, in inside units."""

import json

import numpy as np
import pandas as pd
import pytest

from tirelife import advice, outlook, read_logbook
from tirelife.cli import main
from tirelife.rotation import USUAL_INTERVAL

DEMO = "data_synthetic/logbook"
MILE = 1.609344


@pytest.fixture(scope="module")
def book():
    return read_logbook(DEMO)


@pytest.fixture(scope="module")
def fit(book):
    return outlook.kept_fit(book)


def test_it_is_what_the_command_says(book, fit, capsys):
    found = advice.advise_rotation(book, "V03", fit, plan="rearward cross", interval_km=6000 * MILE)
    assert (
        main(["rotate", DEMO, "--vehicle", "V03", "--plan", "rearward cross", "--interval", "6000", "--json"])
        == 0
    )
    told = json.loads(capsys.readouterr().out)
    assert told["asked"]
    assert found.asked
    assert told["chosen"]["interval_mi"] == pytest.approx(6000)
    assert told["chosen"]["life_mi_p50"] * MILE == pytest.approx(found.chosen["life_km_p50"].iloc[0])
    assert told["bound"] * MILE == pytest.approx(found.bound_km)
    assert [m["tire_id"] for m in told["moves"]] == list(found.moves["tire_id"])
    assert [row["do"] for row in told["decision"]] == [a.kind.value for a in found.decision.actions]


def test_plans_are_at_the_usual_interval_and_none_beats_the_bound(book, fit):
    found = advice.advise_rotation(book, "V03", fit)
    assert USUAL_INTERVAL["us"] == (5000.0, "mi")
    moved = found.plans[found.plans["allowed"].astype(bool)].iloc[1:]
    assert moved["interval_km"].to_numpy() == pytest.approx(5000 * MILE)
    assert not found.asked
    assert (moved["life_km_p50"] <= found.bound_km * (1 + 1e-9)).all()


def test_the_stricter_axle_counts_for_all_and_no_move_allowed_means_no_first_rotation(book, fit):
    by_place = pd.Series({"LF": 2.0, "RF": 2.0, "LR": 3.0, "RR": 3.0, "SP": 3.0, "winter LF": 9.0})
    found = advice.advise_rotation(book, "V03", fit, by_place)
    assert found.limit_mm == 3.0
    assert found.notes  # tires read at 3 mm or near it, which are not moved
    assert not found.plans["allowed"].iloc[1:].any()
    assert np.isnan(found.first_km)
