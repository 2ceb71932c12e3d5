"""The tread of one vehicle from Python: what the command prints, in inside units."""

import json

import pytest

from tirelife import advice, outlook, read_logbook, tread
from tirelife.cli import main
from tirelife.errors import InputError

DEMO = "data_synthetic/logbook"


@pytest.fixture(scope="module")
def book():
    return read_logbook(DEMO)


@pytest.fixture(scope="module")
def reading(book):
    return advice.read_tread(
        book, "V06", outlook.kept_fit(book), [tread.parse_finding("LR:cups")], place="US/Army"
    )


def test_it_is_what_the_command_says(reading, capsys):
    words = ["tread", DEMO, "--vehicle", "V06", "--finding", "LR:cups", "--place", "US/Army", "--json"]
    assert main(words) == 0
    told = json.loads(capsys.readouterr().out)
    assert [w["position"] for w in told["wheels"]] == list(reading.wheels["position"])
    for wheel, row in zip(told["wheels"], reading.wheels.to_dict("records"), strict=True):
        assert wheel["read_32nds"] * 0.79375 == pytest.approx(row["least_mm"], rel=1e-11)
        assert wheel["removal_depth_32nds"] * 0.79375 == pytest.approx(
            reading.limits[row["position"]].depth_mm
        )
        mine = reading.causes[reading.causes["position"] == row["position"]]
        assert [c["cause"] for c in wheel["causes"]] == list(mine["cause"])
    assert [row["do"] for row in told["next"]] == [a.kind.value for a in reading.decision.actions]
    assert len(told["corrections"]) == reading.corrections["km_gained_p50"].notna().sum() > 0


def test_the_front_axle_has_its_own_removal_depth(reading):
    # TM 9-2610-200-14 section 2-24: commercial passenger vehicles, 4/32 in on the steering axle, 2/32 elsewhere.
    depths = {place: limit.depth_mm / 0.79375 for place, limit in reading.limits.items()}
    assert depths == pytest.approx({"LF": 4, "RF": 4, "LR": 2, "RR": 2, "SP": 2})


def test_a_vehicle_that_is_not_there_is_refused_with_those_that_are(book):
    with pytest.raises(InputError, match=r"'V77' is not in the logbook: use one of V01"):
        advice.read_tread(book, "V77", outlook.kept_fit(book))
