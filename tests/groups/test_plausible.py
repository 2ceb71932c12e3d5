import numpy as np
import pandas as pd
import pytest

from tirelife.groups.plausible import plausibility_checks, tenths_ratio


def test_tenths_are_those_of_a_lognormal_fleet():
    wear = np.sort(np.exp(np.random.default_rng(1).normal(0, 0.2, 400_000)))
    log = np.log(wear)
    assert tenths_ratio(0.2) == pytest.approx(np.exp(log[-40_000:].mean() - log[:40_000].mean()), rel=0.01)


def test_a_survey_two_fold_between_tenths_is_a_spread_of_a_fifth():
    # Tire Sci. Technol. 1(2) 202, 1973: the best and worst tenths of users at one place differ about two-fold
    # (facts/standards-and-trade.md 1.7); ln 2 / (2 x 1.755) = 0.1975.
    assert tenths_ratio(np.log(2) / (2 * 1.754983)) == pytest.approx(2.0)
    assert plausibility_checks(pd.Series([1.1]), 0.1975)["passed"].all()


def test_thirty_five_percent_between_drivers_is_plausible_and_more_is_not():
    # TMC RP 230: drivers alone can shift wear or removal miles by up to 35 % (facts/standards-and-trade.md 4.4).
    for ratio, passes in ((1.35, True), (1 / 1.35, True), (1.36, False), (0.73, False)):
        checks = plausibility_checks(pd.Series([1.0, ratio]), 0.1).set_index("check")
        assert checks.loc["largest-ratio", "passed"] == passes


def test_what_drivers_can_do_is_not_asked_of_tire_lines():
    assert len(plausibility_checks(pd.Series(dtype=float), 0.1)) == 1


def test_a_fleet_that_spreads_more_than_users_do_fails():
    checks = plausibility_checks(pd.Series([np.nan, 1.0]), 0.3).set_index("check")
    assert not checks.loc["tenths", "passed"]
