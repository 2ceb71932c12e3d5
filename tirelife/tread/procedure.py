"""Where to put the gauge: published procedures for reading tread depth, as tables a person can follow."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final

import numpy as np
import pandas as pd

from tirelife.errors import InputError
from tirelife.logbook import GROOVES

__all__ = ["PROCEDURES", "grading_depth", "measuring_plan"]

PROCEDURES: Final[dict[str, tuple[int, str, str]]] = {
    "army": (
        3,
        "three equally spaced points round the tire, the first next to the valve stem (next to the size "
        "marking if the tire is off the wheel)",
        "US Army TM 9-2610-200-14, p. 2-21",
    ),
    "treadwear grading": (
        6,
        "six equally spaced points in each groove, away from the wear indicators; shoulder grooves without "
        "indicators are left out",
        "49 CFR 575.104(e)(2), from memory",
    ),
    "inspection": (
        3,
        "two adjacent major grooves at three places about equally spaced",
        "49 CFR 570.9, from memory",
    ),
}
"""By name: points round the tire, the procedure in words, and its source."""


def measuring_plan(procedure: str = "army", grooves: Sequence[str] = GROOVES) -> pd.DataFrame:
    """List the readings to take on one tire, in order.

    Parameters
    ----------
    procedure : str
        A key of :data:`PROCEDURES`.
    grooves : sequence of str
        Grooves to read, from outer to inner.

    Returns
    -------
    DataFrame
        spot, angle_deg (round the tire from the valve stem), groove, words, source; grooves within spots,
        so the wheel is turned as seldom as can be.

    Examples
    --------
    >>> measuring_plan("army", ["center"])["angle_deg"].tolist()
    [0.0, 120.0, 240.0]
    """
    if procedure not in PROCEDURES:
        raise InputError(f"unknown procedure {procedure!r}: use one of {', '.join(PROCEDURES)}.")
    points, words, source = PROCEDURES[procedure]
    rows = [
        {"spot": i + 1, "angle_deg": 360.0 * i / points, "groove": groove, "words": words, "source": source}
        for i in range(points)
        for groove in grooves
    ]
    return pd.DataFrame(rows)


def grading_depth(
    readings: pd.DataFrame, with_indicators: Collection[str] = ("outer_mid", "center", "inner_mid")
) -> float:
    """Depth of a tire as the treadwear grading procedure counts it [mm].

    Parameters
    ----------
    readings : DataFrame
        groove, depth_mm: the readings of one tire on one day.
    with_indicators : collection of str
        Grooves that hold wear indicators. A shoulder groove (outer, inner) that does not is left out.

    Returns
    -------
    float
        The average of all readings that count; NaN if there are none.

    Notes
    -----
    49 CFR 575.104(e)(2), from memory: the tire's value is the average of all readings, at six equally
    spaced points in each groove, to the nearest 0.001 in.
    """
    shoulder = readings["groove"].isin(["outer", "inner"])
    counts = ~shoulder | readings["groove"].isin(list(with_indicators))
    depths = readings.loc[counts, "depth_mm"].to_numpy(dtype=float)
    return float(np.mean(depths)) if depths.size else float("nan")
