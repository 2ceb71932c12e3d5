"""The reading of a vehicle's tread: ranked causes, the evidence in words, how sure, and what to check
next.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.errors import InputError
from tirelife.tread.causes import weigh_wheels
from tirelife.tread.evidence import evidence
from tirelife.tread.history import WheelHistory, measured_toe, wheel_histories
from tirelife.tread.signs import Finding, sign_advice
from tirelife.units import convert

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["ACROSS_TREAD_MM", "CAUSE_COLUMNS", "STEP_COLUMNS", "next_steps", "weigh_causes"]

ACROSS_TREAD_MM: Final = 2 * 25.4 / 32
"""Difference between the edges of a tread from which angles are measured: 2/32 in. Common practice, no
source."""

MEASURE_FROM: Final = 0.25
"""Probability of a cause from which its check is advised; our assumption."""

CAUSE_COLUMNS: Final = [
    "vehicle_id", "axle", "position", "tires", "cause", "side", "probability", "evidence", "next_check",
]  # fmt: skip
STEP_COLUMNS: Final = ["vehicle_id", "order", "step", "where", "words"]

_AXLES: Final = {"front": ("LF", "RF"), "rear": ("LR", "RR")}

_TOE: Final = (
    "Feel the tread for a feathered edge, and have toe measured, with tie rods and bushings looked at, "
    "before the tires are rotated."
)
NEXT_CHECK: Final[dict[str, str]] = {
    "even_wear": "Nothing beyond the usual care.",
    "low_pressure": "Check the pressure cold against the placard; look for a leak; check the load.",
    "high_pressure": "Check the pressure cold against the placard, and set it with the tire cold. "
    "Never bleed a hot tire.",
    "normal_shoulder_wear": "Nothing, if both edges are even all round and the pressures are right. Do not "
    "overinflate to cure it. Hard cornering and overload wear the same ribs.",
    "toe_in": _TOE,
    "toe_out": _TOE,
    "camber": "Have camber measured, and bent or worn parts looked for, before the tires are rotated.",
    "cupping": "Check balance, run-out, wheel bearings, and dampers and springs.",
    "flat_spot": "Check brakes, run-out and balance; ask about a locked wheel or long storage.",
}
"""What to check next, after US Army TM 9-2610-200-14, p. 2-12, TM 5-3820-256-24-3, c, and the service texts
of the 1997 Mercury Villager and 2006 Pontiac G6."""


def weigh_causes(
    book: Logbook,
    vehicles: Iterable[str] | None = None,
    findings: Iterable[Finding] = (),
    *,
    resolution_mm: float | Mapping[str, float] | None = None,
    odds: Mapping[str, float] | None = None,
    histories: Mapping[str, Mapping[str, WheelHistory]] | None = None,
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
    resolution_mm : float or mapping of str to float, optional
        Step of the gauges; inferred where it is not given. [mm]
    odds : mapping of str to float, optional
        Takes the place of entries of :data:`tirelife.tread.patterns.ODDS`.
    histories : mapping, optional
        From :func:`tirelife.tread.history.wheel_histories`, if it is at hand.

    Returns
    -------
    DataFrame
        :data:`CAUSE_COLUMNS`, likeliest first at each wheel. ``side`` is the edge that camber wears.
        Causes may act together: probabilities at a wheel need not sum to 1; ``even_wear`` is that none
        acts.

    Raises
    ------
    InputError
        If a vehicle is not in the logbook, or findings are given for more than one.
    """
    wanted = list(dict.fromkeys(book.vehicles["vehicle_id"] if vehicles is None else vehicles))
    drive = book.vehicles.set_index("vehicle_id")["drive"]
    unknown = [vehicle for vehicle in wanted if vehicle not in drive.index]
    if unknown:
        raise InputError(f"vehicle {unknown[0]!r} is not in the logbook: use one of {_names(drive.index)}.")
    signs = list(findings)
    if signs and len(wanted) != 1:
        raise InputError("findings belong to one vehicle: name it.")
    known = wheel_histories(book, wanted, resolution_mm=resolution_mm) if histories is None else histories
    parts = []
    for vehicle in wanted:
        wheels = known[vehicle]
        if not wheels:
            continue
        toe = measured_toe(book, vehicle)
        table = weigh_wheels(
            {position: history.wheel for position, history in wheels.items()},
            drive[vehicle],
            toe_mm=toe,
            findings=signs,
            odds=odds,
        )
        table["vehicle_id"] = vehicle
        table["tires"] = [", ".join(wheels[position].tires) for position in table["position"]]
        table["evidence"] = [
            evidence(cause, position, wheels, drive[vehicle], toe, signs, book.units)
            for cause, position in zip(table["cause"], table["position"], strict=True)
        ]
        table["next_check"] = table["cause"].map(NEXT_CHECK)
        parts.append(table[CAUSE_COLUMNS])
    if not parts:
        return pd.DataFrame(columns=CAUSE_COLUMNS)
    return pd.concat(parts, ignore_index=True)


_READ_MORE: Final = (
    "Read the outer, center and inner groove at least, at three equally spaced points, the first next to the "
    "valve stem: fewer cannot show a pattern."
)


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
        :data:`STEP_COLUMNS`, in order. ``step`` is one of ``inspect now``, ``check pressure``, ``measure
        angles``, ``check wheel and dampers``, ``move to driven axle``, ``rotate``, ``look``,
        ``read more grooves``, ``nothing``.
    """
    signs = list(findings)
    free = [w for axle, pair in _AXLES.items() if drive not in (axle, "all") for w in pair]
    chance = causes.groupby(["position", "cause"])["probability"].sum()
    vehicle = str(causes["vehicle_id"].iloc[0]) if len(causes) else ""
    advice = sign_advice(signs, free)
    steps = [("inspect now", where, words) for where, words, urgent in advice if urgent]
    angles = []
    for axle, pair in _AXLES.items():
        at = {c: {w: float(chance.get((w, c), 0.0)) for w in pair} for c in NEXT_CHECK}
        steps += _pressure_steps(axle, at, measure_from)
        why = _angle_reason(pair, at, histories or {}, across_tread_mm, measure_from)
        if why and axle in (toe_mm or {}):
            last = (toe_mm or {})[axle]
            why += f" Toe was last measured at {last:+.1f} mm: compare that with the specification."
        if why:
            angles.append(axle)
            steps.append(("measure angles", f"{axle} axle", why))
    for axle, pair in _AXLES.items():
        cupped = [w for w in pair if chance.get((w, "cupping"), 0.0) >= measure_from]
        flat = [w for w in pair if chance.get((w, "flat_spot"), 0.0) >= measure_from]
        if cupped:
            steps += _cup_steps(axle, cupped, cupped[0] in free, axle in angles)
        if flat:
            steps.append(("check wheel and dampers", ", ".join(flat), NEXT_CHECK["flat_spot"]))
    for where, words, urgent in advice:
        if not urgent:
            steps.append(("move to driven axle" if "move the tire" in words else "look", where, words))
    few = [wheel for wheel, history in (histories or {}).items() if history.wheel.read.sum() < 3]
    if few:
        steps.append(("read more grooves", ", ".join(few), _READ_MORE))
    if not steps:
        even = "Even wear, as far as the gauge can tell: rotate as usual."
        steps = [
            ("nothing", "all wheels", even if len(causes) else "No tire that was read has run here yet.")
        ]
    rows = [(vehicle, i + 1, *step) for i, step in enumerate(steps)]
    return pd.DataFrame(rows, columns=STEP_COLUMNS)


def _pressure_steps(
    axle: str, at: Mapping[str, Mapping[str, float]], measure_from: float
) -> list[tuple[str, str, str]]:
    out = []
    for cause in ("low_pressure", "high_pressure"):
        wheels = [w for w, chance in at[cause].items() if chance >= measure_from]
        if wheels:
            out.append(("check pressure", ", ".join(wheels), NEXT_CHECK[cause]))
    return out


def _angle_reason(
    pair: tuple[str, str],
    at: Mapping[str, Mapping[str, float]],
    histories: Mapping[str, WheelHistory],
    across_tread_mm: float,
    measure_from: float,
) -> str:
    """Why an axle's angles should be measured; empty if they need not be. Cupping alone is no reason."""
    toe = max(at["toe_in"][w] + at["toe_out"][w] for w in pair)
    camber = max(at["camber"].values())
    if toe + camber >= measure_from:
        both = "toe, then camber" if toe >= camber else "camber, then toe"
        return (
            f"Have {both} measured, and loose, bent or worn parts looked for, before the tires are rotated: "
            "correct the cause first, or the next tires wear the same way."
        )
    for wheel in pair:
        if wheel in histories and at["cupping"][wheel] < measure_from:
            change, cover = histories[wheel].wheel.depth_mm, histories[wheel].wheel.covariance_mm2
            apart = abs(change[0] - change[4])
            error = 2 * float(np.sqrt(cover[0, 0] + cover[4, 4] - 2 * cover[0, 4]))
            if apart >= across_tread_mm and apart > error:
                return (
                    f"The edges of {wheel} differ by {_n32(across_tread_mm)}/32 in or more: "
                    "have the angles measured before the tires are rotated (common practice)."
                )
    return ""


def _n32(mm: float) -> str:
    return f"{convert(mm, 'mm', '32nds'):.2g}"


def _cup_steps(axle: str, wheels: list[str], free_rolling: bool, angles: bool) -> list[tuple[str, str, str]]:
    where = ", ".join(wheels)
    out = [("check wheel and dampers", where, NEXT_CHECK["cupping"])]
    if free_rolling and not angles:
        words = (
            "Cups on wheels that roll freely even out on the driven axle: rotate these tires there, once "
            "balance and dampers are in order. Cupping alone is no reason to have the angles measured."
        )
        out.append(("rotate", where, words))
    elif free_rolling:
        words = "Measure the angles first; then a spell on the driven axle evens the cups."
        out.append(("rotate", where, words))
    return out
