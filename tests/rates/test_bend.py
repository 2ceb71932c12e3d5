"""A tire's own bend: not said by chance in a large fleet, and said where it is plain."""

import numpy as np
import pandas as pd

from tirelife.rates.bend import own_bend

NAMES = [f"T{i}" for i in range(300)]


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
