"""A forecast as data in the logbook's units, and as a table for a reader, the most urgent vehicle first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tirelife.sheet import far_within
from tirelife.sheet.language import say_short
from tirelife.terminal.decision import headline_lines
from tirelife.terminal.table import Column, date_span, far_span, place, table, unit_of
from tirelife.tread import STAYS_PUT
from tirelife.units import SHOWN, convert, shown

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.advice import FleetDecisions

__all__ = ["forecast_data", "forecast_text"]


def forecast_data(forecast: pd.DataFrame, units: str, rule: str = "") -> pd.DataFrame:
    """A forecast in the logbook's units, its notes as ``codes`` and, in words, as ``note``.

    ``rule`` is said of every tire; ``fit``, whether to trust what the numbers rest on, stands last.
    """
    notes = forecast["notes"]
    short = {found: say_short(found, units) for found in notes.unique()}
    codes = {found: "; ".join(note.code.value for note in found) for found in short}
    words = {found: "; ".join(part for part in (said, rule) if part) for found, said in short.items()}
    out = forecast.drop(columns="notes").assign(
        codes=notes.map(codes).astype("str"), note=notes.map(words).astype("str")
    )
    out = shown(out[[*(name for name in out if name != "fit"), "fit"]], units)
    return out.rename(columns=lambda name: name.replace("mi_left", "miles_left"))


def forecast_text(
    rows: pd.DataFrame, units: str, rule: str = "", decisions: FleetDecisions | None = None
) -> str:
    """Set a forecast as text.

    Parameters
    ----------
    rows : DataFrame
        From :func:`tirelife.outlook.forecast`.
    units : str
    rule : str
        What says at which depth a tire comes off; empty if no place was named.
    decisions : FleetDecisions, optional
        Whose headlines stand above the table, and whose order the vehicles keep in it.
    """
    if rows.empty:
        return ""
    read_first = ~rows["verdict"].isin(STAYS_PUT)  # what was measured at or near its limit leads
    place_of = {v: i for i, v in enumerate(decisions.by_urgency())} if decisions is not None else {}
    rows = rows.assign(
        later=read_first, turn=rows["vehicle_id"].map(lambda v: place_of.get(v, len(place_of)))
    ).sort_values(["turn", "later", "date_p50", "vehicle_id"], kind="stable", ignore_index=True)
    unit, deep = unit_of("distance", units), unit_of("depth", units)
    read, depth = (convert(rows[name], "mm", SHOWN[units]["depth"]) for name in ("read_mm", "depth_now_mm"))
    low, middle, high = (rows[f"km_left_{p}"] for p in ("p10", "p50", "p90"))
    shown = table(
        [
            Column("vehicle", rows["vehicle_id"].astype(str).tolist()),
            Column("tire", [place(p) for p in rows["position"]]),
            Column(
                f"{deep}, least\nread, corrected", [f"{d:.1f}" if d == d else "" for d in read], right=True
            ),
            Column(
                f"{deep}, least\ntoday, estimate", [f"{d:.1f}" if d == d else "" for d in depth], right=True
            ),
            Column(
                f"{unit} left,\nmiddle",
                [far_within(m, units, h - w) for w, m, h in zip(low, middle, high, strict=True)],
                right=True,
            ),
            Column(
                "\n8 times in 10",
                [far_span(w, h, units) for w, h in zip(low, high, strict=True)],
                right=True,
            ),
            Column(
                "replace between\n(8 times in 10)",
                [date_span(a, b) for a, b in zip(rows["date_p10"], rows["date_p90"], strict=True)],
            ),
        ]
    )
    said: dict[str, list[str]] = {}
    for vehicle, position, notes in zip(rows["vehicle_id"], rows["position"], rows["notes"], strict=True):
        if notes:
            said.setdefault(say_short(notes, units), []).append(f"{vehicle} {place(position)}")
    first = ["What to do first", *headline_lines(decisions, units), ""] if decisions is not None else []
    lines = [*first, shown, ""]
    lines += [f"{', '.join(who)}: {note}." for note, who in said.items()]
    lines += [f"{rule[:1].upper()}{rule[1:]}."] if rule else []
    lines.append("A projection is no inspection; look at the tire first. Local code and the placard rule.")
    return "\n".join(lines)
