"""Fit wear rates to logged depths: from tables to the model, and from its answer to tables."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import InputError
from tirelife.rates.blocks import ENTRIES, SPREADS, Blocks
from tirelife.rates.checks import judge, make_checks, unsolved
from tirelife.rates.curvature import hold_bend, spread_bend, within_bend
from tirelife.rates.fallback import last_seen, stand_at_readings
from tirelife.rates.lives import prior_for
from tirelife.rates.prior import PUBLISHED, Belief, Prior
from tirelife.rates.result import WearFit
from tirelife.rates.ridge import own_starts, untold_starts
from tirelife.rates.season import find_season, season_runs, with_season
from tirelife.rates.starts import start_laws
from tirelife.rates.tables import (
    WALK,
    Found,
    Names,
    component_table,
    estimate_table,
    learned,
    tire_table,
    vehicle_table,
    visit_table,
    walk_term,
)
from tirelife.rates.verdict import FitReason
from tirelife.rates.wearing import Estimate, Laws, Readings, estimate, settle, take

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["fit_logbook", "fit_rates"]

GRADE: Final = 340.0
"""Treadwear grade at which its term is zero."""

Array = NDArray[np.float64]

SAMPLE: Final = 500
"""Vehicles that spreads are estimated from, where a logbook has more: a spread between vehicles is then known
to 3 %, and all others better."""
_WALKS: Final = (SPREADS.index("habit"), SPREADS.index("drift"))
LEAST_NOISE_MM: Final = 0.02
"""Smallest error of one tire's mean depth; in the best controlled study the scatter was 2 mils, 0.05 mm
(Brenner, Scheiner and Kondo 1975). [mm]"""


def fit_logbook(book: Logbook, prior: Prior | None = None) -> WearFit:
    """Fit wear rates to a logbook.

    Parameters
    ----------
    book : Logbook
    prior : Prior, optional
        What is held before the data; :data:`~tirelife.rates.PUBLISHED` by default.

    Returns
    -------
    WearFit
        One row of ``tires`` for every tire that was ever on a vehicle, read or not.

    Raises
    ------
    InputError
        If the logbook has no tire on any vehicle.
    """
    from tirelife.rates.causes import anchors, learn_causes
    from tirelife.rates.left_over import with_habit_checks
    from tirelife.tread import tire_visits
    from tirelife.wear import add_reference, stretch_severity

    prior = prior_for(book, prior or PUBLISHED)
    visits = tire_visits(book)
    path = book.stretches
    if path.empty:
        raise InputError("mounts: no tire is on a vehicle. Record at least one mount.")
    first = path.drop_duplicates("tire_id", keep="first").set_index("tire_id")
    last = path.drop_duplicates("tire_id", keep="last").set_index("tire_id")
    tires = book.tires
    tires = tires[tires["tire_id"].isin(first.index)].reset_index(drop=True)
    tires["vehicle_id"] = last["vehicle_id"].reindex(tires["tire_id"]).to_numpy()
    for name, source in (("position", "position"), ("date", "from_date"), ("odometer_km", "from_km")):
        tires[f"first_{name}"] = first[source].reindex(tires["tire_id"]).to_numpy()
    on = book.mounts[book.mounts["position"] != "OFF"].sort_values(["date", "odometer_km"], kind="stable")
    on = on.drop_duplicates("tire_id").set_index("tire_id")
    tires["first_probability"] = on["probability"].reindex(tires["tire_id"]).to_numpy(float)
    tires["left"] = ~last["open"].reindex(tires["tire_id"]).to_numpy(bool)
    factors, near = learn_causes(book, visits, tires, prior, SAMPLE)
    visits = add_reference(book, visits, factors)
    runs = season_runs(stretch_severity(book, factors), visits)
    season = find_season(visits, runs)
    if season is not None:
        visits = with_season(visits, runs, season)
    fit = _fit(visits, tires, book.vehicles, prior, near)
    if season is not None:
        fit = replace(fit, frames={**fit.frames, "season": season.frame})
    fit = anchors(book, fit, prior.factors if fit.verdict.refused else factors)
    return fit if fit.verdict.refused else with_habit_checks(book, fit)


def fit_rates(
    visits: pd.DataFrame, tires: pd.DataFrame, vehicles: pd.DataFrame, prior: Prior | None = None
) -> WearFit:
    """Fit wear rates to tire-visits.

    Parameters
    ----------
    visits : DataFrame
        One row a tire and visit: ``vehicle_id, tire_id, position, date, odometer_km, depth_mm, reference_km,
        reference_front_km, reference_rear_km``, optionally ``tire_km``, ``depth_se_mm`` and ``whose_mm2``
        (error variance for the doubt whether it is this tire's).
    tires : DataFrame
        ``tire_id, tire_line, new_depth_mm`` (NaN where unknown), optionally ``treadwear_grade``, ``left`` (it
        is no longer on a vehicle), ``first_probability`` (that it was fitted when its first mount says) and,
        for tires never read, ``vehicle_id, first_position, first_date, first_odometer_km``.
    vehicles : DataFrame
        ``vehicle_id, drive``, optionally ``driver_group``.
    prior : Prior, optional

    Returns
    -------
    WearFit

    Notes
    -----
    Depth of tire i at reading j: y_ij = d_i - W(w_i, X_ij) + e_ij, with X the reference distance and log
    w_i = line + group + grade + vehicle + tire. Errors: reading, visit (shared by a vehicle's tires that
    day), scatter and drift of the rate over distance. Fitted by restricted likelihood with the prior's weak
    laws, starts and rates by Laplace's approximation (Tierney and Kadane 1986) about each tire's own path;
    readings far from what all others predict count less and are flagged. A tire that left early is
    taken to have left for reasons that have nothing to do with its wear beyond the depths that were read.

    A fit that does not hold is tried once more, with starts held to what is known of them and spreads near
    their laws. If that does not hold either it is refused (``verdict``), and the tires stand where they were
    read last, with the prior's rates.
    """
    return _fit(visits, tires, vehicles, prior or PUBLISHED)


def _fit(
    visits: pd.DataFrame,
    tires: pd.DataFrame,
    vehicles: pd.DataFrame,
    prior: Prior,
    near: Array | None = None,
) -> WearFit:
    model = assemble(visits, tires, vehicles, prior)
    checks = unsolved()
    for firm in (False, True):
        try:
            found, method = _solve(*model, prior, None if firm else near, firm)
        except np.linalg.LinAlgError:
            continue
        frames = _frames(found)
        checks = frames["checks"]
        verdict = judge(checks, len(tires), *([FitReason.SECOND_START] if firm else []))
        if not verdict.refused:
            return WearFit(
                frames, method, float(found.result.mean[found.blocks.bend_fixed]), prior, learned(found),
                found.spread.criterion, verdict,
            )  # fmt: skip
    used = model[-1]
    found, _ = _solve(*assemble(visits.head(0), last_seen(used, tires), vehicles, prior), prior, None, True)
    frames = stand_at_readings(_frames(found), used) | {"checks": checks}
    q = float(found.result.mean[found.blocks.bend_fixed])
    return WearFit(frames, "refused: the prior", q, prior, prior, verdict=judge(checks, len(tires)))


def _solve(
    blocks: Blocks,
    data: Readings,
    laws: Laws,
    names: Names,
    used: pd.DataFrame,
    prior: Prior,
    near: Array | None,
    firm: bool,
) -> tuple[Found, str]:
    """Estimate the spreads, then all at them; ``firm``: with starts held and spreads near their laws."""
    count = len(blocks.axle_fixed)
    some, method = (blocks, data), "REML"
    if count > SAMPLE:
        chosen = np.sort(np.random.default_rng(575).choice(count, SAMPLE, replace=False))
        some = take(blocks, data, chosen)
        method = f"REML, spreads from {SAMPLE} of {count} vehicles drawn at random"
    untold = untold_starts(*some, laws)
    names = replace(names, untold=len(untold))
    if firm:
        untold = np.unique(blocks.start_fixed[blocks.start_fixed < blocks.fixed])
        laws = replace(laws, spread_sd=laws.spread_sd / 2)
    blocks, data = own_starts(blocks, data, laws, untold)
    some = own_starts(*some, laws, untold)
    floor = _least_noise(used)
    # The curvature comes from within tires, and is held where they say: see within_bend.
    at = blocks.bend_fixed
    straight = hold_bend(blocks, laws, float(laws.mean[at]))
    first = _readable(estimate(*some, straight, near=near, averaged=_WALKS), floor)
    bend_law = replace(first.laws, precision=first.laws.precision.copy())
    bend_law.precision[at] = laws.precision[at]
    law, told = within_bend(*some, bend_law, first.spreads)
    q, q_error = law.middle, law.spread
    bent = abs(q - laws.mean[at]) > q_error
    spread = first
    if bent:
        held = hold_bend(blocks, laws, q)
        spread = _readable(estimate(*some, held, near=first.spreads, averaged=_WALKS), floor)
    result, units, columns, fitted, bend = settle(
        blocks, data, hold_bend(blocks, spread.laws, q), spread.spreads, rounds=3 if count > SAMPLE else 4
    )
    result, units = spread_bend(blocks, result, units, columns, q_error)
    return Found(
        blocks, data, prior, names, used, spread, result, units, columns, fitted, bend, told, law
    ), method


def _frames(found: Found) -> dict[str, pd.DataFrame]:
    frames = {
        "estimates": estimate_table(found),
        "components": component_table(found),
        "tires": tire_table(found),
        "vehicles": vehicle_table(found),
        "visits": visit_table(found),
        "bend": found.bend_law.to_frame(),
    }
    frames["checks"] = make_checks(found, frames)
    return frames


def _least_noise(used: pd.DataFrame) -> float:
    """Variance that a gauge's steps alone give a tire's mean depth [mm²]."""
    step = used["resolution_mm"].median() if "resolution_mm" in used and len(used) else math.nan
    number = used["readings"].median() if "readings" in used and len(used) else 1.0
    stepped = float(step) ** 2 / 12 / max(float(number), 1.0)
    return max(LEAST_NOISE_MM**2, stepped) if math.isfinite(stepped) else LEAST_NOISE_MM**2


def _readable(spread: Estimate, floor: float) -> Estimate:
    """Give readings that agree to the last digit the error that a depth gauge has at least."""
    spreads = spread.spreads.copy()
    spreads[0] = max(spreads[0], floor)
    return replace(spread, spreads=spreads)


def assemble(
    visits: pd.DataFrame, tires: pd.DataFrame, vehicles: pd.DataFrame, prior: Prior
) -> tuple[Blocks, Readings, Laws, Names, pd.DataFrame]:
    """Tables to the arrays of the model."""
    tire_index = pd.Index(tires["tire_id"])
    unit = tire_index.get_indexer(visits["tire_id"])
    known = (unit >= 0) & np.isfinite(visits["depth_mm"].to_numpy(float))
    for name in ("reference_km", "reference_front_km", "reference_rear_km"):
        known &= np.isfinite(visits[name].to_numpy(float))
    vehicle_index = pd.Index(vehicles["vehicle_id"])
    vehicle = vehicle_index.get_indexer(visits["vehicle_id"])
    known &= vehicle >= 0
    used = visits[known].assign(unit=unit[known], vehicle=vehicle[known])
    used = used.sort_values(["unit", "date", "odometer_km"], kind="stable", ignore_index=True)
    # A tire belongs to the vehicle that it was last read on, or was last on.
    block = np.full(len(tires), -1)
    if "vehicle_id" in tires:
        block = vehicle_index.get_indexer(tires["vehicle_id"])
    at_last = used.drop_duplicates("unit", keep="last")
    block[at_last["unit"].to_numpy()] = at_last["vehicle"].to_numpy()
    kept = np.flatnonzero(block >= 0)
    order = kept[np.argsort(block[kept], kind="stable")]
    place = np.full(len(tires), -1)
    place[order] = np.arange(len(order))
    table = tires.iloc[order].reset_index(drop=True)
    row_unit = place[used["unit"].to_numpy()]
    used = used.assign(unit=row_unit).iloc[np.argsort(row_unit, kind="stable")].reset_index(drop=True)
    row_unit = used["unit"].to_numpy()
    live, unit_block = np.unique(block[order], return_inverse=True)
    fleet = vehicles.iloc[live].reset_index(drop=True)
    names, laws, fixed, value, start_fixed, axle_fixed = _terms(table, fleet, unit_block, prior)
    begun = start_laws(used, table, row_unit, prior)
    names.part_worn[:], names.over[:] = begun.worn.tolist(), begun.over.tolist()
    unknown = ~np.isfinite(table["new_depth_mm"].to_numpy(float))
    names.stated[:] = (np.bincount(names.line, unknown, len(names.lines)) == 0).tolist()
    start_fixed = np.where(begun.new, start_fixed, len(names.terms))
    occasion = _occasions(used, unit_block[row_unit])
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
    if "whose_mm2" in used:  # in units of the noise that is usual: its own is not known yet
        noise = noise + used["whose_mm2"].to_numpy(float) / math.exp(2 * prior.spreads["noise"].mean)
    ahead, behind = (used[f"reference_{axle}_km"].to_numpy(float) for axle in ("front", "rear"))
    data = Readings(used["depth_mm"].to_numpy(float), ahead, behind, noise, begun.mean, habit=habit)
    names.lost = int((~known).sum())
    return blocks, data, laws, names, used


def _occasions(used: pd.DataFrame, row_block: NDArray[np.int64]) -> NDArray[np.int64]:
    """Number the visits of each block; a tire read on another vehicle that day was at another visit."""
    if used.empty:
        return np.zeros(0, int)
    day = pd.factorize(used["date"])[0] * (int(used["vehicle"].max()) + 2) + used["vehicle"].to_numpy() + 1
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
) -> tuple[Names, Laws, NDArray[np.int64], Array, NDArray[np.int64], NDArray[np.int64]]:
    """The fixed effects, the laws held for them, and which tire has which."""
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
    held_spreads = [prior.spreads[name] for name in SPREADS]
    laws = Laws(
        mean, precision, np.array([2 * b.mean for b in held_spreads]),
        np.array([2 * b.sd for b in held_spreads]), tuple(shared),
    )  # fmt: skip
    names = Names(terms, list(lines), list(groups), list(drives), table, fleet, line, [], 0)
    return names, laws, fixed, value, at["start"] + line, at["axle"] + drive
