"""Columns of the comparison: groups, and what they are adjusted for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import misused
from tirelife.groups.wrong import Wrong

__all__ = ["PLACES", "ROADS", "TIRE_COLUMNS", "Design", "adjust_columns", "build_design", "levels"]

Floats = NDArray[np.float64]

TIRE_COLUMNS: Final = ("tire_line", "size", "treadwear_grade", "made_week", "price", "new_depth_mm")
"""Columns of the tires table; tires of several groups may be on one vehicle."""
PLACES: Final = ("site", "route", "depot", "region")
"""Columns of the vehicles table that are adjusted for wherever a logbook has them."""
ROADS: Final = "slow_road_share"
"""Share of a vehicle's miles under 40 mph. It tells town from open roads, which drivers seldom choose, and
town wears tires most (LEON-T: 4.2 times the rural rate); speed on open roads is left to the habits."""
AXLE_START: Final = {"front": 0.74, "rear": -0.3, "all": 0.2}
"""First guess of the log of front over rear wear by drive, from LEON-T's rural front share of 0.68 for
the car driven there; the data then decide."""
_AXLE_RANGE: Final = (-2.0, 2.5)


@dataclass(frozen=True, eq=False)
class Design:
    """The columns and what stands in them.

    Attributes
    ----------
    x : ndarray, shape (tires, columns)
        One column a group, then what is adjusted for, each measured from its mean over the tires, so a
        group's coefficient is its log rate at the fleet's mix.
    offset : ndarray, shape (tires,)
        To take off the log rates.
    groups : tuple of str
    names : tuple of str
        Names of the columns.
    axle : tuple of (drive, column)
        Columns that carry the log of front over rear wear.
    """

    x: Floats
    offset: Floats
    groups: tuple[str, ...]
    names: tuple[str, ...]
    axle: tuple[tuple[str, int], ...]

    def contrast(self, a: str, b: str) -> Floats:
        """Group a over group b, as a row of weights."""
        row = np.zeros(self.x.shape[1])
        row[self.groups.index(a)], row[self.groups.index(b)] = 1.0, -1.0
        return row

    def against_all(self, a: str) -> Floats:
        """Group a over the mean of all groups, each counting alike."""
        row = np.zeros(self.x.shape[1])
        row[: len(self.groups)] = -1 / len(self.groups)
        row[self.groups.index(a)] += 1.0
        return row

    def level(self, a: str) -> Floats:
        """Log rate of group a at the fleet's mix."""
        row = np.zeros(self.x.shape[1])
        row[self.groups.index(a)] = 1.0
        return row


def levels(values: pd.Series) -> pd.Series:
    """A column's values as text; an unknown value is an empty text."""
    known: pd.Series = values.astype(object).where(values.notna(), "")
    return pd.Series([_text(v) for v in known], index=values.index, dtype=object)


def _text(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value).strip()


def adjust_columns(tires: pd.DataFrame, by: str, adjust: Sequence[str] | None) -> tuple[str, ...]:
    """Columns that a comparison is adjusted for.

    Parameters
    ----------
    tires : DataFrame
        As from :func:`tirelife.groups.tire_rates`.
    by : str
    adjust : sequence of str, optional
        Columns named by the user; by default the tire line, the drive, the vehicle's mass, its share of
        miles on slow roads, the axle and the season that each tire ran in, and any column called site,
        route, depot or region; where tires are grouped, the driver group too.

    Returns
    -------
    tuple of str
        Those that are there, vary, and are not ``by`` itself.
    """
    if adjust is not None:
        unknown = [c for c in adjust if c not in tires and c not in ("axle", "season", ROADS)]
        if unknown:
            raise misused(
                Wrong.ADJUST, unknown=", ".join(unknown), known=", ".join(usable_columns(tires)), roads=ROADS
            )
        wanted = tuple(adjust)
    else:
        wanted = ("tire_line", "drive", "mass_kg", ROADS, *PLACES, "axle", "season")
        if by in TIRE_COLUMNS:
            wanted = (*wanted, "driver_group")
    kept = []
    for column in wanted:
        if column == by:
            continue
        if column == "axle":
            kept.append(column)
        elif column == "season":
            if tires["warm_share"].std() > 0.05:
                kept.append(column)
        elif column == "mass_kg" and adjust is None:
            mass = tires["mass_kg"] if "mass_kg" in tires else pd.Series([np.nan])
            if mass.notna().all() and np.log(mass).std() > 0.02:
                kept.append(column)
        elif column == ROADS:
            share = tires[ROADS] if ROADS in tires else pd.Series([np.nan])
            if share.notna().mean() >= 0.9 and share.std() > 0.02:
                kept.append(column)
        elif column in tires and len(set(levels(tires[column]))) > 1:
            kept.append(column)
    return tuple(kept)


def usable_columns(tires: pd.DataFrame) -> list[str]:
    """Columns that tires or vehicles can be grouped by."""
    own = {
        "tire_id", "vehicle_id", "visits", "km", "front_share", "warm_share", "slow_road_share",
        "mid_date", "used", "note", "se_log", "log_rate", "rate_mm_per_1000km",
    }  # fmt: skip
    return [c for c in tires.columns if c not in own]


def build_design(
    tires: pd.DataFrame, by: str, adjust: Sequence[str], axle: dict[str, float] | None = None
) -> Design:
    """Build the columns.

    Parameters
    ----------
    tires : DataFrame
        Tires in use.
    by : str
        Grouping column.
    adjust : sequence of str
        As from :func:`adjust_columns`.
    axle : dict of str to float, optional
        Log of front over rear wear by drive, about which the axle's column is straight.
    """
    group = levels(tires[by])
    names = tuple(sorted(group.unique()))
    parts = [np.asarray(group.to_numpy(object)[:, None] == np.array(names, object), float)]
    titles = list(names)
    offset = np.zeros(len(tires))
    axle_columns = []
    for column in adjust:
        if column == "axle":
            start = {**AXLE_START, **(axle or {})}
            share = tires["front_share"].fillna(0.5).to_numpy(float).clip(0, 1)
            drive = levels(tires["drive"]).to_numpy(object)
            for kind in sorted(set(drive)):
                here = drive == kind
                if here.sum() < 4 or np.std(share[here]) < 0.05:
                    continue
                log_ratio = float(start.get(kind, 0.0))
                mixed = share[here] * np.exp(log_ratio) + 1 - share[here]
                slope = np.zeros(len(tires))
                slope[here] = share[here] * np.exp(log_ratio) / mixed
                offset[here] = np.log(mixed) - slope[here] * log_ratio
                axle_columns.append((kind, sum(p.shape[1] for p in parts)))
                # measured from the drive's own mean, so that the drives' coefficients keep their meaning
                slope[here] -= slope[here].mean()
                parts.append(slope[:, None])
                titles.append(f"axle, {kind} drive")
        elif column in ("season", ROADS):
            value = tires["warm_share" if column == "season" else ROADS].to_numpy(float)
            value = np.where(np.isfinite(value), value, np.nanmean(value))
            parts.append((value - value.mean())[:, None])
            titles.append(column)
        elif column == "mass_kg" or (
            pd.api.types.is_numeric_dtype(tires[column]) and tires[column].notna().all()
        ):
            raw = tires[column].to_numpy(float)
            value = np.log(raw) if (raw > 0).all() else raw
            parts.append((value - value.mean())[:, None])
            titles.append(column)
        else:
            text = levels(tires[column]).to_numpy(object)
            kinds = sorted(set(text))
            dummy = np.asarray(text[:, None] == np.array(kinds[1:], object), float)
            parts.append(dummy - dummy.mean(axis=0))
            titles += [f"{column}, {kind}" for kind in kinds[1:]]
    return Design(np.hstack(parts), offset, names, tuple(titles), tuple(axle_columns))


def clip_axle(value: float) -> float:
    """Keep a log ratio of front over rear wear within what is physically likely."""
    return float(np.clip(value, *_AXLE_RANGE))
