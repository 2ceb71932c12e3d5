"""Fleets of known truth with slips put in, for the test of visits: what is asked, and what is named.

Works on the written tables, as people do; imports nothing from tirelife.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from tests.fleets import BENT, INCH_32ND, WELL, Fleet, simulate

SIDES = dict(zip(("LF", "RF", "LR", "RR"), ("RF", "LF", "RR", "LR"), strict=True))
AXLES = dict(zip(("LF", "RF", "LR", "RR"), ("LR", "RR", "LF", "RF"), strict=True))
FLEETS: dict[str, tuple[Fleet, int]] = {  # and how many grooves are read
    "well": (WELL, 3),
    "one groove": (WELL, 1),
    "five grooves": (WELL, 5),
    "whole 32nds": (replace(WELL, step_32nds=1.0), 3),
    "0.1 mm": (replace(WELL, units="metric", step_32nds=0.1 / INCH_32ND), 3),
    "seasonal": (BENT["seasons"], 3),
    "hard drivers": (replace(WELL, vehicle_sd=0.4), 3),
    "habits change": (BENT["another driver"], 3),
    "heavy tails": (BENT["heavy tails"], 3),
    "slowing": (BENT["slowing"], 3),
    "replaced sets": (BENT["replaced"], 3),
    "sparse": (replace(WELL, visit_days=220.0), 3),
    "new depth unknown": (replace(WELL, known_new_depth=False), 3),
    "no rotation": (replace(WELL, rotation=None), 3),
    "one car": (replace(WELL, vehicles=1), 3),
    "eight cars": (replace(WELL, vehicles=8), 3),
    "sixty cars": (replace(WELL, vehicles=60), 3),
}


def clean(folder: Path, fleet: Fleet, grooves: int, seed: int) -> Path:
    """Write a fleet with readings in one, three or five grooves, and cold pressures at each visit."""
    simulate(folder, fleet, seed)
    rng = np.random.default_rng(seed)
    depths = pd.read_csv(folder / "depths.csv")
    column = _column(depths)
    if grooves == 1:
        depths = depths[depths["groove"] == "center"]
    if grooves == 5:
        between = depths[depths["groove"] != "center"].copy()
        step = fleet.step_32nds
        between[column] = ((between[column] + rng.normal(0, 0.3, len(between))) / step).round() * step
        between[column] = between[column].clip(lower=0)
        between["groove"] = between["groove"].map({"outer": "outer_mid", "inner": "inner_mid"})
        depths = pd.concat([depths, between])
    depths.to_csv(folder / "depths.csv", index=False)
    far = next(name for name in depths if name.startswith("odometer_"))
    seen = depths[["date", "vehicle_id", "position", far]].drop_duplicates()
    us = far == "odometer_mi"
    middle, sd, step = (31.0, 1.5, 0.5) if us else (214.0, 10.0, 1.0)
    visit = seen.groupby(["vehicle_id", "date"]).ngroup().to_numpy()
    lean = rng.normal(0, sd, visit.max() + 1)[visit]
    found = np.round((middle + lean + rng.normal(0, sd, len(seen))) / step) * step
    seen = seen.assign(state="cold", **{"pressure_psi" if us else "pressure_kpa": found})
    seen.to_csv(folder / "pressures.csv", index=False)
    return folder


def _column(table: pd.DataFrame, name: str = "depth") -> str:
    return next(column for column in table if column.startswith(f"{name}_"))


def _other_unit(values: pd.Series, column: str) -> pd.Series:
    """Readings by a gauge in the other unit, as its scale is marked."""
    if column.endswith("32nds"):
        return (values * INCH_32ND).round(1)
    return (values / INCH_32ND * 2).round() / 2


def _placed(rows: pd.DataFrame, column: str, places: dict[str, str]) -> pd.Series:
    there = rows.assign(position=rows["position"].map(places)).set_index(["position", "groove"])[column]
    return there.reindex(pd.MultiIndex.from_frame(rows[["position", "groove"]])).set_axis(rows.index)


def _spoilt(rows: pd.DataFrame, column: str, slip: str) -> pd.Series:
    value = rows[column]
    if slip in ("other unit", "car in other unit"):
        return _other_unit(value, column)
    if slip in ("sides", "axles"):
        return _placed(rows, column, SIDES if slip == "sides" else AXLES)
    if slip == "absolute":
        return value + (14.7 if column.endswith("psi") else 101.0)
    return value * {"zeros": 0.0, "tenth": 0.1}[slip]


SLIPS = {
    "other unit": "slip-other-unit",
    "zeros": "slip-all-zero",
    "tenth": "slip-tenfold",
    "sides": "slip-swapped",
    "axles": "slip-swapped",
    "car in other unit": "slip-car-unit",
    "absolute": "slip-absolute",
}
"""Each slip, and the code that names it."""


def slip(folder: Path, target: Path, kind: str, seed: int, share: float = 0.05) -> pd.DataFrame:
    """Copy a logbook with one slip each on a share of its vehicles, one at least.

    Returns
    -------
    DataFrame
        The records spoilt, one row a record: row (as a spreadsheet counts), vehicle_id, date, apart (how far
        the readings are now from what they were, root mean square, in the column's unit).
    """
    target.mkdir(parents=True, exist_ok=True)
    for file in folder.glob("*.csv"):
        (target / file.name).write_bytes(file.read_bytes())
    name = "pressures" if kind == "absolute" else "depths"
    table = pd.read_csv(folder / f"{name}.csv").reset_index(drop=True)
    column = _column(table, name.removesuffix("s"))
    mounts = pd.read_csv(folder / "mounts.csv")
    rng = np.random.default_rng(seed)
    ids = table["vehicle_id"].unique()
    out = []
    for vehicle in rng.permutation(ids)[: max(1, int(share * len(ids)))]:
        own = table[table["vehicle_id"] == vehicle]
        if kind != "car in other unit":
            days = own["date"].unique()
            moved = mounts.loc[mounts["vehicle_id"] == vehicle, "date"]
            if kind in ("sides", "axles"):  # on a day of moves nobody knows which order was read
                days = days[~np.isin(days, moved)]
            if not len(days):
                continue
            own = own[own["date"] == rng.choice(days)]
        was = own[column]
        table.loc[own.index, column] = _spoilt(own, column, kind).fillna(was)
        apart = float(((table.loc[own.index, column] - was) ** 2).mean() ** 0.5)
        out.append(own[["vehicle_id", "date"]].assign(row=own.index + 2, apart=apart))
    table.to_csv(target / f"{name}.csv", index=False)
    return pd.concat(out) if out else pd.DataFrame(columns=["vehicle_id", "date", "row", "apart"])
