"""Fleets of known truth with slips put in, for the test of visits: what is asked, and what is named.

Works on the written tables, as people do; imports nothing from tirelife.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from tests.fleets import BENT, INCH_32ND, MILE, WELL, Fleet, simulate

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
    "tires unlike": (replace(WELL, tire_sd=0.5, rotation=None), 3),  # wheels that can be told apart by depth
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
    year = pd.to_datetime(seen["date"]).dt.day_of_year.to_numpy()
    warm = 12 - 11 * np.cos(2 * np.pi * (year - 20) / 365) + rng.normal(0, 4, visit.max() + 1)[visit]
    seen["ambient_f" if us else "ambient_c"] = np.round(warm * 9 / 5 + 32 if us else warm)
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


def _spoilt(rows: pd.DataFrame, column: str, kind: str, rng: np.random.Generator) -> pd.Series:
    value = rows[column]
    kind = kind.removeprefix("car: ")
    if kind == "other unit":
        return _other_unit(value, column)
    if kind in ("sides", "axles"):
        return _placed(rows, column, SIDES if kind == "sides" else AXLES)
    if kind == "absolute":
        return value + (14.7 if column.endswith("psi") else 101.0)
    if kind in ("kPa or psi", "bar"):
        kpa = value * (6.894757 if column.endswith("psi") else 1.0)
        return (
            (kpa / 100).round(1)
            if kind == "bar"
            else (kpa if column.endswith("psi") else kpa / 6.894757).round()
        )
    if kind == "C or F":
        return ((value - 32) * 5 / 9 if column.endswith("_f") else value * 9 / 5 + 32).round()
    if kind == "km or miles":
        return (value * MILE if column.endswith("_mi") else value / MILE).round()
    if kind == "odometer digit":
        return value.map({one: _digit_off(f"{one:.0f}", rng) for one in value.unique()})
    return value * {"zeros": 0.0, "tenth": 0.1}[kind]


def _digit_off(word: str, rng: np.random.Generator) -> float:
    """The number with one digit replaced by another."""
    places = [i for i, letter in enumerate(word) if letter.isdigit()]
    at = int(rng.choice(places))
    digit = rng.choice([d for d in "0123456789" if d != word[at]])
    return float(word[:at] + digit + word[at + 1 :])


SLIPS = {
    "other unit": "slip-other-unit",
    "zeros": "slip-all-zero",
    "tenth": "slip-tenfold",
    "sides": "slip-swapped",
    "axles": "slip-swapped",
    "cars": "slip-cars-swapped",
    "digit": "slip-digit",
    "growing tire": "slip-grows",
    "km or miles": "slip-odometer-unit",
    "odometer digit": "slip-odometer-digit",
    "absolute": "slip-absolute",
    "kPa or psi": "slip-pressure-unit",
    "bar": "slip-pressure-unit",
    "C or F": "slip-temperature-unit",
    "table: km or miles": "slip-table-distance",
    "car: other unit": "slip-car-unit",
    "car: zeros": "slip-car-zero",
    "car: tenth": "slip-car-tenfold",
    "car: absolute": "slip-absolute",
    "car: kPa or psi": "slip-pressure-unit",
    "car: C or F": "slip-temperature-unit",
    "car: km or miles": "slip-car-distance",
}
"""Each slip, at one visit but where said, and the code that names it."""
_OF = {
    "absolute": "pressure", "kPa or psi": "pressure", "bar": "pressure", "C or F": "ambient",
    "km or miles": "odometer", "odometer digit": "odometer", "cars": "odometer",
}  # fmt: skip
_FILES = ("depths", "pressures", "mounts", "odometer")


def slip(folder: Path, target: Path, kind: str, seed: int, share: float = 0.05) -> pd.DataFrame:
    """Copy a logbook with one slip each on a share of its vehicles, one at least.

    Returns
    -------
    DataFrame
        The records spoilt, one row a record: case, file, row (as a spreadsheet counts), vehicle_id, date, was
        and now (the value in the column's unit).
    """
    target.mkdir(parents=True, exist_ok=True)
    for file in folder.glob("*.csv"):
        (target / file.name).write_bytes(file.read_bytes())
    tables = {name: pd.read_csv(folder / f"{name}.csv").reset_index(drop=True) for name in _FILES}
    rng = np.random.default_rng(seed)
    what = _OF.get(kind.removeprefix("car: ").removeprefix("table: "), "depth")
    names = {"depth": ["depths"], "pressure": ["pressures"], "ambient": ["pressures"]}.get(what, list(_FILES))
    if kind.startswith("table"):
        names = ["depths"]
    home = tables[names[0]]
    ids = home["vehicle_id"].unique()
    out: list[pd.DataFrame] = []
    if kind == "cars":
        out = _exchanged(tables, rng, max(1, int(share * len(ids))))
    elif kind.startswith("table"):
        column = _column(home, what)
        now = _spoilt(home, column, "km or miles", rng)
        out.append(_told(0, "depths", home, home[column], now).head(1).assign(row=1))
        home[column] = now
    else:
        for case, vehicle in enumerate(rng.permutation(ids)[: max(1, int(share * len(ids)))]):
            days = home.loc[home["vehicle_id"] == vehicle, "date"].unique()
            if kind in ("sides", "axles"):  # on a day of moves nobody knows which order was read
                moved = tables["mounts"].loc[tables["mounts"]["vehicle_id"] == vehicle, "date"]
                days = days[~np.isin(days, moved)]
            if not len(days):
                continue
            day = rng.choice(days)
            for name in names:
                table = tables[name]
                column = _column(table, what)
                own = table[table["vehicle_id"] == vehicle]
                if not kind.startswith("car: ") and kind != "growing tire":
                    own = own[own["date"] == day]
                if kind == "digit":
                    own = own.iloc[[int(rng.integers(len(own)))]]
                    now = own[column].map(lambda v: _digit_off(f"{v:g}", rng))
                elif kind == "growing tire":
                    own, now = _growing(own, column, tables["mounts"], vehicle, rng)
                elif kind == "odometer digit":
                    now = _spoilt(own, column, kind, np.random.default_rng([seed, case]))
                else:
                    now = _spoilt(own, column, kind, rng)
                if not len(own):
                    continue
                now = now.fillna(own[column])
                out.append(_told(case, name, own, own[column], now))
                table[column] = table[column].astype(float)
                table.loc[own.index, column] = now
    for name, table in tables.items():
        table.to_csv(target / f"{name}.csv", index=False)
    told = ["case", "file", "row", "vehicle_id", "date", "was", "now"]
    return pd.concat(out) if out else pd.DataFrame(columns=told)


def _told(case: int, name: str, rows: pd.DataFrame, was: pd.Series, now: pd.Series) -> pd.DataFrame:
    return rows[["vehicle_id", "date"]].assign(
        case=case, file=f"{name}.csv", row=rows.index + 2, was=was.astype(float), now=now.astype(float)
    )


def _growing(
    own: pd.DataFrame, column: str, mounts: pd.DataFrame, vehicle: str, rng: np.random.Generator
) -> tuple[pd.DataFrame, pd.Series]:
    """A wheel whose tire is read 1/32 deeper at each visit while it stays there: four visits or more."""
    step = 1.0 if column.endswith("32nds") else INCH_32ND
    wheels = list(SIDES)
    rng.shuffle(wheels)
    for wheel in wheels:
        here = own[own["position"] == wheel]
        moves = mounts[(mounts["vehicle_id"] == vehicle) & (mounts["position"] == wheel)]["date"]
        stay = np.searchsorted(np.sort(moves.to_numpy()), here["date"].to_numpy(), side="left")
        counts = here.assign(stay=stay).groupby("stay")["date"].nunique()
        if len(counts) and counts.max() >= 4:
            here = here[stay == counts.idxmax()]
            nth = here["date"].rank(method="dense").to_numpy() - 1
            first = here.loc[here["date"] == here["date"].min()].set_index("groove")[column]
            return here, here["groove"].map(first) + step * nth
    return own.head(0), own.head(0)[column]


def _exchanged(tables: dict[str, pd.DataFrame], rng: np.random.Generator, many: int) -> list[pd.DataFrame]:
    """Visits of two vehicles on one day, each written down under the other."""
    seen = tables["depths"][["vehicle_id", "date"]].drop_duplicates()
    pairs = seen.merge(seen, on="date").query("vehicle_id_x < vehicle_id_y")
    out: list[pd.DataFrame] = []
    taken: set[str] = set()
    for case, (a, day, b) in enumerate(
        pairs.sample(frac=1, random_state=int(rng.integers(1e6))).values[:many]
    ):
        if {a, b} & taken:
            continue
        taken |= {a, b}
        for name in ("depths", "pressures"):
            table = tables[name]
            rows = table[(table["date"] == day) & table["vehicle_id"].isin([a, b])]
            zero = pd.Series(0.0, index=rows.index)
            out.append(_told(case, name, rows, zero, zero))
            table.loc[rows.index, "vehicle_id"] = rows["vehicle_id"].map({a: b, b: a})
    return out
