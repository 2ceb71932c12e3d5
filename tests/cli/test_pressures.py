"""``tirelife pressures`` and ``tirelife replace`` from the command line, on the demo logbook."""

import json
import re

import pytest

from tirelife.cli import main

LOGBOOK = "data_synthetic/logbook"


def test_pressures_of_one_vehicle(capsys):
    assert main(["pressures", LOGBOOK, "--vehicle", "V03"]) == 0
    out = capsys.readouterr().out
    assert "Never bleed a hot tire" in out
    assert len(re.findall(r"^V03 +\w+ \w+ +\d", out, re.M)) == 4
    assert main(["pressures", LOGBOOK, "--vehicle", "V03", "--json"]) == 0
    tires = json.loads(capsys.readouterr().out)["tires"]
    for tire in tires:
        assert tire["hot_target_psi"] - tire["placard_psi"] == pytest.approx(4.0)
        assert tire["shortfall_psi"] >= 0
    assert {t["position"] for t in tires} == {"LF", "RF", "LR", "RR"}


def test_unknown_vehicle(capsys):
    assert main(["pressures", LOGBOOK, "--vehicle", "V77"]) == 2
    assert "V77" in capsys.readouterr().err


def test_ways_to_replace_are_ranked_by_cost(capsys):
    words = [
        "replace",
        LOGBOOK,
        "--vehicle",
        "V03",
        "--line",
        "plain=100/10",
        "--line",
        "long=150/10/0.6",
        "--fitting",
        "20",
    ]
    assert main([*words, "--json"]) == 0
    ways = json.loads(capsys.readouterr().out)["ways"]
    assert len(ways) == 12
    costs = [way["cost_per_1000mi"] for way in ways if way["allowed"]]
    assert costs == sorted(costs)
    assert all(way["cost_per_1000mi_p10"] <= way["cost_per_1000mi_p90"] for way in ways if way["allowed"])
    assert all(way["why_not"] for way in ways if not way["allowed"])
    assert main(words) == 0
    said = capsys.readouterr().out
    assert "thrown away" in said
    assert "both front tires" in said
    assert "LF RF" not in said


@pytest.mark.parametrize("line", ["plain", "plain=cheap", "plain=0"])
def test_a_line_that_cannot_be_read_is_named(capsys, line):
    assert main(["replace", LOGBOOK, "--vehicle", "V03", "--line", line]) == 2
    assert "plain" in capsys.readouterr().err
