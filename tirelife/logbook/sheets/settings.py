"""What a person said about a sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tirelife.errors import misused
from tirelife.logbook.wrong import Wrong

__all__ = ["Settings", "settings_typed"]


@dataclass(frozen=True)
class Settings:
    """What a person said about a sheet; None where the sheet itself has to say it.

    Attributes
    ----------
    depth_unit : {"32nds", "mm"}
    distance_unit : {"mi", "km"}
    day_first : bool
    near_side : {"left", "right"}
        The side of the road's edge, for wheels called near and off side.
    wheel_numbers : str
        Which wheels 1 to 4 are: one of :data:`tirelife.logbook.sheets.numbered.ORDERS`.
    points : {"thousands", "decimals"}
        What a lone point or comma before three digits in an odometer is.
    depth_commas : {"decimals", "grooves"}
        What a comma in a depth is.
    odometer_in : {"thousands", "full"}
        Whether odometers are written in thousands.
    new_depth : float
        Depth of new tires. [depth_unit]
    vehicle : str
        Vehicle of a tab that has no column for it.
    hidden : {"use", "leave"}
        What to do with hidden rows and tabs.
    columns : dict of str to str
        By header or letter: what a column holds, such as ``"depth LF outer 32nds"``.
    work : dict of str to str
        By vehicle and day (``"AB 12 2026-03-14"``): work done that the sheet does not tell, such as ``"4
        new"``.
    """

    depth_unit: str | None = None
    distance_unit: str | None = None
    day_first: bool | None = None
    near_side: str | None = None
    points: str | None = None
    depth_commas: str | None = None
    new_depth: float | None = None
    vehicle: str | None = None
    hidden: str | None = None
    columns: dict[str, str] = field(default_factory=dict)
    work: dict[str, str] = field(default_factory=dict)
    wheel_numbers: str | None = None
    odometer_in: str | None = None


def settings_typed(given: Mapping[str, Any]) -> Settings:
    """Settings of what a person typed about a sheet.

    Parameters
    ----------
    given : mapping
        By the name of an option of ``tirelife import``: ``column`` and ``work`` are lists of ``NAME=WHAT``.

    Raises
    ------
    InputError
        If one of those has no name or says nothing.
    """
    alike = ("depth_unit", "distance_unit", "day_first", "near_side", "points", "depth_commas", "hidden",
             "wheel_numbers", "odometer_in")  # fmt: skip
    return Settings(
        new_depth=given["sheet_new_depth"],
        vehicle=given["tab_vehicle"],
        columns=dict(map(_pair, given["column"])),
        work=dict(map(_pair, given["work"])),
        **{name: given[name] for name in alike},
    )


def _pair(text: str) -> tuple[str, str]:
    name, sign, what = text.rpartition("=")
    if not sign or not name.strip() or not what.strip():
        raise misused(Wrong.NAME_WHAT, text=text)
    return name.strip(), what.strip()
