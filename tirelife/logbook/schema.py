"""The tables of a logbook: their columns, kinds, units and allowed values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from tirelife.positions import MOUNTED, POSITIONS
from tirelife.units import INSIDE

__all__ = [
    "BANDS",
    "GROOVES",
    "KEPT_BESIDE",
    "READ_AGAIN",
    "SCHEMA",
    "Column",
    "inside_name",
]

GROOVES: Final = ("outer", "outer_mid", "center", "inner_mid", "inner")
"""Grooves across the tread, from the outside of the vehicle inwards."""
BANDS: Final = (
    "share_under_25mph",
    "share_25_40mph",
    "share_40_55mph",
    "share_55_70mph",
    "share_over_70mph",
)
"""Shares of miles by speed; the bands are part of the names, whatever units the logbook uses."""


@dataclass(frozen=True)
class Column:
    """One column of a table.

    ``kind`` is ``text``, ``date``, ``number``, ``count`` or a kind of quantity of :mod:`tirelife.units`;
    a quantity's name stands without its unit. ``low`` and ``high`` are the range outside which a value
    is an error, in inside units; ``doubt_low`` and ``doubt_high`` the range outside which it is a doubt.
    """

    name: str
    kind: str
    required: bool = True
    blank: bool = False
    one_of: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    doubt_low: float | None = None
    doubt_high: float | None = None


def inside_name(column: Column) -> str:
    """Name of a column inside the package: a quantity carries its inside unit.

    Examples
    --------
    >>> inside_name(Column("new_depth", "depth"))
    'new_depth_mm'
    """
    return f"{column.name}_{INSIDE[column.kind]}" if column.kind in INSIDE else column.name


_DATE = Column("date", "date")
_VEHICLE = Column("vehicle_id", "text")
_ODOMETER = Column("odometer", "distance", low=0, high=5_000_000, doubt_high=2_000_000)
_GAUGE = Column("gauge_id", "text", required=False, blank=True)
_ROAD = Column("position", "text", one_of=MOUNTED)


def _placard(name: str) -> Column:
    return Column(name, "pressure", blank=True, low=50, high=1000, doubt_low=120, doubt_high=900)


def _share(name: str) -> Column:
    return Column(name, "number", low=0, high=1)


def _events(name: str) -> Column:
    return Column(name, "frequency", low=0, high=10_000, doubt_high=500)


SCHEMA: Final[dict[str, tuple[Column, ...]]] = {
    "vehicles": (
        _VEHICLE,
        Column("drive", "text", blank=True, one_of=("front", "rear", "all")),
        _placard("placard_front"),
        _placard("placard_rear"),
        Column("driver_group", "text", required=False, blank=True),
        Column("mass", "mass", False, True, low=200, high=40_000, doubt_low=500, doubt_high=8_000),
        Column("front_load_share", "number", False, True, low=0.2, high=0.8, doubt_low=0.35, doubt_high=0.7),
        Column("drag_area", "area", False, True, low=0.1, high=12, doubt_low=0.3, doubt_high=3),
        Column("electric", "text", False, True, one_of=("yes", "no")),
        Column("winter_share", "number", False, True, low=0, high=1),
        Column("region", "text", required=False, blank=True),
    ),
    "tires": (
        Column("tire_id", "text"),
        Column("tire_line", "text", blank=True),
        Column("new_depth", "depth", blank=True, low=1, high=40, doubt_low=4, doubt_high=25),
        Column("size", "text", required=False, blank=True),
        Column("treadwear_grade", "number", False, True, low=0, high=2000, doubt_low=60, doubt_high=1100),
        Column("season", "text", False, True, one_of=("summer", "winter", "all_season")),
        Column("directional", "text", False, True, one_of=("yes", "no")),
        Column("load_index", "number", False, True, low=40, high=200, doubt_low=65, doubt_high=130),
        Column("made_week", "text", required=False, blank=True),
        Column("price", "number", required=False, blank=True, low=0, high=100_000),
    ),
    "mounts": (
        _DATE,
        _ODOMETER,
        _VEHICLE,
        Column("tire_id", "text"),
        Column("position", "text", one_of=POSITIONS),
        Column("source", "text", False, True, one_of=("recorded", "inferred")),
        Column("probability", "number", False, True, low=0, high=1),
    ),
    "depths": (
        _DATE,
        _ODOMETER,
        _VEHICLE,
        _ROAD,
        Column("groove", "text", one_of=GROOVES),
        Column("depth", "depth", low=0, high=40, doubt_high=25),
        Column("spot", "count", required=False, blank=True, low=1, high=100),
        _GAUGE,
        Column("probability", "number", False, True, low=0, high=1),
        Column("apart", "depth", False, True, low=0, high=40),
    ),
    "odometer": (_DATE, _VEHICLE, _ODOMETER),
    "pressures": (
        _DATE,
        _VEHICLE,
        _ROAD,
        Column("pressure", "pressure", low=0, high=1100, doubt_low=70, doubt_high=900),
        Column("state", "text", one_of=("cold", "city", "highway")),
        Column("odometer", "distance", required=False, blank=True, low=0, high=5_000_000),
        Column("ambient", "temperature", False, True, low=-60, high=60, doubt_low=-40, doubt_high=50),
        Column("set_to", "pressure", required=False, blank=True, low=50, high=1000),
        _GAUGE,
    ),
    "habits": (
        _VEHICLE,
        Column("from_date", "date"),
        Column("to_date", "date"),
        *(_share(name) for name in BANDS),
        _events("hard_starts"),
        _events("hard_stops"),
        _events("hard_turns"),
    ),
    "trips": (
        _VEHICLE,
        Column("trip_id", "text"),
        Column("time", "time"),
        Column("speed", "speed", low=-1, high=120),
        Column("longitudinal", "acceleration", required=False, blank=True),
        Column("lateral", "acceleration", required=False, blank=True),
        Column("heading", "angle", required=False, blank=True),
        Column("date", "date", required=False, blank=True),
        Column("driver_group", "text", required=False, blank=True),
    ),
    "gauges": (
        Column("gauge_id", "text"),
        _DATE,
        Column("kind", "text", one_of=("depth", "pressure")),
        Column("reading", "number"),
        Column("master", "number"),
        Column("unit", "text"),
    ),
    "alignment": (
        _DATE,
        _ODOMETER,
        _VEHICLE,
        Column("axle", "text", one_of=("front", "rear")),
        Column("toe", "depth", blank=True, low=-100, high=100, doubt_low=-25, doubt_high=25),
        Column("camber_left", "angle", False, True, low=-20, high=20, doubt_low=-6, doubt_high=6),
        Column("camber_right", "angle", False, True, low=-20, high=20, doubt_low=-6, doubt_high=6),
    ),
}
"""Every table by name; the first four are required."""

READ_AGAIN: Final = "odometer_read_again"
"""A column beside an odometer: not blank where somebody was asked about the reading and stands by it."""
KEPT_BESIDE: Final[dict[str, frozenset[str]]] = {
    "habits": frozenset(
        f"{phase}_{term}" for phase in ("drive", "brake") for term in ("share", "v2", "v4", "a", "a2", "av2")
    )
    | {"distance_km", "counted_km", "ay2", "slow_turn", "log_sd", "trips", "trips_left_out", "lateral_share"}
    | {"turning_share", "note"}
    | {"threshold_start_mps2", "threshold_stop_mps2", "threshold_turn_mps2", "threshold_merge_s"},
    "depths": frozenset({"from_sheet", READ_AGAIN}),
    "pressures": frozenset({"from_sheet", READ_AGAIN}),
    **dict.fromkeys(("odometer", "mounts", "alignment"), frozenset({READ_AGAIN})),
}
"""Columns that ``trips``, ``import`` and ``record`` write beside its own: kept as they are, no doubt."""

REQUIRED: Final = ("vehicles", "tires", "mounts", "depths")
KEYS: Final[dict[str, tuple[str, ...]]] = {"vehicles": ("vehicle_id",), "tires": ("tire_id",)}
"""Columns that may not repeat within a table."""
