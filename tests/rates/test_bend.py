"""A tire's own bend: not said by chance in a large fleet, and said where it is plain."""

import numpy as np
import pandas as pd
import pytest

from tirelife.rates.bend import own_bend

NAMES = [f"T{i}" for i in range(300)]
SIX_KM = np.array([4476.0, 7138.0, 10498.0, 15038.0, 23128.0, 29062.0])
SIX_MM = np.array([0.201, 0.019, -0.210, -0.628, -0.200, 0.746])
"""Six readings of a simulated tire that wears as fitted, and what each leaves over; one car in some thousand."""


def fleet(rng, bent=()):
    """Visits of 300 straight tires, nine each, left over from their lines; and of some that bend."""
    x = np.tile(np.linspace(0, 40_000, 9), len(NAMES))
    tire = np.repeat(np.arange(len(NAMES)), 9)
    fitted = 8 - 1e-4 * x
    left = rng.normal(0, 0.15, len(x)) + np.isin(tire, bent) * 3.5 * x / 40_000 * (x / 40_000 - 1)
    return pd.DataFrame(
        {"tire_id": np.array(NAMES)[tire], "reference_km": x, "fitted_mm": fitted, "depth_mm": fitted + left, "weight": 1.0}
    )  # fmt: skip


def test_of_many_straight_tires_hardly_one_is_said_to_bend():
    rng = np.random.default_rng(3)
    said = [int((own_bend(fleet(rng), pd.Series(NAMES))[0] != 0).sum()) for _ in range(40)]
    # At most 2 of 40 fleets are wanted, by a chance of 0.05 at most; three standard errors alone said it in 15 of these.
    assert np.count_nonzero(said) <= 3


def test_a_plain_bend_is_said():
    bend, sd = own_bend(fleet(np.random.default_rng(4), bent=(7,)), pd.Series(NAMES))
    assert bend[7] < 0 < sd[7]
    assert np.count_nonzero(bend) == 1


def test_a_few_leaning_readings_do_not_make_wear_stop():
    # Six readings whose errors look as if wear had stopped once gave a range from 1,900 to 870,000 km.
    visits = fleet(np.random.default_rng(3))
    visits["depth_mm"] += 0.4 * (
        visits["depth_mm"] - visits["fitted_mm"]
    )  # as far as those of its fleet: 0.21 mm
    own = visits.index[visits["tire_id"] == "T7"]
    visits = visits.drop(own[len(SIX_KM) :])
    visits.loc[own[: len(SIX_KM)], "reference_km"] = SIX_KM
    visits.loc[own[: len(SIX_KM)], "fitted_mm"] = 7.7 - 8.4e-5 * SIX_KM
    visits.loc[own[: len(SIX_KM)], "depth_mm"] = 7.7 - 8.4e-5 * SIX_KM + SIX_MM
    bend, sd = own_bend(visits, pd.Series(NAMES))
    assert bend[7] < 0  # it is said all the same
    assert 0.3 < sd[7] < 1.2


def test_a_bend_that_readings_show_well_is_hardly_drawn_in():
    visits = fleet(np.random.default_rng(4))
    left = visits["depth_mm"] - visits["fitted_mm"]
    x = visits["reference_km"] / 40_000
    visits["depth_mm"] = visits["fitted_mm"] + left / 20 + (visits["tire_id"] == "T7") * 2 * x * (x - 1)
    bend, _ = own_bend(visits, pd.Series(NAMES))
    assert bend[7] == pytest.approx(np.log(1 - 2 / 4), rel=0.05)  # 4 mm are worn over the span


def test_a_tire_that_wears_straight_at_another_rate_than_fitted_does_not_bend():
    visits = fleet(np.random.default_rng(4))
    left = visits["depth_mm"] - visits["fitted_mm"]
    x = visits["reference_km"] / 40_000
    visits["depth_mm"] = visits["fitted_mm"] + left / 20 + (visits["tire_id"] == "T7") * 2 * x
    assert own_bend(visits, pd.Series(NAMES))[0][7] == 0
