"""Weigh what may have worn the tires, by Bayes' rule over the wheels of a vehicle.

An axle is in one of a few states, of three kinds at once: pressure and load (none, low or high pressure in
either tire or both, hard cornering, overload, normal shoulder wear), angle (none, toe-in, toe-out, camber of
either wheel or both), and round the tread (none, diagonal wear, cupping or a flat spot, either wheel or
both). A state says which grooves of which wheel lose
depth (:mod:`tirelife.tread.patterns`); how much is not known and is averaged over, alike for both wheels
but for a spread. To this come the gauge's error, the unevenness of any tread, the pressure history, the
load, the driving, the roads, angles that were measured, and what was felt and seen. The axles are joined
where a cause tends to be at both.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import misused
from tirelife.positions import AXLES, ROAD
from tirelife.tread import patterns as p
from tirelife.tread.around import read_round
from tirelife.tread.signs import Finding
from tirelife.tread.wrong import Wrong

__all__ = ["Wheel", "natural_covariance", "shapes_of", "weigh_wheels"]

_AXLE_WIDE: Final = ("hard_cornering", "overload", "normal_shoulder_wear")
_PRESSURE: Final = ("none", "low_pressure", "high_pressure", *_AXLE_WIDE)
_SCATTERS: Final = ("", "diagonal_wear", "cupping")
"""What scatters the means of grooves: nothing, what takes as much from each, what takes more from some."""
_ROUND: Final = ("cups", "diagonal", "flat_spot")
_SIDED: Final = ("camber", "road_crown")
_ANGLE: Final = (
    "none", "toe_in", "toe_out", *(f"{cause}_{side}" for cause in _SIDED for side in ("outer", "inner"))
)  # fmt: skip
_USUAL_WEAR_MM: Final = 4.0
_FREE_LEVEL_MM2: Final = 100.0
_LEAST: Final = 1e-50
"""A profile that no state explains tells states no further apart than this."""
_UNREAD_CUPS_MM: Final = 0.25
_TAKEN: Final = (1.0, 0.4)
"""What cups take from the mean of a groove, as a multiple of their spread round the tire, and how far that
spreads itself: where a share f of all places dips it is sqrt(f / (1 - f)), 0.7 to 1.4 for a third to two
thirds."""


@dataclass(frozen=True, eq=False)
class Wheel:
    """What is known of one wheel's tread.

    Attributes
    ----------
    depth_mm : ndarray, shape (5,)
        Depth of each groove from outer to inner, or its change over the time in question; only the
        differences between grooves count. NaN where a groove was not read. [mm]
    variance_mm2 : ndarray, shape (5,) or (5, 5)
        Error variance of each from the gauge, or the covariance of all. [mm²]
    wear_mm : float
        Mean wear in which the pattern grew; NaN if not known.
    spots : DataFrame or None
        Depths by spot round the tire and groove, from :func:`tirelife.tread.profile.spot_table`. [mm]
    reading_sd_mm : float
        Spread of single readings.
    pressure_ratio : float
        Cold pressure over placard in that time, by distance; NaN if not known.
    camber_deg : float
        As measured, leaning out positive; NaN if not known.
    load_ratio : float
        Load over what the tire's load index allows; NaN if not known.
    """

    depth_mm: NDArray[np.float64]
    variance_mm2: NDArray[np.float64]
    wear_mm: float = float("nan")
    spots: pd.DataFrame | None = None
    reading_sd_mm: float = 0.2
    pressure_ratio: float = float("nan")
    camber_deg: float = float("nan")
    load_ratio: float = float("nan")

    @property
    def covariance_mm2(self) -> NDArray[np.float64]:
        """Error covariance of the grooves; 0 where one was not read."""
        table = self.variance_mm2 if self.variance_mm2.ndim == 2 else np.diag(self.variance_mm2)
        read = self.read
        return np.where(np.outer(read, read), table, 0.0)

    @property
    def read(self) -> NDArray[np.bool_]:
        """Which grooves were read."""
        variance = self.variance_mm2 if self.variance_mm2.ndim == 1 else np.diag(self.variance_mm2)
        return np.asarray(np.isfinite(self.depth_mm) & (variance > 0))


class _State(NamedTuple):
    """One state of an axle, of one kind: its cause, what it does to either wheel, its odds against none.

    ``marks`` is False where the cause is felt but has worn too little for a gauge.
    """

    cause: str
    left: str
    right: str
    odds: float
    marks: bool = True


@dataclass(frozen=True, eq=False)
class _Axle:
    """Likelihoods of one axle's states, prior odds included: shape (pressure, angle, round the tread)."""

    pressure: list[_State]
    angle: list[_State]
    around: list[_State]
    weight: NDArray[np.float64]
    wheels: tuple[str, str]


def weigh_wheels(
    wheels: Mapping[str, Wheel],
    drive: str,
    *,
    toe_mm: Mapping[str, float] | None = None,
    cornering: float = float("nan"),
    roads: str = "",
    findings: Iterable[Finding] = (),
    odds: Mapping[str, float] | None = None,
) -> pd.DataFrame:
    """Probability of each cause at each wheel of one vehicle.

    Parameters
    ----------
    wheels : mapping of str to Wheel
        By position; any of LF, RF, LR, RR.
    drive : str
        front, rear or all.
    toe_mm : mapping of str to float, optional
        Total toe as measured, in positive, by axle (front, rear). [mm]
    cornering : float
        Mean squared side acceleration of this vehicle's driving over that of the usual driver; NaN if not
        known.
    roads : str
        What the driver says of the roads: crowned, level, or empty.
    findings : iterable of Finding, optional
    odds : mapping of str to float, optional
        Takes the place of entries of :data:`tirelife.tread.patterns.ODDS`.

    Returns
    -------
    DataFrame
        axle, position, cause, side (the edge that camber or crowned roads
        wear: outer, inner; else empty), probability;
        likeliest first at each wheel. Causes may act together, so probabilities at a wheel need not sum to
        1; ``even_wear`` is the probability that none acts.

    Raises
    ------
    InputError
        If no wheel is given, or a position, drive or kind of roads is unknown.
    """
    unknown = [position for position in wheels if position not in ROAD]
    if unknown or not wheels:
        raise misused(Wrong.WHEELS, known=", ".join(ROAD), given=", ".join(wheels) or "none")
    if drive not in ("front", "rear", "all"):
        raise misused(Wrong.DRIVE, drive=drive)
    if roads and roads not in p.ROADS:
        raise misused(Wrong.ROADS, known=", ".join(p.ROADS), given=roads)
    weights = dict(p.ODDS) | dict(odds or {})
    signs = list(findings)
    axles = {
        name: _axle(
            name,
            pair,
            wheels,
            drive,
            (toe_mm or {}).get(name, float("nan")),
            cornering,
            roads,
            signs,
            weights,
        )
        for name, pair in AXLES.items()
        if any(position in wheels for position in pair)
    }
    _join(axles, weights)
    rows = [row for name, axle in axles.items() for row in _marginals(name, axle, wheels)]
    table = pd.DataFrame(rows, columns=["axle", "position", "cause", "side", "probability"])
    rank = table["position"].map({name: i for i, name in enumerate(ROAD)})
    order = np.lexsort((-table["probability"].to_numpy(float), rank.to_numpy()))
    return table.iloc[order].reset_index(drop=True)


def _axle(
    name: str,
    pair: tuple[str, str],
    wheels: Mapping[str, Wheel],
    drive: str,
    toe_mm: float,
    cornering: float,
    roads: str,
    findings: list[Finding],
    odds: Mapping[str, float],
) -> _Axle:
    driven = drive in (name, "all")
    pressure, angle, around = _states(name, driven, odds)
    if any(f.kind == "feathered_edge" and f.position in pair for f in findings):
        # A feathered edge is felt before wear is seen (Villager service text).
        angle += [_State(toe, toe, toe, odds["toe felt only"], False) for toe in ("toe_in", "toe_out")]
    here = [wheels.get(position) for position in pair]
    size = _sizes([wheel for wheel in here if wheel is not None])
    read = [
        read_round(None, 0.0) if wheel is None else read_round(wheel.spots, wheel.reading_sd_mm)
        for wheel in here
    ]
    tables = [
        None if wheel is None else _tables(wheel, driven, dips)
        for wheel, (_, dips) in zip(here, read, strict=True)
    ]
    spots = [{state: max(chance, _LEAST) for state, chance in one.items()} for one, _ in read]
    weight = np.empty((len(pressure), len(angle), len(around)))
    profiles: dict[tuple[int, int], NDArray[np.float64]] = {}
    for k, third in enumerate(around):
        cups = (_scatter(third.left), _scatter(third.right))
        if cups not in profiles:
            profiles[cups] = _profiles(tables, pressure, angle, cups, size)
        seen = spots[0][third.left] * spots[1][third.right]
        seen *= _sign_chance(findings, pair, third, _ROUND)
        weight[:, :, k] = third.odds * seen * profiles[cups]
    for j, second in enumerate(angle):
        chance = _record(toe_mm, p.TOE_MM, second.cause if second.cause.startswith("toe") else "none")
        chance *= _sign_chance(findings, pair, second, ("feathered_edge", "smooth"))
        if roads:
            chance *= p.ROADS[roads].get(second.cause, p.ROADS[roads][""])
        for wheel, state in zip(here, (second.left, second.right), strict=True):
            if wheel is not None:
                side = state.removeprefix("camber_") if state.startswith("camber") else "none"
                chance *= _record(wheel.camber_deg, p.CAMBER_DEG, side)
        weight[:, j] *= second.odds * chance
        if second.cause.startswith("toe"):
            weight[:, j, [k for k, s in enumerate(around) if s.cause == "diagonal_wear"]] *= odds[
                "diagonal_wear with toe"
            ]
    turns = np.log(cornering) if cornering > 0 else float("nan")
    for i, first in enumerate(pressure):
        chance = _record(turns, p.LOG_CORNERING, first.cause or "none")
        chance *= _sign_chance(findings, pair, first, ("rounded_shoulder",))
        for wheel, state in zip(here, (first.left, first.right), strict=True):
            if wheel is not None:
                chance *= _record(wheel.pressure_ratio, p.PRESSURE_RATIO, state)
                chance *= _record(wheel.load_ratio, p.LOAD_RATIO, state)
        weight[i] *= first.odds * chance
    return _Axle(pressure, angle, around, weight / weight.sum(), pair)


def _scatter(state: str) -> int:
    """Place of a state round the tread in :data:`_SCATTERS`."""
    return _SCATTERS.index(state) if state in _SCATTERS else 0


def _profiles(
    tables: list[NDArray[np.float64] | None],
    pressure: list[_State],
    angle: list[_State],
    cups: tuple[int, int],
    size: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Likelihood of both wheels' profiles for each pressure and angle state of their axle."""
    product = np.ones((len(pressure), len(size), len(angle), len(size)))
    for side, table in enumerate(tables):
        if table is not None:
            first = [_PRESSURE.index(s.right if side else s.left) for s in pressure]
            second = [_ANGLE.index((s.right if side else s.left) if s.marks else "none") for s in angle]
            product *= table[cups[side]][first][:, :, second]
    return np.asarray(np.einsum("iajb,a,b->ij", product, size, size, optimize=True))


def _states(
    name: str, driven: bool, odds: Mapping[str, float]
) -> tuple[list[_State], list[_State], list[_State]]:
    """All states of an axle, by kind."""

    def wheels(cause: str, word: str, key: str) -> list[_State]:
        both, one = odds[f"{key} both"], odds[f"{key} one"]
        return [
            _State(cause, word, word, both),
            _State(cause, word, "none", one),
            _State(cause, "none", word, one),
        ]

    none = _State("", "none", "none", 1.0)
    pressure = [none, *wheels("low_pressure", "low_pressure", "low_pressure")]
    pressure += wheels("high_pressure", "high_pressure", "high_pressure")
    for cause in _AXLE_WIDE:
        key = cause if cause in odds else f"{cause} {name}"
        pressure.append(_State(cause, cause, cause, odds[key]))
    angle = [none, *(_State(toe, toe, toe, odds[f"{toe} {name}"]) for toe in ("toe_in", "toe_out"))]
    angle += [s for side in ("outer", "inner") for s in wheels("camber", f"camber_{side}", "camber")]
    sides = "road_crown_inner", "road_crown_outer"
    for low, (left, right) in (("right", sides), ("left", sides[::-1])):
        angle.append(_State("road_crown", left, right, odds[f"road_crown {low}"]))
    end = "driven" if driven else "free"
    around = [
        none,
        *wheels("diagonal_wear", "diagonal_wear", f"diagonal_wear {end}"),
        *wheels("cupping", "cupping", f"cupping {end}"),
        *wheels("flat_spot", "flat_spot", "flat_spot"),
    ]
    return pressure, angle, around


def _wheel_spread() -> NDArray[np.float64]:
    """Chance of each amplitude at a wheel (columns) given the axle's (rows)."""
    log = np.log(p.AMPLITUDES)
    kernel = np.exp(-0.5 * ((log[None, :] - log[:, None]) / p.WHEEL_LOG_SD) ** 2)
    return np.asarray(kernel / kernel.sum(axis=1, keepdims=True))


_SPREAD: Final = _wheel_spread()


def natural_covariance(wear_mm: float) -> NDArray[np.float64]:
    """Covariance of the grooves of a tread that wears evenly [mm²]; the level is left free."""
    wear = _USUAL_WEAR_MM if np.isnan(wear_mm) else max(wear_mm, 0.0)
    tilt, crown, groove = (a + b * wear for a, b in (p.NATURAL_TILT, p.NATURAL_CROWN, p.NATURAL_GROOVE))
    x = np.array([1.0, 0.5, 0.0, -0.5, -1.0])
    bend = 0.5 - x**2
    cover = tilt**2 * np.outer(x, x) / 4 + crown**2 * np.outer(bend, bend) + groove**2 * np.eye(5)
    return np.asarray(cover + _FREE_LEVEL_MM2)


def shapes_of(state: str, driven: bool) -> list[p.Shape]:
    """Depths by groove that a state of a wheel may take, with the share of each."""
    if state in ("none", ""):
        return [p.Shape((0.0,) * 5, 1.0)]
    if state == "low_pressure":
        return list(p.LOW)
    if state == "high_pressure":
        return list(p.CENTER)
    if state == "normal_shoulder_wear":
        return list(p.SHOULDERS)
    if state == "hard_cornering":
        return list(p.CORNERING)
    if state == "overload":
        return list(p.OVERLOAD)
    shapes = list(
        p.TOE if state.startswith("toe") else p.ROAD_CROWN if state.startswith("road") else p.CAMBER
    )
    if state == "toe_out" or state.endswith("_inner"):
        shapes = [p.Shape(s.depth[::-1], s.share) for s in shapes]
    if state.startswith("toe") and driven:
        shapes = [p.Shape(s.depth, s.share * (1 - p.DRIVEN_TOE_CENTER.share)) for s in shapes]
        shapes.append(p.DRIVEN_TOE_CENTER)
    return shapes


def _tables(wheel: Wheel, driven: bool, dips: NDArray[np.float64]) -> NDArray[np.float64]:
    """Likelihood of a wheel's profile for each pair of states, by what each took from it on the axle
    [relative].

    Shape (kinds of :data:`_SCATTERS`, pressure state, amplitude, angle state, amplitude). ``dips`` is how
    deep cups would be in each groove, shape (5,) [mm]: where there are cups, what they took is put back.
    """
    read = wheel.read
    first, second = _stack(_PRESSURE, driven), _stack(_ANGLE, driven)
    logs = []
    for kind in _SCATTERS:
        cover, depth = natural_covariance(wheel.wear_mm) + wheel.covariance_mm2, wheel.depth_mm
        if kind:
            cover = cover + np.diag(_cup_scatter(wheel))
        if kind == "cupping":
            cover = cover + _TAKEN[1] ** 2 * np.outer(dips, dips)
            depth = depth + _TAKEN[0] * dips
        root = np.linalg.cholesky(cover[np.ix_(read, read)])
        one = np.linalg.solve(root, (depth - first.depth)[:, read].T).T
        two = np.linalg.solve(root, second.depth[:, read].T).T
        square = (one**2).sum(axis=1)[:, None] - 2 * one @ two.T + (two**2).sum(axis=1)[None, :]
        logs.append(-0.5 * square - float(np.log(np.diag(root)).sum()))
    relative = np.exp(np.stack(logs) - max(float(log.max()) for log in logs))
    top = float((first.shares @ relative @ second.shares.T).max())
    table = np.maximum(first.spread @ relative @ second.spread.T / top, _LEAST)
    count = len(p.AMPLITUDES)
    return np.asarray(table.reshape(len(_SCATTERS), len(_PRESSURE), count, len(_ANGLE), count))


class _Stack(NamedTuple):
    """Depths by groove for every state, shape and amplitude, and how they add up to states."""

    depth: NDArray[np.float64]
    """Shape (rows, 5)."""
    shares: NDArray[np.float64]
    """Shape (states x amplitudes, rows): share of each row in each state at each amplitude; what takes
    nothing is the same at every amplitude."""
    spread: NDArray[np.float64]
    """The same, where the amplitude at a wheel spreads about its axle's."""


@cache
def _stack(states: tuple[str, ...], driven: bool) -> _Stack:
    """Stack the shapes of some states."""
    count = len(p.AMPLITUDES)
    parts: list[NDArray[np.float64]] = []
    blocks: list[tuple[int, NDArray[np.float64], NDArray[np.float64]]] = []
    for i, state in enumerate(states):
        still = state == "none"
        each = np.ones((count, 1)) if still else np.eye(count)
        for shape in shapes_of(state, driven):
            parts.append(np.outer(np.zeros(1) if still else p.AMPLITUDES, shape.depth))
            blocks.append((i, shape.share * each, shape.share * (each if still else _SPREAD)))
    out = np.zeros((2, len(states), count, sum(map(len, parts))))
    row = 0
    for i, *both in blocks:
        for table, block in zip(out, both, strict=True):
            table[i, :, row : row + block.shape[1]] = block
        row += both[0].shape[1]
    flat = out.reshape(2, len(states) * count, -1)
    return _Stack(np.concatenate(parts), flat[0], flat[1])


def _cup_scatter(wheel: Wheel) -> NDArray[np.float64]:
    """What cups add to the variance of groove means, more at the edges [mm²]."""
    count = 1 if wheel.spots is None or len(wheel.spots) < 2 else len(wheel.spots)
    around = _UNREAD_CUPS_MM**2
    if wheel.spots is not None and count > 1:
        around = max(float(np.mean(wheel.spots.var().to_numpy(float))) - wheel.reading_sd_mm**2, 0.0)
    return np.asarray(around / count * np.array([0.5, 0.2, 0.0, 0.2, 0.5]))


def _sizes(wheels: list[Wheel]) -> NDArray[np.float64]:
    """Prior chance of each amplitude; no more can be taken from a rib than has worn off."""
    log = np.log(p.AMPLITUDES / p.AMPLITUDE_MEDIAN)
    chance = np.exp(-0.5 * (log / p.AMPLITUDE_LOG_SD) ** 2)
    worn = [
        w.wear_mm + np.nanmean(w.depth_mm) - np.nanmin(w.depth_mm)
        for w in wheels
        if w.read.any() and not np.isnan(w.wear_mm)
    ]
    if worn:
        chance = chance / (1 + np.exp((p.AMPLITUDES - max(max(worn), 0.3) - 0.5) / 0.25))
    return np.asarray(chance / chance.sum())


def _record(value: float, table: Mapping[str, tuple[float, float]], state: str) -> float:
    """Likelihood of a measured value where a cause is at work, with a share of stray records."""
    if np.isnan(value):
        return 1.0
    mean, sd = table.get(state, table["none"])
    wide = 3 * max(s for _, s in table.values())
    middle = table["none"][0]

    def bell(center: float, spread: float) -> float:
        return float(np.exp(-0.5 * ((value - center) / spread) ** 2) / spread)

    return (1 - p.STRAY) * bell(mean, sd) + p.STRAY * bell(middle, wide) + 1e-12


def _sign_chance(
    findings: list[Finding], pair: tuple[str, str], state: _State, kinds: tuple[str, ...]
) -> float:
    """Chance of what was felt and seen on an axle's wheels where a state is at work."""
    chance = 1.0
    for finding in findings:
        if finding.position in pair and finding.kind in kinds:
            table = p.SIGNS[f"{finding.kind} {finding.direction}".strip()]
            word = state.left if finding.position == pair[0] else state.right
            chance *= table.get(word.split("_outer")[0].split("_inner")[0], table[""])
    return chance


def _join(axles: dict[str, _Axle], odds: Mapping[str, float]) -> None:
    """Weigh each axle's states by the other's, where a cause tends to be at both."""
    if len(axles) < 2:
        return
    front, rear = axles["front"], axles["rear"]
    first, second = (
        np.array(
            [
                [odds.get(f"{a.cause} on both axles", 1.0) if _alike(a, b) else 1.0 for b in there]
                for a in here
            ]
        )
        for here, there in ((front.pressure, rear.pressure), (front.angle, rear.angle))
    )
    mass = front.weight.sum(axis=2), rear.weight.sum(axis=2)
    pulls = first @ mass[1] @ second.T, first.T @ mass[0] @ second
    for axle, pull in zip((front, rear), pulls, strict=True):
        axle.weight[...] = axle.weight * pull[:, :, None]
        axle.weight[...] = axle.weight / axle.weight.sum()


def _alike(one: _State, other: _State) -> bool:
    """Whether states of two axles are of one cause; of roads, that they fall to the same side."""
    return one.cause == other.cause and (one.cause != "road_crown" or one.left == other.left)


def _marginals(name: str, axle: _Axle, wheels: Mapping[str, Wheel]) -> list[tuple[str, str, str, str, float]]:
    rows = []
    for i, position in enumerate(axle.wheels):
        if position not in wheels:
            continue
        words = [
            [s.right if i else s.left for s in kind] for kind in (axle.pressure, axle.angle, axle.around)
        ]
        for axis, kind in enumerate(words):
            mass = axle.weight.sum(axis=tuple({0, 1, 2} - {axis}))
            for word in dict.fromkeys(kind):
                if word != "none":
                    share = float(mass[[w == word for w in kind]].sum())
                    cause = next((c for c in _SIDED if word.startswith(c)), word)
                    rows.append((name, position, cause, word[len(cause) + 1 :], share))
        quiet = np.ix_(*([w == "none" for w in kind] for kind in words))
        rows.append((name, position, "even_wear", "", float(axle.weight[quiet].sum())))
    return rows
