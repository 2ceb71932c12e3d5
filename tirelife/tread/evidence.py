"""What speaks for or against a cause at a wheel: codes with their numbers; words are made at the edge."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum
from typing import Final

import numpy as np

from tirelife.codes import Note, Severity
from tirelife.positions import BESIDE, axle_of
from tirelife.tread.causes import natural_covariance
from tirelife.tread.history import WheelHistory
from tirelife.tread.profile import pattern_components
from tirelife.tread.signs import Finding

__all__ = ["Seen", "evidence"]

_Z95: Final = 1.96
_NOTHING_TOLD_MM: Final = 2.5
"""A difference known no better than this is not known: no tread wears so unevenly in ordinary use; our
assumption."""
_EDGES, _CROWN, _DIP = 1, 2, 3


class Seen(StrEnum):
    """One thing read, felt or recorded."""

    NOT_READ = "not-read"
    """component: its grooves were not read."""
    NOT_TOLD = "not-told"
    """component: what was read says nothing of this position."""
    SAME = "same"
    """component, bound_mm: no difference beyond the gauge."""
    DIFFERENT = "different"
    """component, apart_mm (positive: the inner edge, the edges, the grooves next to them lost more),
    bound_mm."""
    ONE_GROOVE = "one-groove"
    INSIDE_GAUGE = "inside-gauge"
    """apart_mm, bound_mm: the largest difference across the tread."""
    INSIDE_EVEN = "inside-even"
    """The same: beyond the gauge, and no more than treads that wear evenly differ."""
    BEYOND_EVEN = "beyond-even"
    """The same: more than that."""
    TOE = "toe-measured"
    CAMBER = "camber-measured"
    NO_PRESSURE = "no-pressure"
    PRESSURE = "pressure-ran-at"
    NO_TURNS = "no-driving-recorded"
    TURNS = "turns-over-usual"
    NO_ROADS = "no-roads-told"
    ROADS = "roads-told"
    """roads: crowned or level, as the driver says."""
    NO_LOAD = "no-load-known"
    LOAD = "load-ratio"
    NOT_ROUND = "not-read-round"
    ROUND = "depth-round"
    LOWEST = "lowest-spot"
    DRIVEN = "axle-driven"
    FREE = "axle-free"
    FOUND = "found"


def evidence(
    cause: str,
    position: str,
    histories: Mapping[str, WheelHistory],
    drive: str,
    toe_mm: Mapping[str, float],
    findings: Iterable[Finding],
    *,
    cornering: float = float("nan"),
    roads: str = "",
) -> tuple[Note, ...]:
    """Say what speaks for or against a cause at a wheel.

    Parameters
    ----------
    cause : str
        A key of :data:`tirelife.tread.patterns.CAUSE_NAMES`.
    position : str
    histories : mapping of str to WheelHistory
        By position.
    drive : str
        front, rear or all.
    toe_mm : mapping of str to float
        Total toe as measured, by axle. [mm]
    findings : iterable of Finding
    cornering : float
    roads : str
        As for :func:`tirelife.tread.causes.weigh_wheels`.

    Returns
    -------
    tuple of Note
        Codes of :class:`Seen`; bounds are 95 % from the gauge. A note with ``position`` is about that wheel.
    """
    history = histories[position]
    wheel = history.wheel
    axle = axle_of(position)
    said: list[Note] = []
    if cause == "even_wear":
        said.append(_largest(history))
    if cause in ("toe_in", "toe_out", "camber", "road_crown"):
        said.append(_component(history, _EDGES))
        other = histories.get(BESIDE[position])
        if other is not None:
            said.append(_component(other, _EDGES, BESIDE[position]))
    if cause == "road_crown":
        said.append(_note(Seen.ROADS, roads=roads) if roads else Note(Seen.NO_ROADS))
    if cause in ("toe_in", "toe_out", "diagonal_wear") and axle in toe_mm:
        said.append(_note(Seen.TOE, toe_mm=toe_mm[axle]))
    if cause == "camber" and not np.isnan(wheel.camber_deg):
        said.append(_note(Seen.CAMBER, camber_deg=wheel.camber_deg))
    if cause in ("low_pressure", "high_pressure", "normal_shoulder_wear", "hard_cornering", "overload"):
        said += [_component(history, _CROWN), _component(history, _DIP)]
        ratio = wheel.pressure_ratio
        said.append(Note(Seen.NO_PRESSURE) if np.isnan(ratio) else _note(Seen.PRESSURE, ratio=ratio))
    if cause == "hard_cornering":
        said.append(_component(history, _EDGES))
        said.append(Note(Seen.NO_TURNS) if np.isnan(cornering) else _note(Seen.TURNS, ratio=cornering))
    if cause == "overload":
        load = wheel.load_ratio
        said.append(Note(Seen.NO_LOAD) if np.isnan(load) else _note(Seen.LOAD, ratio=load))
    if cause in ("cupping", "diagonal_wear", "flat_spot"):
        said.append(_around(history, cause))
        if cause != "flat_spot":
            said.append(_note(Seen.DRIVEN if drive in (axle, "all") else Seen.FREE, axle=axle))
    if cause != "even_wear":
        said += [
            _note(Seen.FOUND, kind=f.kind, direction=f.direction) for f in findings if f.position == position
        ]
    return tuple(said)


def _note(code: Seen, **values: object) -> Note:
    return Note(code, Severity.NOTE, tuple(values.items()))


def _component(history: WheelHistory, index: int, position: str = "") -> Note:
    """One component of the wear pattern; of another wheel where its position is given."""
    value, error = pattern_components(history.wheel.depth_mm, history.wheel.covariance_mm2)
    amount, bound = float(value[index]), _Z95 * float(error[index])
    about: dict[str, object] = {"component": ("level", "edges", "crown", "dip")[index]}
    if position:
        about["position"] = position
    if np.isnan(amount):
        return _note(Seen.NOT_READ, **about)
    if bound > _NOTHING_TOLD_MM:
        return _note(Seen.NOT_TOLD, **about)
    if abs(amount) <= bound:
        return _note(Seen.SAME, **about, bound_mm=bound)
    return _note(Seen.DIFFERENT, **about, apart_mm=amount, bound_mm=bound)


def _largest(history: WheelHistory) -> Note:
    """The largest difference across the tread against the gauge's error, and against even treads."""
    depth, cover = history.wheel.depth_mm, history.wheel.covariance_mm2
    if history.wheel.read.sum() < 2:
        return Note(Seen.ONE_GROOVE)
    order = np.argsort(np.where(np.isfinite(depth), depth, np.inf))[: int(history.wheel.read.sum())]
    low, high = int(order[0]), int(order[-1])
    apart = float(depth[high] - depth[low])
    bound = _Z95 * float(np.sqrt(cover[high, high] + cover[low, low] - 2 * cover[high, low]))
    if bound > _NOTHING_TOLD_MM:
        return _note(Seen.NOT_TOLD, component="largest")
    cover = cover + natural_covariance(history.wheel.wear_mm)
    even = _Z95 * float(np.sqrt(cover[high, high] + cover[low, low] - 2 * cover[high, low]))
    code = Seen.INSIDE_GAUGE if apart <= bound else Seen.INSIDE_EVEN if apart <= even else Seen.BEYOND_EVEN
    return _note(code, apart_mm=apart, bound_mm=bound)


def _around(history: WheelHistory, cause: str) -> Note:
    spots = history.wheel.spots
    if spots is None:
        return Note(Seen.NOT_ROUND)
    mean = spots.mean(axis=1)
    bound = _Z95 * history.wheel.reading_sd_mm / float(np.sqrt(spots.shape[1]))
    if cause == "flat_spot":
        low = float((mean.sum() - mean.min()) / (len(mean) - 1) - mean.min())
        where = int(spots.index[int(mean.to_numpy().argmin())])
        return _note(Seen.LOWEST, spot=where, below_mm=low, bound_mm=bound)
    if cause == "diagonal_wear":  # the spots of single grooves: their mean hides what runs slantwise
        left = spots - spots.mean(axis=0) + float(spots.to_numpy().mean())
        low, high, each = float(left.to_numpy().min()), float(left.to_numpy().max()), 1
        bound = _Z95 * history.wheel.reading_sd_mm
    else:
        low, high, each = float(mean.min()), float(mean.max()), 0
    return _note(Seen.ROUND, low_mm=low, high_mm=high, spots=len(mean), single=bool(each), bound_mm=bound)
