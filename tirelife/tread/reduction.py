"""Readings reduced to sums, one row a place, day and gauge: one group-by that any engine can run.

Written once, as narwhals expressions, for pandas, Polars, DuckDB and what else narwhals drives: a log too
large for one machine is reduced where it lies, and :func:`tirelife.tread.visits.visits_from_sums` goes on
from the sums. They hold all that the later steps need: counts, totals and least readings by groove and the
sum of squares.
"""

from __future__ import annotations

from typing import Any, Final

import narwhals as nw

from tirelife.logbook import GROOVES

__all__ = ["SUM_COLUMNS", "reduce_readings"]

KEYS: Final = ("vehicle_id", "position", "date", "gauge_id")
SUM_COLUMNS: Final = (
    *KEYS,
    "low_km",
    "high_km",
    "doubtful",
    "squares_mm2",
    *(f"n_{g}" for g in GROOVES),
    *(f"total_{g}_mm" for g in GROOVES),
    *(f"least_{g}_mm" for g in GROOVES),
)
"""Columns of the sums: odometer range, count of doubtful readings, sum of squared depths, and by groove the
number of readings, their total and the least of them."""


def reduce_readings(readings: Any) -> Any:
    """Collapse depth readings to one row of sums a vehicle, position, day and gauge.

    Parameters
    ----------
    readings : DataFrame, LazyFrame or relation that narwhals knows
        vehicle_id, position, date, odometer_km, groove, depth_mm, gauge_id (text, may be empty), doubt (text,
        empty where there is none).

    Returns
    -------
    same kind as given
        :data:`SUM_COLUMNS`, in no order; counts are whole numbers. A reading without a depth is not counted.

    Notes
    -----
    Sums, so partitions of a log may be reduced apart and their sums added (of odometer ranges and least
    readings the outer ones taken): the totals are those of one pass, but for rounding in the last place.
    """
    frame = nw.from_native(readings)
    depth = nw.col("depth_mm")
    frame = frame.with_columns(depth.fill_nan(None)).filter(~depth.is_null())
    marked = {g: nw.col("groove") == g for g in GROOVES}
    frame = frame.with_columns(
        (depth * depth).alias("squares_mm2"),
        nw.when(nw.col("doubt") != "").then(nw.lit(1)).otherwise(nw.lit(0)).alias("doubtful"),
        *(nw.when(marked[g]).then(nw.lit(1)).otherwise(nw.lit(0)).alias(f"n_{g}") for g in GROOVES),
        *(nw.when(marked[g]).then(depth).otherwise(nw.lit(0.0)).alias(f"total_{g}_mm") for g in GROOVES),
        *(nw.when(marked[g]).then(depth).alias(f"least_{g}_mm") for g in GROOVES),
    )
    added = ("doubtful", "squares_mm2", *(f"n_{g}" for g in GROOVES), *(f"total_{g}_mm" for g in GROOVES))
    return (
        frame.group_by(*KEYS)
        .agg(
            nw.col("odometer_km").min().alias("low_km"),
            nw.col("odometer_km").max().alias("high_km"),
            *(nw.col(name).sum() for name in added),
            *(nw.col(f"least_{g}_mm").min() for g in GROOVES),
        )
        .select(*SUM_COLUMNS)
        .to_native()
    )
