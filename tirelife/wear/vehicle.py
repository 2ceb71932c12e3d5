"""What a vehicle does to its tires: drive layout, mass, load and brake balance, drag."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Final

import numpy as np
import pandas as pd

from tirelife.errors import misused
from tirelife.logbook import Logbook, kept
from tirelife.wear.wrong import Wrong

__all__ = ["RANGES", "Vehicle", "vehicle_of", "vehicle_table"]

RANGES: Final[dict[str, tuple[float, float]]] = {
    "mass_kg": (1000.0, 2600.0),
    "front_load_share": (0.48, 0.65),
    "drag_area_m2": (0.50, 1.20),
    "rolling_resistance": (0.006, 0.013),
    "front_brake_share": (0.60, 0.80),
}
"""Range of each figure over ordinary cars and light trucks; see :class:`Vehicle` for the sources."""

ELECTRIC_MASS: Final = 1.2
"""Mass of an electric car over that of its like, where it is not given, and so its wear: 88 over 73 mg/km
against a petrol car (press report of measurements, 2023), 54 over 43 against a hybrid 489 kg lighter (convoy
test, 2023)."""

REGENERATED: Final = 0.6
"""Share of the braking of an electric car that its driven wheels do through the motor (from memory: most
ordinary stops are within what a motor takes, hard ones and the last metres are not; 0.4 to 0.8). The rest
goes by the brakes' own balance."""
_FRONT_LOAD: Final = {"front": 0.60, "rear": 0.52, "all": 0.57}


@dataclass(frozen=True)
class Vehicle:
    """A vehicle, as far as tire wear needs it; the defaults stand for an ordinary front-drive car.

    Attributes
    ----------
    drive : {"front", "rear", "all"}
        Driven wheels. With ``"all"`` the drive force is shared equally, which is our assumption; nothing
        published was found on how drivelines share it over a year.
    mass_kg : float
        Mass as driven. [kg] Default 1500: between the 1430 of a compact and the 1644 of a crossover [1]_
        [2]_; half of the vehicles that the US tested in 2022 weighed 1760 to 2270 [3]_.
    front_load_share : float
        Share of the weight on the front axle, standing still. Default 0.60 with front drive [1]_ (0.59 to
        0.61); 0.52 with rear and 0.57 with all-wheel drive are our assumptions.
    drag_area_m2 : float
        Drag coefficient times frontal area. [m²] Default 0.75 (compact 0.77, crossover 0.91) [1]_ [2]_.
    rolling_resistance : float
        Rolling resistance coefficient. Default 0.010, class D of the EU label being 0.0091 to 0.0105 and
        class A up to 0.0065.
    front_brake_share : float
        Share of the brake force on the front axle. Default 0.70, a rule of the brake trade; of an electric
        car more on the driven axle, see ``REGENERATED``.

    Notes
    -----
    Axle loads are those of a vehicle standing still. Braking at 0.3 g moves about 6 % of the weight
    forward; we leave that out, since the energy would then need third moments of acceleration.

    References
    ----------
    .. [1] NREL, FASTSim 2.1.5, ``FASTSim_py_veh_db.csv`` (Apache-2.0): compact sedan 2016.
    .. [2] Meesters and Quik 2023, LEON-T D3.4, data of one crossover
       (rivm-syso/tyre-friction-abrasion-emission).
    .. [3] EPA, test car list 2022: quartiles of equivalent test weight 3875 and 5000 lb.
    """

    drive: str = "front"
    mass_kg: float = 1500.0
    front_load_share: float = 0.60
    drag_area_m2: float = 0.75
    rolling_resistance: float = 0.010
    front_brake_share: float = 0.70

    def __post_init__(self) -> None:
        if self.drive not in _FRONT_LOAD:
            raise misused(Wrong.DRIVE, drive=self.drive)
        for name in ("mass_kg", "drag_area_m2", "rolling_resistance"):
            if not (np.isfinite(getattr(self, name)) and getattr(self, name) >= 0):
                raise misused(Wrong.AMOUNT, name=name, given=getattr(self, name))
        if self.mass_kg == 0:
            raise misused(Wrong.NO_MASS)
        for name in ("front_load_share", "front_brake_share"):
            if not 0 < getattr(self, name) < 1:
                raise misused(Wrong.SHARE, name=name, given=getattr(self, name))

    @classmethod
    def of_drive(cls, drive: str) -> Vehicle:
        """Return the ordinary vehicle of a drive layout."""
        if drive not in _FRONT_LOAD:
            raise misused(Wrong.DRIVE, drive=drive)
        return cls(drive=drive, front_load_share=_FRONT_LOAD[drive])


@kept
def vehicle_table(book: Logbook) -> pd.DataFrame:
    """Vehicles of a logbook with the blanks filled from the ordinary vehicle of their drive layout.

    Returns
    -------
    DataFrame
        Indexed by ``vehicle_id``, with the fields of :class:`Vehicle` as columns and ``assumed``: the names
        of those filled in, separated by commas.
    """
    given = book.vehicles.set_index("vehicle_id")
    out = pd.DataFrame(index=given.index)
    out["drive"] = given["drive"]
    assumed = pd.Series("", index=given.index, dtype=object)
    for field in fields(Vehicle)[1:]:
        value = pd.Series(np.nan, index=given.index)
        if field.name in given:
            value = pd.to_numeric(given[field.name], errors="coerce")
        usual: pd.Series | float = float(field.default)  # type: ignore[arg-type]
        if field.name == "front_load_share":
            usual = given["drive"].map(_FRONT_LOAD).astype(float)
        blank = value.isna()
        if field.name == "mass_kg" and "electric" in given:
            usual = pd.Series(usual, index=given.index)
            usual = usual.where(given["electric"] != "yes", ELECTRIC_MASS * usual)
        if field.name == "front_brake_share" and "electric" in given:
            at_front = given["drive"].map({"front": 1.0, "rear": 0.0, "all": 0.5}).astype(float)
            braked = REGENERATED * at_front + (1 - REGENERATED) * usual
            usual = braked.where(given["electric"] == "yes", usual)
        out[field.name] = value.where(~blank, usual)
        assumed = assumed.where(~blank, assumed.where(assumed == "", assumed + ", ") + field.name)
    out["assumed"] = assumed
    return out


def vehicle_of(book: Logbook, vehicle_id: str) -> Vehicle:
    """Return one vehicle of a logbook, blanks filled; raise InputError if it is not in it."""
    table = vehicle_table(book)
    if vehicle_id not in table.index:
        raise misused(Wrong.NO_VEHICLE, vehicle=vehicle_id)
    row = table.loc[[vehicle_id]].to_dict("records")[0]
    return Vehicle(**{f.name: row[f.name] for f in fields(Vehicle)})
