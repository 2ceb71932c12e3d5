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

from tirelife.normal import ndtr, ndtri
from tirelife.outlook.rotation_ahead import away_on_the_other, through_rotations
from tirelife.positions import SPARE
from tirelife.rates import (
    COUNT,
    TURN_COLUMNS,
    TURN_SPREADS,
    WALK_DOUBTS,
    YEAR,
    Draws,
    Way,
    calendar_days,
    drift_years,
    pace_log_sd,
    scores,
)
from tirelife.tread import Verdict

__all__ = ["AHEAD_COLUMNS", "PROBABILITIES", "Course", "by_vehicle", "first_of"]

Floats = NDArray[np.float64]
T = TypeVar("T")

PROBABILITIES: Final[tuple[float, ...]] = (0.10, 0.25, 0.50, 0.75, 0.90)
"""What a forecast reports: a median, a 50 % and an 80 % range."""
AHEAD_COLUMNS: Final = (
    "chance", "since_km", "every_km", "every_log_sd", "interval_log_sd", "km_per_day", "year_log_sd",
    "drift_log_sd", "age_days",
)  # fmt: skip
"""Columns that a :class:`Course` reads beside those of a :class:`Way`, verdict, vehicle_id, spare_turns."""
AHEAD_RATIOS: Final = ("wear_here", "wear_there")
"""Columns of a state that is asked otherwise: ratio of wear per distance, here and on the other axle."""
LONGEST_KM: Final = 1_000_000.0
"""Readings that point further ahead show no wear, and no distance can be told; our assumption. [km]"""
CHUNK: Final = 256
"""Tires at a time, so that what is worked on stays in the cache."""
_SPARE_SHARE: Final = 1.25
"""A spare that takes its turn rests the set: five tires share the work of four."""


class Course(Way):
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
        for name in (*AHEAD_RATIOS, *TURN_COLUMNS, *TURN_SPREADS):
            if name in state:
                self.get[name] = state[name].to_numpy(dtype=np.float32)[:, None]
        if TURN_SPREADS[0] in state and state["turn_on"].notna().any():
            self.get |= _walk_of_sets(state)
        self.spare_turns = state["spare_turns"].to_numpy(dtype=bool)
        lies = (state["position"] == SPARE).to_numpy(dtype=bool) & ~self.spare_turns
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

    def stays(self, limit_mm: Draws | None = None) -> tuple[Draws, Draws]:
        """Distance left if each tire stayed where it is [km], and wear on the other axle over that here."""
        ahead, at = self.level_distance(limit_mm)
        power = np.where(self.front < 0, 1 / at.half, at.half)
        other = self.get["there"] / self.get["here"] / (power * power)
        spare = self.front[:, 0] == 0
        if spare.any():
            power[spare] = (at.half[spare] + 1 / at.half[spare]) / 2
            other[spare] = 1.0
        ahead /= self.get["here"] * power
        return ahead, other

    def turns(self, rotation_km: float | None = None) -> tuple[Draws, Draws]:
        """Draws of the distance to the next change of axle and between changes [km]; NaN: none.

        ``rotation_km``: an interval kept from today on, 0 for none; as the log has it if not given.
        """
        count = len(self), COUNT
        if rotation_km is not None:
            every = np.full(count, rotation_km if rotation_km > 0 else np.nan, dtype=np.float32)
            return np.zeros_like(every), every  # the first of them today
        # The tires of a vehicle share them: each kind is worked out once.
        of_vehicle = ("every_km", "interval_log_sd", "since_km", "every_log_sd", "chance")
        rows = np.hstack([self.get[name] for name in of_vehicle]).astype(float)
        new = np.append(True, (rows[1:] != rows[:-1]).any(axis=1))[: len(rows)]
        every, sd, since, every_sd, chance = rows[new].T[:, :, None]
        shared = scores()[0]
        usual = np.log(every)
        with np.errstate(divide="ignore", invalid="ignore"):
            gone = ndtr((np.log(since) - usual) / sd)
        # The interval under way is one that has not ended yet.
        way = gone + (1 - gone) * ndtr(shared["interval"])
        first = np.exp(usual + sd * ndtri(np.clip(way, 1e-9, 1 - 1e-9)))
        due = np.maximum(first - since, 1.0)
        between = np.exp(usual + every_sd * shared["every"])
        goes = ndtr(shared["turns"]) < chance
        kind = np.cumsum(new) - 1
        due, between = (np.where(goes, km, np.nan).astype(np.float32)[kind] for km in (due, between))
        return due, between

    def distance(
        self,
        stays: tuple[Draws, Draws],
        turns: tuple[Draws, Draws],
        wear: Draws | None = None,
        other_wear: Draws | None = None,
    ) -> Draws:
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
        km[self.spare_turns] *= _SPARE_SHARE
        return self.certain(km)

    def depth_after(self, km: Draws) -> Draws:
        """Draws of the mean depth when the vehicle has gone so far from its last odometer reading, over the
        rotations ahead.

        Parameters
        ----------
        km : ndarray, shape (n, 1) [km]

        Returns
        -------
        ndarray, shape (n, COUNT) [mm]
        """
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
        walking = self.mixed("walking")
        bend = np.exp(self.get["bend_log_sd"] * walking)
        return known.depth(front * bend, rear * bend)

    def certain(self, km: Draws) -> Draws:
        """Distances with what does not hang on draws put in their place; NaN where none can be told."""
        beyond = (km > LONGEST_KM).mean(axis=1) > 0.5
        settled = ~np.isinf(self.settled[:, 0])
        if beyond.any() or settled.any():
            km = km.copy()
            km[beyond] = np.nan
            km[settled] = self.settled[settled]
        return km

    def days(self, km: Draws, km_per_day: Draws | None = None) -> Draws:
        """Days until so many kilometres are run or age ends it, draw by draw [day].

        Of a set that takes turns with another only the days on which it is on the car count as use; where its
        spreads are known, the day of the next change and its pace are drawn too.
        """
        shared, _ = scores()
        pace = self.get["km_per_day"] if km_per_day is None else km_per_day
        plain = km / pace
        years = plain / np.float32(365.25)
        known = np.zeros(1, dtype=np.float32), self.get["year_log_sd"], self.get["drift_log_sd"], years
        away = pace_log_sd(*known)
        turns = [self.get[name] for name in TURN_COLUMNS] if "turn_on" in self.get else []
        takes = np.isfinite(turns[0]) if turns else np.zeros((len(self), 1), dtype=bool)
        if takes.any() and TURN_SPREADS[0] in self.get:
            sd, pace_sd = (self.get[name] for name in TURN_SPREADS)
            # The level drifts on while a set is in store.
            of_set = pace_log_sd(*known, drift_years(plain, *turns)).astype(np.float32)
            away = np.where(takes, of_set, away)
            turns[1] = np.maximum(turns[1] + sd * shared["change"], 0.0)
            turns[3] = turns[3] * np.exp(pace_sd * shared["share"])
        away = away * shared["year"]
        away += self.get["log_sd"] * shared["level"]
        days = plain * np.exp(-away)
        if takes.any():
            days = np.where(takes, calendar_days(days, *turns), days).astype(np.float32)
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


def first_of(km: Draws, vehicle: NDArray[np.intp]) -> Draws:
    """Draw by draw the smallest distance of each vehicle's tires, shape (vehicles, COUNT); NaN where none is
    known.

    ``vehicle`` counts up from 0 over rows of a vehicle that stand together.
    """
    out = np.full((int(vehicle[-1]) + 1 if len(vehicle) else 0, km.shape[1]), np.inf, dtype=km.dtype)
    known = np.isfinite(km).all(axis=1)
    np.minimum.at(out, vehicle[known], km[known])
    out[np.isinf(out)] = np.nan
    return out


def _walk_of_sets(state: pd.DataFrame) -> dict[str, Draws]:
    """Share of their vehicle's distance that tires whose sets take turns run, what the vehicle has run while
    they were off [reference km], and how surely it is known how far rates walk.

    Where the sets change, a car's rate is seen through one of them at a time, over a few changes a year: its
    walk is known less surely than the rest, and goes on twice as far as either runs.
    """
    share = (state["turn_pace"] * state["turn_mounted"] / YEAR).to_numpy(float)
    days = (pd.to_datetime(state["as_of"]) - pd.to_datetime(state["last_date"])).dt.days.to_numpy(float)
    run = (state["since_front_km"] + state["since_rear_km"]).to_numpy(float)
    away = np.maximum(days * (state["km_per_day"] * state["here"]).to_numpy(float) - run, 0.0)
    known = np.isfinite(share)
    out = {"set_share": np.where(known, share, 1.0), "set_away": np.where(known, np.nan_to_num(away), 0.0)}
    if WALK_DOUBTS[0] in state:
        out |= {name: np.where(known, state[name].to_numpy(float), 0.0) for name in WALK_DOUBTS}
    return {name: values.astype(np.float32)[:, None] for name, values in out.items()}


def _counted(names: pd.Series) -> NDArray[np.intp]:
    """Number of each row's vehicle, counted up over rows."""
    name = names.to_numpy(dtype=object)
    if not len(name):
        return np.zeros(0, dtype=np.intp)
    return np.cumsum(np.append(False, name[1:] != name[:-1])).astype(np.intp)
