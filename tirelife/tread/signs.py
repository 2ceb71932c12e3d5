"""What a hand and an eye find and a depth gauge cannot: feathered edges, cups, cuts, cords, bulges,
cracks.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from tirelife.codes import Note, Severity
from tirelife.errors import misused
from tirelife.positions import ROAD
from tirelife.tread.wrong import Wrong
from tirelife.units import INCH_32ND_MM, convert

__all__ = ["EROSION_MM", "KINDS", "URGENT", "Finding", "Sign", "parse_finding", "sign_advice"]

KINDS: Final[dict[str, tuple[str, ...]]] = {
    "feathered_edge": ("inward", "outward"),
    "smooth": (),
    "cups": (),
    "diagonal": (),
    "flat_spot": (),
    "rounded_shoulder": (),
    "heel_and_toe": (),
    "erosion": (),
    "cut": (),
    "cords": (),
    "bulge": (),
    "crack": (),
    "object": (),
}
"""What can be entered, and the directions of it that mean something. A feathered edge is ``inward`` where the
sharp, high edges of the ribs point toward the middle of the vehicle; ``smooth`` is a tread felt across both
ways that has none, which speaks against toe as such an edge speaks for it. ``diagonal`` is low patches that
run slantwise across the tread, ``rounded_shoulder`` an outside shoulder rounded and rough from cornering
(1942-47 Chevrolet shop manual). Erosion (also river wear) is wear
along rib edges on a slow-wearing, free-rolling axle; its depth may be given."""

URGENT: Final = ("cords", "bulge", "cut", "crack", "object")
"""Findings that go to a qualified person now, whatever the tread and whatever any projection says."""

EROSION_MM: Final = 2 * INCH_32ND_MM
"""Erosion at rib edges from which the tire moves to the drive axle: 1/16 in (US Army TM 5-3820-256-24-3,
b)."""

_DEPTH = re.compile(r"(\d+(?:\.\d+)?)(?:/(\d+))? ?(mm|in|(?<= )32nds)")


@dataclass(frozen=True)
class Finding:
    """One thing felt or seen on one tire.

    Attributes
    ----------
    position : str
        LF, RF, LR or RR.
    kind : str
        A key of :data:`KINDS`.
    direction : str
        Of a feathered edge: ``inward`` or ``outward``; empty where it was not noted.
    depth_mm : float
        Of an erosion or a cut; NaN where it was not measured.
    """

    position: str
    kind: str
    direction: str = ""
    depth_mm: float = float("nan")

    def __post_init__(self) -> None:
        if self.position not in ROAD:
            raise misused(Wrong.FINDING_POSITION, position=self.position, known=", ".join(ROAD))
        if self.kind not in KINDS:
            raise misused(Wrong.FINDING_KIND, kind=self.kind, known=", ".join(KINDS))
        if self.direction and self.direction not in KINDS[self.kind]:
            known = ", ".join(KINDS[self.kind]) or "none"
            raise misused(Wrong.FINDING_DIRECTION, kind=self.kind, direction=self.direction, known=known)
        if self.depth_mm < 0:
            raise misused(Wrong.FINDING_DEPTH, kind=self.kind)


def parse_finding(text: str) -> Finding:
    """Read a finding written as POSITION:KIND or POSITION:KIND:DETAIL.

    The detail is a direction, or a depth with its unit: ``1.6mm``, ``2/32in``, ``2 32nds`` in quotes.

    Examples
    --------
    >>> parse_finding("LF:feathered_edge:inward")
    Finding(position='LF', kind='feathered_edge', direction='inward', depth_mm=nan)
    >>> parse_finding("LR:erosion:1/16in").depth_mm
    1.5875
    """
    parts = [part.strip() for part in text.split(":")]
    if not 2 <= len(parts) <= 3:
        raise misused(Wrong.FINDING, text=text)
    position, kind, detail = parts[0].upper(), parts[1].lower(), parts[2].lower() if len(parts) == 3 else ""
    found = _DEPTH.fullmatch(detail)
    if not found:
        return Finding(position, kind, detail)
    value = float(found[1]) / float(found[2] or 1)
    return Finding(position, kind, depth_mm=float(convert(value, found[3], "mm")))


class Sign(StrEnum):
    """What follows from a finding by itself."""

    DAMAGE = "damage"
    """kind: a qualified person looks at it now."""
    HEEL_AND_TOE = "heel-and-toe"
    """Swap with the other wheel of the axle, so that the tire turns the other way (Ford LCF 2007 manual)."""
    EROSION_UNMEASURED = "erosion-unmeasured"
    EROSION_USUAL = "erosion-usual"
    """Under 1/16 in: usual on a slow-wearing axle that rolls freely."""
    EROSION_FREE = "erosion-free"
    """1/16 in or more on an axle that rolls freely: move to the driven axle (TM 5-3820-256-24-3, b)."""
    EROSION_DRIVEN = "erosion-driven"
    """The same on a driven axle, where it is unusual."""


def sign_advice(findings: Iterable[Finding], free_rolling: Iterable[str] = ()) -> list[tuple[str, Note]]:
    """Advice that follows from a finding by itself, before any cause is weighed.

    Parameters
    ----------
    findings : iterable of Finding
    free_rolling : iterable of str
        Positions on an axle that is not driven.

    Returns
    -------
    list of (position, Note)
        In the order given; codes of :class:`Sign`.
    """
    free = set(free_rolling)
    out = []
    for finding in findings:
        if finding.kind in URGENT:
            note = Note(Sign.DAMAGE, Severity.URGENT, (("kind", finding.kind),))
        elif finding.kind == "erosion":
            note = Note(_erosion(finding, finding.position in free))
        elif finding.kind == "heel_and_toe":
            note = Note(Sign.HEEL_AND_TOE)
        else:
            continue
        out.append((finding.position, note))
    return out


def _erosion(finding: Finding, free_rolling: bool) -> Sign:
    if finding.depth_mm != finding.depth_mm:
        return Sign.EROSION_UNMEASURED
    if finding.depth_mm < EROSION_MM - 1e-9:
        return Sign.EROSION_USUAL
    return Sign.EROSION_FREE if free_rolling else Sign.EROSION_DRIVEN
