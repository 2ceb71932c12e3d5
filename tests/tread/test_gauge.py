"""What a depth gauge adds to a reading."""

import numpy as np
import pandas as pd
import pytest

from tirelife.tread.gauge import (
    STEPS_MM,
    infer_resolution,
    learned_spread,
    reading_variances,
    rounding_variance,
    usual_spread,
)


@pytest.mark.parametrize("step", STEPS_MM)
def test_the_step_of_a_gauge_is_found_from_its_readings(step):
    rng = np.random.default_rng(2)
    depths = np.round(rng.uniform(1.6, 9.0, 60) / step) * step
    assert infer_resolution(depths) == pytest.approx(step)


def test_a_log_kept_to_two_decimals_of_a_millimetre_still_shows_32nds():
    depths = np.round(np.arange(2, 12) * 25.4 / 32, 2)
    assert infer_resolution(depths) == pytest.approx(25.4 / 32)


def test_one_slip_in_a_hundred_does_not_hide_the_step():
    depths = np.r_[np.arange(3, 9).repeat(40) * 0.5, 4.37]
    assert infer_resolution(depths) == 0.5
    assert infer_resolution([4.0, 4.37], weight=[120, 1]) == 1.0
    assert np.isnan(infer_resolution([np.pi, np.e, 5.12345]))
    assert np.isnan(infer_resolution([]))


def test_the_shop_gauge_of_one_32nd_rounds_with_nine_mils():
    # Uniform rounding: 1/32 in / sqrt(12) = 0.289/32 in = 9.0 mils (derived).
    sd_mils = np.sqrt(rounding_variance(25.4 / 32, 0.0)) / 0.0254
    assert sd_mils == pytest.approx(31.25 * 0.2887, abs=0.01)


@pytest.mark.parametrize("ratio", [0.0, 0.1, 0.25, 0.4])
def test_shared_rounding_error_is_that_of_simulated_readings(ratio):
    rng = np.random.default_rng(4)
    step, many = 0.8, 4000
    depth = rng.uniform(4, 8, 1500)
    read = np.round((depth[:, None] + rng.normal(0, ratio * step, (1500, many))) / step) * step
    shared = np.mean((read.mean(axis=1) - depth) ** 2)
    noise = (ratio * step) ** 2 / many + step**2 / 12 / many
    assert float(rounding_variance(step, ratio * step)) == pytest.approx(
        shared, abs=0.03 * step**2 / 12 + noise
    )


def test_a_fine_gauge_spreads_less():
    # TST 4(2):59: averages of six by one operator differ significantly from 0.05 mm (0.002 in).
    difference = 1.96 * np.sqrt(2) * usual_spread(0.0254) / np.sqrt(6)
    assert difference == pytest.approx(0.05, abs=0.002)
    assert usual_spread(25.4 / 32) > usual_spread(0.0254)


def test_the_spread_is_learned_from_enough_repeats_only():
    sums = pd.DataFrame({"gauge_id": ["D1", "D1", "D2"], "within_mm2": [1.0, 0.6, 0.3], "free": [20, 20, 19]})
    learned = learned_spread(sums)
    assert learned["D1"] == pytest.approx(0.2)
    assert np.isnan(learned["D2"])


def test_one_bald_place_is_not_a_gauges_spread_where_its_other_readings_repeat():
    # Thirty places read thrice to the same mark, and one where a spot reads 3.6 mm less in one of three grooves.
    within = [0.0] * 30 + [3.6**2 * 2 / 3]
    sums = pd.DataFrame({"gauge_id": "D1", "within_mm2": within, "free": [2] * 30 + [6]})
    assert learned_spread(sums)["D1"] < 0.2


@pytest.mark.parametrize("ratio", [0.15, 0.3, 0.6])
def test_learned_spread_gives_back_what_the_gauge_had(ratio):
    rng = np.random.default_rng(6)
    step = 0.8
    depth = rng.uniform(4, 8, 4000)
    read = np.round((depth[:, None] + rng.normal(0, ratio * step, (4000, 6))) / step) * step
    single, shared = reading_variances(step, 0.2, float(np.sqrt(read.var(axis=1, ddof=1).mean())))
    between = np.mean((read.mean(axis=1) - depth) ** 2)
    assert shared + single / 6 == pytest.approx(between, rel=0.06)


def test_a_step_that_nine_readings_in_ten_are_multiples_of_is_not_the_gauge_s():
    # 95 in whole mm and 5 between them: tenths, and not whole mm.
    assert infer_resolution([5.0, 6.0, 7.0, 8.0, 4.0] * 19 + [5.3] * 5) == 0.1
