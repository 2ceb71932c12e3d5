"""Published lives of treads by region and kind of tire, and what they have us hold of wear before a log."""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tirelife.errors import InputError, Problem, misused
from tirelife.rates.wrong import Wrong
from tirelife.units import INCH_32ND_MM

if TYPE_CHECKING:
    pass

__all__ = [
    "ABRASION_RANGE",
    "GRAMS_PER_MM",
    "LIVES",
    "SEASONS",
    "Life",
    "abrasion",
    "grams_per_mm",
    "life_of",
    "read_lives",
]

SEASONS: Final = ("summer", "winter", "all_season")
WORN_MM: Final = 8 * INCH_32ND_MM
"""Tread worn over a life: 10/32 to 2/32 in, or 8 to 1.6 mm (our reading of all the sources)."""
GRAMS_PER_MM: Final = 217.0
"""Mass of a millimetre of one tire's tread [g]: 1.3 kg lost over about 6 mm (Lorenčič 2023, read)."""
ABRASION_RANGE: Final = (30.0, 300.0)
"""What a car's tires can lose together [mg/km]; beyond it a log or its units are in doubt. Measured in
Europe: 110 (joint research centre, some 300 measurements), 120 (consumer test, 100 models), 52 to 82 a tonne
by maker."""


class LifeFault(StrEnum):
    """What is wrong with a row of a user's own lives."""

    SEASON = "life-season"
    BLANK = "life-blank"
    RANGE = "life-range"


@dataclass(frozen=True)
class Life:
    """A published mean or middle life.

    Attributes
    ----------
    region : str
        ``US``, ``EU``; ``EU/Austria`` lies in ``EU``.
    season : str
        One of ``SEASONS``; empty for all kinds together.
    life_km : float
        From new to the usual limit. [km]
    log_sd : float
        How surely the middle of the log is known, between places and trades (our judgement).
    year : str
        Of the source; ``n.d.`` where it has none.
    source : str
    """

    region: str
    season: str
    life_km: float
    log_sd: float
    year: str
    source: str


LIVES: Final = (
    Life(
        "US", "", 72_420.0, 0.25, "2005",
        "FMVSS 138 impact analysis: 45,000 miles, all passenger cars (NHTSA, read)",
    ),
    Life(
        "EU", "", 50_050.0, 0.25, "2024",
        "110 mg/km a car, 217 g a mm of one tire (joint research centre, read; derived)",
    ),
    Life(
        "EU", "summer", 40_640.0, 0.25, "2023",
        "consumer test of 50 tires, 71,500 to 23,100 km: geometric middle (derived)",
    ),
    Life(
        "EU", "summer", 43_420.0, 0.25, "2024",
        "consumer test of 16 tires 215/55 R17, 27,200 to 69,300 km: geometric middle (derived)",
    ),
    Life(
        "EU", "winter", 27_300.0, 0.25, "n.d.",
        "consumer test of 16 tires 195/65 R15, mean of projected lives (read)",
    ),
    Life(
        "EU", "all_season", 33_860.0, 0.35, "n.d.",
        "between the summer and winter tires of the same tests: geometric middle (our judgement); a press "
        "report reckons 30,000 km for tires of any kind (2024, read)",
    ),
    Life(
        "US", "all_season", 72_420.0, 0.30, "2005",
        "the mean of all passenger cars there, most of which run on them (from memory); a car maker says "
        "some 60,000 miles (n.d., read)",
    ),
)  # fmt: skip
"""Rows with their source and year; no test of all-season tires, or of winter tires in the US, was found."""
WITHIN_KIND_SD: Final = 0.24
"""Spread of log wear between lines of one kind: 160 tires, largest over least abrasion 3.6 (2025;
derived)."""
_COLUMNS: Final = ("region", "season", "life_km", "log_sd", "year", "source")
_ELSEWHERE_SD: Final = 0.15
"""More doubt about a ratio of kinds that is carried to another region (our judgement)."""


def read_lives(path: str | Path) -> tuple[Life, ...]:
    """Rows of a user's own, before ours: those of a region and season take the place of ours of the same.

    Parameters
    ----------
    path : path
        CSV with the columns ``region, season, life_km, log_sd, year, source``.

    Raises
    ------
    InputError
        With every value that cannot be.
    """
    name = Path(path).name
    try:
        with Path(path).open(encoding="utf-8-sig", newline="") as file:
            reader = csv.DictReader(file)
            missing = [c for c in _COLUMNS if c not in (reader.fieldnames or [])]
            if missing:
                raise misused(
                    Wrong.LIVES_COLUMNS, name=name, missing=", ".join(missing), known=", ".join(_COLUMNS)
                )
            rows = list(enumerate(reader, 2))
    except (OSError, UnicodeDecodeError) as error:
        raise misused(Wrong.LIVES_UNREAD, name=name, why=str(error)) from None
    problems, out = [], []
    for number, row in rows:
        season = (row["season"] or "").strip().lower()
        if season not in ("", *SEASONS):
            values = (("choices", tuple(SEASONS)),)
            problems.append(Problem(name, number, "season", season, code=LifeFault.SEASON, values=values))
        if not (row["region"] or "").strip() or not (row["source"] or "").strip():
            problems.append(Problem(name, number, "region", "", code=LifeFault.BLANK))
        numbers = {}
        for column, low, high in (("life_km", 5_000.0, 300_000.0), ("log_sd", 0.05, 1.5)):
            try:
                numbers[column] = float(row[column] or "nan")
            except ValueError:
                numbers[column] = math.nan
            if not low <= numbers[column] <= high:
                wrong, limits = str(row[column]), (("low", low), ("high", high))
                problems.append(Problem(name, number, column, wrong, code=LifeFault.RANGE, values=limits))
        out.append(
            Life(
                (row["region"] or "").strip(), season, numbers["life_km"], numbers["log_sd"],
                (row["year"] or "n.d.").strip(), (row["source"] or "").strip(),
            )
        )  # fmt: skip
    if problems:
        raise InputError(problems)
    theirs = {(one.region, one.season) for one in out}
    return (*out, *(one for one in LIVES if (one.region, one.season) not in theirs))


def life_of(region: str, season: str, lives: Sequence[Life] = LIVES) -> tuple[float, float, str]:
    """Log of the middle life [log km], how surely it is known, and who says so.

    Several rows of one region and season are pooled. Where a region has no row for a season, the ratio of the
    kinds in a region that has both is taken there, with more doubt; where a region has none at all, the US
    row stands for it. Capitals do not matter in a region's name.
    """
    names = {one.region.casefold(): one.region for one in lives}
    place = region.strip().casefold()
    while place and place not in names:
        place = place.rpartition("/")[0].strip()
    place = names.get(place, "US")
    own = [one for one in lives if (one.region, one.season) == (place, season)]
    if own:
        weights = [1 / one.log_sd**2 for one in own]
        middle = sum(w * math.log(one.life_km) for w, one in zip(weights, own, strict=True)) / sum(weights)
        # Tests of one region share their method: pooling makes none surer than the surest.
        return middle, min(one.log_sd for one in own), "; ".join(f"{one.source}, {one.year}" for one in own)
    if not season:  # kinds of tire are known there, and not all together
        kinds = [
            life_of(place, one, lives)
            for one in SEASONS
            if any((x.region, x.season) == (place, one) for x in lives)
        ]
        return sum(k[0] for k in kinds) / len(kinds), max(k[1] for k in kinds), "; ".join(k[2] for k in kinds)
    base, sd, said = life_of(place, "", lives)
    for other in dict.fromkeys(one.region for one in lives):
        both = [any((x.region, x.season) == (other, kind) for x in lives) for kind in ("", season)]
        if other != place and all(both):
            there, there_sd, there_said = life_of(other, season, lives)
            return (
                base + there - life_of(other, "", lives)[0],
                math.hypot(there_sd, _ELSEWHERE_SD),
                there_said,
            )
    return base, sd, said


def abrasion(log_rate: float) -> float:
    """What four tires lose together at a log rate [log mm/km] [mg/km]."""
    return 4 * 1000 * GRAMS_PER_MM * math.exp(log_rate)


def grams_per_mm(
    life_km: float,
    mg_per_km_tonne: float,
    tonnes: float = 1.4,
    front_share: float = 0.7,
    worn_mm: float = WORN_MM,
) -> float:
    """Mass of a millimetre of a front tire's tread by a life and an abrasion of the same tire [g].

    The life is that of the front axle's tires, which take ``front_share`` of what a car of so many tonnes
    loses. The three figures, life, abrasion and mass of tread, must agree.

    Examples
    --------
    >>> round(grams_per_mm(71_500, 34.8))
    192
    """
    return life_km * mg_per_km_tonne * tonnes * front_share / 2 / 1000 / worn_mm
