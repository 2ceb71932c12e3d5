"""Depths as they are typed: positions, grooves across the tread, spots."""

import pytest

from tirelife.errors import InputError
from tirelife.logbook.arrivals import depths_typed

ACROSS = {
    1: ["center"],
    2: ["outer", "inner"],
    3: ["outer", "center", "inner"],
    4: ["outer", "outer_mid", "inner_mid", "inner"],
    5: ["outer", "outer_mid", "center", "inner_mid", "inner"],
}


@pytest.mark.parametrize("count", ACROSS)
def test_depths_stand_from_outside_to_inside(count):
    values = [str(9 - i) for i in range(count)]
    assert depths_typed(["LF", *values]) == [
        ("LF", groove, value, "") for groove, value in zip(ACROSS[count], values, strict=True)
    ]


def test_grooves_and_spots_may_be_named():
    assert depths_typed(["RR", "outer=6.5", "inner_mid@12=5"]) == [
        ("RR", "outer", "6.5", ""), ("RR", "inner_mid", "5", "12"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "words", [["LF"], ["LF", "1", "2", "3", "4", "5", "6"], ["LF", "outer=6", "5"], ["LF", "Outer=6"],
              ["LF", "outer@=6"], ["LF", "outer="]]
)  # fmt: skip
def test_more_fewer_or_mixed_are_refused(words):
    with pytest.raises(InputError):
        depths_typed(words)
