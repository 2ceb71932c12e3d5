"""Plain answers to a driving profile: shares of distance by speed, and hard events.

Every moment is linear in the eight answers: a baseline for each speed band, and an increment for each hard
event. The customer's page repeats the sum in the browser with :func:`answer_matrix`.

**Baselines** (all but ``ay2``) are means over distance in 22 household cars, 2,223 miles of one-second steps,
Chicago 2007 (CMAP travel survey, Transportation Secure Data Center, NREL; speeds filtered by the
laboratory), each step put into a band by its mean speed and into a phase by :func:`coast_down`. Between those
cars, acceleration moments differ from what their speed mix predicts by a factor exp(0.26) (one standard
deviation), which supports the 30 % that plain answers carry at least.

**Lateral baselines** have no open source that we found; they are our assumption, by kinematics: in each band
4 to 5 % of the distance lies in bends, taken at 0.22, 0.20, 0.16, 0.12 and 0.10 g, slow to fast.

**Increments** replace an ordinary start, stop or corner by a hard one. Over a stop from speed V at constant
deceleration A, the integral of a² ds is A V²/2; the integrals of a and a v² do not depend on A. So a hard
start or stop adds ``(A - A0) V²/2`` to the a² of its phase and nothing else; A is the threshold that the
count was made with, V is 30 mph (our choice), A0 the mean of a² over the mean of a in the baseline cars
(starts 0.90, stops 1.02 m/s²). A hard right-angle corner of radius R adds ``(pi/2) R (Ay² - Ay0²)`` to
ay2, with R 15 m and Ay0 2.0 m/s² (our choice). The baseline cars' own hard events are so few (0.5 starts and
3 stops per 100 miles) that they are taken as none.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
import pandas as pd

from tirelife.driving.profile import (
    COLUMNS,
    DEFAULT_THRESHOLDS,
    EVENTS,
    MOMENTS,
    DrivingProfile,
    Thresholds,
)
from tirelife.errors import InputError
from tirelife.logbook import BANDS
from tirelife.units import GRAVITY

__all__ = [
    "ANSWERS_LOG_SD",
    "DEFAULT_LOG_SD",
    "answer_matrix",
    "default_profile",
    "profile_from_answers",
    "profiles_from_habits",
]

ANSWERS_LOG_SD: Final = 0.30
"""Habits alone price wear to no better than 30 % (`driving-and-wear` caution 12)."""
DEFAULT_LOG_SD: Final = 0.35
"""Nothing known of the driving: the answers' 30 % and the local spread between cars, about two-fold between
the extreme tenths (Tire Sci. Technol. 1(2), 1973), which is 0.2 in the logarithm, added in squares."""

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
_BENDS = ((0.05, 0.22), (0.05, 0.20), (0.05, 0.16), (0.05, 0.12), (0.04, 0.10))  # share of distance, g
_MEAN_SHARES = (0.11, 0.19, 0.26, 0.26, 0.18)  # the 22 cars: .106 .195 .257 .265 .177
_MEAN_EVENTS = (0.3, 1.8, 5.0)  # per 100 km; starts and stops of the 22 cars, turns our assumption
_FROM_MPS = 30 * 0.44704
_ORDINARY_START, _ORDINARY_STOP = 0.90, 1.02
_CORNER_M, _ORDINARY_CORNER = 15.0, 2.0


def answer_matrix(thresholds: Thresholds = DEFAULT_THRESHOLDS) -> pd.DataFrame:
    """Return the linear map from plain answers to moments.

    Parameters
    ----------
    thresholds : Thresholds
        What the person who answered calls hard.

    Returns
    -------
    DataFrame, shape (8, 14)
        Rows: the five shares and the three event rates per 100 km. Columns: the moments, in SI. A profile's
        moments are ``answers @ answer_matrix()``.

    Examples
    --------
    >>> answer_matrix().loc["share_over_70mph", "drive_v2"]
    np.float64(1031.418)
    """
    table = pd.DataFrame(0.0, index=[*BANDS, *EVENTS], columns=list(MOMENTS))
    for i, band in enumerate(BANDS):
        share, bend_g = _BENDS[i]
        lateral = share * (bend_g * GRAVITY) ** 2
        table.loc[band] = [*_DRIVE[i], *_BRAKE[i], lateral, _SLOW_TURN[i]]
    half = _FROM_MPS**2 / 2
    corner = math.pi / 2 * _CORNER_M
    per_event = {
        "drive_a2": (EVENTS[0], (thresholds.start_mps2 - _ORDINARY_START) * half),
        "brake_a2": (EVENTS[1], (thresholds.stop_mps2 - _ORDINARY_STOP) * half),
        "ay2": (EVENTS[2], (thresholds.turn_mps2**2 - _ORDINARY_CORNER**2) * corner),
    }
    for moment, (event, integral) in per_event.items():
        table.loc[event, moment] = max(integral, 0.0) / 100_000  # m²/s⁴ m, over 100 km
    return table


def profile_from_answers(
    shares: Sequence[float] | Mapping[str, float],
    hard_starts_per_100km: float,
    hard_stops_per_100km: float,
    hard_turns_per_100km: float,
    *,
    distance_km: float = math.nan,
    thresholds: Thresholds = DEFAULT_THRESHOLDS,
) -> DrivingProfile:
    """Driving profile from what a person says.

    Parameters
    ----------
    shares : sequence of 5 floats or mapping by band name
        Shares of distance under 25, 25 to 40, 40 to 55, 55 to 70 and over 70 mph; they sum to 1 (a rounding
        error up to 0.02 is spread over them).
    hard_starts_per_100km, hard_stops_per_100km, hard_turns_per_100km : float
        0 or more. [1 per 100 km]
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
    given = [shares.get(band, math.nan) for band in BANDS] if isinstance(shares, Mapping) else list(shares)
    mix = np.array(given, dtype=float)
    rates = np.array([hard_starts_per_100km, hard_stops_per_100km, hard_turns_per_100km], dtype=float)
    if len(mix) != len(BANDS) or not np.isfinite(mix).all() or (mix < 0).any() or abs(mix.sum() - 1) > 0.02:
        raise InputError(
            f"shares of distance by speed {mix.tolist()}: give five numbers from 0 to 1, slowest first, "
            "that sum to 1"
        )
    if not np.isfinite(rates).all() or (rates < 0).any():
        raise InputError(f"hard starts, stops, turns {rates.tolist()}: give numbers per 100 km, 0 or more")
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
        5 hard turns per 100 km (our assumption); ``log_sd`` 0.35.
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
    habits: pd.DataFrame = book if isinstance(book, pd.DataFrame) else book.habits
    keys = ["vehicle_id", "from_date", "to_date"]
    if habits.empty:
        return pd.DataFrame(columns=[*keys, *COLUMNS])
    numbers = {c: pd.to_numeric(habits[c], errors="coerce") for c in COLUMNS if c in habits and c != "source"}
    held = pd.DataFrame(numbers, index=habits.index).reindex(columns=list(COLUMNS))
    recorded = held[list(MOMENTS)].notna().all(axis=1)
    out = held.astype({"source": object})
    out["source"] = "trips"
    if not recorded.all():
        out.loc[~recorded, :] = _answered(held[~recorded]).to_numpy(dtype=object)
    out["log_sd"] = out["log_sd"].fillna(ANSWERS_LOG_SD)
    out = pd.concat([habits[keys], out], axis=1)
    out = out.astype({c: float for c in COLUMNS if c != "source"} | {"source": str})
    return out.sort_values(keys, kind="stable", ignore_index=True)


def _answered(held: pd.DataFrame) -> pd.DataFrame:
    """Profiles of rows of plain answers, all at once; the same as :func:`profile_from_answers` row by row."""
    limits = [c for c in COLUMNS if c.startswith("threshold_")]
    usual = [getattr(DEFAULT_THRESHOLDS, c.removeprefix("threshold_")) for c in limits]
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
    return out.astype({"source": object}).assign(source="answers")[list(COLUMNS)]
