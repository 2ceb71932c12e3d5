"""No answer contradicts itself: the demo cars, a simulated fleet, a grid of walk-ins; more in the benchmark."""

import itertools

import pytest

from tests.contradictions import contradictions
from tests.fleets import WELL, simulate, smaller
from tirelife.advice import Kind, decide, fleet_decisions, walkin_facts
from tirelife.logbook import read_logbook
from tirelife.outlook import kept_fit, walk_in
from tirelife.rates import fit_logbook

N32 = 25.4 / 32
WALKINS = list(itertools.product((1.5, 2.5, 3.5, 8.0), (2.0, 4.0, 9.0), (3.0, 10.0)))
"""Depths at the left front, right front and both rears. [32nds]"""


def found_in(found):
    return {v: said for v, d in found.decisions.items() if (said := contradictions(found.facts[v], d))}


def test_no_answer_to_a_demo_car_contradicts_itself():
    book = read_logbook("data_synthetic/logbook")
    found = fleet_decisions(book, kept_fit(book, None, fresh=False))
    assert found_in(found) == {}
    assert any(d.of(Kind.REPLACE) for d in found.decisions.values())


def test_no_answer_to_a_simulated_car_contradicts_itself(tmp_path):
    simulate(tmp_path, smaller(WELL, 30), seed=7)
    book = read_logbook(tmp_path)
    assert found_in(fleet_decisions(book, fit_logbook(book))) == {}


@pytest.mark.parametrize("depths", WALKINS[::4], ids=str)
def test_no_answer_to_a_walk_in_contradicts_itself(depths):
    lf, rf, rear = depths
    answer = walk_in([d * N32 for d in (lf, rf, rear, rear)], as_of="2026-11-01")
    facts = walkin_facts(answer, 2 * N32)
    assert contradictions(facts, decide(facts)) == []


def test_a_contradiction_would_be_seen():
    from dataclasses import replace

    from tests.advice.cars import CARS

    facts = next(c for c in CARS if c.name == "fronts near the bars").facts()
    decision = decide(facts)
    turned = decide(CARS[1].facts()).of(Kind.ROTATE)
    assert contradictions(facts, decision) == []
    rotated = tuple(a for a in decision.actions if a.kind is not Kind.LEAVE) + turned
    assert any("rotate" in said for said in contradictions(facts, replace(decision, actions=rotated)))
    late = tuple(a for a in decision.actions if a.kind is not Kind.REPLACE)
    assert any("not all replaced" in said for said in contradictions(facts, replace(decision, actions=late)))
    assert any("order" in s for s in contradictions(facts, replace(decision, actions=decision.actions[::-1])))
