"""What each tire started from: new as stated, new as its line is, or part-worn when it was first recorded."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.normal import ndtr
from tirelife.units import INCH_32ND_MM

if TYPE_CHECKING:
    from tirelife.rates.prior import Prior

__all__ = ["Starts", "start_priors"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

SPENT_MM: Final = 2 * INCH_32ND_MM
"""Least depth that a tire is taken to be first recorded with: where treadwear indicators stand (FMVSS 139
S5.4). [mm]"""
UNKNOWN_SD_MM: Final = 0.6
"""Tires of one line and unknown new depth, about their line's; our assumption. [mm]"""
_READ_SD_MM: Final = 0.35
"""Error of one tire's first reading, gauge and visit together, for telling new from part-worn. [mm]"""
_STATED_SD_MM: Final = 0.3
"""New depths about what was stated, for the same; both our assumption. [mm]"""
_WORN_BEFORE: Final = (0.05, 0.2, 0.15, 0.5)
"""How many tires are part-worn when first recorded, before a reading: of those with a stated new depth,
mounted later or on the day that their vehicle was first recorded, and of those without. Our assumption."""
_WORTH: Final = 8.0
"""How many tires each of those shares is worth; our assumption."""
_DOUBT_SD_MM: Final = 1.0
"""Start of a tire whose stated new depth must be wrong, about its first reading; our assumption. [mm]"""
_DOUBT_SHARE: Final = 0.2
"""From this share of tires on, read deeper than their line's new depth, none of the line is held to it; our
assumption."""
_LONG_KM: Final = 3000.0
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)


@dataclass(frozen=True)
class Starts:
    """Normal distributions of the depths that tires started from, before their readings; one value a tire.

    Attributes
    ----------
    mean : ndarray
        [mm]
    variance : ndarray
        What is not known of it beyond what new tires of one line differ by. [mm²]
    new : ndarray of bool
        It shares what is found of its line's new depth.
    worn : ndarray of bool
        It was more likely part-worn than new when first recorded.
    over : ndarray of bool
        It was read so much deeper than its new depth that this must be wrong.
    """

    mean: Array
    variance: Array
    new: Flags
    worn: Flags
    over: Flags


def start_priors(
    used: pd.DataFrame, table: pd.DataFrame, row_unit: NDArray[np.int64], prior: Prior
) -> Starts:
    """Law of the depth that each tire started from.

    Parameters
    ----------
    used : DataFrame
        Tire-visits, sorted by tire and date: ``depth_mm, reference_km``.
    table : DataFrame
        Tires: ``tire_line, new_depth_mm`` (NaN where unknown), optionally ``vehicle_id, first_date,
        first_probability``.
    row_unit : ndarray
        Row of ``table`` of each tire-visit.
    prior : Prior

    Notes
    -----
    A tire came new or part-worn. New, it started from its stated depth, from what other tires of its line are
    stated to have, or from the prior's; part-worn, from anywhere between the wear indicators and that
    depth, each depth as likely. Its first reading tells which of the two, given how fast tires wear here and
    how fast it wore itself: Bayes' rule over nine rates. The start's law is the mixture of both, as the
    normal with its mean and variance, and that of a part-worn tire lies about where its first reading puts
    it: wide, so that the readings rule. A stated new depth stands until a reading speaks against it. Where
    it is inferred that a tire was fitted, it counts as part-worn as far as that is doubtful. All is our
    choice; no source.
    """
    stated = table["new_depth_mm"].to_numpy(float)
    known = np.isfinite(stated)
    of_line = _of_line(table, stated)
    new = np.where(known, stated, np.where(np.isfinite(of_line), of_line, prior.new_depth.mean))
    # A line's common departure is another unknown (``start LINE``): here only what a tire has of its own.
    new_var = np.where(known, 0.0, UNKNOWN_SD_MM**2)
    new_sd = np.where(np.isfinite(of_line), UNKNOWN_SD_MM, math.hypot(UNKNOWN_SD_MM, prior.new_depth.sd))
    new_sd = np.where(known, _STATED_SD_MM, new_sd)
    low = np.minimum(SPENT_MM, new - 0.5)
    kind = np.where(known, 0, 2) + _first_day(table)
    chance = np.array(_WORN_BEFORE)[kind]
    over = np.zeros(len(table), bool)
    read = np.zeros(len(table), bool)
    middle, gone = (low + new) / 2, np.zeros(len(table))
    if len(used):
        first = np.unique(row_unit, return_index=True)[1]
        unit = row_unit[first]
        depth = used["depth_mm"].to_numpy(float)[first]
        begun, weight = _begun(used, row_unit, first, prior)
        wide = np.hypot(new_sd[unit], _READ_SD_MM)
        off = (begun - new[unit][:, None]) / wide[:, None]
        as_new = np.exp(-0.5 * off**2) @ weight / (wide * math.sqrt(2 * math.pi))
        inside = ndtr((begun - low[unit][:, None]) / _READ_SD_MM)
        inside = inside - ndtr((begun - new[unit][:, None]) / _READ_SD_MM)
        as_worn = inside @ weight / (new - low)[unit]
        chance[unit] = _chances(as_worn, as_new, chance[unit], kind[unit])
        # Deeper than new can be is not part-worn: the depth that was taken for new is wrong.
        over[unit] = depth - new[unit] > np.where(known[unit], 1.0, 2.0)
        read[unit] = True
        alike = pd.Series(over[unit]).groupby([_lines(table)[unit], new[unit]])
        over[unit] |= alike.transform("mean").to_numpy() > _DOUBT_SHARE
        # Priors about another depth than was read would bias all visit effects, where many tires have them.
        middle[unit] = np.maximum(begun @ weight, low[unit])
        gone[unit] = middle[unit] - depth
    # What is stated stands until a reading speaks against it.
    chance = np.where(known & ~(read & (chance > 0.5)), 0.0, chance)
    chance = np.where(over, 1.0, chance)
    if "first_probability" in table:
        chance = 1 - (1 - chance) * table["first_probability"].fillna(1.0).to_numpy(float)
    # Put by the usual rate, all of them together may not speak for that rate.
    worn_var = np.where(over, _DOUBT_SD_MM**2, (new - low) ** 2 / 12) + chance.sum() * gone**2
    mean = (1 - chance) * new + chance * middle
    variance = (1 - chance) * new_var + chance * worn_var + chance * (1 - chance) * (new - middle) ** 2
    return Starts(mean, variance, chance <= 0.5, (chance > 0.5) & ~over, over)


def _chances(as_worn: Array, as_new: Array, before: Array, kind: NDArray[np.int64]) -> Array:
    """Chance that each tire came part-worn; how many do, of each kind, the log itself teaches."""
    for _ in range(20):
        worn = before * as_worn
        after = worn / np.maximum(worn + (1 - before) * as_new, 1e-300)
        for k, held in enumerate(_WORN_BEFORE):
            mine = kind == k
            if mine.any():
                before[mine] = (_WORTH * held + after[mine].sum()) / (_WORTH + mine.sum())
    return np.asarray(after)


def _of_line(table: pd.DataFrame, stated: Array) -> Array:
    """Median of the new depths stated for tires of the same line; NaN where there are none."""
    return np.asarray(pd.Series(stated).groupby(_lines(table)).transform("median"), float)


def _lines(table: pd.DataFrame) -> NDArray[np.object_]:
    return np.asarray(table["tire_line"].fillna("").astype(str), object)


def _first_day(table: pd.DataFrame) -> Flags:
    """Whether a tire was mounted on the day that its vehicle was first recorded."""
    if not {"vehicle_id", "first_date"} <= set(table):
        return np.ones(len(table), bool)
    day = pd.to_datetime(table["first_date"])
    return np.asarray(day <= day.groupby(table["vehicle_id"]).transform("min"), bool)


def _begun(
    used: pd.DataFrame, row_unit: NDArray[np.int64], first: NDArray[np.int64], prior: Prior
) -> tuple[Array, Array]:
    """Depth each read tire started from, by its first reading and nine rates, and the rates' weights."""
    reading, run = used["depth_mm"].to_numpy(float), used["reference_km"].to_numpy(float)
    last = np.append(first[1:], len(row_unit)) - 1
    lost, far = reading[first] - reading[last], run[last] - run[first]
    held = prior.log_rate.mean
    spread = np.exp([prior.spreads[name].mean for name in ("block", "line", "unit", "axle")])
    long = far > _LONG_KM
    usual = np.append(lost[long] / far[long], np.full(3, math.exp(held)))
    middle = math.log(max(float(np.median(usual)), 0.2 * math.exp(held)))
    own_sd = _READ_SD_MM * math.sqrt(2) / np.maximum(lost, 0.05)
    own = np.log(np.maximum(lost, 0.05) / np.maximum(far, 1.0))
    worth = np.where((far > 0) & (lost > _READ_SD_MM), 1 / own_sd**2, 0.0)
    law = 1 / (prior.log_rate.sd**2 + float(spread @ spread))
    mean = (law * middle + worth * own) / (law + worth)
    rate = np.exp(mean[:, None] + _NODES / np.sqrt(law + worth)[:, None])
    return reading[first][:, None] + rate * np.maximum(run[first], 0.0)[:, None], _WEIGHTS / _WEIGHTS.sum()
