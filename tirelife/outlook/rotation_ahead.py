"""Whether and when a vehicle's tires will be rotated, and what that does to the distance left."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.logbook import Logbook
from tirelife.normal import ndtr
from tirelife.positions import axle_of
from tirelife.rates import (
    Draws,
)

__all__ = ["LATE", "away_on_the_other", "lasting", "rotation_ahead", "through_rotations"]

Floats = NDArray[np.float64]

USUAL_KM: Final = 10_000.0
"""Interval where no change of axle was seen: between the 5,000 and 8,000 miles of TireWise (NHTSA)."""
USUAL_LOG_SD: Final = 0.35
"""Log-sd of one interval about its vehicle's own, before the log tells; an assumption, no source."""
BETWEEN_LOG_SD: Final = 0.25
"""Log-sd of vehicles' own intervals about the fleet's, before the log tells; an assumption, no source."""
_HELD: Final = 0.7
"""Sd of the logs of both: two-fold either way is not unlikely, as for the pace; an assumption."""
LATE: Final = 0.05, float(np.hypot(USUAL_LOG_SD, BETWEEN_LOG_SD))
"""Share of intervals that are like those of any fleet, however alike the log's are, and their log-sd about
the usual one: a car that is late once has not stopped. The share is an assumption."""
_SPREADS: Final = np.exp(_HELD * np.linspace(-5, 3, 33))
ROTATORS: Final = (1.0, 1.0)
"""Vehicles that are rotated and that are not, taken as seen before the log tells: nothing is known."""
STOPS: Final = (1.0, 20.0)
"""Vehicles that stopped being rotated, and rotations after which they might have; an assumption."""


def rotation_ahead(book: Logbook) -> pd.DataFrame:
    """For each tire now on a vehicle: how likely it goes on changing axles, how soon and how often.

    Parameters
    ----------
    book : Logbook

    Returns
    -------
    DataFrame
        One row a mounted tire: tire_id, vehicle_id, position, axle (front, rear or spare), spare_turns
        (whether the spare takes its turn), moves (changes of axle seen on this vehicle); and, the same for
        all tires of a vehicle, since_km (run since the last of its road tires came to its axle, to the last
        reading), lasted_km (that, or where no change was seen the longest stay on an axle), chance (that it
        will be rotated), every_km (usual distance between rotations), every_log_sd (how surely),
        interval_log_sd (of one interval about it).

    Notes
    -----
    A vehicle is one that is rotated or one that is not. Where changes were seen it was one, and may have
    stopped after the last; where none were seen either may be. How many there are of each, and how often one
    stops after a rotation, the fleet teaches, as counts added to :data:`ROTATORS` and :data:`STOPS` (beta
    distributions), each vehicle counted by its chance. An interval is lognormal, about the vehicle's own
    median stay drawn towards the fleet's, both spreads learned from the log; the longer a vehicle has gone
    without a change, the less likely it is still rotated::

        chance = share * S / (share * S + 1 - share)

    with S the chance that an interval is at least as long as the one under way (as the longest stay, where no
    change was seen).
    """
    path = book.stretches
    axle = path["position"].map(axle_of).to_numpy(dtype=object)
    tire = path["tire_id"].to_numpy(dtype=object)
    vehicle = path["vehicle_id"].to_numpy(dtype=object)
    follows = np.zeros(len(path), dtype=bool)
    follows[1:] = (tire[1:] == tire[:-1]) & (vehicle[1:] == vehicle[:-1])
    same_axle = follows.copy()
    same_axle[1:] &= axle[1:] == axle[:-1]
    run = np.cumsum(~same_axle) - 1  # stretches that follow on the same axle are one stay
    begin = path["from_km"].to_numpy(dtype=float)
    start = begin[np.flatnonzero(~same_axle)]
    stay = path["to_km"].to_numpy(dtype=float) - start[run]
    changes = np.flatnonzero(follows & ~same_axle)
    stays = pd.DataFrame(
        {
            "vehicle_id": vehicle[changes],
            "km": begin[changes] - start[run[changes - 1]],
            "at": begin[changes].round(),
            "spare": (axle[changes] == "spare") | (axle[changes - 1] == "spare"),
        }
    )
    stays = stays[stays["km"] > 0]
    now = np.flatnonzero(path["open"].to_numpy(dtype=bool))
    out = pd.DataFrame(
        {
            "tire_id": tire[now],
            "vehicle_id": vehicle[now],
            "position": path["position"].to_numpy(dtype=object)[now],
            "axle": axle[now],
        }
    )
    names = pd.Index(out["vehicle_id"].unique())
    code = names.get_indexer(out["vehicle_id"])
    road = axle != "spare"
    since = np.full(len(names), np.inf)
    on_road = road[now]
    np.minimum.at(since, code[on_road], stay[now][on_road])
    since[~np.isfinite(since)] = 0.0
    longest = np.zeros(len(names))
    where = names.get_indexer(vehicle)
    fine = road & (where >= 0)
    np.maximum.at(longest, where[fine], stay[fine])
    by_vehicle = stays.groupby("vehicle_id").agg(moves=("km", "size"), spare=("spare", "any")).reindex(names)
    moves = by_vehicle["moves"].fillna(0).to_numpy(dtype=int)
    # Tires that move together are one rotation.
    once = stays.groupby(["vehicle_id", "at"], sort=False)["km"].median().reset_index()
    every, every_sd, sd = _intervals(once, names)
    seen = moves > 0
    lasted = np.where(seen, since, longest)
    last = lasting(lasted, every, sd, every_sd)
    chance = np.empty(len(names))
    chance[seen] = _still(last[seen], int(once["vehicle_id"].isin(names).sum()))
    chance[~seen] = _ever(last[~seen], int(seen.sum()))
    vehicles = pd.DataFrame(
        {
            "spare_turns": by_vehicle["spare"].eq(True).to_numpy(dtype=bool),
            "moves": moves,
            "since_km": since,
            "lasted_km": lasted,
            "chance": chance,
            "every_km": every,
            "every_log_sd": every_sd,
            "interval_log_sd": sd,
        }
    )
    return out.join(vehicles.iloc[code].reset_index(drop=True))


def lasting(km: ArrayLike, every_km: ArrayLike, one_log_sd: ArrayLike, every_log_sd: ArrayLike) -> Floats:
    """Chance that an interval between rotations is at least so long.

    Parameters
    ----------
    km : array_like, shape (n,)
        Under 1 km counts as 1 km. [km]
    every_km : array_like, shape (n,)
        Usual interval. [km]
    one_log_sd, every_log_sd : array_like, shape (n,)
        Spread of the logarithm of one interval about the usual one, and of the usual one.

    Notes
    -----
    Of all intervals a share is as wide about the usual one as any fleet's (:data:`LATE`).
    """
    early = -np.log(np.maximum(km, 1.0) / np.asarray(every_km))
    share, log_sd = LATE
    alike = ndtr(early / np.hypot(one_log_sd, every_log_sd))
    return np.asarray((1 - share) * alike + share * ndtr(early / log_sd))


def _intervals(once: pd.DataFrame, names: pd.Index) -> tuple[Floats, Floats, Floats]:
    """Each vehicle's usual interval, its log-sd, and the log-sd of one interval about it."""
    log_km = np.log(once["km"].to_numpy(dtype=float))
    vehicle = names.get_indexer(pd.Index(once["vehicle_id"]))
    known = vehicle >= 0
    vehicle, log_km = vehicle[known], log_km[known]
    number = np.bincount(vehicle, minlength=len(names))
    own = pd.Series(log_km).groupby(vehicle).median().reindex(range(len(names))).to_numpy(dtype=float)
    center = float(np.nanmedian(own)) if len(log_km) else float(np.log(USUAL_KM))
    sd, between = _spreads(log_km, vehicle, number)
    weight = number / (number + (sd / between) ** 2)
    middle = center + weight * (np.nan_to_num(own - center))
    return np.exp(middle), np.sqrt(1 - weight) * between, np.full(len(names), sd)


def _spreads(log_km: Floats, vehicle: NDArray[np.intp], number: NDArray[np.intp]) -> tuple[float, float]:
    """Log-sd of one interval about its vehicle's own, and of vehicles' own: means of their logs.

    By restricted likelihood of a one-way layout on a grid, under the distributions of both: vehicles of as
    many intervals count together, so that a large fleet costs no more.
    """
    one, between = USUAL_LOG_SD * _SPREADS[:, None], BETWEEN_LOG_SD * _SPREADS[None, :]
    said = -0.5 * (np.log(one / USUAL_LOG_SD) ** 2 + np.log(between / BETWEEN_LOG_SD) ** 2) / _HELD**2
    seen = number > 0
    if seen.any():
        mean = np.bincount(vehicle, log_km, len(number))[seen] / number[seen]
        off = log_km - (mean[np.cumsum(seen) - 1])[vehicle]
        free = len(log_km) - int(seen.sum())
        said = said - free * np.log(one) - 0.5 * float(off @ off) / one**2
        precision = pull = square = np.zeros((1, 1))
        for count in np.unique(number[seen]):
            alike = mean[number[seen] == count]
            total = one**2 / count + between**2
            said = said - 0.5 * len(alike) * np.log(total)
            precision = precision + len(alike) / total
            pull, square = pull + alike.sum() / total, square + (alike @ alike) / total
        said = said - 0.5 * (np.log(precision) + square - pull**2 / precision)
    chance = np.exp(said - said.max())
    chance = chance / chance.sum()
    return tuple(float(np.exp((chance * np.log(sd)).sum())) for sd in (one, between))  # type: ignore[return-value]


def _ever(last: Floats, rotated: int) -> Floats:
    """Chance of vehicles never seen rotated that they are, from how likely an interval lasts as long."""
    yes, no = ROTATORS
    chance = np.full(len(last), 0.5)
    for _ in range(50):
        share = (yes + rotated + chance.sum()) / (yes + no + rotated + len(last))
        chance = share * last / (share * last + 1 - share)
    return chance


def _still(last: Floats, rotations: int) -> Floats:
    """Chance of each vehicle seen to be rotated that it still is."""
    stopped, after = STOPS
    chance = np.ones(len(last))
    for _ in range(50):
        share = 1 - (stopped + (1 - chance).sum()) / (after + rotations)
        chance = share * last / (share * last + 1 - share)
    return chance


def through_rotations(distance_km: Draws, due_km: Draws, every_km: Draws, ratio: Draws) -> Draws:
    """Turn distance on the present axle into distance with the axles taking turns.

    Parameters
    ----------
    distance_km : ndarray, shape (n, k)
        Distance that the tire would last if it stayed where it is. [km]
    due_km, every_km : ndarray, shape (n, k)
        To the next change of axle, and between changes; NaN in ``every_km``: the tire stays. [km]
    ratio : ndarray, shape (n, k)
        Wear per distance on the other axle, over that on the present one.

    Returns
    -------
    ndarray, shape (n, k) [km]

    Examples
    --------
    Wear on the other axle is half: 5,000 km on this one, then 4,000 km there wear as 2,000 km here.

    >>> through_rotations(*(np.array([[v]]) for v in (7000.0, 5000.0, 8000.0, 0.5)))
    array([[9000.]])
    """
    beyond = np.maximum(distance_km - due_km, 0.0)
    both = every_km * (1 + ratio)
    turns = np.floor(beyond / both)
    rest = beyond - turns * both
    there = np.minimum(rest, ratio * every_km)
    total = np.minimum(distance_km, due_km) + turns * (2 * every_km) + there / ratio + (rest - there)
    np.copyto(total, distance_km, where=~np.isfinite(every_km))
    return total


def away_on_the_other(km: Draws, due_km: Draws, every_km: Draws) -> Draws:
    """How much of a distance is run on the other axle, with the axles taking turns; NaN: the tire stays.

    Parameters
    ----------
    km : ndarray, shape (n, k) or (n, 1)
        Distance of the vehicle. [km]
    due_km, every_km : ndarray, shape (n, k)
        As :func:`through_rotations` takes them.

    Returns
    -------
    ndarray, shape (n, k) [km]

    Examples
    --------
    5,000 km here, 8,000 km there, 8,000 km here, and the rest there:

    >>> away_on_the_other(*(np.array([[v]]) for v in (22_000.0, 5000.0, 8000.0)))
    array([[9000.]])
    """
    beyond = np.maximum(km - due_km, 0.0)
    turns = np.floor(beyond / (2 * every_km))
    return np.asarray(turns * every_km + np.minimum(beyond - turns * 2 * every_km, every_km))
