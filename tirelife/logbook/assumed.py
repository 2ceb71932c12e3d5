"""What a logbook does not say of its vehicles, and what is taken in its place until somebody fills it in."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.parse import Parsed
from tirelife.positions import AXLES

__all__ = ["ASSUMED_DRIVE", "ASSUMED_KPA", "assume_vehicles", "assumed_facts", "is_assumed", "tell_unknown"]

ASSUMED_DRIVE: Final = "front"
"""Most cars drive their front wheels; common practice, no source."""
ASSUMED_KPA: Final = 230.0
"""A usual placard, 33 psi; common practice, no source. [kPa]"""


def tell_unknown(vehicles: Parsed | None, found: Findings) -> None:
    """Add a doubt for each vehicle whose drive or placard pressures are not known."""
    if vehicles is None:
        return
    drive = vehicles.text.get("drive")
    if drive is not None:
        blank = np.array([not word.strip() for word in drive.text()], dtype=bool)
        said = {"meant": ASSUMED_DRIVE}
        found.add(vehicles.file, vehicles.rows[blank], "drive", "", Found.NOT_KNOWN, said, doubt=True)
    for axle in ("front", "rear"):
        placard = vehicles.number.get(f"placard_{axle}_kpa")
        if placard is not None:
            blank = np.isnan(placard) & np.array(
                [not w.strip() for w in vehicles.cells[f"placard_{axle}_kpa"].text()], dtype=bool
            )
            raw, said = vehicles.raw[f"placard_{axle}_kpa"], {"meant": f"{ASSUMED_KPA:.0f}"}
            found.add(
                vehicles.file, vehicles.rows[blank], raw, "", Found.NOT_KNOWN, said, Ask.PLACARD, doubt=True
            )


def assume_vehicles(vehicles: pd.DataFrame, pressures: pd.DataFrame) -> pd.DataFrame:
    """Fill in drive and placards that are not known.

    Parameters
    ----------
    vehicles : DataFrame
        vehicle_id, drive, placard_front_kpa, placard_rear_kpa.
    pressures : DataFrame
        vehicle_id, position, pressure_kpa, state.

    Returns
    -------
    DataFrame
        The vehicles with an ``assumed`` column: the names of what was not known, with commas; blank for none.

    Notes
    -----
    A placard that is not known is taken as the median of the cold pressures read on that axle, within 180
    to 350
    kPa: the shop sets to the placard (our assumption); without a reading as :data:`ASSUMED_KPA`.
    """
    out = vehicles.copy()
    unknown: list[list[str]] = [[] for _ in range(len(out))]
    blank = out["drive"].eq("").to_numpy()
    out.loc[blank, "drive"] = ASSUMED_DRIVE
    for i in np.flatnonzero(blank):
        unknown[i].append("drive")
    cold = pressures[pressures["state"] == "cold"] if len(pressures) else pressures
    for axle, pair in AXLES.items():
        name = f"placard_{axle}_kpa"
        gone = out[name].isna().to_numpy()
        if not gone.any():
            continue
        mine = cold[cold["position"].isin(pair)] if len(cold) else cold
        usual = mine.groupby("vehicle_id")["pressure_kpa"].median() if len(mine) else pd.Series(dtype=float)
        filled = out["vehicle_id"].map(usual).astype(float).clip(180, 350).fillna(ASSUMED_KPA)
        out.loc[gone, name] = filled[gone]
        for i in np.flatnonzero(gone):
            unknown[i].append(name.removesuffix("_kpa"))
    out["assumed"] = pd.array([", ".join(names) for names in unknown], dtype="str")
    return out


def is_assumed(vehicles: pd.DataFrame, fact: str) -> pd.Series:
    """Whether a fact of each vehicle is assumed: one of ``drive, placard_front, placard_rear``."""
    return (
        vehicles["assumed"]
        .fillna("")
        .astype(str)
        .str.split(", ")
        .map(lambda facts: fact in facts)
        .astype(bool)
    )


def assumed_facts(vehicles: pd.DataFrame, vehicle_id: str) -> frozenset[str]:
    """What is assumed of a vehicle, since nobody told: any of ``drive, placard_front, placard_rear``."""
    row = vehicles[vehicles["vehicle_id"] == vehicle_id]
    if row.empty or "assumed" not in row:
        return frozenset()
    return frozenset(filter(None, str(row["assumed"].iloc[0]).split(", ")))
