"""A mapping of a sheet's columns and conventions, as a small TOML file for the next time."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tirelife.errors import refusal
from tirelife.logbook.refused import NoSheet
from tirelife.logbook.sheets.settings import Settings

if TYPE_CHECKING:
    from tirelife.logbook.sheets.importing import Plan

__all__ = ["mapping_text", "read_mapping"]

_PLAIN = (
    "depth_unit",
    "distance_unit",
    "day_first",
    "near_side",
    "wheel_numbers",
    "points",
    "depth_commas",
    "odometer_in",
    "new_depth",
    "vehicle",
    "hidden",
)


def read_mapping(path: str | Path) -> Settings:
    """Read a mapping.

    Raises
    ------
    InputError
        If it is no TOML, or says what cannot be said.
    """
    path = Path(path)
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise refusal(path, NoSheet.NO_MAPPING, why=str(error)) from None
    strange = [name for name in data if name not in (*_PLAIN, "columns", "work")]
    if strange:
        raise refusal(path, NoSheet.MAPPING_PART, column=strange[0], names=_PLAIN)
    said: dict[str, Any] = {name: data[name] for name in _PLAIN if name in data}
    return Settings(**said, columns=dict(data.get("columns", {})), work=dict(data.get("work", {})))


def mapping_text(plan: Plan) -> str:
    """A plan as a mapping, with what was settled and every column."""
    how, told = plan.how, plan.settings
    said: dict[str, Any] = {
        "depth_unit": how.depth_unit,
        "distance_unit": how.distance_unit,
        "day_first": how.day_first,
        "near_side": how.near_side,
        "wheel_numbers": how.wheel_numbers,
        "points": told.points,
        "depth_commas": how.commas,
        "odometer_in": "thousands" if how.odometer_times > 1 else told.odometer_in,
        "new_depth": told.new_depth,
        "vehicle": told.vehicle,
        "hidden": told.hidden,
    }
    lines = [f"{name} = {json.dumps(value)}" for name, value in said.items() if value not in (None, "")]
    lines += ["", "[columns]  # a header, or a column's letter: what it holds"]
    seen: set[str] = set()
    for table, _ in plan.tables:
        for column in table.columns:
            key = column.header or column.letter
            if key not in seen:
                seen.add(key)
                lines.append(f"{json.dumps(key, ensure_ascii=False)} = {json.dumps(str(column.field))}")
    if told.work:
        lines += ["", "[work]"]
        lines += [
            f"{json.dumps(k, ensure_ascii=False)} = {json.dumps(v, ensure_ascii=False)}"
            for k, v in told.work.items()
        ]
    return "\n".join(lines) + "\n"
