"""What is held about wear before a reading: from published figures, or from a fit that was saved."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import astuple, dataclass, field, fields, replace
from enum import StrEnum
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from tirelife.driving import DRIVERS_LOG_SD
from tirelife.errors import InputError, Problem, misused
from tirelife.logbook import whole_file
from tirelife.rates.lives import LIVES, read_lives
from tirelife.rates.wrong import Wrong
from tirelife.units import INCH_32ND_MM, MILE_KM
from tirelife.wear import ASSUMED, Factors
from tirelife.wear.cause import CAUSES

if TYPE_CHECKING:
    from tirelife.rates.result import WearFit

__all__ = ["PUBLISHED", "Belief", "Prior", "lives_prior", "load_prior", "save_prior"]

FORMAT: Final = "tirelife prior"
VERSION: Final = 1
_LONGEST: Final = 1000


class PriorFault(StrEnum):
    """What is wrong with a saved fit."""

    TABLE = "prior-table"
    NAME = "prior-name"
    INCOMPLETE = "prior-incomplete"
    TEXT = "prior-text"
    FACTORS = "prior-factors"
    PAIR = "prior-pair"
    RANGE = "prior-range"


@dataclass(frozen=True)
class Belief:
    """A normal distribution: mean and standard deviation."""

    mean: float
    sd: float

    def __post_init__(self) -> None:
        # Plain numbers: a kept fit is told by the same words as the one that it was.
        object.__setattr__(self, "mean", float(self.mean))
        object.__setattr__(self, "sd", float(self.sd))


def _tread_life() -> Belief:
    """Log wear rate [log mm/km] of an average tire on an average wheel.

    Mean life 45,000 miles from 10/32 to 2/32 in; the log rate of a lognormal life with that mean.
    """
    spread = math.hypot(_VEHICLE, _LINE, _TIRE)
    km = 45_000 * MILE_KM
    return Belief(math.log(8 * INCH_32ND_MM / km) + spread**2 / 2, 0.25)


_VEHICLE = DRIVERS_LOG_SD
# 160 tires: largest over least abrasion 3.6, and 160 normals span 5.36 sd, so 0.24; 50 tires in one test, 126
# over 34.8 mg/km a tonne and 4.50 sd, so 0.29; 15 tires of one size 0.176 (consumer tests 2023 to 2025, and
# 2021).
_LINE = 0.26
_TIRE = 0.08


@dataclass(frozen=True)
class Prior:
    """What is held about wear rates before the data.

    Attributes
    ----------
    log_rate : Belief
        Log of mm per reference km on an average wheel; its sd is between places and trades.
    lines, groups : mapping of str to Belief
        Log ratios of tire lines and driver groups already met.
    axle : mapping of str to Belief
        By drive: log ratio of front to rear wear beyond what the reference distance holds.
    starts : mapping of str to Belief
        By tire line: what new depths turned out to be, less what was stated [mm].
    new_depth : Belief
        Of a tire whose new depth is not known [mm].
    grade : Belief
        Log rate per log treadwear grade, about grade 340.
    bend : Belief
        Curvature q of treads that bend; most wear nearly straight (see ``BENT_SHARE`` and ``STRAIGHT`` in
        :mod:`tirelife.rates.curvature`).
    spreads : mapping of str to Belief
        Log standard deviations: ``noise, visit, start`` [log mm], ``scatter`` [log sqrt km], ``drift,
        habit`` [log 1/sqrt km], ``unit, block, axle, line, group`` [log of a log ratio].
    factors : Factors
        How much more or less each cause takes than the physics says.
    lives : tuple of tuple
        Fields of :class:`~tirelife.rates.lives.Life`: published lives, by which a logbook's region and kinds
        of tire move ``log_rate`` and ``lines``; empty once a log has been learned from.
    source : str
        Where it comes from, in words.

    Notes
    -----
    What the sources say: mean tread life 45,000 miles (NHTSA, FMVSS 138 impact analysis, tread life
    section); best and worst tenths of users in one place two-fold apart (Tire Science and Technology
    1(2):202, 1973); abrasion of 50 and of 160 tires (consumer tests 2023 to 2025); wear
    straight with distance to r² > 0.99 with a scatter of 2 mils (Brenner, Scheiner and Kondo 1975), so
    the curvature is held near 0; treadwear grade does not predict mass loss (Grigoratos et al. 2018), so
    its exponent is held at -0.3 and not at the -1 that a ratio of lives would mean. What we assume: 10/32
    to 2/32 as the wear over that life, the two-fold as the ratio of the 10 % and 90 % points, the sd
    between places (0.25), between tires of one line and vehicle (0.08), of readings and visits, of
    wandering, and that grades centre on 340.
    """

    log_rate: Belief = field(default_factory=_tread_life)
    lines: Mapping[str, Belief] = field(default_factory=dict)
    groups: Mapping[str, Belief] = field(default_factory=dict)
    axle: Mapping[str, Belief] = field(
        default_factory=lambda: {drive: Belief(0.0, 0.35) for drive in ("front", "rear", "all")}
    )
    starts: Mapping[str, Belief] = field(default_factory=dict)
    new_depth: Belief = Belief(10.5 * INCH_32ND_MM, 1.0)
    grade: Belief = Belief(-0.3, 0.2)
    bend: Belief = Belief(0.0, 0.7)
    spreads: Mapping[str, Belief] = field(
        default_factory=lambda: {
            "noise": Belief(math.log(0.2), 0.5),
            "visit": Belief(math.log(0.15), 0.7),
            "scatter": Belief(math.log(2.0), 1.2),
            "habit": Belief(math.log(0.0003), 1.2),
            "drift": Belief(math.log(0.0001), 1.2),
            "start": Belief(math.log(0.1), 0.5),
            "unit": Belief(math.log(_TIRE), 0.5),
            "block": Belief(math.log(_VEHICLE), 0.4),
            "axle": Belief(math.log(0.15), 0.5),
            "line": Belief(math.log(_LINE), 0.4),
            "group": Belief(math.log(0.15), 0.4),
        }
    )
    factors: Factors = ASSUMED
    lives: tuple[tuple[str, str, float, float, str, str], ...] = tuple(astuple(one) for one in LIVES)
    source: str = "published figures"

    def __post_init__(self) -> None:
        for name in ("lines", "groups", "axle", "starts", "spreads"):
            object.__setattr__(self, name, MappingProxyType(dict(getattr(self, name))))

    def __reduce__(self) -> tuple[Any, ...]:
        whole = (getattr(self, f.name) for f in fields(self))
        return Prior, tuple(dict(v) if isinstance(v, Mapping) else v for v in whole)


PUBLISHED: Final = Prior()
"""The prior that answers when there is no fleet."""

_LOWEST_SD: Final = 1e-4
_LIMITS: Final[Mapping[str, tuple[float, float, float]]] = {
    "log_rate": (math.log(1e-5), math.log(0.05), 3.0),
    "lines": (-2.0, 2.0, 2.0),  # of log ratios: seven times and a seventh
    "groups": (-2.0, 2.0, 2.0),
    "axle": (-2.0, 2.0, 2.0),
    "starts": (-10.0, 10.0, 10.0),
    "new_depth": (1.0, 40.0, 20.0),
    "grade": (-5.0, 5.0, 5.0),
    "bend": (-3.0, 3.0, 3.0),
    "spreads": (-12.0, 0.0, 1.5),  # of log ratios: at 1, one in six is 2.7 times the usual
    "spreads.noise": (-12.0, math.log(5.0), 1.5),
    "spreads.visit": (-12.0, math.log(5.0), 1.5),
    "spreads.start": (-12.0, math.log(5.0), 1.5),
    "spreads.scatter": (-12.0, 4.0, 1.5),
    "spreads.drift": (-25.0, -4.0, 1.5),
    "spreads.habit": (-25.0, -4.0, 1.5),
}
"""Lowest and highest mean, and highest sd, that can be meant; far beyond any tire, well within what can be
computed. Common practice, no source: 0.05 mm/km wears a tread away in a day of driving."""
_MOST: Final = 100_000
"""Entries of one table of a saved fit."""
_MAPS: Final = ("lines", "groups", "axle", "starts", "spreads")
_ONES: Final = ("log_rate", "new_depth", "grade", "bend")


def save_prior(fit: WearFit | Prior, path: str | Path) -> None:
    """Save what a fit learned, as the prior for the next walk-in.

    Parameters
    ----------
    fit : WearFit or Prior
    path : str or Path
        JSON file; written whole or not at all. No reading, tire or vehicle is in it.

    Raises
    ------
    InputError
        If the folder cannot be written.
    """
    prior = fit if isinstance(fit, Prior) else fit.posterior
    made: dict[str, Any] = {"format": FORMAT, "version": VERSION, "source": prior.source}
    for name in _ONES:
        made[name] = _plain(getattr(prior, name))
    for name in _MAPS:
        made[name] = {key: _plain(belief) for key, belief in sorted(getattr(prior, name).items())}
    made["factors"] = {
        "causes": list(CAUSES), "log_mean": list(prior.factors.log_mean),
        "cov": [list(row) for row in prior.factors.cov], "level": list(prior.factors.level),
    }  # fmt: skip
    target = Path(path)
    with whole_file(target) as part, part.open("w", encoding="utf-8") as out:
        json.dump(made, out, indent=1, allow_nan=False, ensure_ascii=False)
        out.write("\n")


def lives_prior(path: str | Path) -> Prior:
    """What is published, with the lives of a user's own table before ours.

    Raises InputError if it cannot be read: see :func:`tirelife.rates.lives.read_lives`.
    """
    return replace(PUBLISHED, lives=tuple(astuple(one) for one in read_lives(path)))


def load_prior(path: str | Path) -> Prior:
    """Read a prior that :func:`save_prior` wrote.

    Raises
    ------
    InputError
        With every problem found: it is not there, is not JSON, is of another kind or version, or holds a
        value that cannot be meant.
    """
    name = Path(path).name
    try:
        if Path(path).stat().st_size > 20_000_000:
            raise misused(Wrong.SAVED_LARGE, name=name)
        made = json.loads(Path(path).read_text(encoding="utf-8"), parse_constant=_no_constant)
    except OSError as error:
        raise misused(Wrong.SAVED_UNREAD, name=name, why=error.strerror) from None
    except (ValueError, RecursionError):
        raise misused(Wrong.SAVED_JSON, name=name) from None
    if not isinstance(made, dict) or made.get("format") != FORMAT:
        raise misused(Wrong.NO_SAVED_FIT, name=name)
    if made.get("version") != VERSION:
        raise misused(Wrong.SAVED_VERSION, name=name, made=made.get("version"), known=VERSION)
    unknown = sorted(set(made) - {f.name for f in fields(Prior)} - {"format", "version"})
    missing = sorted({*_ONES, *_MAPS, "source"} - set(made))
    if unknown or missing:
        raise misused(Wrong.SAVED_FIELDS, name=name, unknown=unknown, missing=missing)
    wrong: list[Problem] = []
    found: dict[str, Any] = {key: _belief(made[key], key, key, name, wrong) for key in _ONES}
    for key in _MAPS:
        table = made[key]
        if not isinstance(table, dict) or len(table) > _MOST:
            wrong.append(_fault(name, key, "", PriorFault.TABLE, most=f"{_MOST:,}"))
            continue
        odd = [k for k in table if k != k.strip() or not k]
        if odd:
            wrong.append(_fault(name, key, odd[0][:60], PriorFault.NAME))
        found[key] = {k: _belief(v, f"{key}.{k}", key, name, wrong) for k, v in table.items()}
        whole = {"spreads": PUBLISHED.spreads, "axle": PUBLISHED.axle}.get(key)
        if whole is not None and set(whole) != set(table):
            wrong.append(_fault(name, key, "", PriorFault.INCOMPLETE))
    if not isinstance(made["source"], str) or len(made["source"]) > _LONGEST:
        wrong.append(_fault(name, "source", "", PriorFault.TEXT, most=_LONGEST))
    factors = _factors(made["factors"]) if "factors" in made else ASSUMED
    if factors is None:
        shown = json.dumps(made["factors"])[:60]
        wrong.append(_fault(name, "factors", shown, PriorFault.FACTORS, names=tuple(CAUSES)))
    if wrong or factors is None:
        raise InputError(wrong)
    return Prior(**found, factors=factors, lives=(), source=made["source"])


def _factors(made: Any) -> Factors | None:
    """Read the distribution of the causes' factors; None if it cannot be one."""
    if not isinstance(made, dict) or set(made) != {"causes", "log_mean", "cov", "level"}:
        return None
    if made["causes"] != list(CAUSES):
        return None
    try:
        mean, cov, level = (np.array(made[key], dtype=float) for key in ("log_mean", "cov", "level"))
    except (TypeError, ValueError):
        return None
    count = len(CAUSES)
    if mean.shape != (count,) or cov.shape != (count, count) or level.shape not in ((0,), (count,)):
        return None
    sane = np.isfinite(cov).all() and bool((np.abs(mean) <= 3).all() and (np.abs(level) <= 2).all())
    if not sane or not np.allclose(cov, cov.T) or not (np.diag(cov) <= 4).all():
        return None
    if float(np.linalg.eigvalsh(cov)[0]) <= 0:
        return None
    rows = tuple(tuple(row) for row in cov.tolist())
    return Factors(tuple(mean.tolist()), rows, level=tuple(level.tolist()))


def _fault(name: str, column: str, value: str, code: PriorFault, **values: object) -> Problem:
    return Problem(name, 0, column, value, code=code, values=tuple(values.items()))


def _plain(belief: Belief) -> dict[str, float]:
    return {"mean": float(belief.mean), "sd": float(belief.sd)}


def _no_constant(word: str) -> float:
    raise ValueError(word)


def _belief(made: Any, where: str, kind: str, name: str, wrong: list[Problem]) -> Belief | None:
    """Read one distribution; what is wrong with it is added to ``wrong``."""
    numbers: list[Any] = (
        [made.get(key) for key in ("mean", "sd")] if isinstance(made, dict) and len(made) == 2 else []
    )
    low, high, most = _LIMITS.get(where, _LIMITS[kind])
    shown = json.dumps(made)[:60]
    if len(numbers) != 2 or not all(isinstance(v, int | float) and not isinstance(v, bool) for v in numbers):
        wrong.append(_fault(name, where, shown, PriorFault.PAIR))
    elif not low <= numbers[0] <= high or not _LOWEST_SD <= numbers[1] <= most:
        limits = {"low": f"{low:.4g}", "high": f"{high:.4g}", "least_sd": _LOWEST_SD, "most_sd": most}
        wrong.append(_fault(name, where, shown, PriorFault.RANGE, **limits))
    else:
        return Belief(float(numbers[0]), float(numbers[1]))
    return None
