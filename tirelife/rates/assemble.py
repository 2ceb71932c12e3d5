"""Tables to the arrays of the model."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.rates.blocks import ENTRIES, VARIANCES, Blocks
from tirelife.rates.prior import Belief, Prior
from tirelife.rates.result import VISITS
from tirelife.rates.starts import start_priors
from tirelife.rates.tables import WALK, Names, walk_term
from tirelife.rates.wearing import Priors, Readings

__all__ = ["ASKED", "assemble"]

ASKED: Final = frozenset((*VISITS, "tire_km", "readings", "depth_se_mm", "whose_mm2", "_at",
                           "reference_front_km", "reference_rear_km"))  # fmt: skip
"""Columns of tire-visits that a fit goes on with, where they are there."""
GRADE: Final = 340.0
"""Treadwear grade at which its term is zero."""

Array = NDArray[np.float64]


def assemble(
    visits: pd.DataFrame, tires: pd.DataFrame, vehicles: pd.DataFrame, prior: Prior
) -> tuple[Blocks, Readings, Priors, Names, pd.DataFrame]:
    """Tables to the arrays of the model."""
    tire_index = pd.Index(tires["tire_id"])
    unit = tire_index.get_indexer(visits["tire_id"])
    known = (unit >= 0) & np.isfinite(visits["depth_mm"].to_numpy(float))
    for name in ("reference_km", "reference_front_km", "reference_rear_km"):
        known &= np.isfinite(visits[name].to_numpy(float))
    vehicle_index = pd.Index(vehicles["vehicle_id"])
    vehicle = vehicle_index.get_indexer(visits["vehicle_id"])
    known &= vehicle >= 0
    rows = np.flatnonzero(known)
    order = np.lexsort((visits["odometer_km"].to_numpy(float)[rows], _days(visits["date"])[rows], unit[rows]))
    rows = rows[order]
    unit, vehicle = unit[rows], vehicle[rows]
    # A tire belongs to the vehicle that it was last read on, or was last on.
    block = np.full(len(tires), -1)
    if "vehicle_id" in tires:
        block = vehicle_index.get_indexer(tires["vehicle_id"])
    last = np.append(unit[1:] != unit[:-1], True)[: len(unit)]
    block[unit[last]] = vehicle[last]
    kept = np.flatnonzero(block >= 0)
    order = kept[np.argsort(block[kept], kind="stable")]
    place = np.full(len(tires), -1)
    place[order] = np.arange(len(order))
    table = tires.iloc[order].reset_index(drop=True)
    order_of_rows = np.argsort(place[unit], kind="stable")
    rows, vehicle, row_unit = (values[order_of_rows] for values in (rows, vehicle, place[unit]))
    used = visits[[name for name in visits if name in ASKED]].take(rows).reset_index(drop=True)
    live, unit_block = np.unique(block[order], return_inverse=True)
    fleet = vehicles.iloc[live].reset_index(drop=True)
    names, priors, fixed, value, start_fixed, axle_fixed = _terms(table, fleet, unit_block, prior)
    begun = start_priors(used, table, row_unit, prior)
    names.part_worn[:], names.over[:] = begun.worn.tolist(), begun.over.tolist()
    unknown = ~np.isfinite(table["new_depth_mm"].to_numpy(float))
    names.stated[:] = (np.bincount(names.line, unknown, len(names.lines)) == 0).tolist()
    start_fixed = np.where(begun.new, start_fixed, len(names.terms))
    occasion = _occasions(used, vehicle, unit_block[row_unit])
    span, names.place, habit = _walk(used, row_unit, unit_block)
    blocks = Blocks(
        row_unit, occasion, unit_block, fixed, value, start_fixed, begun.variance, axle_fixed, span,
        names.terms.index("q"), len(names.terms),
    )  # fmt: skip
    noise = np.ones(len(used))
    if "depth_se_mm" in used and len(used):
        se = used["depth_se_mm"].to_numpy(float) ** 2
        stated = se > 0
        if stated.any():
            noise = np.where(stated, np.clip(se / np.median(se[stated]), 0.25, 4.0), 1.0)
    doubt = used["whose_mm2"].to_numpy(float) if "whose_mm2" in used else None
    ahead, behind = (used[f"reference_{axle}_km"].to_numpy(float) for axle in ("front", "rear"))
    data = Readings(
        used["depth_mm"].to_numpy(float), ahead, behind, noise, begun.mean, habit=habit, doubt=doubt
    )
    names.lost = int((~known).sum())
    return blocks, data, priors, names, used


def _days(date: pd.Series) -> NDArray[np.int64]:
    """Something that rises with the date, highest for none."""
    since = np.asarray(pd.to_datetime(date).to_numpy("datetime64[us]").view(np.int64))
    return np.where(since == np.iinfo(np.int64).min, np.iinfo(np.int64).max, since)


def _occasions(
    used: pd.DataFrame, vehicle: NDArray[np.int64], row_block: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Number the visits of each block; a tire read on another vehicle that day was at another visit."""
    if used.empty:
        return np.zeros(0, int)
    day = pd.factorize(used["date"])[0] * (int(vehicle.max()) + 2) + vehicle + 1
    both = np.lexsort((day, row_block))
    new = np.ones(len(both), bool)
    new[1:] = (np.diff(day[both]) != 0) | (np.diff(row_block[both]) != 0)
    out = np.empty(len(both), int)
    out[both] = np.cumsum(new)
    return out


def _walk(
    used: pd.DataFrame, row_unit: NDArray[np.int64], unit_block: NDArray[np.int64]
) -> tuple[Array, Array, Array]:
    """How a vehicle's log rate may walk: its distance, where in it each row lies, and the mean terms since.

    A random walk over a distance L is sqrt(L) times the sum of independent normals times sqrt(2) sin(c u) / c
    with c = (j - 1/2) pi and u in 0 .. 1 (Karhunen and Loeve); three terms hold 93 % of its variance at the
    end. A row's terms are their means since the tire's reading before, or since it was mounted.
    """
    count = int(unit_block.max()) + 1 if len(unit_block) else 0
    reference = used["reference_km"].to_numpy(float)
    odometer = used["odometer_km"].to_numpy(float)
    odometer = np.where(np.isfinite(odometer), odometer, reference)
    run = used["tire_km"].to_numpy(float) if "tire_km" in used else reference
    run = np.where(np.isfinite(run), run, reference)
    first = np.append(True, row_unit[1:] != row_unit[:-1])[: len(row_unit)]
    before = np.where(first, odometer - run, np.append(0.0, odometer[:-1])[: len(odometer)])
    before = np.minimum(before, odometer)
    block = unit_block[row_unit]
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low, block, before)
    np.maximum.at(high, block, odometer)
    span = np.where(high > low, high - low, 1.0)
    a, b = (before - low[block]) / span[block], (odometer - low[block]) / span[block]
    wide = np.maximum(b - a, 1e-6)
    terms = []
    for j in range(WALK):
        c = (j + 0.5) * np.pi
        terms.append(
            np.where(
                b - a > 1e-6, np.sqrt(2) * (np.cos(c * a) - np.cos(c * b)) / (c**2 * wide), walk_term(j, b)
            )
        )
    return span, b, np.array(terms).reshape(WALK, len(used))


def _terms(
    table: pd.DataFrame, fleet: pd.DataFrame, unit_block: NDArray[np.int64], prior: Prior
) -> tuple[Names, Priors, NDArray[np.int64], Array, NDArray[np.int64], NDArray[np.int64]]:
    """The fixed effects, the priors held for them, and which tire has which."""
    line, lines = pd.factorize(table["tire_line"].fillna("").astype(str), sort=True)
    text = (
        fleet["driver_group"].fillna("").astype(str)
        if "driver_group" in fleet
        else pd.Series([""] * len(fleet))
    )
    group, groups = pd.factorize(text.where(text != "", np.nan), sort=True)
    drive, drives = pd.factorize(fleet["drive"], sort=True)
    grade = np.full(len(table), np.nan)
    if "treadwear_grade" in table:
        grade = table["treadwear_grade"].to_numpy(float)
    graded = np.isfinite(grade) & (grade > 0)
    terms = ["wear"]
    beliefs: list[Belief | None] = [prior.log_rate]
    at = {"line": len(terms)}
    terms += [f"line {name}" for name in lines]
    beliefs += [prior.lines.get(name) for name in lines]
    at["group"] = len(terms)
    terms += [f"group {name}" for name in groups]
    beliefs += [prior.groups.get(name) for name in groups]
    at["axle"] = len(terms)
    terms += [f"axle {name}" for name in drives]
    beliefs += [prior.axle.get(name, prior.axle["all"]) for name in drives]
    at["start"] = len(terms)
    unknown = ~np.isfinite(table["new_depth_mm"].to_numpy(float))
    no_depth = np.bincount(line[unknown], minlength=len(lines)) > 0
    terms += [f"start {name}" for name in lines]
    beliefs += [
        prior.starts.get(name, Belief(0.0, prior.new_depth.sd if bare else 0.15))
        for name, bare in zip(lines, no_depth, strict=True)
    ]
    at["grade"] = len(terms)
    if graded.any():
        terms.append("treadwear grade")
        beliefs.append(prior.grade)
    terms.append("q")
    beliefs.append(prior.bend)
    p = len(terms)
    mean = np.array([b.mean if b else 0.0 for b in beliefs])
    precision = np.array([1 / b.sd**2 if b else 1.0 for b in beliefs])
    shared = []
    for name, size in (("line", len(lines)), ("group", len(groups))):
        index = np.array([at[name] + i for i in range(size) if beliefs[at[name] + i] is None], int)
        held = prior.spreads[name]
        if len(index):
            shared.append((index, math.exp(2 * held.mean), 2 / (2 * held.sd) ** 2))
    fixed = np.full((len(table), ENTRIES), p)
    value = np.zeros((len(table), ENTRIES))
    fixed[:, 0], value[:, 0] = 0, 1.0
    fixed[:, 1], value[:, 1] = at["line"] + line, 1.0
    mine = group[unit_block]
    fixed[:, 2] = np.where(mine >= 0, at["group"] + mine, p)
    value[:, 2] = (mine >= 0) * 1.0
    if graded.any():
        fixed[:, 3] = np.where(graded, at["grade"], p)
        value[:, 3] = np.where(graded, np.log(np.where(graded, grade, GRADE) / GRADE), 0.0)
    held_spreads = [prior.spreads[name] for name in VARIANCES]
    priors = Priors(
        mean, precision, np.array([2 * b.mean for b in held_spreads]),
        np.array([2 * b.sd for b in held_spreads]), tuple(shared),
    )  # fmt: skip
    names = Names(terms, list(lines), list(groups), list(drives), table, fleet, line, [], 0)
    return names, priors, fixed, value, at["start"] + line, at["axle"] + drive
