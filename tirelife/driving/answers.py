"""Plain answers to a driving profile: shares of distance by speed, and hard events.

Every moment is linear in the eight answers: a baseline for each speed band, and an increment for each hard
event. The customer's page repeats the sum in the browser with :func:`answer_matrix`.

**Baselines** along the road are means over distance in 22 household cars, 2,223 miles of one-second steps,
Chicago 2007 (CMAP travel survey, Transportation Secure Data Center, NREL; speeds filtered by the
laboratory), each step put into a band by its mean speed and into a phase by :func:`coast_down`. Between
those cars, acceleration moments differ from what their speed mix predicts by a factor exp(0.26) (one
standard deviation), which supports the 30 % that plain answers carry at least.

**Lateral baselines** have no open source that we found. Veith (1973, second-hand) has cornering wear tires
more than driving and braking do in ordinary use. That gives an order and no level: ours, in `_BENDS`, is the
assumption that 8 to 10 % of the distance lies in bends, taken at 0.25 g in town to 0.13 g on fast roads. The
default profile then comes to 0.057 g root mean square, and to corners that wear the mean wheel 1.05 to 1.8
times as much as starts and stops together, by drive layout.

**Increments**: a hard event marks a style. Of those cars the 16 with more than 20 miles have a mean of a²
that lies above what their speed mix predicts by 0.0079 m²/s⁴ (driving) for one hard start per 100 km, and by
0.0109 (braking) for one hard stop, cars weighted by distance; 0.0084 and 0.0054 if they all count alike. The
event itself is far less: over a stop from speed V at constant deceleration A the integral of a² ds is A
V²/2, so that one at the threshold A that the count was made with, in place of an ordinary one at A0 (the
mean of a² over the mean of a in the baseline cars: starts 0.90, stops 1.02 m/s²), adds ``(A - A0) V²/2``:
0.0014 and 0.0013 from 30 mph (our choice). We take 5.5 times that (0.0077 and 0.0071), nine tenths of the
mean of both fits: less, since the correlations are only 0.2 to 0.6; not much less, since events counted over
35 to 1,400 km are few, which itself draws a fit towards zero. A hard right-angle corner of radius R adds
``(pi/2) R (Ay² - Ay0²)`` itself, with R 15 m and Ay0 2.0 m/s² (our choice); that it marks a style as much,
5.5 times, is our assumption, for these cars recorded no corners.

The baseline is that of ordinary driving with its ordinary events (starts and stops of the 22 cars; 5 hard
turns per 100 km are our assumption), less what these mark, in proportion in every band. So ordinary answers
give ordinary moments, and none at all give less, never below zero. With another threshold the ordinary count
is taken to be as much lower as each event says more.

A style changes how hard speed is gained, not how much of it: a and a v² stay as the speed mix gives them, as
they do in :func:`tirelife.driving.gentler`, so that a count and a factor on accelerations are one lever. Over
the cars they do go with 0.65 and 0.70 of the relative change of a² (r 0.91 and 0.77): who is harder also
changes speed more often, which is the roads and not the foot.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.driving.profile import (
    COLUMNS,
    EVENTS,
    MEANT_BY_HARD,
    MOMENTS,
    DrivingProfile,
    Thresholds,
)
from tirelife.driving.wrong import Wrong
from tirelife.errors import misused
from tirelife.logbook import BANDS
from tirelife.units import GRAVITY, convert

__all__ = [
    "ANSWERS_LOG_SD",
    "DEFAULT_LOG_SD",
    "DRIVERS_LOG_SD",
    "answer_matrix",
    "default_profile",
    "event_marks",
    "profile_from_answers",
    "profiles_from_habits",
    "speed_shares",
]

Z80: Final = 1.2815515655446004
"""Half of a normal distribution's 80 % range, over its standard deviation: the quantile of 0.9."""
ANSWERS_LOG_SD: Final = 0.30
"""Habits alone price wear to no better than 30 % (`driving-and-wear` caution 12)."""
DRIVERS_LOG_SD: Final[float] = math.log(2) / (2 * Z80)
"""Spread of wear between the drivers of one place: best and worst tenths two-fold apart (Tire Sci. Technol.
1(2), 1973, read), taken as the 10 % and the 90 % points, 0.27; between the means of the extreme tenths it
would be 0.20."""
DEFAULT_LOG_SD: Final = math.hypot(ANSWERS_LOG_SD, DRIVERS_LOG_SD)
"""Nothing known of the driving: the answers' 30 % and the spread between drivers, added in squares."""

# Mean over the band's distance, 22 cars (see above): share, v², v⁴, a, a², a v² of each phase, by band.
_DRIVE = (
    (0.61038, 40.141, 3462.2, 0.32096, 0.35460, 19.857),
    (0.73567, 167.115, 40386.0, 0.16786, 0.13326, 35.413),
    (0.87270, 398.911, 188011.0, 0.06464, 0.03885, 27.464),
    (0.96910, 747.368, 587439.0, 0.01528, 0.01631, 11.230),
    (0.99764, 1031.418, 1068637.0, 0.00130, 0.00560, 1.373),
)
_BRAKE = (
    (0.38962, 23.739, 1966.6, -0.32162, 0.39141, -19.975),
    (0.26433, 57.399, 13312.9, -0.16764, 0.17006, -35.444),
    (0.12730, 54.287, 23912.2, -0.06465, 0.04661, -27.522),
    (0.03090, 22.726, 17028.8, -0.01508, 0.00849, -11.112),
    (0.00236, 2.505, 2667.1, -0.00127, 0.00073, -1.342),
)
_SLOW_TURN = (0.0745, 0.0, 0.0, 0.0, 0.0)
_BENDS = ((0.10, 0.25), (0.10, 0.23), (0.08, 0.20), (0.08, 0.16), (0.08, 0.13))  # share of distance, g
_MEAN_SHARES = (0.11, 0.19, 0.26, 0.26, 0.18)  # the 22 cars: .106 .195 .257 .265 .177
_EDGES_MPH = (25.0, 40.0, 55.0, 70.0)
_MEAN_EVENTS = (0.3, 1.8, 5.0)  # per 100 km; starts and stops of the 22 cars, turns our assumption
_FROM_MPS = convert(30.0, "mph", "mps")
_ORDINARY_START, _ORDINARY_STOP = 0.90, 1.02
_CORNER_M, _ORDINARY_CORNER = 15.0, 2.0
_STYLE = 5.5  # what a hard event marks, over what it adds by itself
_MARKED = ("drive_a2", "brake_a2", "ay2")  # by hard starts, stops, turns


def answer_matrix(thresholds: Thresholds = MEANT_BY_HARD) -> pd.DataFrame:
    """Return the linear map from plain answers to moments.

    Parameters
    ----------
    thresholds : Thresholds
        What the person who answered calls hard.

    Returns
    -------
    DataFrame, shape (8, 14)
        Rows: the five shares and the three event rates per 100 km. Columns:
        :data:`~tirelife.driving.profile.MOMENTS`, in SI. A profile's moments are ``answers @
        answer_matrix()``.

    Examples
    --------
    >>> answer_matrix().loc["share_over_70mph", "drive_v2"]
    np.float64(1031.418)
    """
    return _matrix(thresholds).copy()


@lru_cache(maxsize=64)
def _matrix(thresholds: Thresholds) -> pd.DataFrame:
    table = pd.DataFrame(0.0, index=[*BANDS, *EVENTS], columns=list(MOMENTS))
    for i, band in enumerate(BANDS):
        share, bend_g = _BENDS[i]
        lateral = share * (bend_g * GRAVITY) ** 2
        table.loc[band] = [*_DRIVE[i], *_BRAKE[i], lateral, _SLOW_TURN[i]]
    ordinary = table.loc[list(BANDS)].mul(list(_MEAN_SHARES), axis=0).sum()
    usual, meant = _marks(MEANT_BY_HARD), _marks(thresholds)
    for moment, event, count, per_usual, per_meant in zip(
        _MARKED, EVENTS, _MEAN_EVENTS, usual, meant, strict=True
    ):
        table.loc[event, moment] = per_meant
        if per_meant == 0:  # nothing hard is meant, so the answer says nothing
            continue
        part = count * per_usual / ordinary[moment]
        table.loc[list(BANDS), moment] *= 1 - part
    return table


def _marks(thresholds: Thresholds) -> list[float]:
    at = event_marks(thresholds.start_mps2, thresholds.stop_mps2, thresholds.turn_mps2)
    return [float(value) for value in at]


def event_marks(start_mps2: Any, stop_mps2: Any, turn_mps2: Any) -> tuple[NDArray[np.float64], ...]:
    """Part of the means of ``drive_a2``, ``brake_a2`` and ``ay2`` that one hard event per 100 km marks.

    Parameters
    ----------
    start_mps2, stop_mps2, turn_mps2 : float or array_like
        What counts as hard. [m/s²]

    Returns
    -------
    tuple of ndarray
        [m²/s⁴], 0 where the threshold is below an ordinary event's.
    """
    half = _FROM_MPS**2 / 2
    start, stop, turn = (np.asarray(v, dtype=float) for v in (start_mps2, stop_mps2, turn_mps2))
    integrals = (
        (start - _ORDINARY_START) * half,
        (stop - _ORDINARY_STOP) * half,
        (turn**2 - _ORDINARY_CORNER**2) * math.pi / 2 * _CORNER_M,
    )  # m²/s⁴ m
    return tuple(_STYLE * np.maximum(integral, 0.0) / 100_000 for integral in integrals)


def profile_from_answers(
    shares: Sequence[float] | Mapping[str, float] | None,
    hard_starts_per_100km: float | None,
    hard_stops_per_100km: float | None,
    hard_turns_per_100km: float | None,
    *,
    distance_km: float = math.nan,
    thresholds: Thresholds = MEANT_BY_HARD,
) -> DrivingProfile:
    """Driving profile from what a person says.

    Parameters
    ----------
    shares : sequence of 5 floats or mapping by band name
        Shares of distance under 25, 25 to 40, 40 to 55, 55 to 70 and over 70 mph; they sum to 1 (a rounding
        error up to 0.02 is spread over them). None: those of :func:`default_profile`.
    hard_starts_per_100km, hard_stops_per_100km, hard_turns_per_100km : float or None
        0 or more; None as there. [1 per 100 km]
    distance_km : float
        What the answers stand for, if known. [km]
    thresholds : Thresholds
        What was meant by hard.

    Returns
    -------
    DrivingProfile
        With ``log_sd`` 0.30.

    Raises
    ------
    InputError
        If an answer is missing, negative or not a number, or the shares do not sum to 1.
    """
    told = _MEAN_SHARES if shares is None else shares
    given = [told.get(band, math.nan) for band in BANDS] if isinstance(told, Mapping) else list(told)
    mix = np.array(given, dtype=float)
    hard = zip((hard_starts_per_100km, hard_stops_per_100km, hard_turns_per_100km), _MEAN_EVENTS, strict=True)
    rates = np.array([usual if event is None else event for event, usual in hard], dtype=float)
    if len(mix) != len(BANDS) or not np.isfinite(mix).all() or (mix < 0).any() or abs(mix.sum() - 1) > 0.02:
        raise misused(Wrong.SHARES, given=mix.tolist())
    if not np.isfinite(rates).all() or (rates < 0).any():
        raise misused(Wrong.EVENTS, given=rates.tolist())
    mix = mix / mix.sum()
    moments = np.concatenate([mix, rates]) @ answer_matrix(thresholds).to_numpy()
    return DrivingProfile(
        distance_km=distance_km,
        **dict(zip(BANDS, mix.tolist(), strict=True)),
        **dict(zip(EVENTS, rates.tolist(), strict=True)),
        **dict(zip(MOMENTS, moments.tolist(), strict=True)),
        log_sd=ANSWERS_LOG_SD,
        source="answers",
        thresholds=thresholds,
    )


def default_profile() -> DrivingProfile:
    """Typical mixed driving, for a vehicle of which nothing is known.

    Returns
    -------
    DrivingProfile
        The speed mix, starts and stops of 22 household cars (Chicago 2007, see the module's notes), and
        5 hard turns per 100 km (our assumption); ``log_sd`` 0.40.
    """
    typical = profile_from_answers(_MEAN_SHARES, *_MEAN_EVENTS)
    return replace(typical, log_sd=DEFAULT_LOG_SD, source="default")


def profiles_from_habits(book: Any) -> pd.DataFrame:
    """Driving profiles of a logbook's ``habits``: one row a vehicle and stretch of dates.

    Parameters
    ----------
    book : Logbook or DataFrame
        A logbook, or its ``habits`` table in inside units. Where a row has all moments (as in the file that
        ``tirelife trips`` writes) they are used; otherwise the profile is made from the plain answers.

    Returns
    -------
    DataFrame
        vehicle_id, from_date, to_date, then the columns of :func:`profiles_to_frame`; sorted by vehicle and
        date.

    Raises
    ------
    InputError
        If a row has shares that do not sum to 1 or negative numbers.
    """
    given: pd.DataFrame = book if isinstance(book, pd.DataFrame) else book.habits
    habits = given.reset_index(drop=True)
    keys = ["vehicle_id", "from_date", "to_date"]
    if habits.empty:
        return pd.DataFrame(columns=[*keys, *COLUMNS])
    numbers = {c: pd.to_numeric(habits[c], errors="coerce") for c in COLUMNS if c in habits and c != "source"}
    held = pd.DataFrame(numbers, index=habits.index).reindex(columns=list(COLUMNS))
    recorded = held[list(MOMENTS)].notna().all(axis=1)
    known = held[recorded].assign(source="trips").astype({"source": str})
    answered = _answered(held[~recorded]) if not recorded.all() else known.iloc[:0]
    floats = dict.fromkeys((c for c in COLUMNS if c != "source"), float)
    out = pd.concat([known.astype(floats), answered]).reindex(habits.index)
    out["log_sd"] = out["log_sd"].fillna(ANSWERS_LOG_SD)
    out = pd.concat([habits[keys], out], axis=1)
    return out.sort_values(keys, kind="stable", ignore_index=True)


def speed_shares(habits: pd.DataFrame, vehicle_id: str) -> pd.DataFrame:
    """Share of one vehicle's distance in each band of speed, beside the usual driver's.

    Parameters
    ----------
    habits : DataFrame
        The logbook's table. Stretches count by their days.
    vehicle_id : str

    Returns
    -------
    DataFrame
        from_mph, to_mph (infinite for the fastest), share (NaN where none is recorded), usual_share (mean of
        22 cars in daily use; see :func:`default_profile`).
    """
    mine = habits[habits["vehicle_id"] == vehicle_id] if len(habits) else habits
    shares = mine.reindex(columns=list(BANDS)).astype(float).to_numpy()
    known = np.isfinite(shares).all(axis=1)
    days = (mine["to_date"] - mine["from_date"]).dt.days.to_numpy(float) if len(mine) else np.empty(0)
    weight = np.where(known & (days > 0), days, 0.0)
    mean = weight[known] @ shares[known] / weight.sum() if weight.sum() else np.full(len(BANDS), np.nan)
    return pd.DataFrame(
        {
            "from_mph": [0.0, *_EDGES_MPH],
            "to_mph": [*_EDGES_MPH, np.inf],
            "share": mean,
            "usual_share": _MEAN_SHARES,
        }
    )


def _answered(held: pd.DataFrame) -> pd.DataFrame:
    """Profiles of rows of plain answers, all at once; the same as :func:`profile_from_answers` row by row."""
    limits = [c for c in COLUMNS if c.startswith("threshold_")]
    usual = [getattr(MEANT_BY_HARD, c.removeprefix("threshold_")) for c in limits]
    meant = held[limits].to_numpy(float)
    meant = np.where(np.isfinite(meant).all(axis=1, keepdims=True), meant, usual)
    answers = held[[*BANDS, *EVENTS]].to_numpy(float)
    total = answers[:, : len(BANDS)].sum(axis=1)
    with np.errstate(invalid="ignore"):
        bad = ~np.isfinite(answers).all(axis=1) | (answers < 0).any(axis=1) | (abs(total - 1) > 0.02)
    if bad.any():  # the one-row function says what is wrong
        row = answers[bad.argmax()].tolist()
        profile_from_answers(row[: len(BANDS)], *row[len(BANDS) :])
    answers = np.hstack([answers[:, : len(BANDS)] / total[:, None], answers[:, len(BANDS) :]])
    out = held.copy()
    out[[*BANDS, *EVENTS]], out[limits] = answers, meant
    kinds, kind = np.unique(meant, axis=0, return_inverse=True)
    moments = np.empty((len(held), len(MOMENTS)))
    for i, thresholds in enumerate(kinds):
        rows = kind.ravel() == i
        moments[rows] = answers[rows] @ answer_matrix(Thresholds(*thresholds.tolist())).to_numpy()
    out[list(MOMENTS)] = moments
    out["log_sd"] = ANSWERS_LOG_SD
    return out.assign(source="answers").astype({"source": str})[list(COLUMNS)]
