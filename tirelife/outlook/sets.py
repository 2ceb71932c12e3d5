"""When the first tire of a set, or of an axle, is due."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from tirelife.outlook.crossing import PROBABILITIES
from tirelife.outlook.dates import replacement_dates

if TYPE_CHECKING:
    from tirelife.rates import WearFit

__all__ = ["NODES", "WEIGHTS", "first_due", "set_outlook", "shared_part"]

Floats = NDArray[np.float64]

NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(15)
WEIGHTS = WEIGHTS / WEIGHTS.sum()
_ROWS: Final = 256  # at a time, so that what is worked on stays in the cache
GROUPS: Final = {"set": ("LF", "RF", "LR", "RR"), "front pair": ("LF", "RF"), "rear pair": ("LR", "RR")}
"""What is bought together: the four on the road, or an axle's two."""


def set_outlook(state: pd.DataFrame, forecast: pd.DataFrame, fit: WearFit) -> pd.DataFrame:
    """Distance and date at which the first tire of each set and of each axle is due.

    Parameters
    ----------
    state : DataFrame
        From :func:`tirelife.outlook.present_state`.
    forecast : DataFrame
        Of the same tires in the same order, from :func:`tirelife.outlook.forecast` or ``project``.
    fit : WearFit

    Returns
    -------
    DataFrame
        Three rows a vehicle (``group``: set, front pair, rear pair): vehicle_id, group, tires (with a
        forecast), km_left_p10 … km_left_p90, date_p10 … date_p90, first (position most likely due first).
        NaN where no tire has a forecast.

    Notes
    -----
    Tires of a vehicle share its driver and roads: their correlation is the vehicle's share in the variance of
    the log distance. See :func:`first_due`.
    """
    percents = [f"p{round(100 * p)}" for p in PROBABILITIES]
    km = forecast[[f"km_left_{p}" for p in percents]].to_numpy(dtype=float)
    shared = fit.vehicles.set_index("vehicle_id")["log_effect_sd"].reindex(state["vehicle_id"])
    share = shared_part(km, shared.to_numpy(dtype=float))
    code, names = pd.factorize(state["vehicle_id"])
    frames = []
    for group, places in GROUPS.items():
        seat = state["position"].map({place: i for i, place in enumerate(places)}).to_numpy(dtype=float)
        chosen = np.flatnonzero(np.isfinite(seat) & np.isfinite(km).all(axis=1))
        seats = np.full((len(names), len(places), len(PROBABILITIES)), np.nan)
        seats[code[chosen], seat[chosen].astype(int)] = km[chosen]
        number = np.bincount(code[chosen], minlength=len(names))
        mean_share = np.bincount(code[chosen], share[chosen], len(names)) / np.maximum(number, 1)
        first = np.array(places, dtype=object)[np.argmin(np.nan_to_num(seats[:, :, 2], nan=np.inf), axis=1)]
        out = pd.DataFrame({"vehicle_id": names, "group": group, "tires": number})
        due = first_due(seats, mean_share)
        out[[f"km_left_{p}" for p in percents]] = due
        pace = state.drop_duplicates("vehicle_id").reset_index(drop=True)
        dates, _ = replacement_dates(due, pace["as_of"], pace, PROBABILITIES)
        for name, date in zip(percents, dates, strict=True):
            out[f"date_{name}"] = date.to_numpy()
        out["first"] = np.where(number > 0, first, "")
        frames.append(out)
    joined = pd.concat(frames, ignore_index=True)
    return joined.sort_values("vehicle_id", kind="stable", ignore_index=True)


def shared_part(km: Floats, log_effect_sd: Floats) -> Floats:
    """Share of the variance of the log distance that a tire has in common with its vehicle's others.

    Parameters
    ----------
    km : ndarray, shape (n, 5)
        Quantiles of the distance left at :data:`PROBABILITIES`. [km]
    log_effect_sd : ndarray, shape (n,)
        Of its vehicle, from ``WearFit.vehicles``.

    Returns
    -------
    ndarray, shape (n,)
        0 to 0.95.
    """
    own = (ndtri(0.9) - ndtri(0.1)) ** -2 * np.log(np.maximum(km[:, -1], 1) / np.maximum(km[:, 0], 1)) ** 2
    return np.asarray(np.clip(np.nan_to_num(log_effect_sd) ** 2 / np.maximum(own, 1e-6), 0.0, 0.95))


def first_due(km: Floats, share: Floats) -> Floats:
    """Quantiles of the smallest of several distances that lean together.

    Parameters
    ----------
    km : ndarray, shape (n, k, 5)
        Quantiles of each distance at :data:`PROBABILITIES`; NaN for one that is not there. [km]
    share : ndarray, shape (n,)
        Correlation of their normal scores.

    Returns
    -------
    ndarray, shape (n, 5) [km]

    Notes
    -----
    Each distance's distribution is drawn through its quantiles, straight in log distance against normal
    score, and beyond them. With normal scores of equal correlation, the chance that all last longer than x
    is the mean over the shared part of the product of each one's own (Gauss-Hermite); the quantiles follow
    by bisection.

    Examples
    --------
    >>> one = np.exp(np.log(1e4) + 0.2 * ndtri(np.array(PROBABILITIES)))
    >>> alike = first_due(one[None, None, :].repeat(4, axis=1), np.array([0.0]))
    >>> bool(alike[0, 2] < one[2]), round(float(alike[0, 2]))
    (True, 8190)
    """
    out = np.empty((len(km), len(PROBABILITIES)))
    for start in range(0, len(km), _ROWS):
        rows = slice(start, start + _ROWS)
        out[rows] = _first_due(km[rows], share[rows])
    return out


def _first_due(km: Floats, share: Floats) -> Floats:
    scores = ndtri(np.array(PROBABILITIES))
    known = np.isfinite(km.sum(axis=2))
    log_km = np.log(np.where(known[..., None], np.maximum(km, 1e-3), 1.0))
    # A flat piece has no slope to go by; a billionth a step keeps it rising.
    log_km = log_km + 1e-9 * np.arange(len(scores))
    low = np.where(known, log_km[:, :, 0], np.inf).min(axis=1)[:, None] - 3.0
    high = np.where(known, log_km[:, :, -1], -np.inf).max(axis=1)[:, None] + 3.0
    bare = ~known.any(axis=1)
    low, high = (np.where(bare[:, None], 0.0, v) * np.ones(len(scores)) for v in (low, high))
    for _ in range(45):
        middle = (low + high) / 2
        done = _reached(middle, log_km, known, scores, share) < np.array(PROBABILITIES)
        low, high = np.where(done, middle, low), np.where(done, high, middle)
    out = np.exp((low + high) / 2)
    out = np.where(out < 1.0, 0.0, out)  # under a kilometre is nothing
    return np.asarray(np.where(bare[:, None], np.nan, out))


def _reached(x: Floats, log_km: Floats, known: NDArray[np.bool_], scores: Floats, share: Floats) -> Floats:
    """Probability that the smallest is under each x, shape of ``x`` (n, m)."""
    step = np.diff(log_km, axis=2)
    at = x[:, None, :]
    piece = (at > log_km[:, :, 1, None]).astype(np.intp)
    for knot in range(2, log_km.shape[2] - 1):
        piece += at > log_km[:, :, knot, None]
    row, tire = np.ogrid[: log_km.shape[0], : log_km.shape[1]]
    where = row[..., None], tire[..., None], piece
    z = scores[piece] + (at - log_km[where]) / step[where] * np.diff(scores)[piece]
    root, rest = (np.sqrt(v)[:, None, None, None] for v in (share, 1 - share))
    lasts = np.where(known[..., None, None], ndtr((root * NODES - z[..., None]) / rest), 1.0)
    return np.asarray(1 - lasts.prod(axis=1) @ WEIGHTS)
