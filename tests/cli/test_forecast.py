"""``tirelife forecast``: which vehicles, whether with what to do, and where it goes."""

import json
from types import SimpleNamespace

import pandas as pd
import pytest

from tirelife.cli import forecast, main

DAY = pd.Timestamp("2026-09-30")


@pytest.fixture
def made(monkeypatch):
    """The command with its rooms stood in for; what they were asked is kept."""
    asked = {}
    book = SimpleNamespace(units="us", as_of=DAY, vehicles=pd.DataFrame({"vehicle_id": ["V1", "V2"]}))
    on = SimpleNamespace(book=book, fit=SimpleNamespace(verdict="good"), removal=1.6, rule="rule")
    table = pd.DataFrame({"vehicle_id": ["V1", "V2", "V1"], "position": ["LF", "LF", "RF"]})

    def parts(book, fit, out, **how):
        asked.update(how, out=out)
        return "3 parts"

    def decided(*given, **how):
        asked["decided"] = given
        return "decisions"

    monkeypatch.setattr(forecast, "asked", lambda args: on)
    monkeypatch.setattr(
        forecast, "logbook", SimpleNamespace(known_vehicles=lambda book, ids: asked.update(ids=ids))
    )
    monkeypatch.setattr(
        forecast,
        "outlook",
        SimpleNamespace(forecast=lambda *_, **__: asked.get("table", table), forecast_fleet=parts),
    )
    monkeypatch.setattr(forecast, "advice", SimpleNamespace(fleet_decisions=decided))
    words = {
        "first_lines": lambda told: ["first"], "told_verdicts": lambda *_: {}, "fit_lines": lambda verdict: [verdict],
        "forecast_data": lambda found, *_: found, "all_rows": lambda *_: {"V1": []},
        "with_decisions": lambda found, *_: found.assign(do="look"),
        "forecast_text": lambda found, *rest: f"{len(found)} tires, {len(rest) - 2} with decisions",
    }  # fmt: skip
    for name, stand_in in words.items():
        monkeypatch.setattr(forecast.terminal, name, stand_in)
    return asked


def test_only_the_vehicles_asked_for_are_told_of(made, capsys):
    assert main(["forecast", "book", "--vehicle", "V1"]) == 0
    told = capsys.readouterr()
    assert told.out == "2 tires, 1 with decisions\n"
    assert told.err.splitlines()[:2] == ["first", "good"]
    assert made["ids"] == ["V1"]
    assert made["decided"][2] == ["V1"]
    assert main(["forecast", "book"]) == 0
    assert capsys.readouterr().out == "3 tires, 1 with decisions\n"
    assert made["ids"] == ()


def test_data_say_what_to_do_unless_told_not_to(made, capsys):
    assert main(["forecast", "book", "--csv"]) == 0
    assert capsys.readouterr().out.splitlines()[0] == "vehicle_id,position,do"
    assert main(["forecast", "book", "--csv", "--decisions", "no"]) == 0
    assert capsys.readouterr().out.splitlines()[0] == "vehicle_id,position"
    assert main(["forecast", "book", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert list(answer) == ["tires", "decisions"]
    assert "do" not in answer["tires"][0]
    assert main(["forecast", "book", "--json", "--decisions", "no"]) == 0
    assert list(json.loads(capsys.readouterr().out)) == ["tires"]


def test_no_tire_on_a_vehicle_is_said_and_nothing_is_decided(made, capsys):
    made["table"] = pd.DataFrame(columns=["vehicle_id", "position"])
    assert main(["forecast", "book"]) == 0
    assert "no tire is on a vehicle on 2026-09-30: nothing to forecast" in capsys.readouterr().err
    assert "decided" not in made


def test_a_folder_of_parts_is_decided_only_where_it_is_asked_for(made, capsys):
    assert main(["forecast", "book", "--out", "parts/", "--chunk", "7"]) == 0
    assert "2 vehicles in 3 parts." in capsys.readouterr().err
    assert (made["chunk"], made["out"], made["shaped"]) == (7, "parts/", "rule None")
    table = pd.DataFrame({"vehicle_id": ["V1"]})
    assert "do" not in made["shape"](table, None, None)
    assert main(["forecast", "book", "--out", "parts/", "--decisions", "yes"]) == 0
    assert "do" in made["shape"](table, None, None)
    assert made["shaped"] == "rule yes"
