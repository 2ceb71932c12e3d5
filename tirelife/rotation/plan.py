"""Rotation plans: which wheel goes where, how often, and on which tires a plan may be used."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import permutations
from math import isfinite, lcm
from typing import Final

import pandas as pd

from tirelife.codes import Note, Severity
from tirelife.errors import misused
from tirelife.positions import MOUNTED, ROAD, SPARE
from tirelife.rotation.wrong import Wrong
from tirelife.tread import Verdict
from tirelife.units import MILE_KM

__all__ = [
    "CAUTIONS",
    "DEFAULT_INTERVAL_KM",
    "PATTERNS",
    "Legality",
    "Plan",
    "Refusal",
    "after",
    "all_plans",
    "legality",
    "moves",
    "named",
    "parse_plan",
    "pattern",
    "stay",
]

DEFAULT_INTERVAL_KM: Final = 5000 * MILE_KM
"""5,000 miles: the lower end of 5,000 to 8,000 miles (NHTSA TireWise), and a tire-safety site's figure
where the vehicle's maker is silent. [km]"""


class Use(StrEnum):
    """What a usual pattern is for; the words are in :mod:`tirelife.language`."""

    FRONT = "pattern-front"
    REAR = "pattern-rear"
    FRONT_OR_PERMANENT = "pattern-front-or-permanent"
    DIRECTIONAL = "pattern-directional"
    SIZES = "pattern-sizes"
    FRONT_SPARE = "pattern-front-spare"
    REAR_SPARE = "pattern-rear-spare"


@dataclass(frozen=True)
class Plan:
    """A rotation: every wheel's next place, and the distance between rotations.

    Attributes
    ----------
    name : str
        The trade's name of the pattern, or the moves.
    goes_to : tuple of (str, str)
        For each position, where the tire that is there goes; a permutation of four or five positions.
    interval_km : float
        Distance between rotations. [km]
    use : str
        What the pattern is for, a code of :class:`Use`; empty where it has no trade name.
    source : str
        Where the pattern was read.

    Examples
    --------
    >>> PATTERNS["forward cross"].order
    4
    >>> PATTERNS["forward cross"].permutation()
    (2, 3, 1, 0)
    """

    name: str
    goes_to: tuple[tuple[str, str], ...]
    interval_km: float = DEFAULT_INTERVAL_KM
    use: str = ""
    source: str = ""

    def __post_init__(self) -> None:
        from_, to = [a for a, _ in self.goes_to], [b for _, b in self.goes_to]
        known = set(MOUNTED)
        if len(set(from_)) != len(from_) or set(from_) != set(to) or not set(ROAD) <= set(from_):
            raise misused(Wrong.PLAN_PLACES, name=self.name)
        if not set(from_) <= known:
            raise misused(Wrong.PLAN_POSITION, name=self.name, known=sorted(known))
        if not (isfinite(self.interval_km) and self.interval_km > 0):
            raise misused(Wrong.PLAN_INTERVAL, name=self.name, given=self.interval_km)
        ordered = tuple((p, dict(self.goes_to)[p]) for p in MOUNTED if p in from_)
        object.__setattr__(self, "goes_to", ordered)

    @property
    def positions(self) -> tuple[str, ...]:
        """Positions that the plan knows: LF, RF, LR, RR, then SP if it takes its turn."""
        return tuple(a for a, _ in self.goes_to)

    @property
    def order(self) -> int:
        """Rotations after which every tire is back where it began."""
        return lcm(*(len(cycle) for cycle in self.cycles))

    @property
    def cycles(self) -> tuple[tuple[str, ...], ...]:
        """The rounds that tires run through, each as the positions in turn."""
        to, left, found = dict(self.goes_to), list(self.positions), []
        while left:
            cycle = [left.pop(0)]
            while (following := to[cycle[-1]]) != cycle[0]:
                cycle.append(following)
                left.remove(following)
            found.append(tuple(cycle))
        return tuple(found)

    def permutation(self) -> tuple[int, ...]:
        """For the tire at each of ``positions``, the index of the position it goes to."""
        return tuple(self.positions.index(b) for _, b in self.goes_to)

    def every(self, interval_km: float) -> Plan:
        """Return the same moves at another interval [km]."""
        return replace(self, interval_km=float(interval_km))


def _pattern(name: str, moves_: str, use: Use, source: str) -> Plan:
    pairs = tuple((a, b) for a, b in (move.split(">") for move in moves_.split()))
    return Plan(name, pairs, use=use.value, source=source)


_TRADE = "tire-maker safety site, maintenance page; Chrysler manual pages"
_MEMORY = "from memory, high"
_SPARE = "five-tire structure: tire-maker safety site; entry at the right rear: from memory, high"
PATTERNS: Final[dict[str, Plan]] = {
    plan.name: plan
    for plan in (
        _pattern(
            "forward cross",
            "LF>LR RF>RR LR>RF RR>LF",
            Use.FRONT,
            _TRADE + "; 49 CFR 575.104 (from memory) moves its convoy tires so",
        ),
        _pattern(
            "rearward cross",
            "LR>LF RR>RF LF>RR RF>LR",
            Use.REAR,
            "dealer service text (2020); " + _TRADE,
        ),
        _pattern(
            "X",
            "LF>RR RF>LR LR>RF RR>LF",
            Use.FRONT_OR_PERMANENT,
            "tire-maker safety site; Pontiac owner's manual 1957, four tires",
        ),
        _pattern("front-to-rear", "LF>LR RF>RR LR>LF RR>RF", Use.DIRECTIONAL, _TRADE),
        _pattern(
            "side-to-side",
            "LF>RF RF>LF LR>RR RR>LR",
            Use.SIZES,
            _MEMORY,
        ),
        _pattern(
            "five-tire forward cross",
            "LF>LR RF>SP SP>RR LR>RF RR>LF",
            Use.FRONT_SPARE,
            _SPARE,
        ),
        _pattern(
            "five-tire rearward cross",
            "LR>LF RR>RF LF>SP SP>RR RF>LR",
            Use.REAR_SPARE,
            _SPARE,
        ),
    )
}
"""The usual patterns by their trade names."""


def pattern(name: str, interval_km: float = DEFAULT_INTERVAL_KM) -> Plan:
    """Return a usual pattern by its trade name, at an interval [km].

    Raises
    ------
    InputError
        If the name is not one of :data:`PATTERNS`.

    Examples
    --------
    >>> pattern("X", 8000).order
    2
    """
    key = name.strip().lower().replace("_", " ")
    for known, plan in PATTERNS.items():
        if key in (known.lower(), known.lower().replace("-", " ")):
            return plan.every(interval_km)
    raise misused(Wrong.NO_PATTERN, name=name, known=", ".join(PATTERNS))


def parse_plan(text: str, interval_km: float = DEFAULT_INTERVAL_KM) -> Plan:
    """Read a plan from a trade name or from its moves.

    Parameters
    ----------
    text : str
        A name of :data:`PATTERNS`, or moves such as ``"LF>RR,RR>RF,RF>LR,LR>LF"``; a wheel that is left out
        stays where it is.
    interval_km : float
        Distance between rotations. [km]

    Raises
    ------
    InputError
        If it is neither, or two wheels would share a place.

    Examples
    --------
    >>> parse_plan("LF>RF, RF>LF").goes_to
    (('LF', 'RF'), ('RF', 'LF'), ('LR', 'LR'), ('RR', 'RR'))
    """
    if ">" not in text:
        return pattern(text, interval_km)
    pairs = [tuple(p.strip().upper() for p in move.split(">")) for move in text.split(",") if move.strip()]
    if any(len(pair) != 2 for pair in pairs):
        raise misused(Wrong.MOVES, text=text)
    to = {a: b for a, b in pairs}
    to.update({p: p for p in ROAD if p not in to})
    plan = Plan(text.strip(), tuple(to.items()), interval_km)
    return named(plan)


def named(plan: Plan) -> Plan:
    """Return the plan under its trade name, if it has one."""
    for known in PATTERNS.values():
        if known.goes_to == plan.goes_to:
            return known.every(plan.interval_km)
        if (*known.goes_to, (SPARE, SPARE)) == plan.goes_to:
            return replace(plan, name=f"{known.name}, spare stays", use=known.use, source=known.source)
    return plan


def all_plans(wheels: int) -> list[Plan]:
    """Every permutation of four or five wheels, under its trade name where it has one.

    Examples
    --------
    >>> len(all_plans(4)), len(all_plans(5))
    (24, 120)
    """
    spots = MOUNTED[:wheels]
    plans = []
    for to in permutations(spots):
        moved = ",".join(f"{a}>{b}" for a, b in zip(spots, to, strict=True) if a != b)
        plans.append(named(Plan(moved or "no rotation", tuple(zip(spots, to, strict=True)))))
    return plans


def stay(wheels: int = 4) -> Plan:
    """The plan of no rotation."""
    return all_plans(wheels)[0]


class Refusal(StrEnum):
    """Why a plan may not be used on these tires; :data:`tirelife.rotation.worth.RULES` has the standing."""

    TEMPORARY_SPARE = "temporary-spare"
    SPARE_SIZE = "spare-size"
    """sizes: the spare is not of the set's size."""
    DIRECTIONAL = "directional"
    SIZES = "sizes"
    """sizes: they differ front to rear, or side to side."""
    AT_LIMIT = "at-limit"
    """position: read at or under its removal depth."""
    NEAR_LIMIT = "near-limit"
    """position: read near its removal depth."""
    NOT_LOGGED = "not-logged"
    """position: the plan moves a tire from where none is logged."""


_HELD: Final = ((Verdict.AT_OR_UNDER, Refusal.AT_LIMIT), (Verdict.NEAR, Refusal.NEAR_LIMIT))


@dataclass(frozen=True)
class Legality:
    """Whether a plan may be used on these tires, and every obstacle as a code of :class:`Refusal`."""

    allowed: bool
    notes: tuple[Note, ...] = ()


def legality(
    plan: Plan,
    *,
    directional: bool = False,
    sizes: Mapping[str, str] | None = None,
    temporary_spare: bool = False,
    verdicts: Mapping[str, str] | None = None,
    logged: Collection[str] | None = None,
) -> Legality:
    """Say whether a plan may be used on these tires.

    Parameters
    ----------
    plan : Plan
    directional : bool
        Tires that must turn one way: none may change sides unless it is remounted on its wheel.
    sizes : mapping of str to str, optional
        Size of the tire at each position; an unknown size (empty text) is taken to match.
    temporary_spare : bool
        The spare is a temporary one, and takes no turn.
    verdicts : mapping of str to str, optional
        :class:`tirelife.tread.Verdict` of the tire at each position. One that was read at its removal depth,
        or near it, is moved nowhere: it is to be replaced, or read again.
    logged : collection of str, optional
        Positions at which a tire is known; all by default.

    Returns
    -------
    Legality
        ``notes`` names every obstacle, each once.

    Notes
    -----
    Rules as in the trade: directional tires move front-to-rear only; different sizes front and rear
    stay on their axle; with both, no rotation (from memory, high); only a full-size matching spare takes
    its turn (tire-maker safety site).

    Examples
    --------
    >>> [note.code.value for note in legality(PATTERNS["X"], directional=True).notes]
    ['directional']
    """
    against: list[Note] = []
    moved = [a for a, b in plan.goes_to if a != b]
    for verdict, code in _HELD:
        held = [p for p in moved if (verdicts or {}).get(p) == verdict]
        against += [Note(code, Severity.NOTE, (("position", p),)) for p in held]
    if logged is not None:
        missing = [p for p in plan.positions if p not in logged]
        against += [Note(Refusal.NOT_LOGGED, Severity.NOTE, (("position", p),)) for p in missing]
    if temporary_spare and any(a == SPARE and b != SPARE for a, b in plan.goes_to):
        against.append(Note(Refusal.TEMPORARY_SPARE))
    for cycle in plan.cycles:
        road = [p for p in cycle if p != SPARE]
        if directional and len({p[0] for p in road}) > 1:
            against.append(Note(Refusal.DIRECTIONAL))
        used = {p: str(s) for p in cycle if (s := (sizes or {}).get(p, "")) and str(s) != "nan"}
        if len(set(used.values())) > 1:
            lone = SPARE in used and len({used[p] for p in road if p in used}) == 1
            code = Refusal.SPARE_SIZE if lone else Refusal.SIZES
            against.append(Note(code, Severity.NOTE, (("sizes", ", ".join(sorted(set(used.values())))),)))
    return Legality(not against, tuple(dict.fromkeys(against)))


class Caution(StrEnum):
    """What is said with every rotation."""

    CAUSE = "rotate-cause-first"
    PRESSURES = "rotate-set-pressures"
    LOOK = "rotate-look-at-each"


CAUTIONS: Final = tuple(Caution)
"""Said with every rotation. The first and second are as the vehicle makers' manuals say (Chrysler manual
pages; TM 9-2610-200-14 2-18a); the third is common practice, no source."""


def moves(
    plan: Plan,
    tires: Mapping[str, str] | None = None,
    placard_kpa: Mapping[str, float] | None = None,
) -> pd.DataFrame:
    """Write a plan out as the moves a mechanic makes, wheel by wheel.

    Parameters
    ----------
    plan : Plan
    tires : mapping of str to str, optional
        The tire now at each position.
    placard_kpa : mapping of str to float, optional
        Placard cold pressure at each position. [kPa]

    Returns
    -------
    DataFrame
        from_position, to_position, tire_id, set_to_kpa; one row a wheel, in the order of the positions. The
        pressure is that of the new place, NaN where the placard is not known.

    Examples
    --------
    >>> moves(PATTERNS["X"], placard_kpa={"LF": 230, "RF": 230, "LR": 220, "RR": 220})["set_to_kpa"].tolist()
    [220, 220, 230, 230]
    """
    rows = [
        (a, b, (tires or {}).get(a, ""), (placard_kpa or {}).get(b, float("nan"))) for a, b in plan.goes_to
    ]
    return pd.DataFrame(rows, columns=["from_position", "to_position", "tire_id", "set_to_kpa"])


def after(plan: Plan, tires: Mapping[str, str], rotations: int = 1) -> dict[str, str]:
    """Return the tire at each position after so many rotations."""
    now = dict(tires)
    for _ in range(rotations):
        now = {b: now[a] for a, b in plan.goes_to}
    return now
