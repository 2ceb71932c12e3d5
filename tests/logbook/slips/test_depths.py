"""A visit's depths as a whole, on even cars whose odds can be worked out by hand."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from tests.logbook.slips.made import WHEELS, asked, log, visit
from tirelife.logbook import Slip
from tirelife.logbook.slips import depths as module
from tirelife.logbook.slips.predict import Law, Left
from tirelife.logbook.slips.visits import Visits

CHANGES = {
    Slip.OTHER_UNIT: lambda d: (d / 0.79375 * 2).round() / 2,
    Slip.TENFOLD: lambda d: (d / 10).round(2),
    Slip.ALL_ZERO: lambda d: 0 * d,
    Slip.ALL_ALIKE: lambda d: 0 * d + 4.0,
}


def test_an_even_log_is_not_asked_about(tmp_path):
    assert asked(tmp_path, log()).empty


@pytest.mark.parametrize("slip", CHANGES)
def test_a_slip_of_one_visit_is_named_at_its_rows(tmp_path, slip):
    tables = log()
    rows = visit(tables["depths"], "V3", 1)
    tables["depths"].loc[rows, "depth_mm"] = CHANGES[slip](tables["depths"].loc[rows, "depth_mm"])
    found = asked(tmp_path, tables)
    assert set(found["code"]) == {slip.value}
    assert found["row"].tolist() == (rows + 2).tolist()


@pytest.mark.parametrize(("change", "to"), [("sides", "RF LF RR LR"), ("axles", "LR RR LF RF")])
def test_places_swapped_are_named(tmp_path, change, to):
    tables = log(uneven=1.0)
    table = tables["depths"]
    rows = visit(table, "V3", 2)
    places = dict(zip(WHEELS, to.split(), strict=True))
    table.loc[rows, "position"] = table.loc[rows, "position"].map(places)
    found = asked(tmp_path, tables)
    assert set(found["code"]) == {Slip.SWAPPED.value}
    assert {dict(v)["swap"] for v in found["values"]} == {change}


def one_visit(readings, depth):
    """One visit, its cells alike, and what the log expects of it: 5 mm a wheel, give or take 0.5."""
    cells = np.full((1, 4, 5), np.nan)
    cells.reshape(1, -1)[0, [0, 4, 5, 9, 10, 14, 15, 19][: min(readings, 8)]] = depth
    held = {
        "vehicle": np.array([0]), "cells": cells, "depth": np.full((1, 4), depth), "readings": np.array([readings]), "step": 0.1,
        "moved": np.array([False]), "new": np.full((1, 4), 8.0), "off_halves": np.array([0]),
    }  # fmt: skip
    visits = object.__new__(Visits)
    for name, value in held.items():
        object.__setattr__(visits, name, value)
    left = Left(np.full((1, 4), 5.0), np.eye(4)[None] / 0.25)
    law = object.__new__(Law)
    for name in ("scale", "wear", "start"):
        object.__setattr__(law, name, 1.0)
    return visits, law, left


def alike_odds(readings, depth):
    names, odds, _ = module._odds(*one_visit(readings, depth), "mm")
    return float(odds[0, [slip for slip, _ in names].index(Slip.ALL_ALIKE)])


def test_one_depth_all_over_is_odd_from_eight_readings_on():
    assert np.isneginf(alike_odds(7, 2.0))
    assert np.isfinite(alike_odds(8, 2.0))
    assert np.isfinite(alike_odds(20, 2.0))


def test_the_odds_of_one_depth_all_over_are_those_of_one_value_in_twenty():
    # A visit in 200 is filled in, with one of twenty values, each a step wide in four wheels; as typed it is
    # normal, and in 500 visits once three times as wide.
    typed = multivariate_normal(np.full(4, 5.0), 0.25 * np.eye(4)).pdf(np.full(4, 2.0))
    wide = multivariate_normal(np.full(4, 5.0), 9 * 0.25 * np.eye(4)).pdf(np.full(4, 2.0))
    by_hand = np.log(1 / 200 / 20 / 0.1**4 / (499 / 500 * typed + wide / 500))
    assert alike_odds(20, 2.0) == pytest.approx(by_hand, rel=1e-9)


def test_odds_beyond_all_doubt_are_told_as_e_to_the_fifty(tmp_path):
    # Depths of a tenth are so far off that their odds would be higher yet.
    tables = log()
    rows = visit(tables["depths"], "V3", 1)
    tables["depths"].loc[rows, "depth_mm"] = CHANGES[Slip.TENFOLD](tables["depths"].loc[rows, "depth_mm"])
    odds = [dict(values)["odds"] for values in asked(tmp_path, tables)["values"]]
    assert odds == pytest.approx([np.exp(50)] * len(rows))
