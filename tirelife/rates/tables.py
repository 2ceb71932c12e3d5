"""The model's answer as tidy frames."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.axles import is_front
from tirelife.rates.advice import Says
from tirelife.rates.ahead import path_depth
from tirelife.rates.blocks import VARIANCES, Blocks, Columns
from tirelife.rates.curvature import PRIOR_SD
from tirelife.rates.likelihood import Evaluation, Units
from tirelife.rates.mixture import Mixture
from tirelife.rates.prior import Belief, Prior
from tirelife.rates.result import (
    COMPONENTS,
    ESTIMATES,
    HABIT,
    READING,
    TIRES,
    VEHICLES,
    VISIT,
    VISITS,
    WANDER,
)
from tirelife.rates.wearing import Estimate, Readings

__all__ = ["Found", "Names"]

Array = NDArray[np.float64]
_Z = 1.959963984540054
OUTLIER = 3.5
"""Standard deviations beyond which a reading, or a tire's own rate, is said not to belong."""


WALK = 3
"""Terms of a vehicle's walking log rate."""


def walk_term(j: int, place: Array) -> Array:
    """Term j of a random walk at a place, 0 to 1, of its distance, for a walk of variance 1 at the end."""
    c = (j + 0.5) * np.pi
    return np.asarray(np.sqrt(2) * np.sin(c * place) / c)


@dataclass
class Names:
    """What the model's numbers stand for."""

    terms: list[str]
    lines: list[str]
    groups: list[str]
    drives: list[str]
    table: pd.DataFrame  # tires, in the order of the model's units
    fleet: pd.DataFrame  # vehicles, in the order of its blocks
    line: NDArray[np.int64]
    part_worn: list[bool]
    lost: int
    over: list[bool] = field(default_factory=list)  # tires read deeper than their new depth can be
    stated: list[bool] = field(default_factory=list)  # lines whose new depths are all stated
    unidentified: int = 0  # lines whose starts the readings cannot tell from rates
    place: Array = field(default_factory=lambda: np.zeros(0))  # of each row in its vehicle's distance, 0 to 1


@dataclass(frozen=True)
class Found:
    """Everything a fit found, before it is made into frames."""

    blocks: Blocks
    data: Readings
    prior: Prior
    names: Names
    used: pd.DataFrame
    estimate: Estimate
    result: Evaluation
    units: Units
    columns: Columns
    fitted: Array
    bend: float
    bend_sd_ratio: float
    bend_posterior: Mixture


def estimate_table(found: Found) -> pd.DataFrame:
    """Fixed effects, turned into rates and ratios that can be read."""
    mean, cov = found.result.mean, found.result.cov
    terms, priors = found.names.terms, found.estimate.priors
    before = 1 / np.maximum(priors.precision, 1e-300)
    informed = np.diag(cov) < 0.81 * before
    informed[found.blocks.bend_fixed] = found.bend_sd_ratio < 0.9  # held while the rest was fitted
    rows = []
    for i, term in enumerate(terms):
        source = "fitted" if informed[i] else "prior"
        kind, _, label = term.partition(" ")
        if kind in ("wear", "line"):
            value, var = mean[0], cov[0, 0]
            if kind == "line":
                value, var = value + mean[i], var + cov[i, i] + 2 * cov[0, i]
            rows.append((term.strip(), *_ratio(value, var, 1000.0), "mm per 1000 km", source))
        elif kind in ("group", "axle"):
            name = term if kind == "group" else f"front over rear, {label} drive"
            rows.append((name, *_ratio(mean[i], cov[i, i]), "ratio", source))
        elif kind == "start":
            rows.append((f"new depth less stated, {label}", *_straight(mean[i], cov[i, i]), "mm", source))
        else:
            rows.append((term, *_straight(mean[i], cov[i, i]), "exponent", source))
    return pd.DataFrame(rows, columns=list(ESTIMATES))


def _root(variance: Array) -> Array:
    """Standard deviation; NaN where the variance could not be found, and never 0 for that."""
    return np.sqrt(np.where(variance > 0, variance, np.nan))


def _ratio(value: float, var: float, times: float = 1.0) -> tuple[float, float, float, float]:
    sd = math.sqrt(var) if var > 0 else math.nan
    top = times * math.exp(value)
    # Numbers out of all proportion: such a fit is refused, and must get as far as that.
    return top, top * sd, top * math.exp(-_Z * sd), top * math.exp(min(_Z * sd, 700.0))


def _straight(value: float, var: float) -> tuple[float, float, float, float]:
    sd = math.sqrt(var) if var > 0 else math.nan
    return value, sd, value - _Z * sd, value + _Z * sd


_SAYS = {
    "noise": (READING, "mm"),
    "visit": (VISIT, "mm"),
    "scatter": ("scatter", "share"),
    "drift": (WANDER, "log"),
    "start": ("new-depth", "mm"),
    "unit": ("tire", "log"),
    "block": ("vehicle", "log"),
    "axle": ("axle", "log"),
    "habit": (HABIT, "log"),
}


def component_table(found: Found) -> pd.DataFrame:
    """Standard deviations with 95 % ranges."""
    spread, priors = found.estimate, found.estimate.priors
    rows = []
    for j, name in enumerate(VARIANCES):
        label, unit = _SAYS[name]
        scale = {"scatter": 0.01, "drift": 100.0, "habit": 100.0}.get(name, 1.0)
        value, sd = math.sqrt(spread.variances[j]) * scale, spread.log_sd[j] / 2
        source = "fitted" if sd < 0.9 * priors.log_variance_sd[j] / 2 else "prior"
        rows.append((label, value, value * math.exp(-_Z * sd), value * math.exp(_Z * sd), unit, source))
    shared = {}
    for (index, _, worth), variance in zip(priors.groups, spread.groups, strict=True):
        kind = found.names.terms[index[0]].partition(" ")[0]
        sd = math.sqrt(2 / (len(index) + worth)) / 2
        source = "fitted" if len(index) > worth else "prior"
        shared[kind] = (math.sqrt(variance), sd, source)
    for kind in ("line", "group"):
        if kind in shared:
            value, sd, source = shared[kind]
            rows.append((kind, value, value * math.exp(-_Z * sd), value * math.exp(_Z * sd), "log", source))
    return pd.DataFrame(rows, columns=list(COMPONENTS))


class LastSeen(NamedTuple):
    """Every unit at its last row, in the order of the units."""

    row: NDArray[np.int64]  # the last row; the number of rows where it has none
    start: Array  # [mm]
    depth: Array  # [mm]
    log_wear: Array  # log of the wear per reference km there, on an axle of mean wear [mm/km]
    by: Array  # (units, 3, 6 + WALK), see last_seen_of


def last_seen_of(found: Found) -> LastSeen:
    """Depth and rate of every tire at its last reading, with their derivatives.

    ``by`` holds those of depth, log rate and curvature by the tire's start, its log rate, the log ratio of
    its vehicle's axles, the curvature, the terms of the walking log rate, wander and drift: ``Units.joint``.
    """
    blocks, units, columns, q = found.blocks, found.units, found.columns, float(found.result.mean[-1])
    count = len(found.names.table)
    visits = np.bincount(blocks.row_unit, minlength=count)
    row = np.where(visits > 0, np.cumsum(visits) - 1, len(found.used))
    axle = units.axle[blocks.unit_block]
    pick = {
        name: np.append(getattr(columns, name)[:-1], 0.0)[row] for name in ("axle", "bend", "slope", "clock")
    }
    run = np.append(np.exp(axle[blocks.row_unit] / 2) * found.data.front_km
                    + np.exp(-axle[blocks.row_unit] / 2) * found.data.rear_km, 0.0)[row]  # fmt: skip
    start = found.data.start + units.start
    rate = np.exp(units.rate)
    base = np.maximum(start, 0.1)
    share = path_depth(base, rate * run, q) + start - base
    walked = np.append(columns.habit[:, :-1], np.zeros((WALK, 1)), axis=1)[:, row].T
    depth = share - pick["slope"] * units.wander[:, 0] + (walked * units.habit[blocks.unit_block]).sum(axis=1)
    steep = np.where(q == 0, 1.0, np.maximum(share / base, 1e-6) ** q)
    left = np.maximum(depth, 0.3)
    now = np.array([walk_term(j, np.append(found.names.place, 0.0)[row]) for j in range(WALK)]).T
    shift = (units.habit[blocks.unit_block] * now).sum(axis=1)
    log_wear = units.rate + q * np.log(left / base) + units.wander[:, 1] + shift
    by = np.zeros((count, 3, 6 + WALK))
    by[:, 0, 0] = share / base + steep * rate * run / base
    by[:, 0, 1] = -steep * rate * run
    by[:, 0, 2] = pick["axle"]
    by[:, 0, 3] = pick["bend"]
    by[:, 0, 4 : 4 + WALK] = walked
    by[:, 0, -2] = -pick["slope"]
    by[:, 1, :] = q / left[:, None] * by[:, 0, :]
    by[:, 1, 0] -= q / base
    by[:, 1, 1] += 1.0
    by[:, 1, 3] += np.log(left / base)
    by[:, 1, 4 : 4 + WALK] += now
    by[:, 1, -1] += 1.0
    by[:, 2, 3] = 1.0
    return LastSeen(row, start, depth, log_wear, by)


def tire_table(found: Found) -> pd.DataFrame:
    """The posterior of each tire at its last visit."""
    blocks, units = found.blocks, found.units
    table, used, q = found.names.table, found.used, float(found.result.mean[-1])
    count = len(table)
    visits = np.bincount(blocks.row_unit, minlength=count)
    read = visits > 0
    seen = last_seen_of(found)
    row, start, depth, axle = seen.row, seen.start, seen.depth, units.axle[blocks.unit_block]
    position = np.where(read, _at(used, "position", row, ""), _of(table, "first_position", ""))
    side = np.where(is_front(position), 0.5, -0.5)
    log_wear = seen.log_wear + side * axle
    by = seen.by.copy()
    by[:, 1, 2] += side
    cov = by @ units.joint @ by.transpose(0, 2, 1)
    spot = [_root(cov[:, i, i]) for i in range(3)]
    # Wider than the tread was new: the straight-line error priors run away where a tread ends.
    wild = spot[0] > np.maximum(start, 1.0)
    spot[:2] = [np.where(wild, np.nan, sd) for sd in spot[:2]]
    scatter, drift = found.estimate.variances[2], found.estimate.variances[3] + found.estimate.variances[8]
    wear = 1000 * np.exp(log_wear)
    own = units.own / np.sqrt(np.maximum(found.estimate.variances[5] - units.own_var, 1e-12))
    belongs = ~(np.abs(own) > OUTLIER)
    date = table["first_date"] if "first_date" in table else pd.Series(pd.NaT, index=table.index)
    reading = used["date"].reindex(np.where(read, row, -1)).reset_index(drop=True)
    out = pd.DataFrame(
        {
            "tire_id": table["tire_id"].to_numpy(),
            "vehicle_id": found.names.fleet["vehicle_id"].to_numpy()[blocks.unit_block],
            "tire_line": table["tire_line"].to_numpy(),
            "position": position,
            "new_depth_mm": start,
            "new_depth_sd_mm": _root(units.joint[:, 0, 0]),
            "visits": visits,
            "last_date": reading.where(reading.notna(), date.reset_index(drop=True)),
            "last_odometer_km": np.where(
                read, _at(used, "odometer_km", row, np.nan), _of(table, "first_odometer_km", np.nan)
            ).astype(float),
            "reference_km": np.where(read, _at(used, "reference_km", row, 0.0), 0.0).astype(float),
            "depth_mm": depth,
            "depth_sd_mm": spot[0],
            "log_wear": log_wear,
            "log_wear_sd": spot[1],
            "depth_log_wear_cov": cov[:, 0, 1],
            "q": q,
            "q_sd": spot[2],
            "depth_q_cov": cov[:, 0, 2],
            "log_wear_q_cov": cov[:, 1, 2],
            "log_axle_front": axle / 2,
            "log_axle_rear": -axle / 2,
            "axle_sd": _root(units.joint[:, 2, 2]),
            "depth_axle_cov": np.einsum("ni,ni->n", by[:, 0, :], units.joint[:, :, 2]),
            "log_wear_axle_cov": np.einsum("ni,ni->n", by[:, 1, :], units.joint[:, :, 2]),
            "axle_q_cov": units.joint[:, 2, 3],
            "shared_cov": units.shared[:, 0],
            "shared_both_mm": units.shared[:, 1],
            "shared_depth_mm2": units.shared[:, 2],
            "wander_var_per_km": drift * np.exp(side * axle),
            "scatter_km": scatter * np.exp(-side * axle),
            "wear_mm_per_1000km": wear,
            "std_error": wear * spot[1],
            "straight_line_mm_per_1000km": _lines(found),
            "belongs": belongs,
        }
    )
    out["reason"] = _reasons(found, visits, belongs, np.isnan(spot[0]) | np.isnan(spot[1]))
    return out[list(TIRES)].sort_values("tire_id", ignore_index=True)


def _at(used: pd.DataFrame, name: str, row: NDArray[np.int64], missing: object) -> NDArray[np.object_]:
    return np.append(used[name].to_numpy(object), [missing])[row]


def _of(table: pd.DataFrame, name: str, missing: object) -> NDArray[np.object_]:
    return table[name].to_numpy(object) if name in table else np.full(len(table), missing, object)


def _lines(found: Found) -> Array:
    """Each tire's own least-squares line over its real distance [mm per 1000 km]; NaN under two distances."""
    used, unit, count = found.used, found.blocks.row_unit, len(found.names.table)
    run = used["tire_km" if "tire_km" in used else "reference_km"].to_numpy(float)
    depth = used["depth_mm"].to_numpy(float)
    number = np.maximum(np.bincount(unit, minlength=count), 1)
    x = run - (np.bincount(unit, run, count) / number)[unit]
    y = depth - (np.bincount(unit, depth, count) / number)[unit]
    square = np.bincount(unit, x * x, count)
    good = square > 1.0
    slope = np.bincount(unit, x * y, count) / np.where(good, square, 1.0)
    return np.where(good, -1000 * slope, np.nan)


def _reasons(
    found: Found, visits: NDArray[np.int64], belongs: NDArray[np.bool_], lost: NDArray[np.bool_]
) -> list[str]:
    unknown = ~np.isfinite(found.names.table["new_depth_mm"].to_numpy(float))
    codes = [
        (visits == 0, Says.NEVER_READ),
        (visits == 1, Says.READ_ONCE),
        (visits < 2, Says.NO_LINE),
        (unknown, Says.NEW_DEPTH_UNKNOWN),
        (np.array(found.names.part_worn, bool), Says.PART_WORN),
        (~belongs, Says.ODD),
        (lost, Says.RANGE_LOST),
    ]
    told = np.full(len(visits), "", dtype=object)
    for holds, code in codes:
        glue = np.where(told == "", "", "; ").astype(object)
        told = np.where(holds, told + glue + code.value, told)
    return [str(text) for text in told]


def vehicle_table(found: Found) -> pd.DataFrame:
    """How fast each vehicle wears its tires, as a log ratio to the average."""
    fleet, blocks = found.names.fleet, found.blocks
    count = len(fleet)
    out = pd.DataFrame(
        {
            "vehicle_id": fleet["vehicle_id"].to_numpy(),
            "drive": fleet["drive"].to_numpy(),
            "driver_group": _of(fleet, "driver_group", ""),
            "tires": np.bincount(blocks.unit_block, minlength=count),
            "visits": np.zeros(count, int),
            "log_effect": found.units.effect,
            "log_effect_sd": _root(found.units.effect_var),
        }
    )
    row_block = blocks.unit_block[blocks.row_unit]
    pairs = np.unique(row_block * (len(blocks.row_unit) + 1) + blocks.row_occasion)
    out["visits"] = np.bincount(pairs // (len(blocks.row_unit) + 1), minlength=count)
    return out[list(VEHICLES)]


def visit_table(found: Found) -> pd.DataFrame:
    """Each tire-visit beside what all the others predict for it."""
    used, units = found.used, found.units
    sd = np.sqrt(np.maximum(units.residual_var, 1e-12))
    ratio = found.columns.noise_ratio[:-1] / found.data.noise
    standard = units.residual / sd
    plain = np.sqrt(
        np.maximum(units.residual_var - (ratio - 1) * found.data.noise * found.estimate.variances[0], 1e-12)
    )
    standardized = np.where(ratio > 1, units.residual / plain, standard)
    worked = {
        "fitted_mm": found.data.response - units.residual,
        "residual_mm": units.residual,
        "standardized": standardized,
        "weight": 1 / ratio,
        "outlier": np.abs(standardized) > OUTLIER,
    }
    # Sorted by unit and date already: by the unit's name it remains.
    name, _ = pd.factorize(found.names.table["tire_id"], sort=True)
    order = np.argsort(name[found.blocks.row_unit], kind="stable")
    out = used[[c for c in VISITS if c in used]].take(order).reset_index(drop=True)
    out = out.assign(**{name: values[order] for name, values in worked.items()})
    return out[[c for c in VISITS if c in out]]


def learned(found: Found) -> Prior:
    """What the fit knows about tires, lines and vehicles that it never saw."""
    mean, cov, terms = found.result.mean, found.result.cov, found.names.terms
    prior, spread = found.prior, found.estimate
    sd = np.sqrt(np.maximum(np.diag(cov), 1e-8))
    by_kind: dict[str, dict[str, Belief]] = {"line": {}, "group": {}, "axle": {}, "start": {}}
    kinds = np.array([term.partition(" ")[0] for term in terms])
    # The level and the effects of lines and groups go up and down against each other, but are saved as
    # independent: the level's spread is that of the average tire, an effect's that of its distance from it.
    level = np.zeros(len(terms))
    level[0] = 1.0
    for i, term in enumerate(terms):
        kind, _, label = term.partition(" ")
        if kind not in by_kind:
            continue
        error = float(sd[i])
        if kind in ("line", "group"):
            mine = kinds == kind
            level[mine] = 1 / mine.sum()
            apart = -(mine / mine.sum())
            apart[i] += 1.0
            error = math.sqrt(max(float(apart @ cov @ apart), 0.02**2))
        by_kind[kind][label] = Belief(float(mean[i]), error)
    level_sd = math.sqrt(max(float(level @ cov @ level), 0.03**2))
    spreads = dict(prior.spreads)
    for j, name in enumerate(VARIANCES):
        held = prior.spreads[name]
        if math.isfinite(spread.log_sd[j]):
            # The next book is another fleet: never surer than 0.15 of a log spread.
            spreads[name] = Belief(
                math.log(spread.variances[j]) / 2, max(min(held.sd, spread.log_sd[j] / 2), 0.15)
            )
    for (index, _, worth), variance in zip(spread.priors.groups, spread.groups, strict=True):
        kind = terms[index[0]].partition(" ")[0]
        spreads[kind] = Belief(
            math.log(variance) / 2,
            max(min(prior.spreads[kind].sd, math.sqrt(0.5 / (len(index) + worth))), 0.15),
        )
    last = Belief(float(mean[-1]), float(max(sd[-1], 0.02)) / PRIOR_SD)
    grade = prior.grade
    if "treadwear grade" in terms:
        i = terms.index("treadwear grade")
        grade = Belief(float(mean[i]), float(sd[i]))
    return replace(
        prior,
        lives=(),
        log_rate=Belief(float(mean[0]), level_sd),
        lines={**prior.lines, **by_kind["line"]},
        groups={**prior.groups, **by_kind["group"]},
        axle={**prior.axle, **by_kind["axle"]},
        starts={**prior.starts, **by_kind["start"]},
        grade=grade,
        bend=last,
        spreads=spreads,
        source=f"fit(visits={len(found.used)}, tires={len(found.names.table)})",
    )
