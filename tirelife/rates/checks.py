"""Whether to trust a fit: one row a check, and one verdict on all of them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.codes import Note, Severity
from tirelife.rates.advice import Advice, Check
from tirelife.rates.result import CHECKS
from tirelife.rates.verdict import FitReason, FitVerdict
from tirelife.units import INCH_32ND_MM

if TYPE_CHECKING:
    from tirelife.rates.tables import Found

__all__ = ["judge", "make_checks", "unsolved"]

_WORN_MM: Final = 3.5
"""A tire that left with more than this left early, for other reasons than its tread."""
_OFF_MM: Final = 1.2
"""A fitted depth so far from the last reading, 1.5/32, is no gauge's error; our choice. [mm]"""
_OFF_SHARE: Final = 0.2
"""Share of tires off by that, from which a fit does not hold; our choice."""
_LIFE_KM: Final = (3_000.0, 1_500_000.0)
"""Usual tread lives beyond these are no tires'; our choice. [km]"""
_STATED_MM: Final = 2 * INCH_32ND_MM
"""New depths this far from what is stated: the statement is wrong; our choice. [mm]"""
_OVER_SHARE: Final = 0.05
"""Share of tires read deeper than new, from which that is no slip of the pen; our choice."""
_DECREMENT: Final = 2.0
"""A fit that one more step would better by so much has not been found at all; our choice."""
_LOST_SHARE: Final = 0.1
"""Lost ranges, as a share of the tires, from which a fit does not hold; our choice."""
_ROUGH: Final = frozenset(
    {
        FitReason.NOT_CONVERGED, FitReason.SECOND_START, FitReason.RANGES_LOST, FitReason.GRADIENT,
        FitReason.NEW_DEPTH_OFF, FitReason.FAR_READINGS, FitReason.ONE_SIDED, FitReason.VISIT_EFFECTS,
        FitReason.EARLY_LEAVERS,
    }
)  # fmt: skip
_REFUSING: Final = frozenset({FitReason.UNSOLVED, FitReason.OFF_ITS_READINGS, FitReason.OUT_OF_SCALE})
Row = (
    tuple[str, float, float, bool, Advice, FitReason | None]
    | tuple[str, float, float, bool, Advice, FitReason | None, str]
)


def make_checks(found: Found, frames: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Every check of a fit.

    Parameters
    ----------
    found : Found
    frames : dict of DataFrame
        The frames made so far: estimates, components, tires, vehicles, visits.

    Returns
    -------
    DataFrame
        ``check, value, limit, passed, advice, code, about``; ``check`` is a code of
        :class:`tirelife.rates.advice.Check`, and a check passes when its value is within its
        limit, and then has no advice. ``advice`` is a code of :class:`tirelife.rates.advice.Advice`, whose
        words :mod:`tirelife.language` has, and ``about`` what is to stand in them; ``code`` is that of the
        :class:`FitReason` that a failed one is, or empty.
    """
    return _table(
        [
            *_trust(found, frames),
            *_readings(found, frames),
            *_sense(found, frames),
            *_tires(found, frames["tires"]),
            *_rate(found),
            *_identifiable(found, frames["estimates"]),
        ]
    )


def unsolved() -> pd.DataFrame:
    """Checks of a fit that could not be solved."""
    return _table([(Check.SOLVED, 0.0, 1.0, False, Advice.UNSOLVED, FitReason.UNSOLVED)])


def _table(rows: list[Row]) -> pd.DataFrame:
    told = [
        (str(row[0]), *row[1:4], row[4].value, row[5].value if row[5] else "", row[6] if len(row) > 6 else "")
        for row in rows
    ]
    table = pd.DataFrame(told, columns=list(CHECKS))
    for name in ("advice", "about"):
        table[name] = table[name].where(~table["passed"], "")
    return table


def judge(checks: pd.DataFrame, tires: int, *more: FitReason) -> FitVerdict:
    """Verdict on a fit of so many tires, from its checks and further reasons."""
    notes = [Note(code, _severity(code, 0.0, tires)) for code in more]
    failed = checks[~checks["passed"].astype(bool) & (checks["code"] != "")]
    for row in failed.to_dict("records"):
        code, value = FitReason(row["code"]), float(row["value"])
        values = (("value", value), ("limit", float(row["limit"])))
        notes.append(Note(code, _severity(code, value, tires), values))
    return FitVerdict(tuple(notes))


def _severity(code: FitReason, value: float, tires: int) -> Severity:
    if (
        code in _REFUSING
        or (code is FitReason.GRADIENT and value > _DECREMENT)
        or (code is FitReason.RANGES_LOST and value > _LOST_SHARE * tires)
    ):
        return Severity.WARNING
    return Severity.DOUBT if code in _ROUGH else Severity.NOTE


def _trust(found: Found, frames: dict[str, pd.DataFrame]) -> list[Row]:
    spread = found.estimate
    ranges = (
        frames["estimates"]["std_error"], frames["components"]["lower"], frames["tires"]["depth_sd_mm"],
        frames["tires"]["log_wear_sd"],
    )  # fmt: skip
    lost = int(sum(values.isna().sum() for values in ranges))
    return [
        (
            Check.CONVERGED, float(spread.rounds), float(spread.most), spread.converged,
            Advice.NOT_CONVERGED, FitReason.NOT_CONVERGED,
        ),
        (
            Check.GRADIENT, spread.decrement, 0.1, bool(spread.decrement <= 0.1),
            Advice.GRADIENT, FitReason.GRADIENT,
        ),
        (
            Check.LOST_RANGES, float(lost), 0.0, lost == 0,
            Advice.RANGES_LOST, FitReason.RANGES_LOST,
        ),
        (
            Check.LEFT_OUT, float(found.names.lost), 0.0, found.names.lost == 0,
            Advice.LEFT_OUT,
            FitReason.LEFT_OUT,
        ),
    ]  # fmt: skip


def _readings(found: Found, frames: dict[str, pd.DataFrame]) -> list[Row]:
    """Shape of what is left over, readings that are far off, and what visits share."""
    visits = frames["visits"]
    count = len(visits)
    if count == 0:
        return []
    off = visits["standardized"].to_numpy(float)
    far = float(np.mean(np.abs(off) > 3))
    outliers = int(visits["outlier"].sum())
    middle = off[np.abs(off) < 4]
    shaped = len(middle) > 20 and middle.std() > 0
    skew = float(np.mean(((middle - middle.mean()) / middle.std()) ** 3)) if shaped else math.nan
    noise, visit = math.sqrt(found.estimate.variances[0]), math.sqrt(found.estimate.variances[1])
    return [
        (
            Check.FAR_SHARE, far, max(0.01, 2 / count), far <= max(0.01, 2 / count),
            Advice.FAR_READINGS,
            FitReason.FAR_READINGS,
        ),
        (
            Check.SKEW, skew, 0.5, not abs(skew) > 0.5,
            Advice.ONE_SIDED,
            FitReason.ONE_SIDED,
        ),
        (
            Check.OUTLIERS, float(outliers), float(count // 100), outliers <= count // 100,
            Advice.OUTLIERS, None,
        ),
        (
            Check.VISIT_EFFECT, visit / noise, 1.5, visit <= 1.5 * noise,
            Advice.VISIT_EFFECTS,
            FitReason.VISIT_EFFECTS,
        ),
    ]  # fmt: skip


def _sense(found: Found, frames: dict[str, pd.DataFrame]) -> list[Row]:
    """Whether the fit stands by its last readings, and what it says is a tire's life at all."""
    tires, names, unit = frames["tires"], found.names, found.blocks.row_unit
    if not len(unit):
        return []
    last = np.append(unit[1:] != unit[:-1], True)
    row = pd.DataFrame(
        {
            "tire_id": names.table["tire_id"].to_numpy()[unit[last]],
            "read_mm": found.used["depth_mm"].to_numpy(float)[last],
            "counts": found.columns.noise_ratio[:-1][last] < 2 * found.data.noise[last],
        }
    ).merge(tires[["tire_id", "depth_mm", "new_depth_mm", "log_wear"]], on="tire_id")
    counts = row[row["counts"]]
    away = ~((counts["depth_mm"] - counts["read_mm"]).abs() <= _OFF_MM)
    off = float(away.mean()) if len(away) else 0.0
    use = np.maximum(row["new_depth_mm"] - _STATED_MM, 1.0)
    life = float(np.median(use / np.exp(np.clip(row["log_wear"].fillna(99.0), -99, 99))))
    wrong = 0.0
    mean = found.result.mean
    for i, term in enumerate(names.terms):
        kind, _, line = term.partition(" ")
        if kind == "start" and names.stated[names.lines.index(line)]:
            wrong = max(wrong, abs(float(mean[i])))
    over = float(np.mean(names.over)) if names.over else 0.0
    return [
        (
            Check.OFF_READINGS, off, _OFF_SHARE, off <= _OFF_SHARE,
            Advice.OFF_ITS_READINGS,
            FitReason.OFF_ITS_READINGS,
        ),
        (
            Check.USUAL_LIFE, life / 1000, _LIFE_KM[1] / 1000, _LIFE_KM[0] <= life <= _LIFE_KM[1],
            Advice.OUT_OF_SCALE, FitReason.OUT_OF_SCALE,
        ),
        (
            Check.NEW_DEPTH_OFF, wrong, _STATED_MM, wrong <= _STATED_MM,
            Advice.NEW_DEPTH_OFF, FitReason.NEW_DEPTH_OFF,
        ),
        (
            Check.OVER_NEW, over, _OVER_SHARE, over <= _OVER_SHARE,
            Advice.OVER_NEW, FitReason.NEW_DEPTH_OFF,
        ),
        (
            Check.UNIDENTIFIED_LINES, float(names.unidentified), 0.0, names.unidentified == 0,
            Advice.STARTS_UNIDENTIFIED,
            FitReason.STARTS_UNIDENTIFIED,
        ),
    ]  # fmt: skip


def _tires(found: Found, tires: pd.DataFrame) -> list[Row]:
    odd = tires.loc[~tires["belongs"].astype(bool), "tire_id"].tolist()
    named = ", ".join(map(str, odd[:3])) + (", …" if len(odd) > 3 else "")
    rows: list[Row] = [
        (
            Check.ODD_TIRES, float(len(odd)), 0.0, not odd,
            Advice.ODD_TIRES, FitReason.ODD_TIRES, named,
        )
    ]  # fmt: skip
    left = found.names.table.get("left")
    if left is None:
        return rows
    gone = tires.set_index("tire_id").reindex(found.names.table["tire_id"])
    read = gone["visits"].to_numpy() > 0
    deep = gone["depth_mm"].to_numpy(float) > _WORN_MM
    early, others = left.to_numpy(bool) & read & deep, read & ~(left.to_numpy(bool) & deep)
    score = math.nan
    if early.sum() >= 3 and others.sum() >= 3:
        own = found.units.own + found.units.effect[found.blocks.unit_block]
        gap = own[early].mean() - own[others].mean()
        error = math.sqrt(own[early].var(ddof=1) / early.sum() + own[others].var(ddof=1) / others.sum())
        score = gap / error if error > 0 else math.nan
    rows.append(
        (
            Check.EARLY_LEAVERS, abs(score), 3.0, not abs(score) > 3.0,
            Advice.EARLY_FASTER if score > 0 else Advice.EARLY_SLOWER, FitReason.EARLY_LEAVERS,
        )
    )  # fmt: skip
    return rows


def _rate(found: Found) -> list[Row]:
    scatter, drift = found.estimate.variances[2], found.estimate.variances[3] + found.estimate.variances[8]
    wander = math.sqrt(scatter / 1e4 + drift * 1e4 / 3)
    at = found.blocks.bend_fixed
    q, error = float(found.result.mean[at]), math.sqrt(found.result.cov[at, at])
    return [
        (
            Check.WANDER, wander, 0.06, wander <= 0.06,
            Advice.WANDERS,
            FitReason.WANDERS,
        ),
        (
            Check.CURVATURE, abs(q) / error, 2.5, abs(q) <= 2.5 * error,
            Advice.BENDS_SLOWS if q > 0 else Advice.BENDS_QUICKENS, FitReason.BENDS, f"{q:.2f}",
        ),
    ]  # fmt: skip


def _identifiable(found: Found, estimates: pd.DataFrame) -> list[Row]:
    """One row a term: its spread after the data over its spread before."""
    before = 1 / np.sqrt(np.maximum(found.estimate.priors.precision, 1e-300))
    after = np.sqrt(np.diag(found.result.cov))
    share = after / before
    share[found.blocks.bend_fixed] = found.bend_sd_ratio
    return [
        (
            f"{Check.IDENTIFIABLE}: {term}", float(value), 0.9, bool(value <= 0.9),
            Advice.PRIOR_ANSWERS,
            FitReason.PRIOR_RATE if i == 0 else None,
        )
        for i, (term, value) in enumerate(zip(estimates["term"], share, strict=True))
    ]  # fmt: skip
