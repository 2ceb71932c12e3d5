"""What goes into the learning of factors, and the mix of causes at which each tire's rate is known."""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tirelife.driving import default_profile
from tirelife.rates import PUBLISHED, WearFit, causes
from tirelife.rates.causes import WarmStart, anchors, learn_causes
from tirelife.rates.prior import Belief
from tirelife.wear import ASSUMED, CAUSES, RECORDS, Vehicle, severity

DAY = pd.Timestamp("2026-01-01")
N = len(CAUSES)
ONE = np.eye(N)
"""Mixes of one cause alone."""


def fitted(known_sd=0.0, own_sd=0.0, visits=(3, 2)):
    """Two tires of a front-driven car, read so often and known so surely; the prior's level has an sd of 0.25."""
    tires = pd.DataFrame(
        {"tire_id": ["A", "B"], "vehicle_id": "V1", "last_date": DAY, "last_odometer_km": 1e4, "visits": list(visits),
         "log_wear_sd": own_sd}
    )  # fmt: skip
    posterior = replace(PUBLISHED, log_rate=Belief(-9.2, known_sd))
    return WearFit({"tires": tires}, "REML", 0.0, replace(PUBLISHED, log_rate=Belief(-9.2, 0.25)), posterior)


BOOK = SimpleNamespace(vehicles=pd.DataFrame({"vehicle_id": ["V1"], "drive": ["front"]}))


@pytest.fixture
def ran(monkeypatch):
    """A ran 10,000 reference km of the first cause at the front, B 30,000 of the second; the rear as told."""

    def told(rear=0.0):
        run = np.zeros((2, 2, N))
        run[0] = [10e3 * ONE[0], 30e3 * ONE[1]]
        run[1] = [rear * ONE[2], rear * ONE[2]]
        monkeypatch.setattr(causes, "cause_distance", lambda parts, at: run)

    return told


def at(fit, tire, axle):
    table = anchors(BOOK, fit, ASSUMED, pd.DataFrame()).anchors.set_index(["tire_id", "axle"])
    return table.loc[(tire, axle)].to_numpy(float)


def ordinary(wheel):
    one = severity(default_profile(), Vehicle.of_drive("front")).loc[wheel]
    return (one[list(CAUSES)] / one["severity"]).to_numpy(float)


def test_of_a_level_that_no_log_told_the_rate_is_known_at_the_ordinary_cars_mix(ran):
    ran()
    fit = fitted(known_sd=0.25, own_sd=9.0)
    np.testing.assert_allclose(at(fit, "A", "front"), ordinary("LF"))
    np.testing.assert_allclose(at(fit, "B", "rear"), ordinary("LR"))


def test_of_a_level_that_was_learned_it_is_known_at_the_mix_of_those_that_taught_it(ran):
    ran()
    fit = fitted(known_sd=0.0, own_sd=9.0)
    np.testing.assert_allclose(at(fit, "A", "front"), 0.25 * ONE[0] + 0.75 * ONE[1])
    np.testing.assert_allclose(at(fit, "A", "rear"), ordinary("LR"))  # where nothing was run
    # No tire teaches more than one that ran 100,000 km.
    half = fitted(known_sd=0.25 / math.sqrt(2), own_sd=9.0)
    np.testing.assert_allclose(at(half, "A", "front"), ((0.25 * ONE[0] + 0.75 * ONE[1]) + ordinary("LF")) / 2)


def test_a_tire_that_was_read_is_known_at_its_own_mix_as_far_as_its_readings_speak(ran):
    ran()
    np.testing.assert_allclose(at(fitted(), "A", "front"), ONE[0], atol=1e-12)
    # Half of what is left open of a tire's rate: half way from the others' mix to its own.
    loose = sum(math.exp(2 * PUBLISHED.spreads[name].mean) for name in ("unit", "block", "line"))
    some = fitted(own_sd=math.sqrt(loose / 2))
    np.testing.assert_allclose(at(some, "A", "front"), (ONE[0] + 0.25 * ONE[0] + 0.75 * ONE[1]) / 2)
    # Never read, or of unknown spread: that of the others.
    for silent in (fitted(visits=(0, 2)), fitted(own_sd=np.nan)):
        np.testing.assert_allclose(at(silent, "A", "front"), 0.25 * ONE[0] + 0.75 * ONE[1], atol=1e-5)


def test_what_sets_a_tire_apart_on_either_axle_counts_by_distance(ran):
    ran(rear=10e3)
    # A ran half at the front, where it is 0.75 off the others' mix, and half at the rear, as they did.
    seen = 0.25 * ONE[0] + 0.75 * ONE[1]
    np.testing.assert_allclose(at(fitted(), "A", "front"), seen + 0.5 * (ONE[0] - seen), atol=1e-12)
    np.testing.assert_allclose(at(fitted(), "A", "rear"), ONE[2] + 0.5 * (ONE[0] - seen), atol=1e-12)


def test_the_fit_carries_its_factors_and_the_mix_that_it_was_learned_at(ran):
    ran(rear=10e3)
    factors = replace(ASSUMED, belief=0.5, belief_sd=0.1, ranges=((-1.0, 1.0),) * N)
    fit = anchors(BOOK, fitted(), factors, pd.DataFrame())
    middle = (0.25 * ONE[0] + 0.75 * ONE[1] + ONE[2]) / 2
    assert fit.factors.level == pytest.approx(middle.tolist())
    assert fit.factors.belief == 0.5
    # Another log's habits are recorded by others: nothing of how far these were believed goes with it.
    after = fit.posterior.factors
    assert (after.belief, after.belief_sd, after.usual, after.ranges) == (1.0, 0.0, (), ())
    assert after.level == fit.factors.level
    assert fit.anchors.columns.tolist() == ["tire_id", "axle", *CAUSES]
    assert len(fit.anchors) == 4


def test_without_a_tire_the_mix_is_the_factors_own(ran, monkeypatch):
    monkeypatch.setattr(causes, "cause_distance", lambda parts, at: np.zeros((2, 0, N)))
    bare = fitted()
    bare = replace(bare, frames={"tires": bare.frames["tires"].head(0)})
    fit = anchors(BOOK, bare, ASSUMED, pd.DataFrame())
    assert fit.factors.level == pytest.approx(ASSUMED.anchor.tolist())
    assert fit.anchors.empty


def model(**changes):
    blocks = {"row_unit": np.array([0, 0, 1]), "unit_block": np.array([0, 0])}
    data = {"response": np.array([7.0, 6.0, 5.0]), "start": np.array([8.0, 8.0])}
    for part in (blocks, data):
        part.update({name: value for name, value in changes.items() if name in part})
    return SimpleNamespace(**blocks), SimpleNamespace(**data)


def test_a_fit_goes_on_from_where_the_learning_left_the_same_readings():
    begun = WarmStart(*model(), "here")
    assert begun.of(*model()) == "here"
    for name, value in (
        ("row_unit", [0, 1, 1]), ("unit_block", [0, 1]), ("response", [7.0, 6.0, 5.1]), ("start", [8.0, 8.1]),
        ("response", [7.0, 6.0]),
    ):  # fmt: skip
        assert begun.of(*model(**{name: np.array(value)})) is None


def test_records_are_as_sure_as_they_say_and_half_of_it_is_each_habits_own(monkeypatch):
    habits = pd.DataFrame({"vehicle_id": ["A", "A", "B"], "log_sd": [0.2, 0.4, 0.0]})
    monkeypatch.setattr(causes, "profiles_from_habits", lambda book: habits)
    got = causes._record_errors(SimpleNamespace(habits=pd.DataFrame({"x": [1]})), pd.Series(["A", "B", "C"]))
    driven = np.array([float(record.driver and record.energy is not None) for record in RECORDS])
    np.testing.assert_allclose(got, np.outer([(0.04 + 0.16) / 2 / 2, 0.0, 0.0], driven))
    assert driven.sum() == 5  # speed, starts, stops, corners and parking
    none = causes._record_errors(SimpleNamespace(habits=pd.DataFrame()), pd.Series(["A"]))
    assert none.tolist() == [[0.0] * N]


def test_of_the_axles_ratio_the_prior_holds_beside_factors_what_is_no_matter_of_them():
    held = replace(PUBLISHED, axle={"front": Belief(0.1, 0.35), "rear": Belief(0.0, 0.05)})
    left = causes._beside_factors(held).axle
    assert left == {"front": Belief(0.1, 0.12), "rear": Belief(0.0, 0.05)}


def test_nothing_to_learn_from_leaves_what_was_held_and_of_many_cars_some_are_drawn(monkeypatch):
    monkeypatch.setattr(causes, "usual_moments", lambda book: ())
    prior = replace(PUBLISHED, factors=replace(ASSUMED, belief=0.3, belief_sd=0.2))
    tires = pd.DataFrame(
        {"tire_id": [f"T{i}" for i in range(6)], "vehicle_id": [f"V{i // 2}" for i in range(6)]}
    )
    visits = pd.DataFrame({"tire_id": ["T0", "T3", "T5", "gone"]})
    factors, begun = learn_causes(SimpleNamespace(), visits.head(0), tires, prior, 9)
    assert begun is None
    assert (factors.belief, factors.belief_sd) == (1.0, 0.0)
    asked = []

    class Stop(Exception):
        pass

    def about(book, cars):
        asked.append(cars)
        raise Stop

    monkeypatch.setattr(causes, "book_about", about)
    for most, count in ((2, 2), (3, 3), (9, 3)):
        with pytest.raises(Stop):
            learn_causes(SimpleNamespace(), visits, tires, prior, most)
        assert len(asked[-1]) == count
