"""Read a logbook from a folder of tables."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from tirelife.logbook.model import Logbook
from tirelife.logbook.schema import REQUIRED, SCHEMA, inside_name
from tirelife.units import INSIDE, convert, split_unit

__all__ = ["read_logbook"]


def read_logbook(path: str | Path, as_of: str | pd.Timestamp | None = None) -> Logbook:
    """Read and check a logbook; nothing dated after ``as_of`` is kept."""
    folder = Path(path)
    tables, metric = {}, False
    for name, columns in SCHEMA.items():
        if name == "trips":
            continue
        file = folder / f"{name}.csv"
        if not file.exists():
            if name in REQUIRED:
                raise FileNotFoundError(file)
            tables[name] = pd.DataFrame(columns=[*(inside_name(c) for c in columns), "row", "doubt"])
            continue
        raw = pd.read_csv(file, dtype=str, keep_default_na=False, encoding="utf-8-sig")
        frame = pd.DataFrame(index=raw.index)
        for column in columns:
            if column.kind in INSIDE:
                found = [c for c in raw if split_unit(c, [column.kind])[0] == column.name]
                if found:
                    unit = split_unit(found[0], [column.kind])[1]
                    metric |= unit == "km"
                    frame[inside_name(column)] = convert(
                        pd.to_numeric(raw[found[0]]), unit, INSIDE[column.kind]
                    )
                else:
                    frame[inside_name(column)] = float("nan")
            elif column.name in raw:
                text = raw[column.name]
                if column.kind == "date":
                    frame[column.name] = pd.to_datetime(text)
                elif column.kind in ("number", "count"):
                    frame[column.name] = pd.to_numeric(text)
                else:
                    frame[column.name] = text
            else:
                frame[column.name] = "" if column.kind == "text" else float("nan")
        frame["row"] = frame.index + 2
        frame["doubt"] = ""
        tables[name] = frame
    last = max(t["date"].max() for t in tables.values() if "date" in t and len(t))
    day = pd.Timestamp(as_of) if as_of is not None else last
    for name, frame in tables.items():
        if "date" in frame and len(frame):
            tables[name] = frame[frame["date"] <= day].reset_index(drop=True)
    problems = pd.DataFrame(columns=["file", "row", "column", "value", "what", "advice", "doubt"])
    return Logbook(tables, problems, "metric" if metric else "us", day, folder)
