"""Removal depths by place, axle and season, as data that a user can extend."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from importlib.resources import as_file, files
from pathlib import Path
from typing import Final, Literal

import pandas as pd

from tirelife.errors import InputError, Problem, misused, refusal
from tirelife.tread.wrong import Wrong
from tirelife.units import KINDS, convert

__all__ = [
    "LIMIT_COLUMNS",
    "RemovalDepth",
    "removal_depth",
    "removal_depths",
]

LIMIT_COLUMNS: Final = (
    "place", "vehicles", "axle", "season_from", "season_to", "depth", "unit", "kind", "rule", "source",
    "standing", "dated",
)  # fmt: skip
"""Columns of a file of removal depths; ``axle`` is front, rear or any, a season MM-DD to MM-DD or blank."""

_NEEDED: Final = ("place", "depth", "unit", "source")
_AXLES: Final = ("any", "front", "rear")
_BINDING: Final = ("law", "inspection", "manual", "standard")


class LimitFault(StrEnum):
    """What is wrong with a file of removal depths."""

    UNREADABLE = "limits-unreadable"
    LACKS = "limits-lacks"
    PLACE = "limits-place"
    SOURCE = "limits-source"
    UNIT = "limits-unit"
    DEPTH = "limits-depth"
    AXLE = "limits-axle"
    DAY = "limits-day"
    SEASON = "limits-season"


@dataclass(frozen=True)
class RemovalDepth:
    """The depth at which a tire has to come off, and what says so.

    Attributes
    ----------
    depth_mm : float
        The limit that binds; NaN if no entry does.
    advised_mm : float
        The deepest entry of kind ``advice`` that applies; NaN if none does.
    source, standing, dated : str
        Of the limit: what says so, whether that was read or recalled, and its date where known.
    rule : str
        The rule as its table has it; empty where no limit is known. The local code decides, whatever it says.
    """

    depth_mm: float
    advised_mm: float
    source: str
    standing: str
    dated: str
    rule: str


def removal_depths(extra: str | Path | None = None) -> pd.DataFrame:
    """Every removal depth known, with its source, standing and date.

    Parameters
    ----------
    extra : path, optional
        A CSV with columns of :data:`LIMIT_COLUMNS`; ``place``, ``depth``, ``unit`` and ``source`` are needed.
        Its entries take the place of ours of the same place, vehicles, axle, season and kind.

    Returns
    -------
    DataFrame
        :data:`LIMIT_COLUMNS` and ``depth_mm``. A place may lie within another: ``EU/Austria``.

    Raises
    ------
    InputError
        If a column is missing or a value cannot be used; every bad row is named.
    """
    with as_file(files("tirelife.tread") / "limits.csv") as path:
        table = _read(path)
    if extra is None:
        return table
    key = ["place", "vehicles", "axle", "season_from", "season_to", "kind"]
    both = pd.concat([table, _read(Path(extra))], ignore_index=True)
    return both.drop_duplicates(key, keep="last", ignore_index=True)


def removal_depth(
    place: str = "US",
    axle: Literal["front", "rear"] = "front",
    on: str | pd.Timestamp | None = None,
    *,
    vehicles: str = "car",
    limits: pd.DataFrame | None = None,
) -> RemovalDepth:
    """Removal depth for a place, axle and day.

    Parameters
    ----------
    place : str
        As in the table, such as ``"US"``, ``"US/California"`` or ``"EU/Austria"``. Entries of the places it
        lies within apply too, unless it has one of its own for the same day.
    axle : {"front", "rear"}
    on : date, optional
        Without a day, an entry for a season does not apply.
    vehicles : str
        ``"car"`` (light trucks too), ``"truck or bus"``, ``"motorcycle"``.
    limits : DataFrame, optional
        From :func:`removal_depths`; the built-in table by default.

    Raises
    ------
    InputError
        If the place is not in the table.

    Examples
    --------
    >>> removal_depth("EU/Austria", on="2026-01-10").depth_mm
    4.0
    >>> removal_depth("EU/Austria", on="2026-06-10").depth_mm
    1.6
    """
    table = removal_depths() if limits is None else limits
    known = {"/".join(p.split("/")[: n + 1]) for p in table["place"] for n in range(p.count("/") + 1)}
    if place not in known:
        raise misused(Wrong.PLACE, place=place, known=", ".join(sorted(known)))
    within = ["/".join(place.split("/")[: n + 1]) for n in range(place.count("/") + 1)]
    day = None if on is None else pd.Timestamp(on).strftime("%m-%d")
    table = table[table["place"].isin(within)]
    fits = table["axle"].isin(["any", axle]) & table["vehicles"].isin(["any", vehicles])
    seasons = zip(table["season_from"], table["season_to"], strict=True)
    fits &= pd.Series([_in_season(a, b, day) for a, b in seasons], table.index)
    found = table[fits].assign(near=table["place"].str.count("/"))
    advice = found.loc[found["kind"] == "advice", "depth_mm"]
    advised = float(advice.max()) if len(advice) else float("nan")
    binding = found[found["kind"].isin(_BINDING)].sort_values(["near", "depth_mm"])
    if binding.empty:
        return RemovalDepth(float("nan"), advised, "", "", "", "")
    row = binding.iloc[-1]
    return RemovalDepth(
        float(row["depth_mm"]), advised, row["source"], row["standing"], row["dated"], row["rule"]
    )


def _in_season(first: str, last: str, day: str | None) -> bool:
    if not first:
        return True
    if day is None:
        return False
    return first <= day <= last if first <= last else (day >= first or day <= last)


def _read(path: Path) -> pd.DataFrame:
    name = path.name
    try:
        raw = pd.read_csv(path, dtype=str, keep_default_na=False, encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError, pd.errors.ParserError, pd.errors.EmptyDataError) as error:
        raise refusal(name, LimitFault.UNREADABLE, why=str(error)) from error
    missing = [c for c in _NEEDED if c not in raw]
    if missing:
        lacking = ", ".join(missing)
        raise refusal(name, LimitFault.LACKS, 1, missing[0], lacking=lacking, names=LIMIT_COLUMNS)
    blanks = {"vehicles": "any", "axle": "any", "kind": "law"}
    table = pd.DataFrame({c: raw[c].str.strip() if c in raw else "" for c in LIMIT_COLUMNS}, index=raw.index)
    for column, value in blanks.items():
        table[column] = table[column].replace("", value)
    table["depth"] = pd.to_numeric(table["depth"], errors="coerce")
    problems = _problems(name, raw, table)
    if problems:
        raise InputError(problems)
    table["depth_mm"] = [
        float(convert(d, u, "mm")) for d, u in zip(table["depth"], table["unit"], strict=True)
    ]
    return table


def _problems(name: str, raw: pd.DataFrame, table: pd.DataFrame) -> Sequence[Problem]:
    found = []
    for i in range(len(table)):
        row = table.iloc[i]

        def bad(column: str, code: LimitFault, i: int = i, **values: object) -> None:
            value = str(raw.iloc[i][column]) if column in raw else ""
            found.append(Problem(name, i + 2, column, value, code=code, values=tuple(values.items())))

        if not row["place"]:
            bad("place", LimitFault.PLACE)
        if not row["source"]:
            bad("source", LimitFault.SOURCE)
        if row["unit"] not in KINDS["depth"]:
            bad("unit", LimitFault.UNIT, choices=tuple(KINDS["depth"]))
        elif not 0 <= convert(row["depth"], row["unit"], "mm") <= 40:
            bad("depth", LimitFault.DEPTH)
        if row["axle"] not in _AXLES:
            bad("axle", LimitFault.AXLE, choices=_AXLES)
        for column in ("season_from", "season_to"):
            day = pd.to_datetime(f"2024-{row[column]}", format="%Y-%m-%d", errors="coerce")
            if row[column] and pd.isna(day):
                bad(column, LimitFault.DAY)
        if bool(row["season_from"]) != bool(row["season_to"]):
            bad("season_from", LimitFault.SEASON)
    return found
