"""No two commands disagree on what to do: each says the decision, and none makes advice of its own."""

import json

import pytest

from tirelife.advice import Kind, decisions_otherwise, fleet_decisions
from tirelife.cli import main
from tirelife.cli.decision import decision_rows, headline_lines
from tirelife.logbook import ROAD_POSITIONS, read_logbook
from tirelife.outlook import Otherwise, kept_fit, project
from tirelife.outlook.whatif import otherwise_states
from tirelife.wear import Change

DEMO = "data_synthetic/logbook"


@pytest.fixture(scope="module")
def book():
    return read_logbook(DEMO)


@pytest.fixture(scope="module")
def fit(book):
    return kept_fit(book, None, fresh=False)


@pytest.fixture(scope="module")
def found(book, fit):
    return fleet_decisions(book, fit)


def said_by(capsys, *words):
    assert main(list(words)) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("vehicle", ["V09", "V06", "V15"])
def test_tread_rotate_and_page_say_the_decision(capsys, book, found, vehicle):
    told = decision_rows(found.decisions[vehicle], book.units)
    tread = json.loads(said_by(capsys, "tread", DEMO, "--vehicle", vehicle, "--json"))
    assert [{n: row[n] for n in ("do", "words")} for row in tread["next"]] == told
    rotate = json.loads(said_by(capsys, "rotate", DEMO, "--vehicle", vehicle, "--json"))
    assert rotate["decision"] == told
    text = said_by(capsys, "tread", DEMO, "--vehicle", vehicle)
    assert text.index("What to do next") < text.index(told[0]["words"])
    assert "usual rotation" not in text or found.decisions[vehicle].of(Kind.ROTATE)


def test_a_finding_goes_into_the_decision_that_tread_says(capsys):
    answer = json.loads(said_by(capsys, "tread", DEMO, "--vehicle", "V05", "--finding", "LF:cords", "--json"))
    assert answer["next"][0]["do"] == "inspect-now"
    assert "left front" in answer["next"][0]["words"]


def test_the_forecast_says_what_to_do_first_and_keeps_the_order_of_the_fleet(capsys, book, found):
    lines = said_by(capsys, "forecast", DEMO).splitlines()
    heads = headline_lines(found, book.units)
    assert lines[: len(heads) + 1] == ["What to do first", *heads]
    rows = [
        line.split()[0] for line in lines if line[:1] == "V" and any(p in line for p in (" front ", " rear "))
    ]
    rows = [row for row in rows if row in found.decisions]
    assert list(dict.fromkeys(rows)) == found.by_urgency()


def test_a_what_if_says_what_it_would_alter_of_what_to_do(capsys):
    text = said_by(capsys, "whatif", DEMO, "--vehicle", "V03", "--off-at", "4/32", "--stops", "0.8")
    assert "V03: Set the pressures cold" in text
    assert "removal at 4/32: Have a qualified person look at the tread now" in text
    assert "stops at 0.8 of the acceleration: " not in text


def test_a_walk_in_is_told_the_decision(capsys):
    text = said_by(capsys, "walkin", "--depths", "3", "3", "2", "3", "--as-of", "2026-11-01")
    assert "Replace all four tires now." in text
    answer = json.loads(said_by(capsys, "walkin", "--depths", "3", "3", "2", "3", "--json"))
    assert [row["do"] for row in answer["decision"]][:2] == ["inspect-now", "replace"]


def test_nothing_otherwise_is_as_things_are(book, fit, found):
    same = decisions_otherwise(book, fit, Otherwise("nothing", wear=Change("nothing")))
    assert {v: (d.actions, d.first) for v, d in same.decisions.items()} == {
        v: (d.actions, d.first) for v, d in found.decisions.items()
    }
    pressure = decisions_otherwise(book, fit, Otherwise("kept", wear=Change("kept", pressure_kept=True)))
    assert not any(d.of(Kind.PRESSURE) for d in pressure.decisions.values())
    assert any(d.of(Kind.PRESSURE) for d in found.decisions.values())


def test_a_what_if_of_a_fleet_is_that_of_its_gains(book, fit):
    from tirelife.outlook import what_if

    change = Otherwise("gentler", wear=Change("gentler", stops=0.5), rotation_km=0.0, km_per_year=9_000.0)
    before = otherwise_states(book, fit, Otherwise("as now"), ["V01", "V08"])
    after = otherwise_states(book, fit, change, ["V01", "V08"])
    apart = project(after)["km_left_p50"].to_numpy() - project(before)["km_left_p50"].to_numpy()
    gains = what_if(book, fit, change, ["V01", "V08"])
    gains = gains[gains["position"].isin(ROAD_POSITIONS)].set_index(["vehicle_id", "position"])
    told = gains.loc[list(zip(after["vehicle_id"], after["position"], strict=True)), "km_gained_p50"]
    assert apart == pytest.approx(told.to_numpy(float), rel=0.1, abs=150)
