"""What-if edits of a driving profile: slower, gentler."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any, Final, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.driving.answers import answer_matrix, event_marks
from tirelife.driving.profile import BAND_EDGES_MPS, EVENTS, MEANT_BY_HARD, MOMENTS, DrivingProfile
from tirelife.driving.wrong import Wrong
from tirelife.errors import misused
from tirelife.logbook import BANDS
from tirelife.units import convert

__all__ = ["LEVERS", "gentler", "marked_by_events", "slower"]

Profiles = TypeVar("Profiles", DrivingProfile, pd.DataFrame)
Floats = NDArray[np.float64]

_EDGES: Final = np.array([0.0, *BAND_EDGES_MPS, convert(80.0, "mph", "mps")])
# Powers of speed in each moment. Means of a, a² and a v² belong to the stops, not to the cruise, and stay.
_POWERS: Final = {"v2": 2, "v4": 4}
LEVERS: Final = {"starts": ("drive_a2", 1), "stops": ("brake_a2", 1), "turns": ("ay2", 2)}
"""What each lever moves: a moment, which goes with this power of the factor on accelerations. A count of hard
events is the same lever: so many more mark so much more of the moment."""
_MOST_MARKED: Final = 0.95
"""Share of a moment that all hard events of a profile can mark at most (our choice)."""


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
        raise misused(Wrong.SLOWER)
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
        given radius the mean square goes with f². Hard events follow: as many fewer as mark what is saved,
        and none when all that they mark is saved; see :func:`marked_by_events`.

    Raises
    ------
    InputError
        If a factor is not positive.
    """
    factors = {"starts": starts, "stops": stops, "turns": turns}
    wrong = {name: f for name, f in factors.items() if not (math.isfinite(f) and f > 0)}
    if wrong:
        raise misused(Wrong.FACTORS, given=wrong)
    now, marks = _columns(profile), marked_by_events(profile)
    edits = {}
    for name, f in factors.items():
        rate, (moment, power) = f"hard_{name}_per_100km", LEVERS[name]
        edits[moment] = now[moment] * f**power
        more = edits[moment] - now[moment]
        fewer = np.divide(more, marks[rate], out=np.zeros(np.shape(more)), where=marks[rate] > 0)
        edits[rate] = np.maximum(now[rate] + fewer, 0.0)
    return _edited(profile, edits)


def marked_by_events(profile: DrivingProfile | pd.DataFrame) -> dict[str, Floats]:
    """What one hard event per 100 km marks of its moment, by the name of its rate.

    Parameters
    ----------
    profile : DrivingProfile or DataFrame

    Returns
    -------
    dict of str to ndarray
        ``drive_a2`` for starts, ``brake_a2`` for stops, ``ay2`` for turns [m²/s⁴]; by the thresholds that the
        events were counted with. All of a profile's events together mark at most 95 % of the moment.
    """
    now = _columns(profile)
    names = ("start_mps2", "stop_mps2", "turn_mps2")
    usual = [getattr(MEANT_BY_HARD, name) for name in names]
    if isinstance(profile, DrivingProfile):
        limits = profile.thresholds or MEANT_BY_HARD
        meant = [np.asarray(getattr(limits, name)) for name in names]
    else:
        held = [profile.get(f"threshold_{name}", pd.Series(np.nan, profile.index)) for name in names]
        meant = [np.asarray(column, dtype=float) for column in held]
    known = np.isfinite(meant).all(axis=0)
    marks = event_marks(*(np.where(known, limit, other) for limit, other in zip(meant, usual, strict=True)))
    out = {}
    for (name, (moment, _)), mark in zip(LEVERS.items(), marks, strict=True):
        rate = f"hard_{name}_per_100km"
        count = np.nan_to_num(now[rate])
        most = np.divide(
            _MOST_MARKED * now[moment], count, out=np.full(np.shape(count), np.inf), where=count > 1e-9
        )
        out[rate] = np.minimum(mark, most)
    return out


def _columns(profile: DrivingProfile | pd.DataFrame) -> Mapping[str, Floats]:
    """Fields that a change reads, each of shape () or (n,)."""
    held: Any = profile if isinstance(profile, pd.DataFrame) else asdict(profile)
    return {name: np.asarray(held[name], dtype=float) for name in (*BANDS, *EVENTS, *MOMENTS)}


def _edited(profile: Profiles, edits: Mapping[str, Floats]) -> Profiles:
    if isinstance(profile, pd.DataFrame):
        return profile.assign(**edits)
    return replace(profile, **{name: float(value) for name, value in edits.items()})  # type: ignore[arg-type]


def _mean_power(speeds: NDArray[np.float64], power: int) -> NDArray[np.float64]:
    return np.asarray(np.mean(speeds**power, axis=1))
