"""What recorded habits explain of a difference between groups, and what they do not.

The severities of :mod:`tirelife.wear` say what each cause adds on each stretch of road. Each tire's
severity over the fleet's is split among its causes so that the parts multiply to it exactly, and the
parts are put through the same regression as the wear rates. What is left is not explained: roads,
loads or cars that nobody recorded, or drivers in ways that were not counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.groups.advice import Advice, Check, Remark
from tirelife.positions import SPARE
from tirelife.wear import ASSUMED, CAUSE_LOG_SD, CAUSES, RECORDS, Factors, stretch_severity

if TYPE_CHECKING:
    from tirelife.groups.fitting import Fitted
    from tirelife.logbook import Logbook

__all__ = ["PARTS", "cause_parts", "explain"]

Floats = NDArray[np.float64]

HABITS: Final = tuple(cause.name for cause in RECORDS if cause.driver)
"""Causes that come with how a vehicle is driven and kept."""
PARTS: Final[dict[str, str]] = {
    cause.name: cause.short
    for cause in (*(c for c in RECORDS if c.driver), *(c for c in RECORDS[::-1] if not c.driver))
}
"""Every cause in words, those of the driving first."""
DRIVEN: Final = frozenset(cause.name for cause in RECORDS if cause.driver and cause.energy)
"""Those that recorded habits tell."""


def cause_parts(
    book: Logbook, tire_ids: Sequence[str], factors: Factors = ASSUMED
) -> tuple[pd.DataFrame, float]:
    """Split each tire's log severity over the fleet's mean among its causes.

    Parameters
    ----------
    book : Logbook
    tire_ids : sequence of str
    factors : Factors
        Of the causes, as assumed or as a fit of this log learned them.

    Returns
    -------
    parts : DataFrame
        One row a tire in the order given, one column a cause; rows sum to log(severity / fleet's mean).
    recorded : float
        Share of the distance over which habits were recorded.

    Notes
    -----
    Habits are priced on an ordinary vehicle with the fleet's commonest drive, so that a difference between
    cars is not taken for one between habits. With causes c summing to S and the fleet's c0 to S0, a
    cause's part is (c - c0) / L(S, S0), L the logarithmic mean (S - S0) / log(S / S0): additive, symmetric,
    and nothing left over.
    """
    runs = stretch_severity(_alike(book), factors)
    runs = runs[runs["position"] != SPARE]
    length = (runs["to_km"] - runs["from_km"]).to_numpy(float)
    total = runs[list(CAUSES)].mul(length, axis=0).groupby(runs["tire_id"]).sum()
    km = pd.Series(length).groupby(runs["tire_id"].to_numpy()).sum()
    each = total.div(km, axis=0).reindex(list(tire_ids))
    inside = runs["tire_id"].isin(set(tire_ids)).to_numpy()
    known = (runs["driving"] != "default profile").to_numpy()
    recorded = float(length[inside & known].sum() / max(length[inside].sum(), 1e-9))
    usual = each.mean()
    s, s0 = each.sum(axis=1).to_numpy(float), float(usual.sum())
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = np.where(np.abs(s / s0 - 1) < 1e-9, s0, (s - s0) / np.log(s / s0))
    return (each - usual).div(mean, axis=0).reset_index(drop=True), recorded


def _alike(book: Logbook) -> Logbook:
    """The same logbook, with every vehicle an ordinary one."""
    vehicles = book.vehicles
    usual = vehicles["drive"].mode()
    vehicles = vehicles.assign(
        drive=usual.iloc[0] if len(usual) else "front",
        mass_kg=np.nan,
        front_load_share=np.nan,
        drag_area_m2=np.nan,
    )
    return replace(book, tables={**book.tables, "vehicles": vehicles})


def explain(
    book: Logbook,
    fitted: Fitted,
    pairs: Sequence[tuple[str, str]],
    level: float,
    factors: Factors = ASSUMED,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Split the ratio of each pair of groups into what habits explain and what they do not.

    Parameters
    ----------
    book : Logbook
    fitted : Fitted
        The comparison's fit.
    pairs : sequence of (str, str)
    level : float
        Of the ranges.
    factors : Factors
        Of the causes, as assumed or as a fit of this log learned them.

    Returns
    -------
    why : DataFrame
        group, other, part, ratio, lower, upper, note. The ratios of a pair's causes and of ``not explained``
        multiply to its ``total``; ``habits together`` is the product of those that come with driving and
        pressure.
    checks : DataFrame
        check, value, limit, passed, advice, about.

    Notes
    -----
    A cause's range holds the spread between vehicles and the model's own doubt about that cause
    (what is not known of its factor: our judgement, or what the log left open); that of ``not explained``
    holds both too. Counts of hard events belong to roads as well as to drivers: they are many times more
    frequent on slow roads.
    """
    from scipy.stats import t

    parts, recorded = cause_parts(book, fitted.used["tire_id"].tolist(), factors)
    unsure = factors.log_sd
    pressures = len(book.pressures) > 0
    rows: list[tuple[Any, ...]] = []
    names = [*PARTS]
    fit = fitted.fit
    for a, b in pairs:
        contrast = fitted.design.contrast(a, b)
        value, se, df = fit.contrast(contrast)
        if not np.isfinite(value):
            rows.append((a, b, "total", np.nan, np.nan, np.nan, Remark.NOT_APART.value))
            continue
        c = float(t.ppf((1 + level) / 2, df))
        weight = fit.weights(contrast)
        share = {name: float(weight @ parts[name].to_numpy(float)) for name in names}
        doubt = {name: abs(share[name]) * unsure[name] for name in names}

        def row(
            part: str, mean: float, sd: float, note: str = "", a: str = a, b: str = b, c: float = c
        ) -> None:
            rows.append(
                (
                    a,
                    b,
                    part,
                    float(np.exp(mean)),
                    float(np.exp(mean - c * sd)),
                    float(np.exp(mean + c * sd)),
                    note,
                )
            )

        row("total", value, se)
        for name in names:
            spread = fitted.spread(weight, parts[name].to_numpy(float))
            unknown = (name == "pressure" and not pressures) or (name in DRIVEN and recorded == 0)
            note = Remark.TAKEN_ALIKE.value if unknown else ""
            # A factor is positive: not knowing it moves a part towards nothing, never past it.
            sure, factor = c * spread, np.exp(c * unsure[name])
            near, far = (abs(share[name]) * gap for gap in (1 - 1 / factor, factor - 1))
            below, above = (far, near) if share[name] < 0 else (near, far)
            low, high = share[name] - np.hypot(sure, below), share[name] + np.hypot(sure, above)
            ends = (float(np.exp(end)) for end in (share[name], low, high))
            rows.append((a, b, PARTS[name], *ends, note))
        together = parts[list(HABITS)].sum(axis=1).to_numpy(float)
        doubts = float(np.sqrt(sum(doubt[n] ** 2 for n in HABITS)))
        row(
            "habits together",
            sum(share[n] for n in HABITS),
            np.hypot(fitted.spread(weight, together), doubts),
        )
        rest = fitted.y - parts.sum(axis=1).to_numpy(float)
        doubts = float(np.sqrt(sum(d**2 for d in doubt.values())))
        left = value - sum(share.values())
        row("not explained", left, np.hypot(fitted.spread(weight, rest), doubts),
            Remark.MAY_BE_ROUTES.value)  # fmt: skip
    why = pd.DataFrame(rows, columns=["group", "other", "part", "ratio", "lower", "upper", "note"])
    checks = pd.DataFrame(
        [
            {
                "check": Check.HABITS_RECORDED.value,
                "value": round(recorded, 3),
                "limit": ">= 0.5",
                "passed": recorded >= 0.5,
                "advice": Advice.HABITS_UNKNOWN.value,
                "about": "",
            }
        ]
    )
    return why, checks


def pressure_excess(book: Logbook, used: pd.DataFrame, by: str, level: float) -> pd.DataFrame:
    """How much faster each group wears tires than it would at placard pressure.

    Parameters
    ----------
    book : Logbook
    used : DataFrame
        Tires of a comparison.
    by : str
    level : float

    Returns
    -------
    DataFrame
        Indexed by group: ratio, lower, upper. The range holds the spread between vehicles and the
        model's doubt.
    """
    from scipy.stats import t

    runs = stretch_severity(book)
    runs = runs[(runs["position"] != SPARE) & runs["tire_id"].isin(used["tire_id"])]
    km = runs["to_km"] - runs["from_km"]
    sums = pd.DataFrame({"all": km * runs["severity"], "low": km * runs["pressure"]})
    car = sums.groupby(runs["vehicle_id"]).sum()
    log = np.log(car["all"] / (car["all"] - car["low"]))
    group = used.drop_duplicates("vehicle_id").set_index("vehicle_id")[by].reindex(log.index)
    rows = {}
    for name, mine in log.groupby(group):
        n = len(mine)
        se = float(mine.std(ddof=1) / np.sqrt(n)) if n > 1 else np.nan
        sd = np.hypot(se, abs(mine.mean()) * CAUSE_LOG_SD["pressure"])
        c = float(t.ppf((1 + level) / 2, max(n - 1, 1)))
        rows[name] = np.exp([mine.mean(), mine.mean() - c * sd, mine.mean() + c * sd])
    return pd.DataFrame.from_dict(rows, orient="index", columns=["ratio", "lower", "upper"])
