"""Changes of a logbook file in lines for people."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["changes_text"]

_DEEDS: Final = {
    "import": "imported",
    "visit": "visit",
    "insert": "written",
    "change": "changed",
    "supersede": "superseded",
    "withdraw": "withdrawn",
}
_UNSHOWN: Final = ("digests", "rest", "at")


def changes_text(changes: pd.DataFrame) -> str:
    """Changes by day, a line each."""
    lines: list[str] = []
    day = ""
    for entry in changes.to_dict("records"):
        at, table, row = str(entry["at"]), str(entry["table"]), entry["row"]
        if at[:10] != day:
            day = at[:10]
            lines += [*[""] * bool(lines), day]
        where = f" {row}" if table == "visits" else f" {table} row {row}" if table else ""
        other = " by another program" if entry["by"] == "another program" else ""
        said = _said(entry["before"], entry["after"])
        lines.append(f"  {at[11:19]} {_DEEDS.get(entry['deed'], entry['deed'])}{where}{other}: {said}")
    return "\n".join(lines)


def _said(before: dict[str, Any] | None, after: dict[str, Any] | None) -> str:
    if before is not None and after is not None:
        return ", ".join(f"{name} {before[name]} to {after[name]}" for name in after)
    held = after if after is not None else before or {}
    return ", ".join(
        str(v) if k in ("note", "at") else f"{k} {v}" for k, v in held.items() if k not in _UNSHOWN
    )
