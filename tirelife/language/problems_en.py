"""English words of what a logbook finds wrong or doubtful in itself."""

from __future__ import annotations

from typing import Final

from tirelife.language import imports_en as _imports
from tirelife.language import problems_refused_en as _refused
from tirelife.language.pieces import Words, pieces_in

__all__ = ["ADVICE", "ANY", "TEXT", "WHAT", "pieces"]

_SAVE: Final = "In the spreadsheet choose Save As, CSV UTF-8 (comma delimited)."
_RESTORE: Final = "Restore it from a backup, or save what can be saved: tirelife convert FILE FOLDER."
_SO: Final = "It is read as {meant}; write it so."
_ADD_TO: Final = "Correct it, or add it to {table}."
_SLIP: Final = (
    "Correct it, or its date, if it is a slip; until then the line between the readings around it counts."
)
_UNITS: Final = {
    "mi": "miles", "kpa": "kPa", "c": "°C", "f": "°F", "mps": "m/s", "kmh": "km/h", "mps2": "m/s²",
    "per_100km": "per 100 km", "per_100mi": "per 100 miles", "m2": "m²", "ft2": "ft²", "deg": "°",
}  # fmt: skip
"""Units that are not written as their code is."""
_SWAPS: Final = {
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
_MARKS: Final = {";": "semicolons", "\t": "tabs"}
_DEEDS: Final = {
    "insert": "was written",
    "change": "was changed",
    "supersede": "was superseded",
    "withdraw": "was withdrawn",
}
ANY: Final = {
    "byte": "a byte", "choices": "the choices", "column_unit": "this one", "day": "a day",
    "deed": "was changed", "first": "one name", "header_row": "a later row", "high": "the highest",
    "low": "the lowest", "mark": "other marks", "names": "some", "second": "another",
    "table": "its table", "unit": "another unit",
    "usual": "another", "why": "not said",
}  # fmt: skip
"""What stands for an argument that is not at hand."""

WHAT: Final = {
    "file-unreadable": "cannot be read: {why}",
    "file-empty": "is empty",
    "file-utf16": "is in UTF-16, not UTF-8",
    "file-not-csv": "is not a CSV file, whatever its name says",
    "file-zero-byte": "has a zero byte in it",
    "file-not-utf8": "is not UTF-8: byte {byte}",
    "file-missing": "is missing",
    "file-twice": "is there twice, as {first} and {second}",
    "file-beside": "is beside a {second}: which of the two is the logbook",
    "file-damaged": "is damaged",
    "file-cut": "is not a whole Parquet file",
    "file-earlier-version": "is of an earlier version, without digests: damage cannot be seen",
    "needs-pyarrow": "needs pyarrow to be read",
    "delimiter": "has {mark} between its cells; read as such",
    "decimal-commas": "has decimal commas; read as such",
    "header-unreadable": "has a header that cannot be read",
    "header-below": "has its header in row {header_row}",
    "no-records": "has a header but no records",
    "unclosed": "cannot be split into cells",
    "ragged": "has more cells than the header has names",
    "column-twice": "stands twice in the header",
    "column-missing": "is missing",
    "column-unknown": "has unknown columns: {names}",
    "two-units": "holds one quantity in two units, {first} and {second}",
    "units-differ": "holds one quantity in two units, {first} and {second}",
    "unit-wrong": "has a unit it cannot have",
    "unit-missing": "has no unit",
    "unit-not-of-kind": "is no unit of this kind",
    "blank": "is blank",
    "key-twice": "is there twice",
    "shares": "the shares of miles do not sum to 1",
    "ends-before": "ends before it begins",
    "not-a-number": "is not a number",
    "not-finite": "is not a finite number",
    "may-be-thousands": "may have a thousands separator",
    "thousands": "has a thousands separator",
    "decimal-comma": "has a decimal comma",
    "not-a-date": "is not a date as YYYY-MM-DD",
    "no-such-day": "is not a day of the calendar",
    "too-long-ago": "is too long ago",
    "no-clock": "has a time that no clock shows",
    "future": "is in the future",
    "other-case": "is in another case",
    "not-a-choice": "is not one of {choices}",
    "out-of-range": "is outside {low} to {high}",
    "not-whole": "is not a whole number",
    "unusually-low": "is unusually low",
    "unusually-high": "is unusually high",
    "not-known": "is not known",
    "unknown-id": "is not in {table}",
    "week-odd": "is no week and year",
    "week-late": "is after the tire was mounted",
    "distance-units": "has {unit} where other tables have {usual}",
    "repeated": "stands twice",
    "taken": "goes where another tire is",
    "mounted-twice": "is recorded twice",
    "two-places": "is in two places",
    "off-where-not": "goes OFF where it was not",
    "place-held": "goes where another tire is",
    "no-tire": "no tire is mounted there",
    "odometer-back": "the odometer goes back",
    "odometer-ahead": "the odometer runs ahead",
    "over-new": "is deeper than the tire was new",
    "depth-grows": "the depth grows",
    "depth-unfit": "the depth does not fit the readings around it",
    "depth-unit": "may be in {unit}, not in {column_unit}",
    "falls-fast": "has fallen faster than tires wear",
    "digest": "does not match its digest: it is damaged, or was changed by other means",
    "history-seals": (
        "has a history that does not match its seals: it is damaged, or was changed by other means"
    ),
    "history-rules": "has headers or rules that do not match their digest",
    "history-visits": "has visits that do not match its history",
    "history-records": "has records that its history does not know, or lacks some",
    "history-use": "is in use, or out of use, and its history says the other",
    "odometers-differ": "the odometer was read twice on this day and differs; the higher reading is used",
    "no-tire-known": "no tire is known in this place on this day",
    "readings-doubtful": "some of its readings are doubtful",
    "other-program": "{deed} by another program on {day}",
    "slip-other-unit": "the visit may be in {unit}",
    "slip-tenfold": "the visit may have its decimal point out of place",
    "slip-all-zero": "the visit is all zeros",
    "slip-all-alike": "the visit is one depth all over, and does not fit what the tires read before and after",
    "slip-swapped": "the visit may have places swapped",
    "slip-new-tires": "the visit reads as new tires do",
    "slip-unfit": "the visit does not fit what the tires read before and after",
    "slip-car-unit": "the vehicle may be read in {unit}",
    "slip-car-tenfold": "the vehicle may be read with the decimal point out of place",
    "slip-car-zero": "all depths of the vehicle are zero",
    "slip-pressure-unit": "may be in {unit}",
    "slip-odometer-unit": "the odometer may be in {unit}",
    "slip-odometer-digit": "the odometer may have a digit off",
    "slip-car-distance": "all odometers of the vehicle may be in {unit}",
    "slip-table-distance": "all odometers of the table may be in {unit}",
    "slip-temperature-unit": "the temperature may be in {unit}",
    "slip-digit": "may have a digit off",
    "slip-grows": "the tire grows from visit to visit",
    "slip-cars-swapped": "the visit may be that of another vehicle",
    "slip-absolute": "may be absolute pressure",
    **_refused.WHAT,
    **_imports.WHAT,
}
ADVICE: Final = {
    "file-unreadable": "Check that the file is there and that you may read it.",
    "file-empty": "Put a header row and the records into it, or delete the file.",
    "file-utf16": _SAVE,
    "file-not-csv": _SAVE,
    "file-zero-byte": "The file may be damaged: export it again as CSV UTF-8.",
    "file-not-utf8": _SAVE,
    "file-missing": "A logbook needs {names}.",
    "rename-file": "Rename {near} to {first}.",
    "file-twice": "Keep one of the two files.",
    "file-beside": "Keep the tables and the file in different folders.",
    "file-damaged": _RESTORE,
    "file-cut": "It may be damaged or cut short: export it again.",
    "file-earlier-version": "Make a new one: tirelife convert OLD NEW.",
    "needs-pyarrow": "Install it with: pip install 'tirelife[parquet]', or save the table as CSV.",
    "delimiter": "Save it with commas between cells.",
    "decimal-commas": "Save it with points for decimals.",
    "header-unreadable": _SAVE,
    "header-below": "Delete the {rows_above} above the header, and unmerge any merged cells.",
    "no-records": "Add a row for each.",
    "unclosed": "A quotation mark may be opened and never closed: look at this row and the ones before.",
    "ragged": "Name the column, or put the cell that holds a comma into quotation marks.",
    "column-twice": "Rename or delete one of the two columns.",
    "column-missing": "Add a column {either}.",
    "rename-column": "Rename the column {near!r} to {either}.",
    "column-unknown": "They are kept and ignored.",
    "two-units": "Keep one of the two columns.",
    "units-differ": "Write both columns in {unit_code} or both in {other_code}.",
    "unit-wrong": "Use one of: {names}.",
    "unit-not-of-kind": "Use one of: {names}.",
    "unit-missing": "Name the column {either}.",
    "name-column": "Name the column {either}.",
    "blank": "Fill it in.",
    "key-twice": "It stands in row {row} already; each may stand once.",
    "shares": "Correct the shares of this row.",
    "ends-before": "Correct one of the dates.",
    "not-a-number": "Write digits, with a point for decimals, such as 7.5.",
    "unit-in-name": "Write {meant} alone; the unit is in the column's name.",
    "not-finite": "Write a number, or leave the cell blank if it may be blank.",
    "may-be-thousands": "Write {meant}, or {other} if that is what is meant.",
    "thousands": _SO,
    "decimal-comma": _SO,
    "not-a-date": "Write it as 2026-03-14.",
    "write-it": "Write {meant}.",
    "day-or-month": "Write {first} if the day comes first, or {second} if the month does.",
    "day-number": "It looks like a spreadsheet's day number for {meant}: format the column as YYYY-MM-DD.",
    "no-such-day": "Correct the date.",
    "too-long-ago": "Correct the year.",
    "no-clock": "It is read as {meant}; correct the day or the time.",
    "future": "Correct the date; what is dated after today is not used unless you ask for a later day.",
    "all-future": (
        "So is every date of this logbook; they are used as they are. Is this computer's clock right?"
    ),
    "future-visit": "Correct the date.",
    "other-case": _SO,
    "not-a-choice": "Write one of {choices}.",
    "out-of-range": "Correct the value.",
    "not-whole": "Correct the value.",
    "unusually-low": "Check it; it is kept as it is.",
    "unusually-high": "Check it; it is kept as it is.",
    "percent": "Shares are fractions of 1: write {meant} for {typed} %.",
    "typed-unit": "Was it typed in {unit}? {typed} {unit} is {meant} {column_unit}.",
    "not-known": "Fill it in: front, rear or all. Until then {meant} is assumed.",
    "placard": (
        "Read it off the door frame. Until then the pressure usual on this vehicle, or {meant} kPa, "
        "is assumed."
    ),
    "unknown-id": _ADD_TO,
    "near-id": "Did you mean {near!r}? " + _ADD_TO,
    "week-odd": "Write week and year, four digits, such as 0726.",
    "lost-zero": "A leading zero may be lost: 712 may be 0712. Write week and year, four digits.",
    "week-late": "Check the code on the sidewall, and the date of the mount.",
    "distance-units": "Check the unit in the column's name.",
    "repeated": "Row {row} says the same; it counts once.",
    "taken": (
        "{place} of {vehicle_id} held {tire_id} since {day}: {tire_id} counts as taken off that day. "
        "If it went elsewhere, record where."
    ),
    "mounted-twice": "It counts once.",
    "two-places": "It is still at {place} of {vehicle_id}: add a row that takes it OFF there.",
    "at-once": "It is at {first} and at {second} at once: correct one of the rows.",
    "off-where-not": "Add the row that put it on, or correct the vehicle.",
    "place-held": (
        "{place} of {vehicle_id} holds {tire_id} since {day}: record where {tire_id} went, or that it is OFF."
    ),
    "no-tire": "Add the mount to mounts, or correct the position or the date; the reading is kept, not used.",
    "odometer-back": "It reads {around}. " + _SLIP,
    "odometer-ahead": "It reads {around}. " + _SLIP,
    "odometer-replaced": (
        "It reads {around}. If the instrument was replaced, add the old one's last reading to each new one. "
        + _SLIP
    ),
    "odometer-typed-unit": "It reads {around}. Was it typed in {unit}? Then write {meant}.",
    "over-new": "New, it had {depth}.",
    "depth-grows": "It read {around}. Check the position and the reading; it is kept and flagged.",
    "depth-unfit": "It read {around}. Check the position and the reading; it is kept and flagged.",
    "places-swapped": "It read {around}. Were {first} and {second} swapped?",
    "depth-typed-unit": "It read {around}. Was it typed in {unit}? {typed} {unit} is {meant} {column_unit}.",
    "depth-unit": "Tires just mounted read {ratio} of their new depth: name the column depth_{unit_code}?",
    "depth-unit-or-new": (
        "Tires just mounted read {ratio} of their new depth: name the column depth_{unit_code}? "
        "Or is it their new depth that is in another unit?"
    ),
    "falls-fast": "It read {depth} on {day}. Read it again.",
    "digest": _RESTORE,
    "history-seals": (
        "The records match their own digests and are used; whether one is missing cannot be known."
    ),
    "history-rules": _RESTORE,
    "history-visits": _RESTORE,
    "history-records": _RESTORE,
    "history-use": _RESTORE,
    "other-program": "It is used as it stands; tirelife audit shows what it was.",
    "slip-other-unit": "Taken as {unit} it fits what the tires wear. Was it typed in {unit}?",
    "slip-tenfold": "Taken times {factor} it fits what the tires wear. Correct it, or read again.",
    "slip-all-alike": "Was one value filled in for all? Read again, each groove by itself.",
    "slip-all-zero": "Were the depths not read? Then delete them; if tires are bald, look at them now.",
    "slip-swapped": "It fits with {swap} swapped. Was it typed in the order of the form?",
    "slip-new-tires": "Were new tires mounted at {places}? Then add them to mounts.",
    "slip-unfit": "Read again, or check the vehicle, the date and the odometer.",
    "slip-car-unit": "Its tires would start at their new depth then. Was it always typed in {unit}?",
    "slip-car-tenfold": "Times {factor} its tires would start at their new depth. Was it always typed so?",
    "slip-car-zero": "Were they never read? Then delete them; if tires are bald, look at them now.",
    "slip-pressure-unit": "As {unit} it would be {meant} {column_unit}. Was it typed in {unit}?",
    "slip-odometer-unit": "As {unit} it would be {meant} {column_unit}, which fits. Was it typed in {unit}?",
    "slip-odometer-digit": "{meant} {unit} would fit the readings around it. " + _SLIP,
    "slip-car-distance": "Taken as {unit} it runs and wears as the others do. Were they typed in {unit}?",
    "slip-table-distance": "Taken as {unit} they fit the other tables. Name the column odometer in {unit}?",
    "slip-temperature-unit": "As {unit} it fits the season. Was it typed in {unit}?",
    "slip-digit": "{meant} {unit} would fit the grooves beside it. Correct it, or read again.",
    "slip-grows": "No tread does: check the dates, the wheel and the mounts of its readings.",
    "slip-cars-swapped": (
        "It fits {vehicle_id}, and that one's visit of the day fits this. Exchange the two."
    ),
    "slip-absolute": ("As gauge pressure it would be {meant} {column_unit}. Logbooks hold gauge pressure."),
    **_refused.ADVICE,
    **_imports.ADVICE,
}

TEXT: Final = {
    "row": ", row {row}",
    "column": ", column {column}",
    "found": " (found {value!r})",
    "errors": "Errors",
    "doubts": "Doubts",
    "more": "… and {n} more like it, to row {row}",
    "error-one": "{n} error",
    "error-many": "{n} errors",
    "doubt-one": "{n} doubt",
    "doubt-many": "{n} doubts",
    "correct": "Correct the errors; until then the logbook is not used.",
    "kept": "Doubtful records are kept and flagged.",
    "now": "LOOK AT THIS NOW",
    "near": "Near the limit",
}
"""Where a problem is, and how a list of problems is headed and summed up."""

pieces = pieces_in(
    Words(
        units=_UNITS,
        named={"swap": _SWAPS, "mark": _MARKS, "deed": _DEEDS},
        times={"before": "before", "after": "after"},
        both=" and ",
        either=" or ",
        held=" and in ",
        no_name="a column without a name",
        rows_above=("{n} row", "{n} rows"),
        which="Say which with {options}. Nothing was written.",
        hidden=("row {rows} of {tab}", "tab {tab}"),
        left_out=("{n} row", "{n} rows"),
        notes=_imports.NOTES,
    )
)
