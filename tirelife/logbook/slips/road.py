"""What a vehicle runs from one odometer reading to the next, and how far off its usual that may be."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["Points", "Road", "road_of"]

_TAIL, _AS_MANY = 1 / 200, 400
"""Share of stretches that are no usual ones (a holiday), told as by so many stretches; our assumption."""
_WIDE, _HOLIDAY = 5.0, 1.0
"""Such a stretch is off by so many times the usual, and by its own usual length at least; our assumptions."""
_ISOLATED: Final = 3.5
"""A stretch off by so much between two that are not tells of holidays; beside another odd one, of a slip."""
_PACE_SD, _STRETCHES, _LEAST_SD = 0.4, 30, 0.05
"""Deviation of a month's distance from the usual one, told as by so many stretches, and its least; ours."""
_MONTH, _ERROR_KM, _USUAL_KM = 30.0, 40.0, 40.0
"""Half of what a month is off averages out over more of them [days]; error of a reading [km], and a usual day
[km]; our assumptions."""
_WRONG, _STRANGE, ANY_KM = 1 / 100, 1e-6, 300_000.0
"""Share of readings that are wrong, and that nothing here explains; either leaves any number up to so many
[km]: our assumptions."""
_REPLACED: Final = 1 / 5_000
"""Share of stretches in which the instrument is replaced by one that has run less; our assumption."""


@dataclass(frozen=True)
class Points:
    """Distinct odometer readings in order of vehicle, day and distance: arrays of shape (points,)."""

    vehicle: NDArray[np.intp]
    day: NDArray[np.float64]
    km: NDArray[np.float64]

    def keep(self, where: NDArray[np.bool_] | NDArray[np.intp]) -> Points:
        """Some of the points."""
        return Points(self.vehicle[where], self.day[where], self.km[where])


@dataclass(frozen=True)
class Road:
    """Stretches before and after each reading, and what they should be: arrays of shape (2, points).

    ``near`` is the reading at the other end [km], NaN where there is none; ``usual`` and ``sd`` the
    stretch's distance and its deviation [km]; ``tail`` and ``wide`` the share of unusual stretches, and how
    many times as far off they are. ``next``, ``next_usual`` and ``next_sd`` are those from the reading beyond
    the near one, and ``fits`` the log density of the near one by that.
    """

    near: NDArray[np.float64]
    usual: NDArray[np.float64]
    sd: NDArray[np.float64]
    next: NDArray[np.float64]
    next_usual: NDArray[np.float64]
    next_sd: NDArray[np.float64]
    fits: NDArray[np.float64]
    tail: float
    wide: float

    def at(self, i: int) -> Road:
        """The stretches of one reading."""
        return replace(self, **{name: getattr(self, name)[:, i : i + 1] for name in _ARRAYS})

    def said(self) -> NDArray[np.float64]:
        """What each stretch says the reading should be, and both: shape (3, points) [km]."""
        each = np.array([self.near[0] + self.usual[0], self.near[1] - self.usual[1]])
        weight = np.where(np.isfinite(each), 1 / self.sd**2, 0.0)
        with np.errstate(invalid="ignore", divide="ignore"):
            both = (np.where(weight > 0, each, 0.0) * weight).sum(axis=0) / weight.sum(axis=0)
        return np.vstack([each, both])

    def spread(self) -> NDArray[np.float64]:
        """Standard error of what both stretches say [km]."""
        with np.errstate(divide="ignore"):
            return np.asarray(1 / np.sqrt(np.where(np.isfinite(self.near), 1 / self.sd**2, 0.0).sum(axis=0)))

    def log_density(self, km: NDArray[np.float64]) -> NDArray[np.float64]:
        """Of a reading between its neighbours, up to a constant; -inf for NaN, 0 with no neighbour.

        A neighbour may be wrong: then the reading beyond it says what this one should be.
        """
        known, beyond = np.isfinite(self.near), np.isfinite(self.next)
        value = np.where(np.isnan(km), 0.0, km)
        went = np.where(known, [value - self.near[0], self.near[1] - value], 0.0)
        far = np.where(beyond, [value - self.next[0], self.next[1] - value], 0.0)
        sd = np.where(known, self.sd, 1.0)
        next_sd = np.where(beyond, self.next_sd, np.sqrt(2.0) * sd)
        own = _stretch(went, np.where(known, self.usual, 0.0), sd, self.tail, self.wide)
        off = (far - np.where(beyond, self.next_usual, 0.0)) / next_sd
        by_next = -0.5 * off**2 + np.log(sd / next_sd) - np.where(beyond, self.fits, 0.0)
        any_km = np.log(sd * np.sqrt(2 * np.pi) / ANY_KM)
        wrong = np.log(_WRONG) + np.where(
            beyond, by_next + 0.5 * np.log((next_sd**2 - sd**2) * 2 * np.pi / ANY_KM**2), any_km
        )
        each = np.logaddexp(np.logaddexp(own, wrong), np.log(_STRANGE) + any_km)
        # A log's last reading, or its first, may be the only one of its instrument.
        before, this = np.broadcast_arrays(np.where(known[0], self.near[0], 1.0), value)
        span = np.maximum([before, this], 1.0)
        anew = np.log(_REPLACED) + np.log(sd * np.sqrt(2 * np.pi) / span)
        each = np.logaddexp(each, np.where((went < 0) & (known.sum(axis=0) == 1), anew, -np.inf))
        both = np.where(known, each, 0.0).sum(axis=0)
        return np.asarray(np.where(np.isnan(km), -np.inf, both))


_ARRAYS: Final = ("near", "usual", "sd", "next", "next_usual", "next_sd", "fits")


def _stretch(
    went: NDArray[np.float64], usual: NDArray[np.float64], sd: NDArray[np.float64], tail: float, wide: float
) -> NDArray[np.float64]:
    """Log density of a stretch up to a constant: a usual one, or a holiday; an odometer does not go back."""
    off = (went - usual) / sd
    far = -0.5 * (off / wide) ** 2 - np.log(wide) + np.log(tail)
    far = np.where(went < -3 * _ERROR_KM, -np.inf, far)
    return np.asarray(np.logaddexp(-0.5 * off**2 + np.log1p(-tail), far))


def road_of(points: Points) -> Road:
    """The stretches of a log, and how far they vary from each vehicle's usual distance a day."""
    vehicle, day, km = points.vehicle, points.day, points.km
    after = np.r_[vehicle[1:] == vehicle[:-1], False] if len(km) else np.zeros(0, dtype=bool)
    days = np.where(after, np.r_[day[1:], 0.0] - day, np.nan)
    went = np.where(after, np.r_[km[1:], 0.0] - km, np.nan)
    pace = _pace(points)
    usual = pace * days
    # Of a month's deviation half goes on and half averages out.
    scale = np.sqrt(days * (days + _MONTH) / 2)
    held = after & (days >= 5) & (np.bincount(vehicle, after, int(vehicle.max(initial=-1)) + 1)[vehicle] >= 4)
    off = np.abs(went - usual)[held] / (pace * scale)[held]
    many = int(held.sum())
    seen = 1.48 * float(np.median(off)) if many else _PACE_SD
    sd = max(float(np.sqrt((many * seen**2 + _STRETCHES * _PACE_SD**2) / (many + _STRETCHES))), _LEAST_SD)
    deviation = np.hypot(_ERROR_KM, sd * pace * scale)
    with np.errstate(invalid="ignore"):
        odd = np.abs(went - usual) > _ISOLATED * deviation
    alone = odd & ~np.r_[False, odd[:-1]] & ~np.r_[odd[1:], False]
    holidays = (2.0 * float(alone.sum()) + _AS_MANY * _TAIL) / (int(after.sum()) + _AS_MANY)
    share, wide = min(holidays, 0.5), max(_WIDE, _HOLIDAY / sd)
    held = np.isfinite(went)
    fits = np.full(len(km), np.nan)
    fits[held] = np.logaddexp(
        _stretch(went[held], usual[held], deviation[held], share, wide),
        np.log(_STRANGE * deviation[held] * np.sqrt(2 * np.pi) / ANY_KM),
    )

    def at(own: NDArray[np.float64], k: int) -> NDArray[np.float64]:
        """Of the stretch or the reading so many on, in the same vehicle's log; NaN for none."""
        index = np.arange(len(km)) + k
        inside = (index >= 0) & (index < len(km))
        index = np.where(inside, index, 0)
        return np.where(inside & (vehicle[index] == vehicle), own[index], np.nan)

    def both(own: NDArray[np.float64], before: int, after: int) -> NDArray[np.float64]:
        return np.array([at(own, before), at(own, after)])

    near, sds = both(km, -1, 1), both(deviation, -1, 0)
    usuals = both(usual, -1, 0)
    return Road(
        near=near, usual=usuals, sd=sds, next=both(km, -2, 2), next_usual=usuals + both(usual, -2, 1),
        next_sd=np.hypot(sds, both(deviation, -2, 1)), fits=both(fits, -2, 1), tail=share, wide=wide,
    )  # fmt: skip


def _pace(points: Points) -> NDArray[np.float64]:
    """Usual distance a day of each point's vehicle [km]: the median to the next reading and the one after."""
    said, who = [], []
    for k in (1, 2):
        days, went = points.day[k:] - points.day[:-k], points.km[k:] - points.km[:-k]
        good = (points.vehicle[k:] == points.vehicle[:-k]) & (days > 0)
        said.append(went[good] / days[good])
        who.append(points.vehicle[k:][good])
    value, vehicle = np.concatenate(said), np.concatenate(who)
    held = np.zeros(int(points.vehicle.max(initial=-1)) + 1)
    order = np.lexsort((value, vehicle))
    of, sizes = np.unique(vehicle, return_counts=True)
    start = np.cumsum(sizes) - sizes
    ordered = value[order]
    held[of] = (ordered[start + (sizes - 1) // 2] + ordered[start + sizes // 2]) / 2
    some = held[held > 0]
    rest = float(np.median(some)) if len(some) else _USUAL_KM
    return np.asarray(np.where(held > 0, held, rest)[points.vehicle])
