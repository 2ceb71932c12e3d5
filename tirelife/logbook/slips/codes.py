"""What may have been slipped in a log, as codes, and how it is asked."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

from tirelife.codes import Note
from tirelife.units import LABELS, convert

__all__ = ["Slip", "advice", "what"]


class Slip(StrEnum):
    """A likelier reading of a record, a visit or a vehicle's log than as it is typed."""

    OTHER_UNIT = "slip-other-unit"
    """``unit``: every value of the visit was typed in it."""
    TENFOLD = "slip-tenfold"
    """``factor``: the decimal point of every value of the visit is off."""
    ALL_ZERO = "slip-all-zero"
    SWAPPED = "slip-swapped"
    """``swap``: which places changed places."""
    NEW_TIRES = "slip-new-tires"
    """``places``: read as new tires do, without a record of a mount."""
    UNFIT = "slip-unfit"
    """No named slip explains the visit, nor does what came before and after it."""
    CAR_UNIT = "slip-car-unit"
    """``unit``: all depths of a vehicle."""
    ABSOLUTE = "slip-absolute"
    """Pressures of a visit that fit as absolute ones."""


SWAPS: Final = {
    "sides": "left and right",
    "axles": "front and rear",
    "both": "each wheel and the one across",
    "front": "LF and RF",
    "rear": "LR and RR",
    "left": "LF and LR",
    "right": "RF and RR",
    "diagonal": "LF and RR",
    "other diagonal": "RF and LR",
}
_SLIPPED: Final = {
    Slip.OTHER_UNIT: "the visit may be in {unit}",
    Slip.TENFOLD: "the visit may have its decimal point out of place",
    Slip.ALL_ZERO: "the visit is all zeros",
    Slip.SWAPPED: "the visit may have places swapped",
    Slip.NEW_TIRES: "the visit reads as new tires do",
    Slip.UNFIT: "the visit does not fit what the tires read before and after",
    Slip.CAR_UNIT: "the vehicle may be read in {unit}",
    Slip.ABSOLUTE: "may be absolute pressure",
}
_ADVICE: Final = {
    Slip.OTHER_UNIT: "Taken as {unit} it fits what the tires wear. Was it typed in {unit}?",
    Slip.TENFOLD: "Taken times {factor:g} it fits what the tires wear. Correct it, or read again.",
    Slip.ALL_ZERO: "Were the depths not read? Then delete them; if tires are bald, look at them now.",
    Slip.SWAPPED: "It fits with {swap} swapped. Was it typed in the order of the form?",
    Slip.NEW_TIRES: "Were new tires mounted at {places}? Then add them to mounts.",
    Slip.UNFIT: "Read again, or check the vehicle, the date and the odometer.",
    Slip.CAR_UNIT: "Its tires would start at their new depth then. Was it always typed in {unit}?",
    Slip.ABSOLUTE: "As gauge pressure it would be {meant} {column_unit}. Logbooks hold gauge pressure.",
}
_INSIDE: Final = {"meant_kpa": "kpa"}


def what(note: Note) -> str:
    """What is doubted, in words."""
    return _SLIPPED[Slip(note.code)].format_map(_words(note))


def advice(note: Note) -> str:
    """What to ask, in words."""
    return _ADVICE[Slip(note.code)].format_map(_words(note))


def _words(note: Note) -> dict[str, object]:
    words = dict(note.values)
    column_unit = str(words.get("column_unit", ""))
    for name, inside in _INSIDE.items():
        if name in words:
            words["meant"] = f"{convert(float(str(words[name])), inside, column_unit or inside):.4g}"
    for name in ("unit", "column_unit"):
        if name in words:
            words[name] = LABELS.get(str(words[name]), str(words[name]))
    if "swap" in words:
        words["swap"] = SWAPS[str(words["swap"])]
    return words
