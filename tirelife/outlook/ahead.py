"""What lies ahead of each vehicle, as one joint set of draws: every distance, date and gain comes from it."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from copy import copy
from itertools import pairwise
from typing import Final, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from tirelife.outlook.rotation_ahead import away_on_the_other, through_rotations
from tirelife.rates.joint import LEAST_MM, Drawn, Standing, mixed, points
from tirelife.rates.mileage import pace_log_sd
from tirelife.tread import Verdict

__all__ = ["AHEAD_COLUMNS", "PROBABILITIES", "Course", "by_vehicle", "first_of"]

Floats = NDArray[np.float64]
T = TypeVar("T")

PROBABILITIES: Final = (0.10, 0.25, 0.50, 0.75, 0.90)
"""What a forecast reports: a median, a 50 % and an 80 % range."""
AHEAD_COLUMNS: Final = (
    "there", "limit_mm", "limit_sd_mm", "bend_log_sd", "chance", "since_km", "every_km", "every_log_sd",
    "interval_log_sd", "km_per_day", "year_log_sd", "drift_log_sd", "age_days",
)  # fmt: skip
"""Columns that a :class:`Course` reads beside where tires stand, verdict, vehicle_id, spare_turns."""
AHEAD_RATIOS: Final = ("wear_here", "wear_there")
"""Columns of a state that is asked otherwise: ratio of wear per distance, here and on the other axle."""
LONGEST_KM: Final = 1_000_000.0
"""Readings that point further ahead show no wear, and no distance can be told; our assumption. [km]"""
CHUNK: Final = 512
"""Tires at a time, so that what is worked on stays in the cache."""
_SPARE_SHARE: Final = 1.25
"""A spare that takes its turn rests the set: five tires share the work of four."""


class Course(Standing):
    """Tires from today on: the rotations, the pace and the limit that lie ahead of them, draw by draw.

    A draw is the same world for all tires of a vehicle.

    Attributes
    ----------
    spare_turns : ndarray of bool, shape (n,)
    settled : ndarray, shape (n, 1)
        What the distance left is whatever is drawn: 0 for a tire read at its limit, NaN for a spare that
        lies; infinite for all others.
    vehicle : ndarray of int, shape (n,)
        Counts the vehicles up from 0; rows of one stand together.
    """

    def __init__(self, state: pd.DataFrame) -> None:
        super().__init__(state, AHEAD_COLUMNS)
        for name in AHEAD_RATIOS:
            if name in state:
                self.get[name] = state[name].to_numpy(dtype=float)[:, None]
        self.spare_turns = state["spare_turns"].to_numpy(dtype=bool)
        lies = (state["position"] == "SP").to_numpy(dtype=bool) & ~self.spare_turns
        # Read at the limit, a tire has no distance left, whatever is projected or not known of it.
        down = (state["verdict"] == Verdict.AT_OR_UNDER).to_numpy(dtype=bool)
        self.settled = np.where(down, 0.0, np.where(lies, np.nan, np.inf))[:, None]
        self.vehicle = _counted(state["vehicle_id"])

    def rows(self, rows: slice) -> Course:
        """Some of the tires."""
        part = copy(self)
        part.take(rows)
        part.spare_turns, part.settled = self.spare_turns[rows], self.settled[rows]
        part.vehicle = self.vehicle[rows] - self.vehicle[rows][:1]
        return part

    def level_distance(self, limit_mm: Floats | None = None) -> tuple[Floats, Drawn]:
        """Draws of the distance left on an axle of mean wear at a severity of 1, shape (n, COUNT) [km]."""
        shared, own = points()
        at, run, walked = self.drawn()
        limit = np.maximum(self.get["limit_mm"] if limit_mm is None else limit_mm, LEAST_MM)
        whole = _to_limit(at, limit)
        ahead = whole - run
        middle = np.maximum(ahead.mean(axis=1, keepdims=True), 0.0)
        level = self.posterior.on_axle(0.0)
        rate = np.exp(level.mean[:, [1]])
        q, depth = level.mean[:, [3]], np.maximum(level.mean[:, [0]], limit)
        # Of the groove, as distance at the rate that the tire has when it gets there.
        groove = self.get["limit_sd_mm"] / (rate * (limit / depth) ** q)
        variance = self._since_variance(run) + level.scatter[:, None] * middle + groove**2
        ahead = np.maximum(ahead - np.sqrt(variance) * own["noise"][self.seat], 0.0)
        walking = mixed(self.get["walk_share"], shared["walking"], own["walking"][self.seat])
        spread = np.sqrt(level.wander[:, None] * ahead / 3 + self.get["bend_log_sd"] ** 2)
        return ahead * np.exp(-walked - spread * walking), at

    def stays(self, limit_mm: Floats | None = None) -> tuple[Floats, Floats]:
        """Distance left if each tire stayed where it is [km], and wear on the other axle over that here."""
        ahead, at = self.level_distance(limit_mm)
        power = at.half**self.front
        either = (at.half + 1 / at.half) / 2
        speed = self.get["here"] * np.where(self.front == 0, either, power)
        other = np.where(self.front == 0, 1.0, self.get["there"] / self.get["here"] * power**-2.0)
        return ahead / speed, other

    def turns(self, rotation_km: float | None = None) -> tuple[Floats, Floats]:
        """Draws of the distance to the next change of axle and between changes [km]; NaN: none.

        ``rotation_km``: an interval kept from today on, 0 for none; as the log has it if not given.
        """
        shared, _ = points()
        count = len(self), len(shared["turns"])
        if rotation_km is not None:
            every = np.full(count, rotation_km if rotation_km > 0 else np.nan)
            return np.zeros(count), every  # the first of them today
        every, sd = self.get["every_km"], self.get["interval_log_sd"]
        usual = np.log(every)
        with np.errstate(divide="ignore", invalid="ignore"):
            gone = ndtr((np.log(self.get["since_km"]) - usual) / sd)
        # The interval under way is one that has not ended yet.
        way = gone + (1 - gone) * ndtr(shared["interval"])
        first = np.exp(usual + sd * ndtri(np.clip(way, 1e-9, 1 - 1e-9)))
        due = np.maximum(first - self.get["since_km"], 1.0)
        between = np.exp(usual + self.get["every_log_sd"] * shared["interval"])
        goes = ndtr(shared["turns"]) < self.get["chance"]
        return np.where(goes, due, np.nan), np.where(goes, between, np.nan)

    def distance(
        self,
        stays: tuple[Floats, Floats],
        turns: tuple[Floats, Floats],
        wear: Floats | None = None,
        other_wear: Floats | None = None,
    ) -> Floats:
        """Distance left over the rotations ahead, shape (n, COUNT) [km].

        ``wear`` and ``other_wear``: ratios of wear per distance after to before, here and on the other axle;
        by default those that the state carries.
        """
        km, other = stays
        if wear is None:
            wear, other_wear = (self.get.get(name) for name in AHEAD_RATIOS)
        if wear is not None:
            km = km / wear
            other = other * (1.0 if other_wear is None else other_wear / wear)
        km = through_rotations(km, *turns, other)
        km = np.where(self.spare_turns[:, None], km * _SPARE_SHARE, km)
        return self.certain(km)

    def depth_after(self, km: Floats) -> Floats:
        """Draws of the mean depth when the vehicle has gone so far from its last odometer reading, over the
        rotations ahead.

        Parameters
        ----------
        km : ndarray, shape (n, 1) [km]

        Returns
        -------
        ndarray, shape (n, COUNT) [mm]
        """
        shared, own = points()
        due, every = self.turns()
        unread = self.get["unread_km"]
        other = np.nan_to_num(away_on_the_other(km, due + unread, every))
        here, there = self.get["here"] * (km - other), self.get["there"] * other
        spare = self.front == 0  # one that takes its turn runs half its distance on either axle
        half = np.where(self.spare_turns[:, None], self.get["here"] * km / _SPARE_SHARE / 2, 0.0)
        front = np.where(spare, half, np.where(self.front > 0, here, there))
        rear = np.where(spare, half, np.where(self.front > 0, there, here))
        known = copy(self)
        known.get = {**self.get, "unread_km": np.zeros_like(unread)}
        walking = mixed(self.get["walk_share"], shared["walking"], own["walking"][self.seat])
        bend = np.exp(self.get["bend_log_sd"] * walking)
        return known.depth(front * bend, rear * bend)

    def certain(self, km: Floats) -> Floats:
        """Distances with what does not hang on draws put in their place; NaN where none can be told."""
        middle = np.median(km, axis=1, keepdims=True)
        km = np.where(middle > LONGEST_KM, np.nan, km)
        return np.where(np.isinf(self.settled), km, self.settled)

    def days(self, km: Floats, km_per_day: Floats | None = None) -> Floats:
        """Days until so many kilometres are run or age ends it, draw by draw [day]."""
        shared, _ = points()
        pace = self.get["km_per_day"] if km_per_day is None else km_per_day
        plain = km / pace
        years = np.nan_to_num(plain, nan=1.0) / 365.25
        of_years = pace_log_sd(0.0, self.get["year_log_sd"], self.get["drift_log_sd"], years)
        days = plain * np.exp(-self.get["log_sd"] * shared["level"] - of_years * shared["year"])
        return np.asarray(np.minimum(days, self.get["age_days"]))


def by_vehicle(state: pd.DataFrame, work: Callable[[Course, slice], T]) -> list[T]:
    """Do ``work`` on the tires of a few vehicles at a time, side by side; rows of a vehicle stand together.

    ``work`` is given the course of some rows, and which rows those are.
    """
    course = Course(state)
    edges = np.flatnonzero(np.diff(course.vehicle, prepend=-1))
    cuts = [0]
    for edge in edges:
        if edge - cuts[-1] >= CHUNK:
            cuts.append(int(edge))
    pieces = [slice(a, b) for a, b in pairwise([*cuts, len(course)]) if b > a]

    def one(rows: slice) -> T:
        with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
            return work(course.rows(rows), rows)

    threads = min(2, os.cpu_count() or 1)
    if threads < 2 or len(pieces) < 4:
        return [one(rows) for rows in pieces]
    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(one, pieces))


def first_of(km: Floats, vehicle: NDArray[np.intp]) -> Floats:
    """Draw by draw the smallest distance of each vehicle's tires, shape (vehicles, COUNT); NaN where none is
    known.

    ``vehicle`` counts up from 0 over rows of a vehicle that stand together.
    """
    out = np.full((int(vehicle[-1]) + 1 if len(vehicle) else 0, km.shape[1]), np.inf)
    known = np.isfinite(km).all(axis=1)
    np.minimum.at(out, vehicle[known], km[known])
    return np.where(np.isinf(out), np.nan, out)


def _counted(names: pd.Series) -> NDArray[np.intp]:
    """Number of each row's vehicle, counted up over rows."""
    name = names.to_numpy(dtype=object)
    if not len(name):
        return np.zeros(0, dtype=np.intp)
    return np.cumsum(np.append(False, name[1:] != name[:-1])).astype(np.intp)


def _to_limit(at: Drawn, limit: Floats) -> Floats:
    """Distance from the depth at the last reading to the limit, on an axle of mean wear [km]."""
    depth = np.maximum(at.depth, limit)
    if not at.q.any():
        return (depth - limit) / at.rate
    power = 1 - at.q
    near = np.abs(power) < 1e-6
    fall = np.log(limit / depth)
    share = np.where(near, -fall, -np.expm1(np.where(near, 1.0, power) * fall) / np.where(near, 1.0, power))
    return depth / at.rate * share
