"""What a person types of a walk-in, as the arguments of :func:`tirelife.outlook.walk_in`."""

import pytest

from tirelife.errors import InputError
from tirelife.outlook import walkin_typed

BARE = dict.fromkeys(
    ["new_depth", "miles_on", "km_on", "miles_per_year", "km_per_year", "grade", "drive", "season", "region", "rotated",
     "speed_shares", "hard_starts", "hard_stops", "hard_turns"]
) | {"units": "us", "depths": ["6"]}  # fmt: skip


def test_depths_alone_leave_every_fact_open():
    depths, facts = walkin_typed(BARE | {"depths": ["6,6,5", "7"]})
    assert depths == [pytest.approx([6 * 0.79375, 6 * 0.79375, 5 * 0.79375]), pytest.approx([7 * 0.79375])]
    assert set(facts.values()) == {None}


def test_each_fact_goes_to_its_argument_in_inside_units():
    told = {
        "new_depth": 10.0, "miles_on": 1000.0, "km_per_year": 20_000.0, "grade": 400.0, "drive": "rear", "season": "winter",
        "region": "EU", "rotated": "no", "hard_stops": 8.04672,
    }  # fmt: skip
    facts = walkin_typed(BARE | told)[1]
    profile = facts.pop("profile")
    assert facts == {
        "new_depth_mm": pytest.approx(7.9375), "distance_km": pytest.approx(1609.344), "km_per_year": 20_000.0,
        "treadwear_grade": 400.0, "drive": "rear", "season": "winter", "region": "EU", "rotated": False,
    }  # fmt: skip
    metric = walkin_typed(BARE | {"units": "metric", "hard_stops": 5.0, "depths": ["5"], "new_depth": 8.0})
    assert metric[0] == [[5.0]]
    assert metric[1]["new_depth_mm"] == 8.0
    assert metric[1]["profile"] == profile  # 8.04672 in 100 miles are 5 in 100 km


@pytest.mark.parametrize("what", ["on", "per_year"])
def test_a_distance_is_told_once(what):
    with pytest.raises(
        InputError, match=f"--miles-{what.replace('_', '-')} and --km-{what.replace('_', '-')}: give one"
    ):
        walkin_typed(BARE | {f"miles_{what}": 1.0, f"km_{what}": 2.0})


@pytest.mark.parametrize("word", ["x", "6,x"])
def test_no_depth_is_refused(word):
    with pytest.raises(InputError):
        walkin_typed(BARE | {"depths": [word]})
