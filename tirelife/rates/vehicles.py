"""Vehicles in the order of how fast they wear tires."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from tirelife.driving import Z80

if TYPE_CHECKING:
    from tirelife.rates.result import WearFit

__all__ = ["wear_by_vehicle"]

_ONE_SIDED = 1.6448536269514722
"""Normal quantile of 0.95."""
_HALF = 0.6744897501960817
"""Normal quantile of 0.75: half of all normal values lie further out than so many standard deviations."""


def wear_by_vehicle(fit: WearFit) -> pd.DataFrame:
    """Vehicles in order of how fast they wear tires, with 80 % ranges, the same line, axle and group given.

    Returns
    -------
    DataFrame
        vehicle_id, ratio, lower, upper (1 is the fleet's average), odd: faster or slower, with 95 % chance,
        than half of all vehicles are.
    """
    table = fit.vehicles
    table = table[table["log_effect"].notna()].sort_values("log_effect", ascending=False, ignore_index=True)
    effect, sd = table["log_effect"].to_numpy(float), table["log_effect_sd"].to_numpy(float)
    spread = float(np.std(effect)) if len(effect) else 0.0
    odd = np.abs(effect) - _ONE_SIDED * sd > _HALF * spread
    return pd.DataFrame(
        {
            "vehicle_id": table["vehicle_id"],
            "ratio": np.exp(effect),
            "lower": np.exp(effect - Z80 * sd),
            "upper": np.exp(effect + Z80 * sd),
            "odd": odd,
        }
    )
