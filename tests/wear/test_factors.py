"""What is known of the causes' sizes, worked out by hand."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tirelife.driving import MOMENTS, default_profile
from tirelife.errors import InputError
from tirelife.wear import CAUSE_LOG_SD, CAUSES, reference_shares
from tirelife.wear.cause import RECORDS
from tirelife.wear.factors import ASSUMED, Factors, severity_log_sd

N = len(CAUSES)
TWICE = Factors(log_mean=tuple(math.log(2.0) if cause == "corners" else 0.0 for cause in CAUSES))


def shares(**told):
    return np.array([told.get(cause, 0.0) for cause in CAUSES])


def test_what_is_assumed_is_the_physics():
    np.testing.assert_allclose(ASSUMED.weights @ reference_shares(), 1.0)
    np.testing.assert_allclose(ASSUMED.weights, 1 / reference_shares().sum())
    assert ASSUMED.belief == 1
    assert ASSUMED.finite


def test_a_factor_moves_its_causes_share_and_not_the_level():
    weigh = TWICE.weigh(dict(zip(CAUSES, reference_shares(), strict=True)))
    assert sum(weigh.values()) == pytest.approx(1.0)
    plain = ASSUMED.weigh(dict(zip(CAUSES, reference_shares(), strict=True)))
    assert weigh["corners"] / weigh["speed"] == pytest.approx(2 * plain["corners"] / plain["speed"])


def test_what_all_factors_have_in_common_is_held_and_their_differences_are_the_causes_own():
    cov = ASSUMED.covariance
    square = np.array([CAUSE_LOG_SD[cause] ** 2 for cause in CAUSES])
    one = 1 / square
    # The mean weighted by what is known of each has the sd that is held, and goes with no difference.
    mean = one / one.sum()
    assert mean @ cov @ mean == pytest.approx(0.05**2)
    for i in range(1, N):
        apart = np.eye(N)[i] - np.eye(N)[0]
        assert apart @ cov @ apart == pytest.approx(square[i] + square[0])
        assert apart @ cov @ mean == pytest.approx(0.0, abs=1e-12)
    assert list(ASSUMED.log_sd) == list(CAUSES)
    assert ASSUMED.log_sd["corners"] == pytest.approx(
        np.sqrt(cov[CAUSES.index("corners"), CAUSES.index("corners")])
    )


@pytest.mark.parametrize(
    "wrong",
    [{"log_mean": (0.0,) * (N - 1)}, {"cov": ((1.0,) * N,) * (N - 1)}, {"cov": ((1.0,) * (N - 1),) * N},
     {"usual": (1.0,)}, {"level": (1.0,) * (N + 1)}, {"ranges": ((0.0, 1.0),)}],
)  # fmt: skip
def test_numbers_that_are_not_one_a_cause_are_refused(wrong):
    with pytest.raises(InputError) as refused:
        Factors(**wrong)
    assert refused.value.problems[0].code == "wear-factors"
    assert ", ".join(CAUSES) in str(refused.value)


def test_full_sets_of_numbers_are_taken():
    whole = Factors(
        cov=tuple(tuple(row) for row in np.eye(N)), usual=(1.0,) * len(MOMENTS), level=(1 / N,) * N, ranges=((-1.0, 1.0),) * N
    )  # fmt: skip
    assert whole.anchor.tolist() == [1 / N] * N
    assert whole.covariance.tolist() == np.eye(N).tolist()


def test_the_level_is_known_best_at_the_references_mix_under_the_factors():
    anchor = TWICE.anchor
    assert anchor.sum() == pytest.approx(1.0)
    corners = CAUSES.index("corners")
    assert anchor[corners] / ASSUMED.anchor[corners] == pytest.approx(2 * anchor[0] / ASSUMED.anchor[0])


def test_spread_is_that_of_what_differs_in_the_mix():
    known = Factors(cov=tuple(tuple(row) for row in np.diag(np.arange(1.0, N + 1))))
    gap = np.zeros((2, N))
    gap[0, 1], gap[0, 2] = 0.3, -0.3
    assert known.spread(gap).tolist() == pytest.approx([np.sqrt(0.09 * 2 + 0.09 * 3), 0.0])
    assert ASSUMED.spread(np.zeros(N)) == 0


def test_a_change_carries_half_of_what_is_not_known_of_the_habit_it_changes():
    gap = np.zeros(N)
    gap[CAUSES.index("corners")] = 0.2
    plain = ASSUMED.change_spread(gap)
    assert plain == pytest.approx(ASSUMED.spread(gap))
    assert ASSUMED.change_spread(gap, 0.4) == pytest.approx(np.sqrt(plain**2 + 0.04 * 0.4**2 / 2))
    # Toe is no habit of driving, and pressure leaves no energy of its own.
    for cause in ("alignment", "pressure", "base"):
        other = np.zeros(N)
        other[CAUSES.index(cause)] = 0.2
        assert ASSUMED.change_spread(other, 0.4) == pytest.approx(ASSUMED.spread(other))
    many = ASSUMED.of_change(np.array([0.0, 0.4]))
    assert many.shape == (2, N, N)
    driven = [float(record.driver and record.energy is not None) for record in RECORDS]
    np.testing.assert_allclose(many[1] - many[0], np.diag(driven) * 0.08)


def test_habits_are_drawn_to_the_usual_ones_as_far_as_they_are_not_believed():
    usual = np.array([getattr(default_profile(), name) for name in MOMENTS])
    table = pd.DataFrame([3 * usual], columns=list(MOMENTS)).assign(vehicle_id="V1")
    assert ASSUMED.believed(table) is table
    half = replace(ASSUMED, belief=0.5).believed(table)
    np.testing.assert_allclose(half[list(MOMENTS)].to_numpy()[0], 2 * usual)
    assert half["vehicle_id"].tolist() == ["V1"]
    other = replace(ASSUMED, belief=0.0, usual=tuple(7.0 * usual)).believed(table)
    np.testing.assert_allclose(other[list(MOMENTS)].to_numpy()[0], 7 * usual)
    np.testing.assert_allclose(table[list(MOMENTS)].to_numpy()[0], 3 * usual)


def test_the_table_has_eighty_per_cent_ranges():
    table = TWICE.table().set_index("cause")
    sd = TWICE.log_sd["corners"]
    # A normal law holds 80 % within 1.2816 standard deviations.
    assert table.loc["corners", "factor"] == pytest.approx(2.0)
    assert table.loc["corners", "lower"] == pytest.approx(2 * np.exp(-1.28155 * sd), rel=1e-4)
    assert table.loc["corners", "upper"] == pytest.approx(2 * np.exp(1.28155 * sd), rel=1e-4)
    assert table.loc["corners", "log_sd"] == pytest.approx(sd)
    told = replace(TWICE, ranges=((-0.5, 1.5),) * N).table()
    assert told["lower"].tolist() == pytest.approx([np.exp(-0.5)] * N)
    assert told["log_sd"].tolist() == pytest.approx([2.0 / (2 * 1.28155)] * N, rel=1e-4)


def test_what_is_no_number_is_told():
    assert not replace(ASSUMED, belief=math.nan).finite
    assert not replace(ASSUMED, log_mean=(math.inf, *[0.0] * (N - 1))).finite
    assert not replace(ASSUMED, cov=((math.nan,) * N,) * N).finite


def test_severity_is_known_as_far_as_its_mix_is_the_references_and_the_rest_in_squares():
    there = dict(zip(CAUSES, 3.0 * ASSUMED.anchor, strict=True))
    assert severity_log_sd(there) == pytest.approx(0.0, abs=1e-9)
    assert severity_log_sd(there, 0.3, 0.4) == pytest.approx(0.5)
    alone = {cause: float(cause == "corners") for cause in CAUSES}
    gap = shares(corners=1.0) - ASSUMED.anchor
    assert severity_log_sd(alone) == pytest.approx(np.sqrt(gap @ ASSUMED.covariance @ gap))
    nothing = severity_log_sd(dict.fromkeys(CAUSES, np.zeros(2)))
    gap = -ASSUMED.anchor
    np.testing.assert_allclose(nothing, np.sqrt(gap @ ASSUMED.covariance @ gap))
