"""No answer contradicts itself: the demo cars, a simulated fleet, a grid of walk-ins; more in the benchmark."""

import copy
import itertools
import re

import pytest

from tests.commands import ask, asked, compare
from tests.contradictions import contradictions
from tests.depths import COLUMNS, keys, names_of
from tests.fleets import WELL, simulate, smaller
from tests.sheet.answers import Ready
from tirelife.advice import Kind, decide, fleet_decisions, walkin_facts
from tirelife.logbook import read_logbook
from tirelife.outlook import kept_fit, walk_in
from tirelife.outlook.pieces import Pieces
from tirelife.rates import fit_logbook
from tirelife.sheet.page import compose_page
from tirelife.sheet.walkin import walkin_answer

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


@pytest.fixture(scope="module")
def answers():
    """What every command says of three demo cars: one better left, one at its end, one with nothing due."""
    book = read_logbook("data_synthetic/logbook")
    part, fit = Pieces(book, kept_fit(book, None, fresh=False), 3)[2]
    assert list(part.vehicles["vehicle_id"]) == ["V07", "V08", "V09"]
    return ask(part, fit, ["V08", "V09"])


def test_no_two_commands_and_no_page_disagree_on_a_demo_car(answers):
    assert compare(*answers, units="us") == []


def test_a_page_shows_depths_as_read_and_the_wheel_of_that_day(answers):
    """Moved to another wheel since, and read with a gauge that reads deep: both are said, neither is done."""
    page = answers[3]["V09"]["page"]
    book = read_logbook("data_synthetic/logbook")
    own = book.depths[book.depths["vehicle_id"] == "V09"]
    last = own[own["date"] == own["date"].max()]
    tires = page.tires.set_index("position")
    assert (tires["read_at"] != tires.index).all()
    for position, tire in tires.iterrows():
        read = last[last["position"] == tire["read_at"]].groupby("groove")["depth_mm"].min()
        shown = page.depths[page.depths["position"] == position]
        assert shown.set_index("groove")["depth_mm"].to_dict() == pytest.approx(read.to_dict())
        assert WHEELS[tire["read_at"]] in shown["label"].iloc[0]
        assert tire["read_raw_mm"] == pytest.approx(read.min())
        assert tire["read_mm"] < read.min() - 0.05
    text = re.sub(r"<[^>]+>", " ", compose_page(page, bundle=Ready()))
    assert "took off what the gauge reads wrong" in text
    assert re.search(r"4 +at right rear", re.sub(r"\s+", " ", text))


WHEELS = {"LF": "left front", "RF": "right front", "LR": "left rear", "RR": "right rear"}


def test_depths_go_by_one_name_each_in_every_command(answers):
    whole, what_if, _, told = answers
    for own in told.values():
        for answer in (whole, what_if, *(own[name] for name in own if name != "page")):
            assert names_of(keys(answer)) <= COLUMNS
    assert {"read", "read_raw", "depth_now", "limit"} <= names_of(keys(whole))


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda w, i, t: w["tires"][4].update(read_raw_32nds=9.9), "read_raw"),
        (lambda w, i, t: w["tires"][4].update(depth_now_32nds=9.9), "today"),
        (lambda w, i, t: w["tires"][4].update(miles_left_p50=1e6), "p50"),
        (lambda w, i, t: w["tires"][4].update(verdict="near"), "near in forecast"),
        (lambda w, i, t: w["decisions"].update(V08=w["decisions"]["V08"][1:]), "decides otherwise"),
        (lambda w, i, t: i["decisions"].update({"V07": i["decisions"].pop("V07")}), "another order"),
        (lambda w, i, t: t["V08"]["rotate"]["chosen"].update(order=4), "rotate chooses"),
        (lambda w, i, t: t["V08"]["rotate"]["plans"][0].update(life_mi_p50=1), "left in place"),
        (lambda w, i, t: t["V08"]["rotate"].update(bound=1), "no order of moves gives more"),
        (lambda w, i, t: t["V09"]["tread"]["wheels"][1].update(now_at="LF"), "elsewhere in rotate"),
        (lambda w, i, t: t["V09"]["tread"]["next"].pop(), "tread decides otherwise"),
        (lambda w, i, t: t["V09"]["replace"]["at_limit"].append("RR"), "inspected"),
    ],
)
def test_a_disagreement_of_two_commands_would_be_seen(answers, spoil, said):
    whole, what_if, fleet, told = answers
    page = {v: own["page"] for v, own in told.items()}
    rest = {v: {k: x for k, x in own.items() if k != "page"} for v, own in told.items()}
    whole, what_if, rest = copy.deepcopy((whole, what_if, rest))
    spoil(whole, what_if, rest)
    told = {v: {**own, "page": page[v]} for v, own in rest.items()}
    assert any(said in one for one in compare(whole, what_if, fleet, told, units="us"))


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


@pytest.mark.parametrize("depths", WALKINS[1::8], ids=str)
def test_the_walk_in_s_command_and_page_say_the_same(depths):
    lf, rf, rear = depths
    words = [f"{d:g}" for d in (lf, rf, rear, rear)]
    told = asked("walkin", "--depths", *words, "--as-of", "2026-11-01", "--drive", "front")
    page = walkin_answer([float(w) * N32 for w in words], as_of="2026-11-01", drive="front")
    assert [*page.said.urgent, *page.said.steps] == [row["words"] for row in told["decision"]]
    rows = page.tires.set_index("position")
    for row in told["forecast"]:
        mine = rows.loc[row["position"]]
        assert mine["depth_now_mm"] / N32 == pytest.approx(row["depth_now_32nds"], abs=1e-6)
        assert mine["read_raw_mm"] / N32 == pytest.approx(row["read_raw_32nds"], abs=1e-6)
        assert mine["km_left_p50"] / 1.609344 == pytest.approx(row["miles_left_p50"], rel=1e-6)
        assert mine["verdict"] == row["verdict"]
    assert bool(told["urgent"]) == any(row["do"] == "inspect-now" for row in told["decision"])
    assert "set-pressure" in [row["do"] for row in told["decision"]]
