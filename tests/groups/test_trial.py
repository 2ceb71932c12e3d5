import numpy as np
import pytest

from tirelife.errors import InputError
from tirelife.groups import plan_trial, rate_log_se
from tirelife.groups.advice import Remark


def test_standard_error_of_a_line_through_evenly_spaced_readings():
    x = np.linspace(0, 30_000, 5)
    noise = np.random.default_rng(1).normal(0, 0.2, (40_000, 5))
    slope = np.polynomial.polynomial.polyfit(x, noise.T, 1)[1]
    assert rate_log_se(3.0, 0.2, 5) == pytest.approx(slope.std() * 30_000 / 3.0, rel=0.01)


def power(vehicles, sd, ratio, draws=20_000):
    from scipy.stats import t

    rng = np.random.default_rng(vehicles)
    a, b = (rng.normal(m, sd, (draws, vehicles)) for m in (0.0, np.log(ratio)))
    pooled = np.sqrt((a.var(axis=1, ddof=1) + b.var(axis=1, ddof=1)) / 2 * 2 / vehicles)
    shown = np.abs(b.mean(axis=1) - a.mean(axis=1)) / pooled > t.ppf(0.975, 2 * vehicles - 2)
    return shown.mean()


def test_vehicles_asked_for_show_ten_percent_four_times_in_five():
    out = plan_trial(0.12, 0.06, 0.1, (16_000.0, 32_000.0))
    for row in out.itertuples():
        assert power(row.vehicles, row.vehicle_sd, 1.10) >= 0.79
        assert power(row.vehicles - 1, row.vehicle_sd, 1.10) < 0.805


def test_longer_trials_need_fewer_vehicles_down_to_the_spread_between_vehicles():
    out = plan_trial(0.15, 0.08, 0.08)
    assert out["vehicles"].is_monotonic_decreasing
    floor = plan_trial(0.15, 0.08, 0.08, (1e7,))["vehicle_sd"][0]
    assert floor == pytest.approx(np.sqrt(0.15**2 + 0.08**2 / 4), rel=1e-4)


def test_spread_of_one_vehicle_is_vehicles_plus_tires_plus_readings():
    out = plan_trial(0.15, 0.08, 0.1, (20_000.0,), visits=2, reading_sd_mm=0.1)
    # 2 mm lost, two readings within 0.1 mm: 0.1 * sqrt(2) / 2
    assert out["vehicle_sd"][0] == pytest.approx(np.sqrt(0.15**2 + (0.08**2 + 0.005) / 4))


def test_both_lines_on_the_same_vehicles_need_fewer():
    apart = plan_trial(0.2, 0.08, 0.08, (24_000.0,))["vehicles"][0]
    same = plan_trial(0.2, 0.08, 0.08, (24_000.0,), same_vehicles=True)["vehicles"][0]
    assert same < apart / 3


def test_more_groups_need_more_vehicles():
    two, four = (plan_trial(0.15, 0.08, 0.08, (24_000.0,), groups=k)["vehicles"][0] for k in (2, 4))
    assert four > two


def test_fewer_than_thirty_tires_a_kind_is_said():
    # TMC RP 230: at least 30 tires of each type at the end of a wear trial (facts/standards-and-trade.md 4.4).
    out = plan_trial(0.02, 0.02, 0.1, (48_000.0,))
    assert out["tires_a_group"][0] < 30
    assert out["note"][0] == Remark.FEW_TIRES
    assert plan_trial(0.15, 0.08, 0.1, (48_000.0,))["note"][0] == ""


@pytest.mark.parametrize(
    ("words", "part"),
    [
        ({"ratio": 1.0}, "ratio other than 1"),
        ({"groups": 1}, "two groups or more"),
        ({"visits": 1}, "two visits or more"),
        ({"groups": 3, "same_vehicles": True}, "two kinds can be tried"),
    ],
)
def test_trials_that_cannot_be_are_refused(words, part):
    with pytest.raises(InputError, match=part):
        plan_trial(0.15, 0.08, 0.1, **words)
