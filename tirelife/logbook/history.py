"""Every change to a logbook file, as people read it: when, which record, what it was and what it became."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

import pandas as pd

from tirelife.errors import refusal
from tirelife.logbook.findings import Findings
from tirelife.logbook.refused import Refused
from tirelife.logbook.sources import STORE_NAME
from tirelife.logbook.store import audit, is_store, read_store

__all__ = ["logbook_changes", "untrue"]

_COLUMNS: Final = ["at", "deed", "table", "row", "before", "after", "by"]


def logbook_changes(path: str | Path) -> pd.DataFrame:
    """List every change to a logbook in one file, the first one first.

    Parameters
    ----------
    path : str or Path
        The file, or a folder with ``logbook.sqlite`` in it.

    Returns
    -------
    DataFrame
        at (UTC), deed (import, visit, insert, change, supersede, withdraw), table, row, before, after (dicts
        of the columns that changed, or None), by (``tirelife``; ``another program`` for an entry without a
        seal; blank before the last import, when the tables lay open to all).

    Raises
    ------
    InputError
        If it is no logbook in one file, or too damaged to be read.
    """
    path = _file(path)
    entries = audit(path).to_dict("records")
    last = max((i for i, entry in enumerate(entries) if entry["action"] == "import"), default=0)
    rows: list[tuple[Any, ...]] = []
    before: dict[str, Any] = {}
    for i, entry in enumerate(entries):
        record = _record(entry["record"])
        if entry["action"] == "before":
            before = record
            continue
        known = {k: v for k, v in record.items() if v is not None and not k.startswith("_")}
        old: dict[str, Any] | None = None
        new: dict[str, Any] | None = known
        if entry["action"] == "change":
            changed = [k for k in record if record[k] != before.get(k) and not k.startswith("_")]
            old, new = {k: before.get(k) for k in changed}, {k: record[k] for k in changed}
        elif entry["action"] in ("supersede", "withdraw"):
            old, new = known, None
        by = "" if i < last else "tirelife" if entry["sealed"] else "another program"
        rows.append((*(entry[name] for name in ("at", "action", "table", "row")), old, new, by))
    out = pd.DataFrame(rows, columns=_COLUMNS)
    return out.astype({"row": "Int64"})


def untrue(path: str | Path) -> pd.DataFrame:
    """What in a logbook file is not as it was written: damage, and changes that went round its history.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    DataFrame
        As from :func:`tirelife.logbook.check_logbook`; empty if every record and the history are as written.
    """
    found = Findings()
    read_store(_file(path), found, deep=True)
    return found.frame()


def _file(path: str | Path) -> Path:
    path = Path(path)
    path = path / STORE_NAME if path.is_dir() else path
    if not is_store(path):
        raise refusal(path, Refused.NO_HISTORY)
    return path


def _record(text: str) -> dict[str, Any]:
    try:
        out = json.loads(text)
    except (ValueError, TypeError):
        return {"text": text}
    return out if isinstance(out, dict) else {"text": text}
