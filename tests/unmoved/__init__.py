"""Answers as they were, number by number, so that none moves unnoticed while code is moved.

They prove nothing about tires: what is right stands in the tests of the rooms, beside its source. Of every table and
list of an answer its size and three sums are kept, or a digest of its texts; a number that moves by more than a
hundred-thousandth is named. Where an answer is meant to change, write them anew and look at which did::

    python -m tests.unmoved
"""

from __future__ import annotations

import hashlib
import json
import re
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from tests import contract

HERE = Path(__file__).parent
RTOL = 1e-5
ROOMS = sorted(path.stem.removeprefix("test_") for path in HERE.glob("test_*.py"))
TOO_LONG = ("outlook.backtest", "outlook.held", "outlook.what_if_fleet", "outlook.forecast_fleet")
APART = ("logbook.folder_for", "logbook.read_texts")
"""What is told of a place of this run."""


def cases(room: str) -> list[str]:
    """Names of what is asked of a room."""
    from tests.unmoved.asked import ASKED

    public = [
        name for name in contract.public() if name.startswith(f"{room}.") and name not in contract.APART
    ]
    return [*(name for name in public if name not in (*TOO_LONG, *APART)), *ASKED.get(room, {})]


@cache
def top() -> Path:
    """A folder of this run."""
    return Path(tempfile.mkdtemp())


@cache
def kit(many: bool) -> contract.Kit:
    """What public functions are asked of: three vehicles of the demo, or six."""
    vehicles = contract.VEHICLES if many else contract.VEHICLES[:3]
    return contract.Kit(contract.demo(top() / f"kit{len(vehicles)}", vehicles=vehicles))


def answer(room: str, name: str) -> dict[str, Any]:
    """What is kept of an answer."""
    from tests.unmoved.asked import ASKED

    own: Callable[[], Any] | None = ASKED.get(room, {}).get(name)
    made = own() if own else contract.answer(name, kit(room == "groups"))
    out: dict[str, list[Any]] = {}
    for at, one in contract.leaves(made):  # cells of one column are kept together
        out.setdefault(re.sub(r"\[\d+\]", "[]", at), []).append(np.atleast_1d(np.asarray(one)).ravel())
    return {at: kept for at, parts in out.items() if (kept := _kept(_joined(parts))) is not None}


def _joined(parts: list[Any]) -> Any:
    if (
        len({part.dtype.kind in "fiub" for part in parts}) == 1
        and len({part.dtype.kind in "mM" for part in parts}) == 1
    ):
        return np.concatenate(parts)
    return np.array([str(one) for part in parts for one in part], dtype=object)


def _kept(one: Any) -> list[Any] | None:
    values = np.asarray(one)
    if values.dtype.kind in "mM":
        values = values.astype("datetime64[s]" if values.dtype.kind == "M" else "timedelta64[s]").astype(
            np.int64
        )
        values = np.where(values == np.iinfo(np.int64).min, np.nan, values.astype(float))
    if values.dtype.kind in "fiub":
        flat = values.astype(float).ravel()
        there = np.isfinite(flat)
        flat = np.where(there, flat, 0.0)
        along = np.arange(1, len(flat) + 1) / len(flat) if len(flat) else flat
        return [
            len(flat),
            int(there.sum()),
            *(float(f"{s:.9g}") for s in (flat.sum(), np.abs(flat).sum(), along @ flat)),
        ]
    texts = ["" if pd.isna(text) else str(text) for text in values.ravel()]
    if any(tempfile.gettempdir() in text for text in texts):  # a place of this run
        return None
    return [len(texts), hashlib.blake2b("\x1f".join(texts).encode(), digest_size=8).hexdigest()]


def moved(room: str, name: str) -> list[str]:
    """What of an answer is not as it was kept."""
    held, now = read(room)[name], json.loads(json.dumps(answer(room, name)))
    out = [f"only in one: {at}" for at in sorted(held.keys() ^ now.keys())]
    for at in held.keys() & now.keys():
        (n, *was), (m, *new) = held[at], now[at]
        if n != m or len(was) != len(new):
            out.append(f"{at}: {n} and {m} values")
        elif len(was) == 1:
            out += [f"{at}: other texts"] * (was != new)
        elif was[0] != new[0] or not np.allclose(was[1:], new[1:], rtol=0, atol=RTOL * was[2] + 1e-12):
            out.append(f"{at}: {was} and {new}")
    return out


@cache
def read(room: str) -> dict[str, dict[str, list[Any]]]:
    """What is kept of a room."""
    held: dict[str, dict[str, list[Any]]] = json.loads((HERE / f"{room}.json").read_text(encoding="utf-8"))
    return held


def write(room: str) -> None:
    """Keep the answers of a room as they are now."""
    lines = (
        f"{json.dumps(name)}: {json.dumps(answer(room, name), separators=(',', ':'))}" for name in cases(room)
    )
    (HERE / f"{room}.json").write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")
