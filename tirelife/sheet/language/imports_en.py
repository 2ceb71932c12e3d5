"""English: what came of an import, line by line."""

from __future__ import annotations

from typing import Final

__all__ = ["TEXTS"]

TEXTS: Final[dict[str, str]] = {
    "not-used": "not used",
    "depths-in": "depths in {unit}",
    "odometers-in": "odometers in {unit}",
    "day-first": "day first: {why}",
    "month-first": "month first: {why}",
    "counts": "{vehicles} vehicles, {visits} visits.",
    "rows": "Rows: {used} used, {doubted} doubted, {left_out} left out.",
    "row": "  {tab}, row {row}: {status}: {reason}",
    "rows-alike": "  {status}, {reason}: row {rows}",
    "used": "used",
    "doubted": "doubted",
    "left out": "left out",
    "moves": "Moves and renewals: {moves}, of which {inferred} are inferred from the depths.",
    "move": '  {vehicle} {date}: {what} ({chance}); or {others}. Say it with --work "{vehicle} {date}=…"',
    "otherwise": "otherwise",
    "changed": "  changed: {vehicle} {date}: {before} -> {now}",
    "gone": "no longer in the sheet; kept",
    "unknown": "Not in the sheet, and estimated until you fill it in: {facts}.",
    "fact-new depth": "new depth",
    "fact-drive": "drive",
    "fact-placard pressures": "placard pressures",
    "fact-tire line": "tire line",
    "measured-one": "  Measured by doing the answer again with the fact known, on the vehicle that was read most often.",
    "measured-many": "  Measured by doing the answer again with the fact known, on the {n} vehicles read most often.",
    "written": "Written to {out}: {visits} new visits.",
    "not-written": "Nothing was written; give --out LOGBOOK.",
    "on-the-way": "{name}: {visits} visits of {vehicles} vehicles; rows {used} used, {doubted} doubted, {left_out} left "
    "out; depths in {depth}, odometers in {odometer}; {moves} moves and renewals, {inferred} of them inferred. See all "
    "of it with: tirelife import.",
    "which": "Which? ",
}
