"""What-if edits of a driving profile: slower, gentler."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any, Final, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.driving.answers import answer_matrix
from tirelife.driving.profile import BAND_EDGES_MPS, EVENTS, MOMENTS, DrivingProfile
from tirelife.errors import InputError
from tirelife.logbook import BANDS

__all__ = ["gentler", "slower"]

Profiles = TypeVar("Profiles", DrivingProfile, pd.DataFrame)
Floats = NDArray[np.float64]

_EDGES: Final = np.array([0.0, *BAND_EDGES_MPS, 80 * 0.44704])
# Powers of speed in each moment. Means of a and a² belong to the stops, not to the cruise, and stay.
_POWERS: Final = {"v2": 2, "v4": 4, "av2": 2}
# How fast hard events thin out beyond a threshold, as a fraction of it: 22 household cars, Chicago 2007,
# runs per 100 miles beyond 2.0, 2.5, 3.0 m/s²: starts 8.6, 0.45; stops 17.4, 2.7, 1.0. An exponential
# through the first and last gives 0.17 and 0.35 m/s². Turns: assumed to thin out as stops do.
_TAIL: Final = {"starts": 0.17 / 2.45, "stops": 0.35 / 2.45, "turns": 0.35 / 2.45}


def slower(
    profile: Profiles,
    *,
    cap_mps: float | None = None,
    by_mps: float | None = None,
    above_mps: float = BAND_EDGES_MPS[2],
) -> Profiles:
    """Drive the same roads with a top speed, or slower by so much on the fast ones.

    Parameters
    ----------
    profile : DrivingProfile or DataFrame
        One, or a frame of many with the columns of :func:`tirelife.driving.profiles_to_frame`.
    cap_mps : float, optional
        No faster than this. [m/s]
    by_mps : float, optional
        Slower by this wherever the speed is above ``above_mps``, but not below that. [m/s]
    above_mps : float
        Default 55 mph. [m/s]

    Returns
    -------
    same as ``profile``
        Shares moved to the slower bands, and the moments of speed scaled in the ratio that the speed mix
        gives. Speeds are taken as even within a band, up to 80 mph in the fastest (our assumption); the
        accelerations of starts, stops and turns stay.

    Raises
    ------
    InputError
        Unless exactly one of ``cap_mps`` and ``by_mps`` is given, and it is positive.
    """
    change = [x for x in (cap_mps, by_mps) if x is not None]
    if len(change) != 1 or not (math.isfinite(change[0]) and change[0] > 0):
        raise InputError("slower needs either cap_mps or by_mps, a positive speed in m/s")
    grid = _EDGES[:-1, None] + np.diff(_EDGES)[:, None] * (np.arange(400) + 0.5) / 400  # (5, 400) m/s
    if cap_mps is not None:
        new = np.minimum(grid, cap_mps)
    else:
        new = np.where(grid > above_mps, np.maximum(grid - change[0], above_mps), grid)
    now = _columns(profile)
    mix = np.stack([now[band] for band in BANDS], axis=-1)
    band = np.searchsorted(_EDGES[1:-1], new, side="right")
    moved = np.array([[np.mean(band[i] == j) for j in range(len(BANDS))] for i in range(len(BANDS))])
    base = answer_matrix()
    edits = {name: (mix @ moved)[..., i] for i, name in enumerate(BANDS)}
    for term, power in _POWERS.items():
        ratio = _mean_power(new, power) / _mean_power(grid, power)
        for phase in ("drive", "brake"):
            name = f"{phase}_{term}"
            by_band = mix * base.loc[list(BANDS), name].to_numpy()
            total = by_band.sum(axis=-1)
            some = total != 0
            factor = np.where(some, (by_band * ratio).sum(axis=-1) / np.where(some, total, 1.0), 1.0)
            edits[name] = now[name] * factor
    return _edited(profile, edits)


def gentler(profile: Profiles, *, starts: float = 1.0, stops: float = 1.0, turns: float = 1.0) -> Profiles:
    """Start, stop or turn more gently, at the same places.

    Parameters
    ----------
    profile : DrivingProfile or DataFrame
        One, or a frame of many with the columns of :func:`tirelife.driving.profiles_to_frame`.
    starts, stops, turns : float
        Factor on the acceleration of every start, stop, turn: 0.8 is 20 % gentler, above 1 is harder.

    Returns
    -------
    same as ``profile``
        The same change of speed at f times the acceleration takes 1/f of the distance, so the mean of a²
        goes with f, and those of a and a v² stay (double the g, double the wear of a stop). In a turn of
        given radius the mean square goes with f². The hard events left follow the exponential tail found
        in household cars.

    Raises
    ------
    InputError
        If a factor is not positive.
    """
    factors = {"starts": starts, "stops": stops, "turns": turns}
    wrong = {name: f for name, f in factors.items() if not (math.isfinite(f) and f > 0)}
    if wrong:
        raise InputError(f"factors must be positive, got {wrong}")
    now = _columns(profile)
    edits = {}
    for name, f in factors.items():
        rate = f"hard_{name}_per_100km"
        edits[rate] = now[rate] * _events_left(name, f)
    edits |= {"drive_a2": now["drive_a2"] * starts, "brake_a2": now["brake_a2"] * stops}
    return _edited(profile, edits | {"ay2": now["ay2"] * turns**2})


def _columns(profile: DrivingProfile | pd.DataFrame) -> Mapping[str, Floats]:
    """Fields that a change reads, each of shape () or (n,)."""
    held: Any = profile if isinstance(profile, pd.DataFrame) else asdict(profile)
    return {name: np.asarray(held[name], dtype=float) for name in (*BANDS, *EVENTS, *MOMENTS)}


def _edited(profile: Profiles, edits: Mapping[str, Floats]) -> Profiles:
    if isinstance(profile, pd.DataFrame):
        return profile.assign(**edits)
    return replace(profile, **{name: float(value) for name, value in edits.items()})  # type: ignore[arg-type]


def _events_left(name: str, factor: float) -> float:
    # An event of peak p stays hard while factor p > threshold; peaks beyond it are exponential. Harder
    # driving (factor > 1) is held to as many times more events as the acceleration is scaled, squared:
    # an exponential has no end and the data say nothing about it.
    if factor > 1:
        return factor**2
    return math.exp(-(1 / factor - 1) / _TAIL[name])


def _mean_power(speeds: NDArray[np.float64], power: int) -> NDArray[np.float64]:
    return np.asarray(np.mean(speeds**power, axis=1))
