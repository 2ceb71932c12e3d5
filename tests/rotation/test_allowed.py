"""Whether any rotation that changes axles is allowed, by the rules of the trade."""

from types import SimpleNamespace

import pandas as pd
import pytest

from tirelife.rotation.allowed import none_allowed, since_moved
from tirelife.rotation.plan import Refusal

SAME = dict.fromkeys(("LF", "RF", "LR", "RR"), "225/45R18")
APART = {**SAME, "LR": "255/40R18", "RR": "255/40R18"}


@pytest.mark.parametrize(
    ("sizes", "directional", "against"),
    [
        (SAME, False, None),
        (SAME, True, None),  # front to rear on one side
        ({}, False, None),  # an unknown size is taken to match
        (dict.fromkeys(SAME, ""), True, None),
        ({**SAME, "LR": "", "RR": ""}, False, None),
        (APART, False, Refusal.SIZES),  # they stay on their axle
        (APART, True, Refusal.DIRECTIONAL),  # and turn one way: nowhere to go
    ],
)
def test_sizes_and_direction_stand_against_a_change_of_axles(sizes, directional, against):
    assert none_allowed(sizes, directional) is against


def test_one_odd_tire_stands_against_it_too():
    assert none_allowed({**SAME, "RR": "255/40R18"}) is Refusal.SIZES


def test_distance_since_is_that_of_the_tire_that_moved_last():
    path = pd.DataFrame(
        [("V1", "LF", 0.0, 9_000.0, True), ("V1", "RF", 5_000.0, 9_000.0, True), ("V1", "SP", 8_900.0, 9_000.0, True),
         ("V1", "RF", 0.0, 5_000.0, False), ("V2", "LR", 100.0, 400.0, True), ("V3", "LF", 0.0, 10.0, False)],
        columns=["vehicle_id", "position", "from_km", "to_km", "open"],
    )  # fmt: skip
    assert since_moved(SimpleNamespace(stretches=path)) == {"V1": 4_000.0, "V2": 300.0}
    assert since_moved(SimpleNamespace(stretches=path.iloc[:0])) == {}
