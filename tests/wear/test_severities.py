"""Severity of a vehicle's wheels as a table, and as a linear function of plain answers."""

import numpy as np
import pytest

from tirelife.driving import default_profile, profile_from_answers
from tirelife.errors import InputError
from tirelife.wear import CAUSES, Vehicle, answer_weights, severity
from tirelife.wear.severities import answer_causes

PLACES = ["LF", "RF", "LR", "RR"]


def test_rows_are_wheels_and_columns_the_whole_its_causes_and_how_surely_it_is_known():
    table = severity(default_profile(), Vehicle())
    assert table.index.tolist() == PLACES
    assert table.index.name == "position"
    assert table.columns.tolist() == ["severity", *CAUSES, "severity_log_sd"]
    np.testing.assert_allclose(table[list(CAUSES)].sum(axis=1), table["severity"])
    assert table.loc["LF"].tolist() == table.loc["RF"].tolist()
    # What the profile leaves open is open on every wheel.
    assert (table["severity_log_sd"] >= default_profile().log_sd).all()


def test_toe_is_of_its_axle_and_pressure_of_its_wheel():
    plain = severity(default_profile(), Vehicle())
    toed = severity(default_profile(), Vehicle(), front_toe_mm=3.0)
    assert (toed["alignment"] > 0).tolist() == [True, True, False, False]
    rear = severity(default_profile(), Vehicle(), rear_toe_mm=3.0)
    assert (rear["alignment"] > 0).tolist() == [False, False, True, True]
    low = severity(default_profile(), Vehicle(), pressure=[1.0, 1.2, 1.0, 1.5])
    np.testing.assert_allclose(low["severity"] / plain["severity"], [1.0, 1.2, 1.0, 1.5])


@pytest.mark.parametrize("pressure", [0.0, -1.0, [1.0, 1.0, np.nan, 1.0], np.inf])
def test_a_pressure_factor_that_cannot_be_is_refused(pressure):
    with pytest.raises(InputError) as refused:
        severity(default_profile(), Vehicle(), pressure=pressure)
    assert refused.value.problems[0].code == "wear-pressure-factors"


@pytest.mark.parametrize("drive", ["front", "rear", "all"])
def test_answers_weigh_what_the_profile_made_of_them_costs_cause_by_cause(drive):
    car = Vehicle.of_drive(drive)
    answers = ((0.1, 0.2, 0.4, 0.2, 0.1), (2.0, 4.0, 6.0))
    want = severity(profile_from_answers(answers[0], *answers[1]), car)
    row = np.concatenate([[1.0], *answers])
    for cause, table in answer_causes(car).items():
        assert table.index.tolist() == PLACES
        np.testing.assert_allclose(table.to_numpy() @ row, want[cause], rtol=1e-9, atol=1e-12)
    whole = answer_weights(car)
    np.testing.assert_allclose(whole.to_numpy() @ row, want["severity"], rtol=1e-9)
    assert whole.columns[0] == "constant"
    assert len(whole.columns) == 9


def test_pressure_and_alignment_are_no_matter_of_answers():
    parts = answer_causes(Vehicle())
    assert not parts["alignment"].to_numpy().any()
    assert not parts["pressure"].to_numpy().any()
    # Nothing driven costs nothing but what rolling does without a force.
    assert not parts["speed"]["constant"].any()
