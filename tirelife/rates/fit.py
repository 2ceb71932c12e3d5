"""Fit wear rates to logged depths: from tables to the model, and from its answer to tables."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Final, NamedTuple, TypeAlias

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import misused
from tirelife.positions import OFF
from tirelife.rates.assemble import ASKED, assemble
from tirelife.rates.blocks import VARIANCES, Blocks
from tirelife.rates.causes import anchors, learn_causes
from tirelife.rates.checks import judge, make_checks, unsolved
from tirelife.rates.curvature import fix_bend, spread_bend, within_bend
from tirelife.rates.fallback import last_seen, stand_at_readings
from tirelife.rates.left_over import with_habit_checks
from tirelife.rates.local_prior import prior_for
from tirelife.rates.prior import PUBLISHED, Prior
from tirelife.rates.result import WearFit
from tirelife.rates.ridge import own_starts, unidentified_starts
from tirelife.rates.season import Season, find_season, season_runs, with_season
from tirelife.rates.tables import (
    Found,
    Names,
    component_table,
    estimate_table,
    learned,
    tire_table,
    vehicle_table,
    visit_table,
)
from tirelife.rates.verdict import FitReason, FitVerdict
from tirelife.rates.wearing import Estimate, Priors, Readings, averaged, estimate, posterior_modes, subset
from tirelife.rates.wrong import Wrong
from tirelife.tread import tire_visits
from tirelife.wear import Factors, reference_at, stretch_severity

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates.causes import WarmStart

__all__ = ["fit_logbook", "fit_rates", "solve_logbook"]

Array = NDArray[np.float64]
Model: TypeAlias = tuple[Blocks, Readings, Priors, Names, pd.DataFrame]

SAMPLE: Final = 500
"""Vehicles that variances are estimated from, where a logbook has more: a spread between vehicles is then
known to 3 %, and all others better."""
_WALKS: Final = (VARIANCES.index("habit"), VARIANCES.index("drift"))
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
    known = _of_logbook(book, prior)
    fit = _fit(known.visits, known.tires, book.vehicles, known.prior, known.near)
    if known.season is not None:
        fit = replace(fit, frames={**fit.frames, "season": known.season.frame})
    if fit.verdict.refused:
        return anchors(book, fit, known.prior.factors)
    return with_habit_checks(book, anchors(book, fit, known.factors, known.parts), known.parts)


def solve_logbook(book: Logbook, prior: Prior | None = None) -> Found | None:
    """What :func:`fit_logbook` finds before it is made into frames; None where that fit is refused.

    Parameters
    ----------
    book : Logbook
    prior : Prior, optional

    Raises
    ------
    InputError
        If the logbook has no tire on any vehicle.
    """
    known = _of_logbook(book, prior)
    model = assemble(known.visits, known.tires, book.vehicles, known.prior)
    return _held(model, known.prior, known.near, len(known.tires))[0]


class _Known(NamedTuple):
    """What a logbook gives the model."""

    visits: pd.DataFrame
    tires: pd.DataFrame
    prior: Prior
    near: WarmStart | None
    factors: Factors
    season: Season | None
    parts: pd.DataFrame  # severities under these factors, what of them is asked for later


def _of_logbook(book: Logbook, prior: Prior | None) -> _Known:
    prior = prior_for(book, prior or PUBLISHED)
    visits = tire_visits(book)
    visits = visits[[name for name in visits if name in ASKED]]
    path = book.stretches
    if path.empty:
        raise misused(Wrong.NO_MOUNT)
    first, last = (path.drop_duplicates("tire_id", keep=side) for side in ("first", "last"))
    tires = book.tires
    at = pd.Index(first["tire_id"]).get_indexer(tires["tire_id"])
    tires = tires[at >= 0].reset_index(drop=True)
    first = first.take(at[at >= 0])
    last = last.take(pd.Index(last["tire_id"]).get_indexer(tires["tire_id"]))
    tires["vehicle_id"] = last["vehicle_id"].to_numpy()
    for name, source in (("position", "position"), ("date", "from_date"), ("odometer_km", "from_km")):
        tires[f"first_{name}"] = first[source].to_numpy()
    on = book.mounts[book.mounts["position"] != OFF].sort_values(["date", "odometer_km"], kind="stable")
    on = on.drop_duplicates("tire_id").set_index("tire_id")
    tires["first_probability"] = on["probability"].reindex(tires["tire_id"]).to_numpy(float)
    tires["left"] = ~last["open"].to_numpy(bool)
    factors, near = learn_causes(book, visits, tires, prior, SAMPLE)
    parts = stretch_severity(book, factors)
    gone = ("to_date", "severity_log_sd", "driving", "pressure_source", "pressure_beyond")
    visits = reference_at(parts, visits)
    runs = season_runs(parts, visits)
    season = find_season(visits, runs)
    if season is not None:
        visits = with_season(visits, runs, season)
    parts = parts[[name for name in parts if name not in gone]]
    return _Known(visits, tires, prior, near, factors, season, parts)


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
    priors, starts and rates by Laplace's approximation (Tierney and Kadane 1986) about each tire's own path;
    readings far from what all others predict count less and are flagged. A tire that left early is
    taken to have left for reasons that have nothing to do with its wear beyond the depths that were read.

    A fit that does not hold is tried once more, with starts held to what is known of them and variances near
    their priors. If that does not hold either it is refused (``verdict``), and the tires stand where they
    were read last, with the prior's rates.
    """
    return _fit(visits, tires, vehicles, prior or PUBLISHED)


def _fit(
    visits: pd.DataFrame,
    tires: pd.DataFrame,
    vehicles: pd.DataFrame,
    prior: Prior,
    near: WarmStart | None = None,
) -> WearFit:
    model = assemble(visits, tires, vehicles, prior)
    found, method, frames, verdict = _held(model, prior, near, len(tires))
    checks = frames["checks"]
    if found is not None:
        return WearFit(
            frames, method, float(found.result.mean[found.blocks.bend_fixed]), prior, learned(found),
            found.estimate.criterion, verdict,
        )  # fmt: skip
    used = model[-1]
    unread = assemble(visits.head(0), last_seen(used, tires), vehicles, prior)
    found, _ = _solve(*unread, prior, None, True)
    frames = stand_at_readings(_frames(found), used) | {"checks": checks}
    q = float(found.result.mean[found.blocks.bend_fixed])
    return WearFit(frames, "refused: the prior", q, prior, prior, verdict=verdict)


def _held(
    model: Model, prior: Prior, near: WarmStart | None, tires: int
) -> tuple[Found | None, str, dict[str, pd.DataFrame], FitVerdict]:
    """The first answer that holds, its method and frames, and the verdict; None if both were refused."""
    frames = {"checks": unsolved()}
    for firm in (False, True):
        try:
            found, method = _solve(*model, prior, None if firm else near, firm)
        except np.linalg.LinAlgError:
            continue
        frames = _frames(found)
        verdict = judge(frames["checks"], tires, *([FitReason.SECOND_START] if firm else []))
        if not verdict.refused:
            return found, method, frames, verdict
    return None, "", frames, judge(frames["checks"], tires)


def _solve(
    blocks: Blocks,
    data: Readings,
    priors: Priors,
    names: Names,
    used: pd.DataFrame,
    prior: Prior,
    near: WarmStart | None,
    firm: bool,
) -> tuple[Found, str]:
    """Estimate the variances, then all at them; ``firm``: starts fixed, variances near their priors."""
    count = len(blocks.axle_fixed)
    some, method = (blocks, data), "REML"
    if count > SAMPLE:
        chosen = np.sort(np.random.default_rng(575).choice(count, SAMPLE, replace=False))
        some = subset(blocks, data, chosen)
        method = f"REML, {SAMPLE}/{count}"
    unidentified = unidentified_starts(*some, priors)
    names = replace(names, unidentified=len(unidentified))
    if firm:
        unidentified = np.unique(blocks.start_fixed[blocks.start_fixed < blocks.fixed])
        priors = replace(priors, log_variance_sd=priors.log_variance_sd / 2)
    blocks, data = own_starts(blocks, data, priors, unidentified)
    some = own_starts(*some, priors, unidentified)
    floor = _least_noise(used)
    # The curvature comes from within tires, and is fixed where they say: see within_bend.
    at = blocks.bend_fixed
    straight = fix_bend(blocks, priors, float(priors.mean[at]))
    warm = None if near is None else near.of(*some)
    variances = None if near is None else near.at.variances
    first = _readable(estimate(*some, straight, near=variances, after=warm), floor)
    bend_priors = replace(first.priors, precision=first.priors.precision.copy())
    bend_priors.precision[at] = priors.precision[at]
    posterior, sd_ratio = within_bend(*some, bend_priors, first.variances)
    q, q_error = posterior.middle, posterior.spread
    bent = abs(q - priors.mean[at]) > q_error
    spread = first
    if bent:
        fixed = fix_bend(blocks, priors, q)
        spread = _readable(estimate(*some, fixed, after=first), floor)
    spread = averaged(some[0], spread, _WALKS)
    many = count > SAMPLE  # what some taught of all is where the rest begins
    result, units, columns, fitted, bend = posterior_modes(
        blocks, data, fix_bend(blocks, spread.priors, q), spread.variances,
        rounds=2 if many else 4, mean=spread.mean if many else None,
    )  # fmt: skip
    result, units = spread_bend(blocks, result, units, columns, q_error)
    return Found(
        blocks, data, prior, names, used, spread, result, units, columns, fitted, bend, sd_ratio, posterior
    ), method


def _frames(found: Found) -> dict[str, pd.DataFrame]:
    frames = {
        "estimates": estimate_table(found),
        "components": component_table(found),
        "tires": tire_table(found),
        "vehicles": vehicle_table(found),
        "visits": visit_table(found),
        "bend": found.bend_posterior.to_frame(),
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
    variances = spread.variances.copy()
    variances[0] = max(variances[0], floor)
    return replace(spread, variances=variances)
