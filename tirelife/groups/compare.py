"""Wear rates of groups compared fairly: adjusted, with ranges that hold for all pairs at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.errors import misused
from tirelife.groups.advice import Advice, Apart, Check, Told
from tirelife.groups.design import (
    PLACES,
    ROADS,
    TIRE_COLUMNS,
    adjust_columns,
    build_design,
    levels,
    usable_columns,
)
from tirelife.groups.fitting import Fitted, detectable_ratio, fit_groups, group_ratio, spare_vehicles
from tirelife.groups.mixed import fit_mixed
from tirelife.groups.overlap import overlap_checks
from tirelife.groups.plausible import plausibility_checks
from tirelife.groups.response import Unused, tire_rates
from tirelife.groups.result import GroupComparison
from tirelife.groups.why import explain
from tirelife.groups.wrong import Wrong
from tirelife.wear import ASSUMED

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.wear import Factors

__all__ = ["compare_groups", "compare_rates"]

MIN_VEHICLES: Final = 3
"""Groups of fewer vehicles are not shown by default: in a group of two each driver can work out the other's
figure from the total (the rule of three of official statistics, from memory)."""
LEAST_SPARE: Final = 4
LAST_RESORTS: Final = ("mass_kg", ROADS, *reversed(PLACES))
"""Left out of the default adjustments, in this order, while fewer than four vehicles would be to
spare; said in a check."""


def compare_groups(
    book: Logbook,
    by: str = "driver_group",
    adjust: Sequence[str] | None = None,
    level: float = 0.95,
    min_vehicles: int | None = None,
    power: float = 0.8,
    factors: Factors | None = None,
) -> GroupComparison:
    """Compare the wear rates of groups of vehicles or tires.

    Parameters
    ----------
    book : Logbook
    by : str
        Any column of the vehicles or tires table: ``driver_group``, ``tire_line``, ``drive``, ``size``, …
    adjust : sequence of str, optional
        Columns to adjust for, with ``axle`` and ``season``; by default tire line, drive, mass, slow
        roads, axle, season, and site, route, depot or region where the vehicles table has them.
    level : float
        Of the ranges, 0 to 1.
    min_vehicles : int, optional
        Groups of fewer vehicles are fitted but not shown; 3 by default, 1 where tires are grouped.
    power : float
        Chance with which the detectable ratio would have been found.
    factors : Factors, optional
        Of the causes, as a fit of this log learned them (``fit.factors``), for what habits explain; as
        assumed if not given.

    Returns
    -------
    GroupComparison

    Raises
    ------
    InputError
        If there is no such column, or fewer than two groups.
    FitError
        If there are too few vehicles or tires.

    Notes
    -----
    The log of each tire's wear per distance is regressed on the groups and the columns adjusted for, with
    the vehicle as a random effect; see :mod:`tirelife.groups.mixed`. Ranges for all pairs at once follow
    Tukey and Kramer. Driving habits but for the share of slow roads are left out on purpose: they are how a
    driver group may differ. What they explain is split off in ``why``.
    """
    tires = tire_rates(book)
    out, fitted = _compare(tires, by, adjust, level, min_vehicles, power)
    pairs = list(zip(out.pairs["group"], out.pairs["other"], strict=True))
    why, checks = explain(book, fitted, pairs, level, factors or ASSUMED)
    checks = pd.concat([out.frames["checks"], checks], ignore_index=True)
    return replace(out, frames={**out.frames, "why": why, "checks": checks})


def compare_rates(
    tires: pd.DataFrame,
    by: str,
    adjust: Sequence[str] | None = None,
    level: float = 0.95,
    min_vehicles: int | None = None,
    power: float = 0.8,
) -> GroupComparison:
    """As :func:`compare_groups`, from wear rates that are there already.

    Parameters
    ----------
    tires : DataFrame
        One row a tire: tire_id, vehicle_id, drive, tire_line, front_share, warm_share, km, log_rate,
        se_log, used, rate_mm_per_1000km, and the column to group by.
    """
    return _compare(tires, by, adjust, level, min_vehicles, power)[0]


def _compare(
    tires: pd.DataFrame,
    by: str,
    adjust: Sequence[str] | None,
    level: float,
    min_vehicles: int | None,
    power: float,
) -> tuple[GroupComparison, Fitted]:
    if by not in tires.columns or by in ("tire_id", "vehicle_id", "visits", "km", "note", "used"):
        raise misused(Wrong.BY, by=by, known=", ".join(usable_columns(tires)))
    if not 0.5 < level < 1:
        raise misused(Wrong.LEVEL, level=level)
    tires = tires.copy()
    tires[by] = levels(tires[by])
    lost = tires["used"] & (tires[by] == "")
    tires.loc[lost, "note"] = Unused.NO_GROUP.value
    tires["used"] = tires["used"] & ~lost
    used = tires[tires["used"]].reset_index(drop=True)
    least = (1 if by in TIRE_COLUMNS else MIN_VEHICLES) if min_vehicles is None else min_vehicles
    cars = used.groupby(by)["vehicle_id"].nunique()
    shown = [str(g) for g in cars.index if cars[g] >= least]
    _refuse(tires, by, cars, shown, least)
    adjusted, left_out = _affordable(used, by, adjust)
    fitted = fit_groups(used, by, adjusted)
    hidden = len(fitted.design.groups) - len(shown)
    raw = fit_groups(used, by, ())
    checks = [
        _row(Check.RATES_KNOWN, float(tires["used"].mean()), ">= 0.5", tires["used"].mean() >= 0.5,
             Advice.FEW_RATES),
        _row(Check.HIDDEN, float(hidden), f"vehicles >= {least}", hidden == 0,
             Advice.HIDDEN),
        _row(Check.SPARE_VEHICLES, float(fitted.spare_vehicles), ">= 5", fitted.spare_vehicles >= 5,
             Advice.FEW_VEHICLES),
        _row(Check.NOT_ADJUSTED, float(len(left_out)), "0", not left_out,
             Advice.NOT_ADJUSTED, ", ".join(left_out)),
    ]  # fmt: skip
    overlap, apart = overlap_checks(used, by, shown, adjusted, fitted.design, fitted.fit)
    pairs = _pairs(fitted, raw, shown, apart, level, power)
    drivers = pairs["ratio"] if by == "driver_group" else pd.Series(dtype=float)
    plausible = plausibility_checks(drivers, float(np.sqrt(max(fitted.fit.between, 0.0))))
    frames = {
        "groups": _groups(used, by, fitted, raw, shown, level),
        "pairs": pairs,
        "why": pd.DataFrame(),
        "checks": pd.concat(
            [pd.DataFrame(checks), overlap, plausible, _one_vehicle(fitted, pairs, level)],
            ignore_index=True,
        ),
        "components": _components(fitted),
        "tires": tires,
    }
    return GroupComparison(by, adjusted, frames, level, hidden), fitted


def _refuse(tires: pd.DataFrame, by: str, cars: pd.Series, shown: list[str], least: int) -> None:
    """Say why nothing can be compared."""
    if (tires[by] == "").all():
        raise misused(Wrong.NOT_RECORDED, by=by)
    if not tires["used"].any():
        raise misused(Wrong.NO_RATES)
    if len(cars) < 2:
        raise misused(Wrong.ONE_GROUP, by=by, tires=int(tires["used"].sum()))
    if len(shown) < 2:
        raise misused(Wrong.TOO_SMALL, shown=len(shown), all=len(cars), by=by, least=least)


def _affordable(
    used: pd.DataFrame, by: str, adjust: Sequence[str] | None
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Columns to adjust for; of the default ones, the last resorts go where vehicles are too few."""
    wanted = adjust_columns(used, by, adjust)
    left_out: list[str] = []
    vehicle = used["vehicle_id"].to_numpy(object)
    while adjust is None:
        kept = tuple(c for c in wanted if c not in left_out)
        drop = [c for c in LAST_RESORTS if c in kept]
        if not drop or spare_vehicles(build_design(used, by, kept), vehicle) >= LEAST_SPARE:
            break
        left_out.append(drop[0])
    return tuple(c for c in wanted if c not in left_out), tuple(left_out)


def _pairs(
    fitted: Fitted,
    raw: Fitted,
    shown: list[str],
    apart: dict[tuple[str, str], tuple[str, ...]],
    level: float,
    power: float,
) -> pd.DataFrame:
    from scipy.stats import studentized_range
    from statsmodels.stats.libqsturng import qsturng

    rows = []
    for a, b in combinations(shown, 2):
        contrast = fitted.design.contrast(a, b)
        value, low, high, se, df = group_ratio(fitted, contrast, None, level)
        raw_ratio, raw_low, raw_high, *_ = group_ratio(raw, raw.design.contrast(a, b), None, level)
        reasons = apart.get((a, b), ())
        if np.isfinite(value):
            critical = float(qsturng(level, len(shown), df)) / np.sqrt(2) if len(shown) > 2 else None
            _, family_low, family_high, *_ = group_ratio(fitted, contrast, critical, level)
            c = critical if critical is not None else np.log(high / value) / se
            q = abs(np.log(value)) / se * np.sqrt(2)
            p = float(studentized_range.sf(q, len(shown), df))
            least = detectable_ratio(se, df, float(c), power)
        else:
            family_low = family_high = p = least = np.nan
            reasons = reasons or (Apart.FEW_CARS.value,)
        different = bool(family_low > 1 or family_high < 1)
        rows.append((a, b, raw_ratio, raw_low, raw_high, value, low, high, family_low, family_high, p, df,
                     least, power, different, not reasons, _told(value, different).value,
                     "; ".join(reasons)))  # fmt: skip
    return pd.DataFrame(
        rows,
        columns=["group", "other", "raw_ratio", "raw_lower", "raw_upper", "ratio", "lower", "upper",
                 "family_lower", "family_upper", "p_value", "df", "detectable_ratio",
                 "power", "different", "told_apart", "code", "reasons"],
    )  # fmt: skip


def _told(value: float, different: bool) -> Told:
    if not np.isfinite(value):
        return Told.NOT_APART
    if not different:
        return Told.NONE_SHOWN
    return Told.FASTER if value > 1 else Told.SLOWER


def _groups(
    used: pd.DataFrame, by: str, fitted: Fitted, raw: Fitted, shown: list[str], level: float
) -> pd.DataFrame:
    rows = []
    for g in shown:
        mine = used[used[by] == g]
        rate, low, high, *_ = group_ratio(fitted, fitted.design.level(g), None, level)
        ratio, ratio_low, ratio_high, *_ = group_ratio(fitted, fitted.design.against_all(g), None, level)
        # a geometric mean, as the ratios are; weighted as in the fit
        rows.append((g, len(mine), mine["vehicle_id"].nunique(), float(mine["km"].sum()),
                     float(np.exp(raw.fit.beta[raw.design.groups.index(g)])), rate, low, high, ratio,
                     ratio_low, ratio_high))  # fmt: skip
    return pd.DataFrame(
        rows,
        columns=["group", "tires", "vehicles", "distance_km", "raw_mm_per_1000km", "rate_mm_per_1000km",
                 "lower_mm_per_1000km", "upper_mm_per_1000km", "ratio", "ratio_lower", "ratio_upper"],
    )  # fmt: skip


def _components(fitted: Fitted) -> pd.DataFrame:
    fit = fitted.fit
    rows = [
        ("vehicle_log_sd", float(np.sqrt(max(fit.between, 0)))),
        ("tire_log_sd", float(np.sqrt(max(fit.within, 0)))),
        *(
            (f"log_front_over_rear, {kind} drive", float(fit.beta[column]))
            for kind, column in fitted.design.axle
        ),
    ]
    return pd.DataFrame(rows, columns=["component", "value"])


def _one_vehicle(fitted: Fitted, pairs: pd.DataFrame, level: float) -> pd.DataFrame:
    """Whether a difference that was shown rests on one vehicle; asked for up to 60 vehicles."""
    from scipy.stats import t

    found, fit = pairs[pairs["different"]], fitted.fit
    vehicle = fitted.used["vehicle_id"].to_numpy(object)
    known = np.square(fitted.used["se_log"].to_numpy(float))
    names = np.unique(vehicle)
    if found.empty or len(names) > 60:
        return pd.DataFrame()
    fragile = set()
    for name in names:
        rest = vehicle != name
        variances = (fit.between, fit.within)
        again = fit_mixed(fitted.y[rest], fitted.design.x[rest], vehicle[rest], known[rest], variances)
        for a, b in zip(found["group"], found["other"], strict=True):
            value, se, df = again.contrast(fitted.design.contrast(a, b))
            if not abs(value) > t.ppf((1 + level) / 2, df) * se:
                fragile.add((a, b))
    return pd.DataFrame(
        [_row(Check.ONE_VEHICLE, float(len(fragile)), "0", not fragile,
              Advice.ONE_VEHICLE)]
    )  # fmt: skip


def _row(
    check: Check, value: float, limit: str, passed: bool, advice: Advice, about: str = ""
) -> dict[str, object]:
    told = {"check": check.value, "value": value, "limit": limit, "passed": bool(passed)}
    return {**told, "advice": advice.value, "about": about}


def shown_groups(comparison: GroupComparison) -> list[str]:
    """Groups of a comparison that are large enough to be shown."""
    return [str(g) for g in comparison.groups["group"]]
