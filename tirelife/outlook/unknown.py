"""What a logbook does not say of a vehicle, what is assumed instead, and how much telling it is worth."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.driving import Z80
from tirelife.logbook import assumed_facts, of_vehicles
from tirelife.outlook.forecasts import forecast
from tirelife.outlook.state import REMOVAL_DEPTH_MM
from tirelife.positions import SPARE
from tirelife.rates import fit_logbook

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["UNKNOWN_COLUMNS", "Fact", "worth_in_fleet", "worth_of_facts"]

Array = NDArray[np.float64]

UNKNOWN_COLUMNS: Final = (
    "vehicle_id", "fact", "assumed", "assumed_mm", "low_mm", "high_mm", "assumed_kpa", "low_kpa", "high_kpa",
    "range_km", "known_km", "narrows_km",
)  # fmt: skip
_DRIVES: Final = {"front": 0.6, "rear": 0.15, "all": 0.25}
"""Drives of cars and vans, before the fleet's own; common practice, no source."""
_WORTH: Final = 3.0
"""Vehicles of the fleet that those shares are worth; our assumption."""
_PLACARD_SD_KPA: Final = 20.0
"""Of a placard that is taken from pressures read, or for want of them as usual; our assumption. [kPa]"""
_LEVELS: Final = np.array([0.1, 0.25, 0.5, 0.75, 0.9])
_NORMAL: Final = np.array([-Z80, -0.6744897502, 0.0, 0.6744897502, Z80])
_POINTS: Final = np.linspace(-3.5, 3.5, 701)


class Fact(StrEnum):
    """What may not be known of a vehicle."""

    NEW_DEPTH = "new-depth"
    DRIVE = "drive"
    PLACARDS = "placards"


def worth_of_facts(
    book: Logbook, fit: WearFit, vehicle_id: str, removal_depth_mm: float = REMOVAL_DEPTH_MM
) -> pd.DataFrame:
    """What is assumed of a vehicle for want of a record, and by how much each fact would narrow its answer.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of this logbook.
    vehicle_id : str
    removal_depth_mm : float
        [mm]

    Returns
    -------
    DataFrame
        :data:`UNKNOWN_COLUMNS`, a row a fact (:class:`Fact`), the most useful first; none where all is
        recorded. ``assumed`` is the drive; ``assumed_mm`` to ``high_mm`` the estimated depth when new with
        its 80 % range, ``assumed_kpa`` to ``high_kpa`` the placard. ``range_km`` is the width of the 80 %
        range of the distance left, the mean of the tires on the road, with the fact not known;
        ``known_km`` with it known, and ``narrows_km`` the difference, not below 0.

    Notes
    -----
    Measured by doing the answer again: the vehicle alone is fitted after what its fleet taught, as the log
    stands and with the fact at each value it may have. Not knowing is then the mixture of those answers;
    knowing it has their mean width, each by how likely its value is. A depth when new that is not known is in
    the fit already, as its start's own spread.
    """
    mine = of_vehicles(book, [vehicle_id])
    row = mine.vehicles[mine.vehicles["vehicle_id"] == vehicle_id]
    assumed = assumed_facts(mine.vehicles, vehicle_id)
    path = book.stretches
    on = path.loc[path["open"] & (path["vehicle_id"] == vehicle_id), "tire_id"]
    lacking = mine.tires["tire_id"].isin(on) & mine.tires["new_depth_mm"].isna()
    placards = any(name.startswith("placard") for name in assumed)
    if row.empty or not (lacking.any() or "drive" in assumed or placards):
        return pd.DataFrame(columns=list(UNKNOWN_COLUMNS))

    def answer(change: Callable[[dict[str, pd.DataFrame]], None] | None = None) -> Array:
        tables = {name: table.copy() for name, table in mine.tables.items()}
        if change is not None:
            change(tables)
        one = replace(mine, tables=tables)
        table = forecast(one, fit_logbook(one, fit.posterior), removal_depth_mm=removal_depth_mm)
        columns = [f"km_left_p{round(100 * level)}" for level in _LEVELS]
        return table.loc[table["position"] != SPARE, columns].to_numpy(dtype=float)

    base = answer()
    rows = []
    if lacking.any():
        rows.append(_new_depth(mine, fit, lacking, base, answer))
    if "drive" in assumed:
        rows.append(_drive(book, str(row["drive"].iloc[0]), base, answer))
    if placards:
        rows.append(_placards(mine, row, assumed, base, answer))
    out = pd.DataFrame([{"vehicle_id": vehicle_id, **one} for one in rows]).reindex(
        columns=list(UNKNOWN_COLUMNS)
    )
    out["assumed"] = out["assumed"].fillna("")
    out["narrows_km"] = (out["range_km"] - out["known_km"]).clip(lower=0.0)
    return out.sort_values("narrows_km", ascending=False, kind="stable", ignore_index=True)


def worth_in_fleet(book: Logbook, most: int = 3, fitted: int = 12) -> tuple[pd.DataFrame, int]:
    """The same for a logbook: means over some of its vehicles that lack a fact, those read most often.

    Parameters
    ----------
    book : Logbook
    most : int
        Vehicles that it is measured on.
    fitted : int
        Vehicles, those read most often, that the fit is made of.

    Returns
    -------
    unknown : DataFrame
        As :func:`worth_of_facts` gives it, with no vehicle; the most useful first.
    measured : int
        How many vehicles it was measured on.
    """
    days = book.depths.groupby("vehicle_id")["date"].nunique().sort_values(ascending=False, kind="stable")
    some = of_vehicles(book, list(days.index[:fitted]))
    fit = fit_logbook(some)
    found = [worth_of_facts(some, fit, str(name)) for name in days.index[:most]]
    found = [one for one in found if len(one)]
    if not found:
        return pd.DataFrame(columns=list(UNKNOWN_COLUMNS)), 0
    both = pd.concat(found, ignore_index=True)
    numbers = [name for name in UNKNOWN_COLUMNS if name not in ("vehicle_id", "fact", "assumed")]
    mean = both.groupby("fact")[numbers].mean()
    mean["assumed"] = both.groupby("fact")["assumed"].agg(lambda names: names.mode().iloc[0])
    mean = mean.reset_index().assign(vehicle_id="")[list(UNKNOWN_COLUMNS)]
    return mean.sort_values("narrows_km", ascending=False, kind="stable", ignore_index=True), len(found)


Answer = Callable[[Callable[[dict[str, pd.DataFrame]], None] | None], Array]


def _new_depth(
    mine: Logbook, fit: WearFit, lacking: pd.Series, base: Array, answer: Answer
) -> dict[str, object]:
    found = fit.tires.set_index("tire_id").reindex(mine.tires["tire_id"])
    start = found["new_depth_mm"].to_numpy(dtype=float)
    sd = found["new_depth_sd_mm"].to_numpy(dtype=float)
    these = lacking.to_numpy(dtype=bool)

    def known(tables: dict[str, pd.DataFrame]) -> None:
        tables["tires"].loc[these, "new_depth_mm"] = start[these]

    middle = float(np.nanmean(start[these]))
    wide = Z80 * math.hypot(float(np.nanmean(sd[these])), float(np.nanstd(start[these])))
    return {
        "fact": Fact.NEW_DEPTH.value, "assumed_mm": middle, "low_mm": middle - wide, "high_mm": middle + wide,
        "range_km": _width(base), "known_km": _width(answer(known)),
    }  # fmt: skip


def _drive(book: Logbook, held: str, base: Array, answer: Answer) -> dict[str, object]:
    told = book.vehicles.loc[~book.vehicles["assumed"].str.contains("drive"), "drive"].value_counts()
    chance = {name: _WORTH * share + float(told.get(name, 0)) for name, share in _DRIVES.items()}

    def with_drive(name: str) -> Callable[[dict[str, pd.DataFrame]], None]:
        def change(tables: dict[str, pd.DataFrame]) -> None:
            tables["vehicles"]["drive"] = name

        return change

    answers = [base if name == held else answer(with_drive(name)) for name in _DRIVES]
    return {
        "fact": Fact.DRIVE.value, "assumed": held, **_mixed(answers, np.array(list(chance.values()))),
    }  # fmt: skip


def _placards(
    mine: Logbook, row: pd.DataFrame, assumed: frozenset[str], base: Array, answer: Answer
) -> dict[str, object]:
    names = [f"{name}_kpa" for name in assumed if name.startswith("placard")]
    held = float(np.nanmean(row[names].to_numpy(dtype=float)))

    def moved(by: float) -> Callable[[dict[str, pd.DataFrame]], None]:
        def change(tables: dict[str, pd.DataFrame]) -> None:
            tables["vehicles"][names] = tables["vehicles"][names] + by

        return change

    # Three points of a normal distribution (Gauss and Hermite): its mean, and as far as the root of three
    # off it.
    far = math.sqrt(3.0) * _PLACARD_SD_KPA
    read = len(mine.tables["pressures"]) > 0  # a placard counts for what was read beside it
    answers = [answer(moved(-far)), base, answer(moved(far))] if read else [base] * 3
    wide = Z80 * _PLACARD_SD_KPA
    return {
        "fact": Fact.PLACARDS.value, "assumed_kpa": held, "low_kpa": held - wide, "high_kpa": held + wide,
        **_mixed(answers, np.array([1.0, 4.0, 1.0])),
    }  # fmt: skip


def _width(quantiles: Array) -> float:
    return float(np.nanmean(quantiles[:, -1] - quantiles[:, 0])) if len(quantiles) else math.nan


def _mixed(answers: list[Array], weights: Array) -> dict[str, float]:
    """Width of the range with the fact not known, and its mean width with it known. [km]"""
    share = weights / weights.sum()
    apart = float(share @ np.array([_of_mixture([one], np.ones(1)) for one in answers]))
    known = float(share @ np.array([_width(one) for one in answers]))
    return {"range_km": known + max(_of_mixture(answers, share) - apart, 0.0), "known_km": known}


def _of_mixture(answers: list[Array], share: Array) -> float:
    """Mean width over the tires of the 80 % range of a mixture of distributions. [km]"""
    mass = np.exp(-0.5 * _POINTS**2)
    wide = []
    for tire in range(len(answers[0])):
        values = np.concatenate([_drawn(one[tire]) for one in answers])
        weight = np.concatenate([s * mass / mass.sum() for s in share])
        order = np.argsort(values, kind="stable")
        below = np.cumsum(weight[order]) - 0.5 * weight[order]
        low, high = np.interp([0.1, 0.9], below, values[order])
        wide.append(high - low)
    return float(np.nanmean(wide)) if wide else math.nan


def _drawn(quantiles: Array) -> Array:
    """Points of a distribution from its quantiles, straight on past the outer ones."""
    inside = np.interp(_POINTS, _NORMAL, quantiles)
    low = quantiles[0] + (quantiles[1] - quantiles[0]) / (_NORMAL[1] - _NORMAL[0]) * (_POINTS - _NORMAL[0])
    high = quantiles[-1] + (quantiles[-1] - quantiles[-2]) / (_NORMAL[-1] - _NORMAL[-2]) * (
        _POINTS - _NORMAL[-1]
    )
    out = np.where(_NORMAL[0] > _POINTS, low, np.where(_NORMAL[-1] < _POINTS, high, inside))
    return np.asarray(np.maximum(out, 0.0))
