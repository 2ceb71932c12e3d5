"""One rule of which tires are replaced together, for the decision and for the ways and their costs."""

import itertools

import numpy as np
import pytest

from tests.advice.cars import Car, four
from tirelife.advice import Kind, Scope, decide
from tirelife.rotation.jointly import scope_of, together
from tirelife.rotation.replace import Line, ways_to_replace

N32 = 25.4 / 32


@pytest.mark.parametrize("drive", ["front", "all"])
@pytest.mark.parametrize(
    ("mate", "rear"), list(itertools.product((9.0, 7.5, 6.5, 5.0), (9.5, 8.0, 6.5, 5.0)))
)
def test_the_decision_replaces_no_fewer_than_the_ways_allow(drive, mate, rear):
    car = Car("one down", four(2, mate, rear, rear, 0, 40e3, 60e3, 60e3), drive=drive)
    advised = decide(car.facts()).of(Kind.REPLACE)[0]
    depth = np.array([[2.0, mate, rear, rear]]) * N32
    ways = ways_to_replace(depth, np.full((1, 4), 1e-4), 2 * N32, [Line("new", 100.0, 10 * N32)], drive=drive)
    now = ways[(ways["when"] == "now") & ways["allowed"]]
    least = min(now["scope"], key=["one", "pair", "set"].index)
    assert advised.scope == least


def test_what_is_not_known_stays():
    assert together(["LF"], {"LF": 6.0, "RF": float("nan"), "LR": 1.0}, "all", 2.4, 2.4) == ([], None)
    assert [scope_of(p) for p in (["LF"], ["LF", "LR"], ["LR", "RR"], ["LF", "RF", "LR"])] == [
        Scope.ONE, Scope.ONE, Scope.PAIR, Scope.SET,
    ]  # fmt: skip
