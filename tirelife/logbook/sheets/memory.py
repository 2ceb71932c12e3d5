"""What earlier imports brought into a logbook, so that the same sheet, grown, adds only what is new."""

from __future__ import annotations

import datetime as dt
import json
import math
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd

from tirelife.errors import refusal
from tirelife.logbook.refused import NoSheet
from tirelife.logbook.sheets.visits import Entry

__all__ = ["FILE", "Memory", "remembered", "text_of"]

FILE = "imported.json"


@dataclass
class Memory:
    """Visits that earlier imports brought, and the records that somebody added to the logbook since."""

    visits: dict[tuple[str, str], Entry] = field(default_factory=dict)
    added: dict[str, list[dict[str, str]]] = field(default_factory=dict)

    def joined(self, visits: list[Entry]) -> tuple[list[Entry], pd.DataFrame, int]:
        """All visits, those of the sheet first; what changed; how many are new.

        A visit that is no longer in the sheet is kept as it was, and has nothing under ``now``.
        """
        now = {(v.vehicle, v.date.isoformat()): v for v in visits}
        changed = [
            (*key, _short(self.visits[key]), _short(visit))
            for key, visit in now.items()
            if key in self.visits and _plain(self.visits[key]) != _plain(visit)
        ]
        gone = [(key, visit) for key, visit in self.visits.items() if key not in now]
        changed += [(*key, _short(visit), "") for key, visit in gone]
        merged = sorted([*visits, *(v for _, v in gone)], key=lambda one: (one.vehicle, one.date))
        frame = pd.DataFrame(changed, columns=["vehicle_id", "date", "before", "now"])
        return merged, frame, sum(key not in self.visits for key in now)


def remembered(out: str | Path) -> Memory:
    """Read what earlier imports left in a logbook folder.

    Raises
    ------
    InputError
        If what stands there was not made by an import.
    """
    folder = Path(out)
    file = folder / FILE
    if folder.is_dir() and not any(folder.iterdir()):
        return Memory()
    try:
        held = json.loads(file.read_text(encoding="utf-8"))
        visits = [_entry(one) for one in held["visits"]]
    except (OSError, ValueError, KeyError, TypeError):
        raise refusal(out, NoSheet.IMPORT_FOREIGN) from None
    added: dict[str, list[dict[str, str]]] = {}
    for path in sorted(folder.glob("*.csv")):
        frame = pd.read_csv(path, dtype=str, keep_default_na=False)
        marked = held["tables"].get(path.stem, [])
        own = {tuple(row) for row in marked}
        mine = [row for row in frame.to_dict("records") if tuple(row.values()) not in own]
        if path.stem != "rows_of_sheet" and mine:
            added[path.stem] = [{str(k): str(v) for k, v in row.items()} for row in mine]
    return Memory({(v.vehicle, v.date.isoformat()): v for v in visits}, added)


def text_of(visits: list[Entry], tables: dict[str, pd.DataFrame]) -> str:
    """What the next import has to know, as JSON."""
    held = [{**_plain(v), "rows": v.rows} for v in visits]
    cells = {name: frame.to_numpy().tolist() for name, frame in tables.items()}
    return json.dumps({"visits": held, "tables": cells}, ensure_ascii=False, default=str)


def _plain(visit: Entry) -> dict[str, Any]:
    out = asdict(visit)
    out.pop("rows")
    out["date"] = visit.date.isoformat()
    out["depths"] = sorted([w, g, round(v, 4)] for w, g, v in visit.depths)
    out["pressures"] = sorted(
        [w, round(v, 3), None if math.isnan(s) else round(s, 3)] for w, v, s in visit.pressures
    )
    out["odometer_km"] = round(visit.odometer_km, 3)
    out["new_depth"] = {k: None if math.isnan(v) else round(v, 4) for k, v in visit.new_depth.items()}
    return out


def _entry(held: dict[str, Any]) -> Entry:
    held = dict(held)
    held["date"] = dt.date.fromisoformat(held["date"])
    held["depths"] = [tuple(one) for one in held["depths"]]
    held["pressures"] = [(w, v, math.nan if s is None else s) for w, v, s in held["pressures"]]
    held["new_depth"] = {k: math.nan if v is None else v for k, v in held["new_depth"].items()}
    held["rows"] = [tuple(one) for one in held["rows"]]
    return Entry(**held)


def _short(visit: Entry) -> str:
    depths = ", ".join(f"{w} {g} {v:.2f} mm" for w, g, v in visit.depths[:8])
    return f"{visit.odometer_km:,.0f} km; {depths}" + (f"; {visit.note}" if visit.note else "")
