"""How a slip is asked about."""

from __future__ import annotations

from typing import Final

from tirelife.codes import Note
from tirelife.logbook.codes import Slip
from tirelife.units import LABELS, convert

__all__ = ["advice", "what"]


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
    Slip.CAR_TENFOLD: "the vehicle may be read with the decimal point out of place",
    Slip.CAR_ZERO: "all depths of the vehicle are zero",
    Slip.PRESSURE_UNIT: "may be in {unit}",
    Slip.ODOMETER_UNIT: "the odometer may be in {unit}",
    Slip.ODOMETER_DIGIT: "the odometer may have a digit off",
    Slip.CAR_DISTANCE: "all odometers of the vehicle may be in {unit}",
    Slip.TABLE_DISTANCE: "all odometers of the table may be in {unit}",
    Slip.TEMPERATURE_UNIT: "the temperature may be in {unit}",
    Slip.DIGIT: "may have a digit off",
    Slip.GROWS: "the tire grows from visit to visit",
    Slip.CARS_SWAPPED: "the visit may be that of another vehicle",
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
    Slip.CAR_TENFOLD: "Times {factor:g} its tires would start at their new depth. Was it always typed so?",
    Slip.CAR_ZERO: "Were they never read? Then delete them; if tires are bald, look at them now.",
    Slip.PRESSURE_UNIT: "As {unit} it would be {meant} {column_unit}. Was it typed in {unit}?",
    Slip.ODOMETER_UNIT: "As {unit} it would be {meant} {column_unit}, which fits. Was it typed in {unit}?",
    Slip.ODOMETER_DIGIT: "{meant} {unit} would fit the readings around it. Correct it if it is a slip.",
    Slip.CAR_DISTANCE: "Taken as {unit} it runs and wears as the others do. Were they typed in {unit}?",
    Slip.TABLE_DISTANCE: "Taken as {unit} they fit the other tables. Name the column odometer in {unit}?",
    Slip.TEMPERATURE_UNIT: "As {unit} it fits the season. Was it typed in {unit}?",
    Slip.DIGIT: "{meant} {unit} would fit the grooves beside it. Correct it, or read again.",
    Slip.GROWS: "No tread does: check the dates, the wheel and the mounts of its readings.",
    Slip.CARS_SWAPPED: "It fits {vehicle_id}, and that one's visit of the day fits this. Exchange the two.",
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
