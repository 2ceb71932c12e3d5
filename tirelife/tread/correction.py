"""What correcting a cause would do to the wear of each groove: the what-if of a pattern."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook import GROOVES
from tirelife.positions import axle_of
from tirelife.tread.causes import Wheel, natural_covariance, shapes_of
from tirelife.tread.history import WheelHistory
from tirelife.tread.patterns import NOT_TO_MEND

__all__ = ["CORRECTION_COLUMNS", "correction_factors", "remaining_ratios"]

CORRECTION_COLUMNS: Final = [
    "vehicle_id", "position", "cause", "side", "probability", "groove", "factor", "expected_factor", "reason",
]  # fmt: skip
LEAST_FACTOR: Final = 0.25
"""No correction is taken to stop more than three quarters of a groove's wear; our assumption."""
_AROUND: Final = ("cupping", "diagonal_wear", "flat_spot")


class NotKnown(StrEnum):
    """Why the gain of a correction is not known, or holds for some grooves."""

    NO_PACE = "not-known-no-pace"
    ROUND = "not-known-round"
    NEW_DEPTH = "not-known-new-depth"
    ONE_GROOVE = "not-known-one-groove"
    SOME_GROOVES = "not-known-some-grooves"


def correction_factors(
    causes: pd.DataFrame,
    histories: Mapping[str, Mapping[str, WheelHistory]],
    drive: Mapping[str, str],
    *,
    standard_errors: float = 0.0,
) -> pd.DataFrame:
    """Wear of each groove once a cause is corrected, over its wear so far.

    Parameters
    ----------
    causes : DataFrame
        From :func:`tirelife.tread.weigh_causes`.
    histories : mapping
        From :func:`tirelife.tread.wheel_histories`, of the same vehicles.
    drive : mapping of str to str
        front, rear or all, by vehicle.
    standard_errors : float
        How many of its standard errors to add to the amount of the pattern, for a range: -1 and 1, say.

    Returns
    -------
    DataFrame
        :data:`CORRECTION_COLUMNS`, a row a wheel, cause and groove. ``factor`` supposes that the cause is
        at work, ``expected_factor`` weighs it with its probability: 1 - probability (1 - factor). Where
        the factor cannot be told it is NaN, and ``reason`` says why; a cause that wears no one groove more
        has 1. What nobody can put right (:data:`tirelife.tread.patterns.NOT_TO_MEND`) has no row.

    Notes
    -----
    The depth a cause has taken from its worst rib is the weighted least-squares amount of its pattern in the
    grooves read, not below 0; its error is from the gauge and from the unevenness of any tread. What it
    took from a groove, over all that the groove has lost, is what its
    correction saves; wear already done stays. That the rest wears on as before is our assumption.

    Examples
    --------
    A front tire worn 3 mm, and 1.5 mm more at its outer edge by toe-in: corrected, that edge wears 3 mm
    where it wore 4.5.
    """
    rows = []
    for vehicle, position, cause, side, chance in zip(
        causes["vehicle_id"],
        causes["position"],
        causes["cause"],
        causes["side"],
        causes["probability"],
        strict=True,
    ):
        if cause in NOT_TO_MEND:
            continue
        wheel = histories[vehicle][position].wheel
        axle = axle_of(position)
        driven = drive[vehicle] in (axle, "all")
        state = f"camber_{side}" if cause == "camber" else cause
        factor, reason = wheel_factors(wheel, state, driven, standard_errors)
        for groove, value in zip(GROOVES, factor, strict=True):
            expected = 1 - chance * (1 - value)
            rows.append((vehicle, position, cause, side, chance, groove, value, expected, reason))
    return pd.DataFrame(rows, columns=CORRECTION_COLUMNS)


def remaining_ratios(
    factors: pd.DataFrame,
    histories: Mapping[str, Mapping[str, WheelHistory]],
    latest: pd.DataFrame,
    removal_mm: float | pd.Series,
) -> pd.DataFrame:
    """How much further the tire on a wheel would go if a cause were corrected today.

    Parameters
    ----------
    factors : DataFrame
        From :func:`correction_factors`.
    histories : mapping
        From :func:`tirelife.tread.wheel_histories`, of the same vehicles.
    latest : DataFrame
        From :func:`tirelife.tread.latest_profiles`, of the same vehicles.
    removal_mm : float or Series
        Depth at which a groove ends the tire; for all, or by position. [mm]

    Returns
    -------
    DataFrame
        vehicle_id, position, cause, side, probability, groove_now and groove_then (which groove gets there
        first, as things are and with the cause corrected), ratio (distance left then over distance left
        now, if the cause is at work), expected_ratio (weighed with its probability), reason.

    Notes
    -----
    Every groove of the tire that is on the wheel wears on at the pace that this position showed in that
    groove, now and, times its factor, then; the first groove to get to ``removal_mm`` counts. A forecast's
    distance times ``ratio`` is the what-if; that the tire stays on this wheel is our assumption.
    """
    keys = ["vehicle_id", "position", "cause", "side", "probability"]
    depth = latest.pivot_table(index=["vehicle_id", "position"], columns="groove", values="depth_mm")
    depth = depth.reindex(columns=list(GROOVES))
    rows = []
    for found, part in factors.groupby(keys, sort=False):
        key: tuple[Any, ...] = found if isinstance(found, tuple) else (found,)
        vehicle, position, chance = str(key[0]), str(key[1]), float(key[4])
        wheel = histories[vehicle][position].wheel
        factor = part.set_index("groove")["factor"].reindex(list(GROOVES)).to_numpy(float)
        limit = float(removal_mm[position]) if isinstance(removal_mm, pd.Series) else removal_mm
        left = depth.reindex([(vehicle, position)]).to_numpy(float)[0] - limit
        change = np.where(wheel.read, wheel.depth_mm, np.nan)
        pace = wheel.wear_mm + np.nanmean(change) - change if wheel.read.any() else np.full(5, np.nan)
        now, then, ratio = _first_groove(np.maximum(left, 0.0), pace, factor)
        reason = str(part["reason"].iloc[0]) or ("" if np.isfinite(ratio) else NotKnown.NO_PACE.value)
        rows.append((*key, now, then, ratio, 1 + chance * (ratio - 1), reason))
    columns = [*keys, "groove_now", "groove_then", "ratio", "expected_ratio", "reason"]
    return pd.DataFrame(rows, columns=columns)


def _first_groove(
    left_mm: NDArray[np.float64], pace: NDArray[np.float64], factor: NDArray[np.float64]
) -> tuple[str, str, float]:
    """Groove that is worn down first now and then, and the ratio of the distances."""
    known = np.isfinite(left_mm) & np.isfinite(factor) & (np.nan_to_num(pace) > 0)
    if not known.any() or (left_mm[known] <= 0).any():
        return "", "", float("nan")
    with np.errstate(divide="ignore", invalid="ignore"):
        now = np.where(known, left_mm / pace, np.inf)
        then = np.where(known, left_mm / (pace * factor), np.inf)
    first, later = int(now.argmin()), int(then.argmin())
    return GROOVES[first], GROOVES[later], float(then[later] / now[first])


def wheel_factors(
    wheel: Wheel, state: str, driven: bool, standard_errors: float = 0.0
) -> tuple[NDArray[np.float64], str]:
    """Wear of the five grooves of one wheel once a cause is corrected, over their wear so far.

    Parameters
    ----------
    wheel : Wheel
    state : str
        A cause of :data:`~tirelife.tread.patterns.CAUSE_NAMES`; camber as ``camber_outer`` or
        ``camber_inner``.
    driven : bool
    standard_errors : float
        Added to the amount of the pattern.

    Returns
    -------
    factor : ndarray, shape (5,)
    reason : str
        Why it is not known, a code of :class:`NotKnown`, or an empty text.
    """
    if state in _AROUND:
        return np.ones(5), NotKnown.ROUND.value
    read = wheel.read
    if np.isnan(wheel.wear_mm):
        return np.full(5, np.nan), NotKnown.NEW_DEPTH.value
    if read.sum() < 2:
        return np.full(5, np.nan), NotKnown.ONE_GROOVE.value
    shapes = shapes_of(state, driven)
    amounts = [_amount(wheel, np.array(shape.depth), read, standard_errors) for shape in shapes]
    taken = sum(
        (
            shape.share * amount * -np.array(shape.depth)
            for shape, amount in zip(shapes, amounts, strict=True)
        ),
        np.zeros(5),
    )
    depth = np.where(read, wheel.depth_mm, np.nan)
    lost = wheel.wear_mm + np.nanmean(depth) - depth
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = np.where(lost > 0, 1 - taken / lost, np.nan)
    reason = "" if read.all() else NotKnown.SOME_GROOVES.value
    return np.asarray(np.clip(factor, LEAST_FACTOR, 1.0)), reason


def _amount(
    wheel: Wheel, shape: NDArray[np.float64], read: NDArray[np.bool_], standard_errors: float
) -> float:
    """Weighted least-squares amount of a shape, with the level free, not below 0 [mm]; errors added."""
    basis = np.column_stack([np.ones(read.sum()), shape[read]])
    weight = np.linalg.inv(wheel.covariance_mm2[np.ix_(read, read)])
    normal = basis.T @ weight @ basis
    if np.linalg.cond(normal) > 1e12:
        return 0.0
    row = np.linalg.solve(normal, basis.T @ weight)[1]
    cover = (wheel.covariance_mm2 + natural_covariance(wheel.wear_mm))[np.ix_(read, read)]
    error = float(np.sqrt(max(row @ cover @ row, 0.0)))
    return max(float(row @ wheel.depth_mm[read]) + standard_errors * error, 0.0)
