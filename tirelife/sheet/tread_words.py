"""The codes of the tread room in words, for pages and commands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from tirelife.codes import Note
from tirelife.sheet.quantities import depth
from tirelife.tread import CAUSE_NAMES, Seen, Sign, Step, Weak, Why

__all__ = ["CHECKS", "WEAK", "evidence_words", "step_words"]

CHECKS: Final[Mapping[Step, str]] = {
    Step.FEEL: "Run a hand across the tread and round it: feathered edges, cups, slantwise patches, "
    "rounded shoulders.",
    Step.PRESSURE: "Check the pressure cold against the placard; look for a leak. Never bleed a hot tire.",
    Step.TURNS: "Ask how it is driven through bends, and on which roads; look for a rounded, rough "
    "outside shoulder.",
    Step.ROADS: "Ask which roads it runs on most: where they fall to one side, the tires on that side wear "
    "outside and the others inside, and a pull is gone where it is level. A road cannot be put right, and "
    "this clears no angle.",
    Step.LOAD: "Ask what it carries, or weigh it, and compare with the load index and the placard.",
    Step.AROUND: "Read every groove at six marked spots round the tire: cups and slantwise patches show "
    "only so.",
    Step.WHEEL: "Check balance, run-out, wheel bearings, dampers and springs; after a flat spot the "
    "brakes too.",
    Step.ANGLES: "Have the angles measured, and tie rods, bushings and bent or worn parts looked at, "
    "before the tires "
    "are rotated.",
    Step.READ_MORE: "Read more grooves: one cannot show a pattern.",
    Step.NOTHING: "Nothing to put right here.",
}
"""What to check next; the steps that a cause may ask for."""
WEAK: Final[Mapping[Weak, str]] = {
    Weak.LITTLE_WORN: "its tires have worn little here so far",
    Weak.ELSEWHERE: "its tires ran mostly elsewhere, so little can be told of this position",
}
_SEEN: Final = {
    "cords": "Cords show",
    "bulge": "A bulge",
    "cut": "A cut",
    "crack": "Cracks",
    "object": "Something is stuck in the tread",
}
_DIFFERENT: Final = {
    "edges": ("the inner edge lost {} more than the outer", "the outer edge lost {} more than the inner"),
    "crown": ("the edges lost {} more than the center", "the center lost {} more than the edges"),
    "dip": ("the grooves next to the edges lost {} more", "the grooves next to the edges lost {} less"),
}
_BETWEEN: Final = {
    "edges": "between the edges",
    "crown": "between edges and center",
    "dip": "at the grooves next to the edges",
    "largest": "across the tread",
}


def evidence_words(notes: Iterable[Note], units: str) -> str:
    """Evidence of one cause in short sentences.

    Parameters
    ----------
    notes : iterable of Note
        From the ``evidence`` column of :func:`tirelife.tread.weigh_causes`.
    units : str
        ``us`` or ``metric``.
    """
    return "; ".join(_seen(note, units) for note in notes)


def _seen(note: Note, units: str) -> str:
    get: dict[str, Any] = dict(note.values)

    def mm(name: str) -> str:
        return depth(abs(float(get[name])), units)

    about = f"{get['position']}: " if "position" in get else ""
    match note.code:
        case Seen.NOT_READ:
            return (
                f"{about}the difference {_BETWEEN[get['component']]} cannot be judged from the grooves read"
            )
        case Seen.NOT_TOLD:
            return f"{about}the readings say nothing yet {_BETWEEN[get['component']]}"
        case Seen.SAME:
            open_left = f"the ± {mm('bound_mm')} that readings leave open"
            return f"{about}no difference {_BETWEEN[get['component']]} beyond {open_left}"
        case Seen.DIFFERENT:
            words = _DIFFERENT[get["component"]][0 if get["apart_mm"] > 0 else 1]
            return about + words.format(f"{mm('apart_mm')} (± {mm('bound_mm')})")
        case Seen.ONE_GROOVE:
            return "one groove read: the pattern cannot be judged"
        case Seen.INSIDE_GAUGE | Seen.INSIDE_EVEN | Seen.BEYOND_EVEN:
            said = f"the largest difference across the tread, {mm('apart_mm')}, is "
            if note.code is Seen.INSIDE_GAUGE:
                return said + f"inside the ± {mm('bound_mm')} that readings leave open"
            if note.code is Seen.INSIDE_EVEN:
                return said + "no more than treads that wear evenly show"
            return said + "more than treads that wear evenly show, but fits no cause well"
        case Seen.TOE:
            return f"toe last measured {float(get['toe_mm']):+.1f} mm, in positive"
        case Seen.CAMBER:
            return f"camber last measured {float(get['camber_deg']):+.1f}°"
        case Seen.NO_PRESSURE:
            return "no cold pressure is on record beside a placard"
        case Seen.PRESSURE:
            return f"cold pressure ran at {float(get['ratio']):.0%} of the placard"
        case Seen.NO_TURNS:
            return "no driving was recorded"
        case Seen.TURNS:
            return f"side force in turns, squared, {float(get['ratio']):.1f} times the usual driver's"
        case Seen.NO_ROADS:
            return "the roads were not asked about"
        case Seen.ROADS:
            return f"the roads are said to be {get['roads']}"
        case Seen.NO_LOAD:
            return "load or load index is not recorded"
        case Seen.LOAD:
            return f"the load is {float(get['ratio']):.0%} of what the load index allows"
        case Seen.NOT_ROUND:
            return "the tread was not read around the tire, so the gauge cannot tell"
        case Seen.ROUND:
            spots = f"{get['spots']} spots around the tread" + (", groove by groove" if get["single"] else "")
            return f"depth runs from {mm('low_mm')} to {mm('high_mm')} over {spots} (each ± {mm('bound_mm')})"
        case Seen.LOWEST:
            return f"spot {get['spot']} lies {mm('below_mm')} below the others (each ± {mm('bound_mm')})"
        case Seen.DRIVEN:
            return f"the {get['axle']} axle is driven"
        case Seen.FREE:
            return f"the {get['axle']} axle rolls freely, where this is usual"
    return f"found: {str(get['kind']).replace('_', ' ')} {get['direction']}".strip()


def step_words(note: Note, units: str) -> str:
    """Say why and how of a step of :func:`tirelife.tread.next_steps`."""
    get: dict[str, Any] = dict(note.values)
    toe = ""
    if "toe_mm" in get:
        toe = (
            f" Toe was last measured at {float(get['toe_mm']):+.1f} mm: compare that with the specification."
        )
    match note.code:
        case Sign.DAMAGE:
            return (
                f"{_SEEN[get['kind']]}: take the car to a qualified person now, whatever the tread "
                f"depth says."
            )
        case Why.ANGLES:
            both = "toe, then camber" if get["first"] == "toe" else "camber, then toe"
            return (
                f"Have {both} measured, and loose, bent or worn parts looked for, before the tires are "
                f"rotated: "
                f"correct the cause first, or the next tires wear the same way.{toe}"
            )
        case Why.DIAGONAL:
            return (
                "Slantwise wear comes from toe of an axle that rolls freely: have its toe measured, and "
                "whether it "
                f"runs true to the car, before the tires are rotated. Rotation does not cure it.{toe}"
            )
        case Why.ACROSS:
            return (
                f"The edges of {get['position']} differ by {depth(float(get['across_mm']), units)} or "
                f"more: have the "
                f"angles measured before the tires are rotated (common practice).{toe}"
            )
        case Why.FELT:
            kind = str(get["kind"]).replace("_", " ")
            return f"A {kind} pattern was felt: have toe measured before the tires are rotated.{toe}"
        case Why.TELLS_APART:
            one, other = CAUSE_NAMES[get["one"]], CAUSE_NAMES[get["other"]]
            return f"The gauge cannot tell {one} from {other}; this can."
        case Why.CUPS_EVEN_OUT:
            if get["angles"]:
                return "Measure the angles first; then a spell on the driven axle evens the cups."
            return (
                "Cups on wheels that roll freely even out on the driven axle: rotate these tires there, "
                "once balance "
                "and dampers are in order."
            )
    return _PLAIN[str(note.code)]


_PLAIN: Final[Mapping[str, str]] = {
    Sign.HEEL_AND_TOE: "Heel-and-toe wear: swap with the other wheel of the same axle, so that the tire "
    "turns the other "
    "way (Ford LCF 2007 truck manual).",
    Sign.EROSION_UNMEASURED: "Erosion at rib edges: measure it; from 1/16 in (1.6 mm) the tire moves to "
    "the driven axle.",
    Sign.EROSION_USUAL: "Erosion at rib edges under 1/16 in (1.6 mm): usual on a slow-wearing axle that "
    "rolls freely.",
    Sign.EROSION_FREE: "Erosion at rib edges of 1/16 in (1.6 mm) or more: move the tire to the driven axle.",
    Sign.EROSION_DRIVEN: "Erosion at rib edges of 1/16 in (1.6 mm) or more, on a driven axle where it "
    "is unusual: have it "
    "looked at.",
    Why.LOW: "Check the pressure cold against the placard; look for a leak; check the load.",
    Why.HIGH: "Check the pressure cold against the placard, and set it with the tire cold. Never bleed "
    "a hot tire.",
    Why.TURNS: CHECKS[Step.TURNS],
    Why.ROADS: CHECKS[Step.ROADS],
    Why.LOAD: CHECKS[Step.LOAD],
    Why.CUPS: "Check balance, run-out, wheel bearings, and dampers and springs.",
    Why.FLAT: "Check brakes, run-out and balance; ask about a locked wheel or long storage.",
    Why.FEW_GROOVES: "Read all grooves, the ones next to the edges too, at three equally spaced points, "
    "the first next to "
    "the valve stem: fewer cannot show every pattern.",
    Why.EVEN: "Even wear, as far as the gauge can tell: nothing to correct.",
    Why.NOT_RUN: "No tire that was read has run here yet.",
}
