"""The model's answer against Bayes' rule done the long way, with SciPy's normal density, one state at a time."""

from itertools import product

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from tirelife.tread import Wheel, patterns, weigh_wheels

DEPTH = np.array([4.9, 5.5, 6.0, 5.8, 5.6])
VARIANCE = np.array([0.05, 0.06, 0.05, 0.04, 0.05])


def amplitudes():
    log = np.log(patterns.AMPLITUDES)
    size = np.exp(-0.5 * ((log - np.log(patterns.AMPLITUDE_MEDIAN)) / patterns.AMPLITUDE_LOG_SD) ** 2)
    size /= size.sum()
    spread = np.exp(-0.5 * ((log[None, :] - log[:, None]) / patterns.WHEEL_LOG_SD) ** 2)
    return size @ (spread / spread.sum(axis=1, keepdims=True))


def covariance(cups):
    tilt, crown, groove = (
        a + 4.0 * b for a, b in (patterns.NATURAL_TILT, patterns.NATURAL_CROWN, patterns.NATURAL_GROOVE)
    )
    x = np.array([1, 0.5, 0, -0.5, -1])
    cover = np.diag(VARIANCE + groove**2) + 100.0
    cover += tilt**2 * np.outer(x, x) / 4 + crown**2 * np.outer(0.5 - x**2, 0.5 - x**2)
    return cover + cups * np.diag(0.25**2 * np.array([0.5, 0.2, 0, 0.2, 0.5]))


def takings(shapes, mirrored=False):
    """What a state may have taken, with chances: nothing for none."""
    if shapes is None:
        return [(np.zeros(5), 1.0)]
    return [
        (amount * np.array(shape.depth[::-1] if mirrored else shape.depth), shape.share * chance)
        for shape in shapes
        for amount, chance in zip(patterns.AMPLITUDES, amplitudes(), strict=True)
    ]


def long_way(odds):
    """Left front wheel of a rear-drive car, alone: states that spare it count as none."""
    pressure = [
        ("none", None, 1 + odds["low_pressure one"] + odds["high_pressure one"]),
        ("low_pressure", patterns.LOW, odds["low_pressure both"] + odds["low_pressure one"]),
        ("high_pressure", patterns.CENTER, odds["high_pressure both"] + odds["high_pressure one"]),
        ("normal_shoulder_wear", patterns.SHOULDERS, odds["normal_shoulder_wear"]),
        ("hard_cornering", patterns.CORNERING, odds["hard_cornering front"]),
        ("overload", patterns.OVERLOAD, odds["overload front"]),
    ]
    both = odds["camber both"] + odds["camber one"]
    angle = [
        ("none", takings(None), 1 + 2 * odds["camber one"]),
        ("toe_in", takings(patterns.TOE), odds["toe_in front"]),
        ("toe_out", takings(patterns.TOE, True), odds["toe_out front"]),
        ("camber", takings(patterns.CAMBER), both),
        ("camber", takings(patterns.CAMBER, True), both),
        ("road_crown", takings(patterns.ROAD_CROWN), odds["road_crown left"]),
        ("road_crown", takings(patterns.ROAD_CROWN, True), odds["road_crown right"]),
    ]
    flat = odds["flat_spot both"] + odds["flat_spot one"]
    around = [
        ("none", False, 1 + odds["cupping free one"] + odds["flat_spot one"]),
        ("spared by diagonal", False, odds["diagonal_wear free one"]),
        ("diagonal_wear", True, odds["diagonal_wear free both"] + odds["diagonal_wear free one"]),
        ("cupping", True, odds["cupping free both"] + odds["cupping free one"]),
        ("flat_spot", False, flat),
    ]
    mass: dict = {}
    density = {cups: multivariate_normal(np.zeros(5), covariance(cups)) for cups in (False, True)}
    for (one, shapes, first), (two, angled, second), (three, cups, third) in product(pressure, angle, around):
        total = sum(
            a * b * density[cups].pdf(DEPTH - taken - tilted)
            for (taken, a), (tilted, b) in product(takings(shapes), angled)
        )
        weight = first * second * third * total
        if "diagonal" in three and two.startswith("toe"):
            weight *= odds["diagonal_wear with toe"]
        for cause in {one, two, three} - {"none", "spared by diagonal"} or {"even_wear"}:
            mass[cause] = mass.get(cause, 0.0) + weight
        mass["all"] = mass.get("all", 0.0) + weight
    return {cause: value / mass["all"] for cause, value in mass.items() if cause != "all"}


def test_one_wheel_alone():
    ours = weigh_wheels({"LF": Wheel(DEPTH, VARIANCE)}, "rear").groupby("cause")["probability"].sum()
    theirs = long_way(patterns.ODDS)
    assert set(ours.index) == set(theirs)
    for cause, chance in theirs.items():
        assert ours[cause] == pytest.approx(chance, rel=1e-4), cause
