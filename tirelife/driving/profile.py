"""A driving profile: the distance-weighted moments of speed and acceleration that wear needs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, fields, replace
from typing import Any, Final

import numpy as np
import pandas as pd

from tirelife.driving.wrong import Wrong
from tirelife.errors import misused
from tirelife.logbook import BANDS
from tirelife.units import GRAVITY, convert

__all__ = [
    "BAND_EDGES_MPS",
    "DEFAULT_THRESHOLDS",
    "EVENTS",
    "FULL_LOCK_M",
    "MEANT_BY_HARD",
    "MOMENTS",
    "PARKING_MPS",
    "SOURCES",
    "STEERED_SHARE",
    "DrivingProfile",
    "Thresholds",
    "coast_down",
    "combine",
    "parking_weight",
    "profile_from_row",
    "profiles_to_frame",
]

BAND_EDGES_MPS: Final = tuple(convert(mph, "mph", "mps") for mph in (25, 40, 55, 70))
"""Inner edges of the five speed bands of the logbook [m/s]; a speed on an edge is in the upper band."""
PARKING_MPS: Final = 27.0**0.5
"""Speed from which on steering is no parking-speed steering [m/s]; 12 mph. Below it the slip of a tire comes
more and more from being turned on the spot (`driving-and-wear` caution 4). Our choice: with the weight of
:func:`parking_weight`, and distance that gets rarer in proportion to speed towards standstill (as in 22
household cars, Chicago 2007), as much distance counts as all of it below 3 m/s."""
FULL_LOCK_M: Final = 5.5
"""Radius that a car runs at full lock [m]: turning circles of about 11 m (common practice, no source)."""
STEERED_SHARE: Final = 0.2
"""Share of the distance at parking speed that is run at full lock, or as much, where nobody recorded the
turning (our assumption, 0.1 to 0.4): most of it is the last metres of a stop, straight ahead."""
EVENTS: Final = ("hard_starts_per_100km", "hard_stops_per_100km", "hard_turns_per_100km")
PHASES: Final = ("drive", "brake")
TERMS: Final = ("share", "v2", "v4", "a", "a2", "av2")
MOMENTS: Final = (*(f"{phase}_{term}" for phase in PHASES for term in TERMS), "ay2", "slow_turn")
"""Fields of a profile that are moments, in order."""
SOURCES: Final = ("trips", "answers", "default")
"""Where a profile can come from, surest first."""

# Median target coast-down coefficients and median equivalent test weight of the EPA test-car list 2022
# (4,397 tests): A 39.3 lbf, B 0.227 lbf/mph, C 0.0226 lbf/mph², 4250 lb.
_LBF_N = 0.45359237 * GRAVITY
_MPH = convert(1.0, "mph", "mps")
_TEST_CAR_KG = convert(4250.0, "lb", "kg")
_COAST = (
    39.3 * _LBF_N / _TEST_CAR_KG,
    0.227 * _LBF_N / _MPH / _TEST_CAR_KG,
    0.0226 * _LBF_N / _MPH**2 / _TEST_CAR_KG,
)


@dataclass(frozen=True)
class Thresholds:
    """What counts as hard; stored with every count, since the same word means 0.2 g to 0.75 g elsewhere.

    The defaults are for one-second means of what was recorded. Wear is built from the moments, whatever
    counts
    as hard: a count says how often, and not how hard.

    Attributes
    ----------
    start_mps2 : float
        Speeding up by more than this. [m/s²] Default 0.20 g: in 12 staged hard starts, timed from video, the
        largest one-second mean was 0.20 g in the median, and over 0.25 g in two (measured on public data).
        Household cars pass 2 m/s² about nine times per 100 miles (22 cars, Chicago 2007).
    stop_mps2 : float
        Slowing down by more than this. [m/s²] Default 0.25 g, the level at which the 100-Car study's
        dictionary notes braking (VTTI, v1.3, read in its data); all of 12 staged hard stops passed it, and
        none of 11 gentle manoeuvres of all kinds (measured). Household cars: about three per 100 miles.
    turn_mps2 : float
        Lateral acceleration beyond this, to either side. [m/s²] Default 0.30 g: passed by about 20 of 22
        staged hard turns, whose median was 0.36 g, and by no gentle one (measured). The 100-Car dictionary
        notes 0.25 g, which ordinary town corners reach, and takes 0.40 g for a near-crash, which 3 of the 22
        passed.
    merge_s : float
        Two runs beyond the threshold with no more than this between them are one event. [s] Default 1.5,
        our choice: one dip of a second does not split an event.
    """

    start_mps2: float = 0.20 * GRAVITY
    stop_mps2: float = 0.25 * GRAVITY
    turn_mps2: float = 0.30 * GRAVITY
    merge_s: float = 1.5

    def __post_init__(self) -> None:
        for name in ("start_mps2", "stop_mps2", "turn_mps2"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0):
                raise misused(Wrong.THRESHOLD, name=name, given=value)
        if not (math.isfinite(self.merge_s) and self.merge_s >= 0):
            raise misused(Wrong.MERGE, given=self.merge_s)


DEFAULT_THRESHOLDS: Final[Thresholds] = Thresholds()
"""What counts as hard in recorded trips."""
MEANT_BY_HARD: Final[Thresholds] = Thresholds(0.25 * GRAVITY, 0.25 * GRAVITY, 0.40 * GRAVITY)
"""What a person who counts hard starts, stops and turns is taken to mean (our assumption: somewhat harder
than
what a recorder counts, since few notice the lesser ones)."""


@dataclass(frozen=True)
class DrivingProfile:
    """How a vehicle is driven, reduced to means over distance; a year of trips is one of these.

    A mean over distance of a quantity x is the integral of x ds divided by the distance. Each moment of
    speed v and acceleration a along the road is split into two parts that add up to the mean over the
    whole distance: where the engine pulls (``drive_``) and where the brakes act (``brake_``). The line
    between them is the deceleration at which a typical car coasts, :func:`coast_down`, a fixed function of
    speed, so that a profile says nothing about the vehicle and any vehicle can be priced from it.

    Attributes
    ----------
    distance_km : float
        Distance the profile stands for; NaN if unknown. [km]
    share_under_25mph, share_25_40mph, share_40_55mph, share_55_70mph, share_over_70mph : float
        Shares of distance by speed; they sum to 1.
    hard_starts_per_100km, hard_stops_per_100km, hard_turns_per_100km : float
        Events beyond ``thresholds``. [1 per 100 km]
    drive_share, brake_share : float
        Shares of distance; they sum to 1.
    drive_v2, brake_v2 : float
        Parts of the mean of v². [m²/s²]
    drive_v4, brake_v4 : float
        Parts of the mean of v⁴. [m⁴/s⁴]
    drive_a, brake_a : float
        Parts of the mean of a; the braking part is negative. [m/s²]
    drive_a2, brake_a2 : float
        Parts of the mean of a². [m²/s⁴]
    drive_av2, brake_av2 : float
        Parts of the mean of a v². [m³/s⁴]
    ay2 : float
        Mean square lateral acceleration. [m²/s⁴]
    slow_turn : float
        Parking-speed steering, as a share of distance. Where the turning was measured, ``(turning per metre /
        that at full lock)²``, weighted by :func:`parking_weight`, over ``STEERED_SHARE``; where it was not,
        the distance at parking speed itself, with the same weight.
    log_sd : float
        Standard deviation of the logarithm of wear priced from this profile, from the driving alone.
    source : str
        ``trips``, ``answers`` or ``default``; of a combination the least sure.
    thresholds : Thresholds or None
        What counted as hard; None where profiles with different thresholds were combined, and then the
        three event rates are NaN.

    Notes
    -----
    Wear goes with the square of the horizontal force on a wheel (the tangential-energy form of road
    economics); with force = mass a + c0 + c2 v² its square needs exactly these moments.
    """

    distance_km: float
    share_under_25mph: float
    share_25_40mph: float
    share_40_55mph: float
    share_55_70mph: float
    share_over_70mph: float
    hard_starts_per_100km: float
    hard_stops_per_100km: float
    hard_turns_per_100km: float
    drive_share: float
    drive_v2: float
    drive_v4: float
    drive_a: float
    drive_a2: float
    drive_av2: float
    brake_share: float
    brake_v2: float
    brake_v4: float
    brake_a: float
    brake_a2: float
    brake_av2: float
    ay2: float
    slow_turn: float
    log_sd: float
    source: str
    thresholds: Thresholds | None = MEANT_BY_HARD

    @property
    def shares(self) -> tuple[float, ...]:
        """The five shares of distance by speed, slowest first."""
        return tuple(getattr(self, band) for band in BANDS)


_MEANS: Final = (*BANDS, *EVENTS, *MOMENTS, "log_sd")
_THRESHOLD_COLUMNS: Final = tuple(f"threshold_{f.name}" for f in fields(Thresholds))
COLUMNS: Final = ("distance_km", *_MEANS, "source", *_THRESHOLD_COLUMNS)
"""Columns of a frame of profiles."""


def coast_down(speed_mps: Any) -> Any:
    """Deceleration of a typical car that rolls with no drive and no brake.

    Parameters
    ----------
    speed_mps : float or array_like
        Any shape. [m/s]

    Returns
    -------
    same shape as ``speed_mps`` [m/s²], positive

    Notes
    -----
    ``(A + B v + C v²) / m`` with the medians of A, B, C and of the test weight in the EPA test-car list
    2022 (39.3 lbf, 0.227 lbf/mph, 0.0226 lbf/mph², 4250 lb). That the medians belong to one car, and that
    every car may be split by it, is our assumption; it moves steps near coasting from one part of a moment
    to the other and changes no sum.

    Examples
    --------
    >>> round(coast_down(25.0), 4)
    0.2831
    """
    return _COAST[0] + speed_mps * (_COAST[1] + _COAST[2] * speed_mps)


def parking_weight(speed_mps: Any) -> Any:
    """How far steering at a speed is parking-speed steering: 1 at rest, 0 from ``PARKING_MPS`` on, smooth.

    Parameters
    ----------
    speed_mps : float or array_like
        Any shape. [m/s]

    Examples
    --------
    >>> [round(float(parking_weight(v)), 3) for v in (0.0, 3.0, 6.0)]
    [1.0, 0.444, 0.0]
    """
    rest = 1.0 - np.minimum(np.asarray(speed_mps, dtype=float) / PARKING_MPS, 1.0) ** 2
    return rest * rest


def combine(profiles: Iterable[DrivingProfile], weights: Sequence[float] | None = None) -> DrivingProfile:
    """Combine profiles by distance; exact for trips, in any order and any grouping.

    Parameters
    ----------
    profiles : iterable of DrivingProfile
    weights : sequence of float, optional
        Distances to use instead of the profiles' own. [km]

    Returns
    -------
    DrivingProfile
        Every mean weighted by distance. ``log_sd`` is weighted too, as if all were wrong in the same
        direction (our assumption, the cautious one).

    Raises
    ------
    InputError
        If there is no profile, or a distance is unknown or negative, or all are zero.
    """
    given = list(profiles)
    km = np.array([p.distance_km for p in given] if weights is None else list(weights), dtype=float)
    if not given or len(km) != len(given):
        raise misused(Wrong.NO_PROFILES)
    if not np.isfinite(km).all() or (km < 0).any() or km.sum() <= 0:
        raise misused(Wrong.WEIGHTS, given=km.tolist())
    used = [(p, w) for p, w in zip(given, km, strict=True) if w > 0]
    total = math.fsum(w for _, w in used)
    means = {name: math.fsum(getattr(p, name) * w for p, w in used) / total for name in _MEANS}
    thresholds = used[0][0].thresholds
    if any(p.thresholds != thresholds for p, _ in used):
        thresholds = None
        means |= dict.fromkeys(EVENTS, math.nan)
    source = max((p.source for p, _ in used), key=SOURCES.index)
    return DrivingProfile(distance_km=total, **means, source=source, thresholds=thresholds)


def profiles_to_frame(profiles: Mapping[Any, DrivingProfile] | Sequence[DrivingProfile]) -> pd.DataFrame:
    """One row a profile, one column a field: :data:`COLUMNS`; thresholds spread over ``threshold_*`` columns.

    Parameters
    ----------
    profiles : mapping or sequence of DrivingProfile
        The keys of a mapping become the index.
    """
    items = profiles.items() if isinstance(profiles, Mapping) else enumerate(profiles)
    keys, rows = [], []
    for key, profile in items:
        row = asdict(replace(profile, thresholds=None))
        row.pop("thresholds")
        held = asdict(profile.thresholds) if profile.thresholds else {}
        rows.append(row | {c: held.get(c.removeprefix("threshold_"), math.nan) for c in _THRESHOLD_COLUMNS})
        keys.append(key)
    return pd.DataFrame(rows, index=pd.Index(keys), columns=list(COLUMNS))


def profile_from_row(row: Mapping[str, Any] | pd.Series) -> DrivingProfile:
    """Profile of one row of a frame of profiles; the inverse of :func:`profiles_to_frame`.

    Raises
    ------
    InputError
        If a column is missing.
    """
    held = dict(row)
    missing = [c for c in ("distance_km", *_MEANS, "source") if c not in held]
    if missing:
        raise misused(Wrong.PROFILE_COLUMNS, missing=", ".join(missing))
    limits = [float(held.get(c, math.nan)) for c in _THRESHOLD_COLUMNS]
    return DrivingProfile(
        **{name: float(held[name]) for name in ("distance_km", *_MEANS)},
        source=str(held["source"]),
        thresholds=None if any(math.isnan(x) for x in limits) else Thresholds(*limits),
    )
