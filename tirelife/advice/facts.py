"""What a decision rests on, whatever it was gathered from: a logbook, a walk-in or a hand-made case."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final

import pandas as pd

from tirelife.codes import Note
from tirelife.rotation import RULES, Why
from tirelife.units import convert

__all__ = ["CheckFirst", "Facts", "RotationFacts", "Settings", "TireFacts"]

_SERVICE_KM: Final = float(convert(5000.0, "mi", "km"))
_LEAK_KPA: Final = float(convert(3.0, "psi", "kpa"))


@dataclass(frozen=True, slots=True)
class Settings:
    """What a shop may set; the defaults are common practice, no source, unless named.

    Attributes
    ----------
    service_km : float
        Usual distance between looks at the tires: 5,000 miles. [km]
    service_days : float
        The same in time: half a year. [days]
    match_axle_mm : float
        Difference between the two tires of an axle from which both are replaced: 3/32 in. [mm]
    match_drive_mm : float
        The same over all four of an all-wheel drive, where its maker names no other: 3/32 in. [mm]
    better : float
        Share by which leaving tires must beat rotating them, or the other way, to go against the usual.
    sure : float
        Chance of being first due from which one tire is named alone.
    leak_kpa_per_month : float
        Loss of air from which a leak is urgent: 3 psi a month. More than 2 psi a month is worth a check
        (a tire maker's user guide of 2023; GAO-07-246R). [kPa]
    """

    service_km: float = _SERVICE_KM
    service_days: float = 183.0
    match_axle_mm: float = RULES[Why.AXLE_APART].limit_mm
    match_drive_mm: float = RULES[Why.DRIVE_APART].limit_mm
    better: float = 0.05
    sure: float = 0.6
    leak_kpa_per_month: float = _LEAK_KPA


@dataclass(frozen=True, slots=True)
class TireFacts:
    """One tire on the road.

    Attributes
    ----------
    read_mm : float
        Least depth read anywhere on the tread at its newest reading, corrected for the gauge; NaN if never
        read. [mm]
    read_raw_mm : float
        The same as it was read; NaN if it is not known apart. [mm]
    at_limit, near_limit : bool
        The measured verdict: at or under the limit somewhere; nearer than the setting.
    fits : bool
        Whether the newest reading fits what came before.
    depth_mm, new_depth_mm : float
        Today's estimate in the groove that is down first; depth when new, NaN if unknown. [mm]
    km_p10, km_p50, km_p90 : float
        Distance left. [km]
    date_p10, date_p50, date_p90 : Timestamp
        NaT where unknown.
    by_age : bool
        Age ends it before its tread does.
    loss_kpa_per_month : float
        Air lost beyond the gauge's error; 0 if none is known. [kPa]
    """

    read_mm: float
    at_limit: bool = False
    near_limit: bool = False
    fits: bool = True
    depth_mm: float = float("nan")
    new_depth_mm: float = float("nan")
    km_p10: float = float("nan")
    km_p50: float = float("nan")
    km_p90: float = float("nan")
    date_p10: pd.Timestamp | None = None
    date_p50: pd.Timestamp | None = None
    date_p90: pd.Timestamp | None = None
    by_age: bool = False
    loss_kpa_per_month: float = 0.0
    read_raw_mm: float = float("nan")


@dataclass(frozen=True, slots=True)
class CheckFirst:
    """A check or repair that the tread's pattern asks for, of the tread's own kinds.

    Attributes
    ----------
    step : str
        Kind of the step in :func:`tirelife.tread.next_steps`.
    positions : tuple of str
    urgent : bool
    """

    step: str
    positions: tuple[str, ...]
    urgent: bool = False


@dataclass(frozen=True, slots=True)
class RotationFacts:
    """What is known of rotating this set.

    Attributes
    ----------
    since_km : float
        Run since the last change of axle, or since the tires were mounted; NaN if unknown. [km]
    every_km : float
        Usual interval; the service interval if the vehicle shows none. [km]
    now_km, due_km, never_km : float
        Distance until the first tire of the set is down, in the middle: rotated as usual from today, from
        when it is due, or never. [km]
    now_over_due, due_over_never, now_over_never : float
        Chance that the one way is the longer; NaN if unknown.
    refused : Note, optional
        Why the set may not be rotated at all: sizes, or sizes and direction.
    assumed : str
        What a what-if takes for granted: ``none``, or ``every`` (now, and every ``every_km``); else empty.
    """

    since_km: float = float("nan")
    every_km: float = float("nan")
    now_km: float = float("nan")
    due_km: float = float("nan")
    never_km: float = float("nan")
    now_over_due: float = float("nan")
    due_over_never: float = float("nan")
    now_over_never: float = float("nan")
    refused: Note | None = None
    assumed: str = ""


@dataclass(frozen=True)
class Facts:
    """One vehicle today; inside units.

    Attributes
    ----------
    vehicle_id, drive : str
        ``drive`` is front, rear, all, or empty if unknown.
    as_of : Timestamp
    km_per_day : float
    limit_mm : mapping of str to float
        Removal depth by position. [mm]
    tires : mapping of str to TireFacts
        By position, those on the road.
    first_chance : mapping of str to float
        Chance to be due first, by position, from the joint draws.
    checks : tuple of CheckFirst
    low_kpa : float
        How far the tires ran below the placard; 0 if they did not or it is not known. [kPa]
    rotation : RotationFacts
    window : tuple of Timestamp, optional
        80 % range of the day on which the first tire of the set is down, from the joint draws.
    low_assumed : bool
        Whether ``low_kpa`` is what a what-if assumes of the time ahead, and no reading.
    pressure_known : bool
        Whether anything is known of the pressures; nothing is of a walk-in's.
    placard_stated : bool
        Whether the log states the placard; if not, ``low_kpa`` is against one that is assumed.
    """

    vehicle_id: str
    drive: str
    as_of: pd.Timestamp
    km_per_day: float
    limit_mm: Mapping[str, float]
    tires: Mapping[str, TireFacts]
    first_chance: Mapping[str, float] = field(default_factory=dict)
    checks: tuple[CheckFirst, ...] = ()
    low_kpa: float = 0.0
    rotation: RotationFacts = RotationFacts()
    window: tuple[pd.Timestamp, pd.Timestamp] | None = None
    low_assumed: bool = False
    pressure_known: bool = True
    placard_stated: bool = True

    def where(self, test: Callable[[TireFacts], bool]) -> tuple[str, ...]:
        """Positions of the tires that a test holds for, in their order."""
        return tuple(p for p, tire in self.tires.items() if test(tire))
