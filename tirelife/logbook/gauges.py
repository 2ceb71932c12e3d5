"""Gauge studies: how far each gauge reads from a master, how well it repeats, and whether to trust it."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook.model import Logbook, kept
from tirelife.units import INSIDE, convert

__all__ = ["DEPTH_TOLERANCE_MM", "OVERDUE_DAYS", "corrected", "gauge_study", "pressure_tolerance"]

DEPTH_TOLERANCE_MM: Final = 0.4
"""A depth gauge is off if its error is larger [mm]: half a division of 1/32 in, our assumption."""
OVERDUE_DAYS: Final = 365
"""A gauge is due for comparison after a year; common practice, no source."""
_COLUMNS = [
    "gauge_id", "kind", "comparisons", "bias", "bias_se", "repeatability", "last_date", "worst", "off",
    "overdue",
]  # fmt: skip


def pressure_tolerance(pressure: float | NDArray[np.float64]) -> NDArray[np.float64]:
    """Largest error that a tire pressure gauge may have.

    Parameters
    ----------
    pressure : array_like
        True pressure. [kPa]

    Returns
    -------
    ndarray
        8 kPa up to 4 bar, 16 kPa up to 10 bar, 25 kPa above. [kPa]

    Notes
    -----
    The steps are those of EN 12645 (formerly directive 86/217/EEC), from memory: 0.08, 0.16 and 0.25 bar.

    Examples
    --------
    >>> pressure_tolerance([220.0, 700.0, 1050.0]).tolist()
    [8.0, 16.0, 25.0]
    """
    value = np.asarray(pressure, dtype=float)
    return np.where(value <= 400, 8.0, np.where(value <= 1000, 16.0, 25.0))


@kept
def gauge_study(book: Logbook) -> pd.DataFrame:
    """Judge every gauge that the logbook names.

    Parameters
    ----------
    book : Logbook

    Returns
    -------
    DataFrame
        One row a gauge and kind (depth, pressure), in inside units (mm, kPa): gauge_id, kind, comparisons,
        bias (mean of reading less master; NaN with no comparison), bias_se, repeatability (standard
        deviation of repeats; NaN if there were none), last_date, worst (the larger of the bias and of
        the last day's error; NaN with no comparison), off (it is more than such a gauge may err), overdue.

    Notes
    -----
    Repeatability pools the scatter of the comparisons around their mean with that of readings repeated at
    one place on one day by the same gauge. Where the spot around the tread is not written down, the
    scatter around the tire is in it, so it is an upper limit then.
    """
    compared = _comparisons(book)
    repeats = pd.concat([_repeats(book.depths, "depth"), _repeats(book.pressures, "pressure")])
    keys = pd.concat([compared[["gauge_id", "kind"]], repeats[["gauge_id", "kind"]]]).drop_duplicates()
    rows = []
    for gauge, kind in sorted(keys.itertuples(index=False, name=None)):
        mine = compared[(compared["gauge_id"] == gauge) & (compared["kind"] == kind)]
        again = repeats[(repeats["gauge_id"] == gauge) & (repeats["kind"] == kind)]
        rows.append(_judge(gauge, kind, mine, again, book.as_of))
    out = pd.DataFrame(rows, columns=_COLUMNS)
    text = dict.fromkeys(("gauge_id", "kind"), "str")
    return out.astype({**text, "off": bool, "overdue": bool, "last_date": "datetime64[us]"})


def corrected(readings: pd.DataFrame, study: pd.DataFrame) -> pd.DataFrame:
    """Take each gauge's bias out of its readings.

    Parameters
    ----------
    readings : DataFrame
        Depths (``depth_mm``, ``gauge_id``) or pressures (``pressure_kpa``, ``set_to_kpa``, ``gauge_id``).
    study : DataFrame
        From :func:`gauge_study`.

    Returns
    -------
    DataFrame
        A copy of ``readings``; ``correction_mm`` or ``correction_kpa`` is what was added, 0 for a gauge never
        compared with a master. A corrected value is never below 0.
    """
    out = readings.copy()
    kind = "depth" if "depth_mm" in out else "pressure"
    unit = INSIDE[kind]
    known = study[(study["kind"] == kind) & (study["comparisons"] > 0)].set_index("gauge_id")["bias"]
    correction = -out["gauge_id"].map(known).astype(float).fillna(0.0)
    for name in (f"{kind}_{unit}", f"set_to_{unit}"):
        if name in out:
            out[name] = (out[name] + correction).clip(lower=0.0)
    out[f"correction_{unit}"] = correction
    return out


def _comparisons(book: Logbook) -> pd.DataFrame:
    gauges = book.gauges
    error, master = np.full(len(gauges), np.nan), np.full(len(gauges), np.nan)
    for (kind, unit), group in gauges.groupby(["kind", "unit"]):
        at = gauges.index.get_indexer(group.index)
        truth = convert(group["master"].to_numpy(float), str(unit), INSIDE[str(kind)])
        error[at] = convert(group["reading"].to_numpy(float), str(unit), INSIDE[str(kind)]) - truth
        master[at] = truth
    return gauges[["gauge_id", "kind", "date"]].assign(error=error, master=master).dropna()


def _repeats(readings: pd.DataFrame, kind: str) -> pd.DataFrame:
    """Scatter of readings repeated at one place on one day: sum of squares and degrees of freedom."""
    named = readings[readings["gauge_id"] != ""]
    value = f"{kind}_{INSIDE[kind]}"
    place = ["gauge_id", "date", "vehicle_id", "position"]
    place += ["groove", "spot"] if kind == "depth" else ["state"]
    spread = named.groupby(place, dropna=False)[value].agg(["count", "var"]).reset_index()
    spread["ss"] = spread["var"].fillna(0.0) * (spread["count"] - 1)
    spread["df"] = spread["count"] - 1
    return spread.groupby("gauge_id")[["ss", "df"]].sum().reset_index().assign(kind=kind)


def _judge(
    gauge: str, kind: str, compared: pd.DataFrame, repeats: pd.DataFrame, as_of: pd.Timestamp
) -> list[object]:
    error = compared["error"].to_numpy(float)
    n = len(error)
    ss = float(repeats["ss"].sum()) + (float(np.sum((error - error.mean()) ** 2)) if n else 0.0)
    df = float(repeats["df"].sum()) + max(n - 1, 0)
    repeatability = float(np.sqrt(ss / df)) if df > 0 else np.nan
    if not n:
        return [gauge, kind, 0, np.nan, np.nan, repeatability, pd.NaT, np.nan, False, True]
    bias, last = float(error.mean()), compared["date"].max()
    latest = float(compared.loc[compared["date"] == last, "error"].mean())
    if kind == "pressure":
        tolerance = float(pressure_tolerance(compared["master"].to_numpy(float)).max())
    else:
        tolerance = DEPTH_TOLERANCE_MM
    worst = bias if abs(bias) >= abs(latest) else latest
    off = abs(worst) > tolerance + 1e-9
    overdue = (as_of - last).days > OVERDUE_DAYS
    spread = repeatability / np.sqrt(n)
    return [gauge, kind, n, bias, spread, repeatability, last, worst, off, overdue]
