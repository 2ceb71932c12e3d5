"""From a logbook to the factors of its causes, and from a fit to how surely each tire knows them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.driving import default_profile, profiles_from_habits
from tirelife.positions import AXLES
from tirelife.rates.assemble import assemble
from tirelife.rates.curvature import fix_bend
from tirelife.rates.factors import Shares, learn
from tirelife.rates.ridge import own_starts, unidentified_starts
from tirelife.wear import (
    CAUSES,
    RECORDS,
    Vehicle,
    book_about,
    cause_distance,
    reference_shares,
    severity,
    stretch_severity,
    usual_moments,
)

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates.blocks import Blocks
    from tirelife.rates.prior import Prior
    from tirelife.rates.result import WearFit
    from tirelife.rates.wearing import Estimate, Readings
    from tirelife.wear import Factors

__all__ = ["WarmStart", "anchors", "learn_causes"]

Array = NDArray[np.float64]

AXLES_LEFT: Final = 0.12
"""Standard deviation of the log of front over rear wear that is no matter of factors: what figures of a
vehicle that are defaults do to it, from their published ranges, 0.10 with front and 0.14 with rear drive
(derived, by ``FIGURE_SD`` of :mod:`tirelife.wear.unknowns`). What is not known of the physics is in the
factors: their variances make 0.43, 0.42 and with all wheels driven 0.24 of it, which is all, or more, that
the prior of the ratio holds where none are learned."""


@dataclass(frozen=True)
class WarmStart:
    """Where the learning of factors left a model: a fit goes on from there."""

    blocks: Blocks
    data: Readings
    at: Estimate

    def of(self, blocks: Blocks, data: Readings) -> Estimate | None:
        """The estimate, if the fit's units and readings are the same; only their distances may differ."""
        same = (
            np.array_equal(self.blocks.row_unit, blocks.row_unit)
            and np.array_equal(self.blocks.unit_block, blocks.unit_block)
            and np.array_equal(self.data.response, data.response)
            and np.array_equal(self.data.start, data.start)
        )
        return self.at if same else None


def learn_causes(
    book: Logbook, visits: pd.DataFrame, tires: pd.DataFrame, prior: Prior, most: int
) -> tuple[Factors, WarmStart | None]:
    """Factors of the causes that fit a logbook's readings best.

    Parameters
    ----------
    book : Logbook
    visits, tires : DataFrame
        As for :func:`tirelife.rates.fit_rates`, without reference distances.
    prior : Prior
        Its factors are what is held before.
    most : int
        Learn from so many vehicles, drawn at random, where there are more.

    Returns
    -------
    factors : Factors
    begun : WarmStart or None
        Variances and paths found on the way; None where there is nothing to learn from.
    """
    held = replace(prior.factors, usual=usual_moments(book), belief=1.0, belief_sd=0.0)
    cars = np.sort(tires["vehicle_id"].dropna().unique())
    if len(cars) > most:
        cars = np.sort(np.random.default_rng(575).choice(cars, most, replace=False))
        tires = tires[tires["vehicle_id"].isin(cars)].reset_index(drop=True)
        visits = visits[pd.Index(tires["tire_id"]).get_indexer(visits["tire_id"]) >= 0]
        visits = visits.reset_index(drop=True)
    if visits.empty:
        return held, None
    some = book_about(book, set(cars.tolist()))
    physics = replace(held, log_mean=(0.0,) * len(held.log_mean))
    own = cause_distance(stretch_severity(some, physics), visits)
    usual = own
    if len(book.habits):
        usual = cause_distance(stretch_severity(some, replace(physics, belief=0.0)), visits)
    front, rear = own.sum(axis=2)
    visits = visits.assign(
        reference_km=front + rear,
        reference_front_km=front,
        reference_rear_km=rear,
        _at=np.arange(len(visits)),
    )
    blocks, data, priors, _, used = assemble(visits, tires, book.vehicles, _beside_factors(prior))
    if used.empty:
        return held, None
    rows = used["_at"].to_numpy()
    error = _record_errors(some, used["vehicle_id"])
    shares = Shares(own[:, rows], usual[:, rows], reference_shares(), error)
    blocks, data = own_starts(blocks, data, priors, unidentified_starts(blocks, data, priors))
    straight = fix_bend(blocks, priors, float(priors.mean[blocks.bend_fixed]))
    try:
        with np.errstate(all="ignore"):
            found, guess = learn(blocks, data, straight, shares, held)
    except np.linalg.LinAlgError:  # numbers out of proportion: the fit itself will say so
        return held, None
    sound = found.finite and bool(np.isfinite(guess.variances).all())
    # One vehicle says too little of variances to begin the fit anywhere but at its priors.
    return (found, WarmStart(blocks, data, guess) if len(cars) > 1 else None) if sound else (held, None)


def _beside_factors(prior: Prior) -> Prior:
    """The prior without what its distribution of the axles' ratio holds of the physics: factors hold that
    already.
    """
    axle = {drive: replace(law, sd=min(law.sd, AXLES_LEFT)) for drive, law in prior.axle.items()}
    return replace(prior, axle=axle)


def _record_errors(book: Logbook, vehicles: pd.Series) -> Array:
    """Variance of the log of what each vehicle's record says of each cause's habit, shape (rows, causes).

    0 where nothing is recorded: what its drivers do is then a part of what sets vehicles apart. As for a
    change (:meth:`tirelife.wear.Factors.of_change`), half of the record's variance is each habit's own.
    """
    own = np.array([float(cause.driver and cause.energy is not None) for cause in RECORDS])
    if book.habits.empty:
        return np.zeros((len(vehicles), len(own)))
    habits = profiles_from_habits(book)
    square = (habits["log_sd"].astype(float) ** 2).groupby(habits["vehicle_id"]).mean()
    mine = np.nan_to_num(square.reindex(vehicles).to_numpy(float))
    return np.asarray(mine[:, None] / 2 * own)


def anchors(book: Logbook, fit: WearFit, factors: Factors, parts: pd.DataFrame | None = None) -> WearFit:
    """Give a fit the factors that its reference distances were made with, and each tire its anchors.

    ``parts`` are those of :func:`tirelife.wear.stretch_severity` under these factors; made if not given.

    The anchor of a tire on an axle is the mix of causes at which its rate there is known whatever the factors
    are. What sets wheels of one axle and drive layout apart from an ordinary car's is known as far as the
    log's level of wear is, since that and the axles' ratio were read; what sets one tire's distance apart
    from theirs, as far as its own readings speak.
    """
    names = list(CAUSES)
    tires = fit.frames["tires"]
    at = tires[["tire_id"]].assign(
        date=pd.to_datetime(tires["last_date"]), odometer_km=tires["last_odometer_km"].astype(float)
    )
    parts = stretch_severity(book, factors) if parts is None else parts
    run = np.nan_to_num(cause_distance(parts, at))
    whole = run.sum(axis=2, keepdims=True)
    share = np.divide(run, whole, out=np.zeros_like(run), where=whole > 0)
    weight = whole[..., 0] / np.maximum(whole.sum(axis=0)[:, 0], 1e-9)
    drives = book.vehicles.set_index("vehicle_id")["drive"].reindex(tires["vehicle_id"]).fillna("front")
    drive, kinds = pd.factorize(drives.to_numpy())
    known = fit.posterior.log_rate.sd**2
    taught = min(max(1 - known / fit.prior.log_rate.sd**2, 0.0), 1.0)
    usual, seen = np.zeros_like(share), np.zeros_like(share)
    for kind, layout in enumerate(kinds):
        mine = drive == kind
        table = severity(default_profile(), Vehicle.of_drive(str(layout)), factors=factors)
        for axle, (wheel, _) in enumerate(AXLES.values()):
            one = table.loc[[wheel]]
            ordinary = one[names].to_numpy(float)[0] / float(one["severity"].to_numpy(float)[0])
            usual[axle, mine] = seen[axle, mine] = ordinary
            km = np.minimum(whole[axle, mine, 0], 1e5)
            if km.sum() > 0:
                seen[axle, mine] = np.average(share[axle, mine], axis=0, weights=km)
    held = fit.posterior.spreads
    loose = known + sum(math.exp(2 * held[name].mean) for name in ("unit", "block", "line"))
    spread = np.nan_to_num(tires["log_wear_sd"].to_numpy(float), nan=1e3)
    read = (tires["visits"].to_numpy() > 0) & (weight.sum(axis=0) > 0)
    told = np.where(read, np.clip(1 - spread**2 / loose, 0.0, 1.0), 0.0)[:, None]
    apart = (weight[..., None] * (share - seen)).sum(axis=0)
    level = taught * seen + (1 - taught) * usual
    made = pd.concat(
        [
            pd.DataFrame(level[axle] + told * apart, columns=names).assign(
                tire_id=tires["tire_id"].to_numpy(), axle=name
            )
            for axle, name in enumerate(("front", "rear"))
        ],
        ignore_index=True,
    )
    middle = level.mean(axis=(0, 1)) if len(tires) else factors.anchor
    learned = replace(factors, level=tuple(float(v) for v in middle))
    return replace(
        fit,
        frames={**fit.frames, "anchors": made[["tire_id", "axle", *names]]},
        factors=learned,
        posterior=replace(
            fit.posterior, factors=replace(learned, belief=1.0, belief_sd=0.0, usual=(), ranges=())
        ),
    )
