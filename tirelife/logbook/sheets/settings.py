"""What a person said about a sheet."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = ["Settings"]


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
