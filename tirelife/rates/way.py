"""How far each tire goes from where it stands to a depth, draw by draw: one way ahead for every caller."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from tirelife.rates.joint import LEAST_MM, Drawn, Draws, Standing, scores
from tirelife.rates.posterior import LEVEL

__all__ = ["WAY_COLUMNS", "Way"]

WAY_COLUMNS: Final = ("there", "limit_mm", "limit_sd_mm", "bend_log_sd")
"""What a :class:`Way` reads beside where tires stand: severity on the other axle; mean depth at which the
groove down first is at the removal depth, and its spread
(:func:`tirelife.rates.grooves.mean_depth_limit`) [mm]; spread of the log rate where readings bend away from
the fit (:func:`tirelife.rates.bend.own_bend`)."""


class Way(Standing):
    """Tires from where they stand today to the depth at which each comes off, where they are worn.

    The rate walks on from today as it has walked until then, and bends as the tread does. Where ``get`` has
    ``set_share`` and ``set_away``, the tire runs that share of what its vehicle runs, which has gone so much
    further while the tire was off [km]: the vehicle's part of the walk goes on without a set in store.
    """

    def __init__(self, frame: pd.DataFrame, columns: tuple[str, ...] = ()) -> None:
        super().__init__(frame, (*WAY_COLUMNS, *columns))

    def level_distance(self, limit_mm: Draws | None = None) -> tuple[Draws, Drawn]:
        """Draws of the distance left on an axle of mean wear at a severity of 1, shape (n, COUNT) [km]."""
        own = scores()[1]
        at, run, walked = self.drawn()
        limit = np.maximum(self.get["limit_mm"] if limit_mm is None else limit_mm, np.float32(LEAST_MM))
        ahead = _to_limit(at, limit)
        ahead -= run
        middle = np.maximum(ahead.mean(axis=1, keepdims=True), 0.0)
        level = self.posterior.on_axle(LEVEL)
        rate = np.exp(level.mean[:, [1]])
        q, depth = level.mean[:, [3]], np.maximum(level.mean[:, [0]], limit)
        # Of the groove, as distance at the rate that the tire has when it gets there.
        groove = self.get["limit_sd_mm"] / (rate * (limit / depth) ** q)
        variance = self._since_variance(run) + self.scatter * middle + groove**2
        noise = own["noise"][self.seat]
        noise *= np.sqrt(variance).astype(np.float32)
        ahead -= noise
        ahead = np.maximum(ahead, 0.0)
        wander, share = self.walks()
        walk = ahead / 3
        if "set_share" in self.get:
            walk *= 1 - share + share / self.get["set_share"]
            walk += share * self.get["set_away"]
        spread = np.sqrt(wander * walk + self.get["bend_log_sd"] ** 2)
        spread *= self.mixed("walking", share)
        spread += walked
        ahead *= np.exp(-spread)
        return ahead, at


def _to_limit(at: Drawn, limit: Draws) -> Draws:
    """Distance from the depth at the last reading to the limit, on an axle of mean wear [km]."""
    depth = np.maximum(at.depth, limit)
    if not at.q.any():
        return (depth - limit) / at.rate
    power = at.q - 1
    flat = np.abs(power) < 1e-6
    if flat.any():
        power = np.where(flat, 1e-6, power)  # for the logarithm, which it is to six digits
    fall = np.log(depth / limit)
    fall *= power
    share = np.expm1(fall, out=fall)
    share /= power
    share *= depth
    share /= at.rate
    return share
