"""What a comparison hands out cannot be spoiled, and what it is cannot be changed."""

import dataclasses

import pandas as pd
import pytest

from tirelife.groups import GroupComparison

NAMES = ("groups", "pairs", "why", "checks", "components", "tires")


def made():
    return GroupComparison("driver_group", ("line",), {n: pd.DataFrame({"of": [n]}) for n in NAMES}, 0.8, 2)


@pytest.mark.parametrize("name", NAMES)
def test_each_frame_is_its_own_and_a_copy(name):
    found = made()
    assert getattr(found, name)["of"].tolist() == [name]
    frame = getattr(found, name)
    frame.loc[0, "of"] = "spoiled"
    assert getattr(found, name)["of"].tolist() == [name]


def test_it_is_frozen_and_its_frames_are_not_printed():
    found = made()
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.level = 0.9
    assert "spoiled" not in repr(found)
    assert "frames" not in repr(found)
    assert "hidden=2" in repr(found)
