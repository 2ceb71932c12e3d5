"""The reading of a vehicle's tread: ranked causes, the evidence, how sure, and what to check next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.codes import Note, Severity
from tirelife.errors import misused
from tirelife.positions import AXLES
from tirelife.tread.causes import weigh_wheels
from tirelife.tread.checks import OWN, RIVAL_FROM, Step, apart, chances, checks_first
from tirelife.tread.evidence import evidence
from tirelife.tread.history import WheelHistory, measured_toe, wheel_histories
from tirelife.tread.patterns import NEEDS_ANGLES
from tirelife.tread.service import cornering_ratios
from tirelife.tread.signs import Finding, Sign, sign_advice
from tirelife.tread.wrong import Wrong
from tirelife.units import INCH_32ND_MM

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["ACROSS_TREAD_MM", "CAUSE_COLUMNS", "STEP_COLUMNS", "Why", "next_steps", "weigh_causes"]

ACROSS_TREAD_MM: Final = 2 * INCH_32ND_MM
"""Difference between the edges of a tread from which angles are measured: 2/32 in. Common practice, no
source."""

MEASURE_FROM: Final = 0.25
"""Probability of a cause from which its check is advised; our assumption."""

CAUSE_COLUMNS: Final = [
    "vehicle_id", "axle", "position", "tires", "cause", "side", "probability", "evidence", "next_check",
]  # fmt: skip
STEP_COLUMNS: Final = ["vehicle_id", "order", "step", "where", "note"]


class Why(StrEnum):
    """Why a step is advised, where no finding by itself asks for it."""

    LOW = "low-pressure"
    HIGH = "high-pressure"
    TURNS = "hard-cornering"
    ROADS = "crowned-roads"
    LOAD = "overload"
    ANGLES = "angles"
    """first: what to measure first, toe or camber; toe_mm: toe as last measured, if it was."""
    DIAGONAL = "diagonal"
    """The same: slantwise wear of tires that roll freely; toe of this axle, and whether it runs true."""
    ACROSS = "across-tread"
    """position, across_mm: the edges differ by so much or more."""
    CUPS = "cups"
    FLAT = "flat"
    FELT = "felt"
    """kind: a finding asks for it, whatever the gauge says."""
    TELLS_APART = "tells-apart"
    """one, other: two causes that the gauge cannot tell apart, and this can."""
    CUPS_EVEN_OUT = "cups-even-out"
    """Cups of tires that roll freely even out on the driven axle; angles: whether they come first."""
    FEW_GROOVES = "few-grooves"
    EVEN = "even"
    NOT_RUN = "not-run"
    """No tire that was read has run here yet."""


def weigh_causes(
    book: Logbook,
    vehicles: Iterable[str] | None = None,
    findings: Iterable[Finding] = (),
    *,
    roads: str = "",
    resolution_mm: float | Mapping[str, float] | None = None,
    odds: Mapping[str, float] | None = None,
    histories: Mapping[str, Mapping[str, WheelHistory]] | None = None,
    with_evidence: bool = True,
) -> pd.DataFrame:
    """Weigh the causes of wear at every wheel of some vehicles.

    Parameters
    ----------
    book : Logbook
        Read with ``as_of`` to stand on an earlier day.
    vehicles : iterable of str, optional
        All by default.
    findings : iterable of Finding, optional
        What was felt and seen; needs a single vehicle.
    roads : str
        What its driver says of the roads: crowned (they fall to one side), level, or empty; also of a single
        vehicle.
    resolution_mm : float or mapping of str to float, optional
        Step of the gauges; inferred where it is not given. [mm]
    odds : mapping of str to float, optional
        Takes the place of entries of :data:`tirelife.tread.patterns.ODDS`.
    histories : mapping, optional
        From :func:`tirelife.tread.history.wheel_histories`, if it is at hand.
    with_evidence : bool
        False leaves ``evidence`` empty, for who only wants the checks of a whole fleet.

    Returns
    -------
    DataFrame
        :data:`CAUSE_COLUMNS`, likeliest first at each wheel. ``side`` is the edge that camber or crowned
        roads wear. Causes may act together: probabilities at a wheel need not sum to 1; ``even_wear`` is that
        none acts. ``evidence`` is a tuple of notes (:class:`tirelife.tread.evidence.Seen`), ``next_check`` a
        :class:`tirelife.tread.checks.Step`: for the likeliest cause the cheapest check that tells it from its
        nearest rival, for the others their own.

    Raises
    ------
    InputError
        If a vehicle is not in the logbook, or findings or roads are given for more than one.
    """
    wanted = list(dict.fromkeys(book.vehicles["vehicle_id"] if vehicles is None else vehicles))
    drive = book.vehicles.set_index("vehicle_id")["drive"]
    unknown = [vehicle for vehicle in wanted if vehicle not in drive.index]
    if unknown:
        raise misused(Wrong.NO_VEHICLE, vehicle=unknown[0], known=_names(drive.index))
    signs = list(findings)
    if (signs or roads) and len(wanted) != 1:
        raise misused(Wrong.WHOSE_FINDING)
    known = wheel_histories(book, wanted, resolution_mm=resolution_mm) if histories is None else histories
    parts, toes, turning = [], measured_toe(book), cornering_ratios(book)
    for vehicle in wanted:
        wheels = known[vehicle]
        if not wheels:
            continue
        toe, turns = toes.get(vehicle, {}), turning.get(vehicle, float("nan"))
        here = {position: history.wheel for position, history in wheels.items()}
        table = weigh_wheels(
            here,
            drive[vehicle],
            toe_mm=toe,
            cornering=turns,
            roads=roads,
            findings=signs,
            odds=odds,
        )
        table["vehicle_id"] = vehicle
        table["tires"] = [", ".join(wheels[position].tires) for position in table["position"]]
        seen = [
            evidence(cause, position, wheels, drive[vehicle], toe, signs, cornering=turns, roads=roads)
            if with_evidence
            else ()
            for cause, position in zip(table["cause"], table["position"], strict=True)
        ]
        table["evidence"] = pd.Series(seen, index=table.index, dtype=object)
        first = checks_first(table, here, signs, cornering=turns, roads=roads)
        likeliest = ~table["position"].duplicated()
        table["next_check"] = [
            first[position] if top else OWN[cause]
            for cause, position, top in zip(table["cause"], table["position"], likeliest, strict=True)
        ]
        parts.append(table[CAUSE_COLUMNS])
    if not parts:
        return pd.DataFrame(columns=CAUSE_COLUMNS)
    return pd.concat(parts, ignore_index=True)


def _names(names: Iterable[str], most: int = 12) -> str:
    """Name the first few of many."""
    known = list(names)
    more = f" and {len(known) - most} more" if len(known) > most else ""
    return ", ".join(known[:most]) + more


def next_steps(
    causes: pd.DataFrame,
    drive: str,
    findings: Iterable[Finding] = (),
    *,
    roads: str = "",
    histories: Mapping[str, WheelHistory] | None = None,
    toe_mm: Mapping[str, float] | None = None,
    across_tread_mm: float = ACROSS_TREAD_MM,
    measure_from: float = MEASURE_FROM,
) -> pd.DataFrame:
    """Put the checks of one vehicle in order: what needs a person now, a measurement first, or only a
    rotation.

    Parameters
    ----------
    causes : DataFrame
        From :func:`weigh_causes`, one vehicle.
    drive : str
        front, rear or all.
    findings : iterable of Finding, optional
    roads : str
        As for :func:`weigh_causes`: who has said it is not asked again.
    histories : mapping of str to WheelHistory, optional
        To apply ``across_tread_mm``; by position.
    toe_mm : mapping of str to float, optional
        Total toe as last measured, by axle. [mm]
    across_tread_mm : float
        Difference between the edges, beyond the gauge's error, from which angles are measured whatever the
        probabilities say, unless it is cupping. Common practice, no source. [mm]
    measure_from : float
        Probability of a cause from which its check is advised.

    Returns
    -------
    DataFrame
        :data:`STEP_COLUMNS`, in order. ``step`` is a :class:`tirelife.tread.checks.Step`, ``where`` the
        wheels or the axle, ``note`` why: a code of :class:`Why` or of :class:`tirelife.tread.signs.Sign`.
        What tells causes apart comes before what corrects them, and measuring angles is never argued against
        while a cause that needs it has more than a tenth of the probability.
    """
    signs = list(findings)
    free = [w for axle, pair in AXLES.items() if drive not in (axle, "all") for w in pair]
    by_wheel = chances(causes)
    chance = {(w, c): share for w, here in by_wheel.items() for c, share in here.items()}
    vehicle = str(causes["vehicle_id"].iloc[0]) if len(causes) else ""
    advice = sign_advice(signs, free)
    steps = [(Step.INSPECT, where, note) for where, note in advice if note.severity is Severity.URGENT]
    telling = _apart_steps(causes, by_wheel, bool(roads))
    steps += telling
    angles = []
    for axle, pair in AXLES.items():
        at = {c: {w: chance.get((w, c), 0.0) for w in pair} for c in OWN}
        asked = {(step, where) for step, where, _ in telling}
        steps += [one for one in _own_steps(at, measure_from, bool(roads)) if one[:2] not in asked]
        why = _angle_reason(pair, at, histories or {}, across_tread_mm, measure_from, signs)
        if why is not None:
            if axle in (toe_mm or {}):
                why = replace(why, values=(*why.values, ("toe_mm", (toe_mm or {})[axle])))
            angles.append(axle)
            steps.append((Step.ANGLES, f"{axle} axle", why))
    for axle, pair in AXLES.items():
        cupped = _where(pair, chance, "cupping", measure_from, signs, "cups")
        flat = _where(pair, chance, "flat_spot", measure_from, signs, "flat_spot")
        if cupped:
            in_question = max(sum(chance.get((w, c), 0.0) for c in NEEDS_ANGLES) for w in pair)
            steps.append((Step.WHEEL, ", ".join(cupped), Note(Why.CUPS)))
            if cupped[0] in free:
                first = axle in angles or in_question > RIVAL_FROM
                steps.append(
                    (Step.ROTATE, ", ".join(cupped), Note(Why.CUPS_EVEN_OUT, values=(("angles", first),)))
                )
        if flat:
            steps.append((Step.WHEEL, ", ".join(flat), Note(Why.FLAT)))
    for where, note in advice:
        if note.severity is not Severity.URGENT:
            steps.append((Step.TO_DRIVEN if note.code is Sign.EROSION_FREE else Step.LOOK, where, note))
    few = _few_grooves(chance, histories or {})
    if few:
        steps.append((Step.READ_MORE, ", ".join(few), Note(Why.FEW_GROOVES)))
    if not steps:
        steps = [(Step.NOTHING, "all wheels", Note(Why.EVEN if len(causes) else Why.NOT_RUN))]
    rows = [(vehicle, i + 1, *step) for i, step in enumerate(steps)]
    return pd.DataFrame(rows, columns=STEP_COLUMNS)


_Steps = list[tuple[Step, str, Note]]


def _apart_steps(
    causes: pd.DataFrame, by_wheel: Mapping[str, Mapping[str, float]], roads_told: bool
) -> _Steps:
    """Checks that tell apart what the gauge cannot, each with its wheels; cheapest first."""
    found: dict[tuple[Step, str, str], list[str]] = {}
    checks = dict(zip(causes["position"][::-1], causes["next_check"][::-1], strict=True))
    for position, here in by_wheel.items():
        check = Step(checks[position])
        one, *rest = sorted(here, key=lambda cause: -here[cause])
        other = next((cause for cause in rest if apart(check, one, cause)), "")
        if check is not OWN[one] and other and here[other] >= RIVAL_FROM:
            found.setdefault((check, one, other), []).append(position)
        # Angles that may be at fault are measured whatever the roads are; a word on those is free.
        if one in NEEDS_ANGLES and here.get("road_crown", 0.0) >= RIVAL_FROM and not roads_told:
            found.setdefault((Step.ROADS, one, "road_crown"), []).append(position)
    order = list(Step)
    return [
        (check, ", ".join(wheels), Note(Why.TELLS_APART, values=(("one", one), ("other", other))))
        for (check, one, other), wheels in sorted(found.items(), key=lambda item: order.index(item[0][0]))
    ]


def _own_steps(at: Mapping[str, Mapping[str, float]], measure_from: float, roads_told: bool) -> _Steps:
    """Pressure, driving, roads and load of one axle."""
    out: _Steps = []
    for cause, why in (
        ("low_pressure", Why.LOW),
        ("high_pressure", Why.HIGH),
        ("hard_cornering", Why.TURNS),
        ("road_crown", Why.ROADS),
        ("overload", Why.LOAD),
    ):
        if cause == "road_crown" and roads_told:
            continue
        wheels = [w for w, chance in at[cause].items() if chance >= measure_from]
        if wheels:
            out.append((OWN[cause], ", ".join(wheels), Note(why)))
    return out


def _angle_reason(
    pair: tuple[str, str],
    at: Mapping[str, Mapping[str, float]],
    histories: Mapping[str, WheelHistory],
    across_tread_mm: float,
    measure_from: float,
    signs: list[Finding],
) -> Note | None:
    """Why an axle's angles should be measured; None if they need not be."""
    toe = max(at["toe_in"][w] + at["toe_out"][w] for w in pair)
    camber, slant = max(at["camber"].values()), max(at["diagonal_wear"].values())
    if slant >= measure_from:
        return Note(Why.DIAGONAL)
    if toe + camber + slant >= measure_from:
        return Note(Why.ANGLES, values=(("first", "toe" if toe + slant >= camber else "camber"),))
    felt = [f for f in signs if f.position in pair and f.kind in ("feathered_edge", "diagonal")]
    if felt:
        return Note(Why.FELT, values=(("kind", felt[0].kind),))
    for wheel in pair:
        if wheel in histories and at["cupping"][wheel] < measure_from:
            change, cover = histories[wheel].wheel.depth_mm, histories[wheel].wheel.covariance_mm2
            far = abs(change[0] - change[4])
            error = 2 * float(np.sqrt(cover[0, 0] + cover[4, 4] - 2 * cover[0, 4]))
            if far >= across_tread_mm and far > error:
                return Note(Why.ACROSS, values=(("position", wheel), ("across_mm", across_tread_mm)))
    return None


def _where(
    pair: tuple[str, str],
    chance: Mapping[tuple[str, str], float],
    cause: str,
    measure_from: float,
    signs: list[Finding],
    kind: str,
) -> list[str]:
    """Wheels where a cause is likely enough, or was seen."""
    seen = {f.position for f in signs if f.kind == kind}
    return [w for w in pair if chance.get((w, cause), 0.0) >= measure_from or w in seen]


def _few_grooves(chance: Mapping[tuple[str, str], float], histories: Mapping[str, WheelHistory]) -> list[str]:
    """Wheels read in too few grooves: under three, or three where a pattern of pressure is in question."""
    out = []
    for wheel, history in histories.items():
        count = int(history.wheel.read.sum())
        low = chance.get((wheel, "low_pressure"), 0.0)
        if count < 3 or (count < 5 and RIVAL_FROM <= low < 0.9):
            out.append(wheel)
    return out
