"""Facts of one visit are those of its forecast."""

import math

import pandas as pd
import pytest

from tirelife.advice import Kind, Settings, decide, walkin_facts
from tirelife.outlook import walk_in

INCH = 25.4 / 32


@pytest.fixture(scope="module")
def answer():
    return walk_in([5 * INCH, 6 * INCH, 8 * INCH, 9 * INCH], as_of="2026-06-01")


def test_each_wheel_has_its_reading_and_its_distances(answer):
    facts = walkin_facts(answer, 2 * INCH, "front")
    rows = answer.forecast.set_index("position")
    assert list(facts.tires) == ["LF", "RF", "LR", "RR"]
    for position, tire in facts.tires.items():
        assert tire.km_p50 == pytest.approx(rows.loc[position, "km_left_p50"])
        assert tire.date_p50 == rows.loc[position, "date_p50"]
    assert [tire.read_mm / INCH for tire in facts.tires.values()] == pytest.approx([5, 6, 8, 9])
    assert (facts.drive, facts.as_of) == ("front", pd.Timestamp("2026-06-01"))
    assert facts.limit_mm == pytest.approx(dict.fromkeys(facts.tires, 2 * INCH))
    assert sum(facts.first_chance.values()) == pytest.approx(1.0)
    assert facts.first_chance["LF"] > 0.8
    assert facts.window[0] < facts.window[1]


def test_of_a_walk_in_neither_pressures_nor_rotations_are_known(answer):
    facts = walkin_facts(answer, 2 * INCH, settings=Settings(service_km=10_000.0))
    assert not facts.pressure_known
    assert facts.drive == ""
    assert math.isnan(facts.rotation.since_km)
    assert facts.rotation.every_km == 10_000
    assert facts.rotation.refused is None
    assert facts.rotation.now_km > 0
    # When it was rotated last is not known: the usual rotation is advised.
    assert decide(facts).of(Kind.ROTATE)
    assert facts.km_per_day == pytest.approx(answer.state["km_per_day"].iloc[0])
