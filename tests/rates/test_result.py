"""What a fit hands out cannot be spoiled."""

import dataclasses
import math

import pandas as pd
import pytest

from tirelife.rates import PUBLISHED, WearFit
from tirelife.rates.result import CHECKS, COMPONENTS, ESTIMATES, TIRES, VEHICLES, VISITS
from tirelife.wear import ASSUMED

NAMES = ("estimates", "components", "tires", "vehicles", "visits", "checks", "anchors")


def made(names=NAMES):
    return WearFit({n: pd.DataFrame({"of": [n]}) for n in names}, "REML", 0.0, PUBLISHED, PUBLISHED)


@pytest.mark.parametrize("name", NAMES)
def test_each_frame_is_its_own_and_a_copy(name):
    fit = made()
    assert getattr(fit, name)["of"].tolist() == [name]
    frame = getattr(fit, name)
    frame.loc[0, "of"] = "spoiled"
    assert getattr(fit, name)["of"].tolist() == [name]


def test_a_fit_of_frames_has_no_anchors_and_the_assumed_factors():
    fit = made(NAMES[:-1])
    assert fit.anchors.columns.tolist() == ["tire_id", "axle"]
    assert fit.anchors.empty
    assert fit.factors == ASSUMED
    assert math.isnan(fit.criterion)
    assert not fit.verdict.refused


def test_it_is_frozen():
    with pytest.raises(dataclasses.FrozenInstanceError):
        made().q = 1.0


@pytest.mark.parametrize("columns", [CHECKS, COMPONENTS, ESTIMATES, TIRES, VEHICLES, VISITS])
def test_no_column_of_a_frame_is_named_twice(columns):
    assert len(set(columns)) == len(columns)
