"""One fit of a comparison, and what is read from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.groups.design import Design, build_design, clip_axle
from tirelife.groups.mixed import MixedFit, fit_mixed

__all__ = ["Fitted", "detectable_ratio", "fit_groups", "group_ratio", "spare_vehicles"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Fitted:
    """A comparison's fit, for use within the room; ``across``: no vehicle has tires of two groups."""

    used: pd.DataFrame
    y: Floats
    design: Design
    fit: MixedFit
    spare_vehicles: int
    across: bool

    def spread(self, weight: Floats, response: Floats) -> float:
        """Standard error of ``weight @ response`` for a response that varies between vehicles and tires."""
        vehicle = self.used["vehicle_id"].to_numpy(object)
        if float(np.ptp(response)) < 1e-12:
            return 0.0
        fit = fit_mixed(response, self.design.x, vehicle)
        unit = np.unique(vehicle, return_inverse=True)[1]
        total = np.bincount(unit, weight)
        return float(np.sqrt(max(fit.between * (total**2).sum() + fit.within * (weight**2).sum(), 0.0)))


def fit_groups(used: pd.DataFrame, by: str, adjust: Sequence[str]) -> Fitted:
    """Fit the regression; the axle's effect is linearized about its own estimate."""
    axle: dict[str, float] = {}
    known = np.square(used["se_log"].to_numpy(float))
    vehicle = used["vehicle_id"].to_numpy(object)
    for _ in range(2):
        design = build_design(used, by, adjust, axle)
        y = used["log_rate"].to_numpy(float) - design.offset
        fit = fit_mixed(y, design.x, vehicle, known)
        if not design.axle:
            break
        axle = {kind: clip_axle(float(fit.beta[column])) for kind, column in design.axle}
    across = bool((used.groupby("vehicle_id")[by].nunique() < 2).all())
    return Fitted(used, y, design, fit, spare_vehicles(design, vehicle), across)


def spare_vehicles(design: Design, vehicle: NDArray[Any]) -> int:
    """Vehicles less the coefficients that rest on differences between vehicles."""
    unit = np.unique(vehicle, return_inverse=True)[1]
    count = np.bincount(unit)
    means = np.column_stack([np.bincount(unit, c) / count for c in design.x.T])
    own = np.abs(design.x - means[unit]).max(axis=0) < 1e-9  # columns that are the vehicle's, not the tire's
    return len(count) - (int(np.linalg.matrix_rank(means[:, own])) if own.any() else 0)


def group_ratio(fitted: Fitted, contrast: Floats, critical: float | None, level: float) -> tuple[float, ...]:
    """Estimate, lower and upper of a ratio; standard error of its log, df."""
    from scipy.stats import t

    value, se, df = fitted.fit.contrast(contrast)
    if not np.isfinite(value) or (fitted.spare_vehicles < 1 and fitted.across):
        return (np.nan,) * 5
    c = float(t.ppf((1 + level) / 2, df)) if critical is None else critical
    return float(np.exp(value)), float(np.exp(value - c * se)), float(np.exp(value + c * se)), se, df


def detectable_ratio(se_log: float, df: float, critical: float, power: float = 0.8) -> float:
    """Smallest ratio that a comparison would have shown with the given chance.

    Parameters
    ----------
    se_log : float
        Standard error of the log ratio.
    df : float
        Its degrees of freedom.
    critical : float
        Value that its t must pass.
    power : float

    Notes
    -----
    Solves P(T > critical) = power for a noncentral t.
    """
    from scipy.optimize import brentq
    from scipy.stats import nct

    if not (np.isfinite([se_log, df, critical]).all() and se_log > 0):
        return float("nan")

    def short(shift: float) -> float:
        # the far tail adds nothing at the shifts of interest
        return float(nct.sf(critical, df, shift)) - power

    top = critical + 3.0
    while short(top) < 0:
        top += 3.0
    return float(np.exp(brentq(short, 0.0, top, xtol=1e-6) * se_log))
