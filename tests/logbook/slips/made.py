"""Logs of a few even cars in mm and km, to be spoilt: six visits, eight readings a visit."""

import numpy as np
import pandas as pd

from tirelife.logbook import Slip, check_logbook
from tirelife.logbook.chain import chain_of
from tirelife.logbook.findings import Findings
from tirelife.logbook.parse import parse
from tirelife.logbook.settle import settle
from tirelife.logbook.slips.visits import visits_of
from tirelife.logbook.sources import read_texts

WHEELS = ("LF", "RF", "LR", "RR")
CODES = {slip.value for slip in Slip}


def log(cars=8, visits=6, uneven=0.0):
    """Tables: tires of 8 mm that lose 0.6 mm each 6,000 km, read at 0.1 mm; ``uneven`` apart by wheel [mm]."""
    ids = [f"V{i + 1}" for i in range(cars)]
    depths = pd.DataFrame(
        [
            {"date": f"2025-{1 + 2 * k:02d}-15" if k < 6 else f"2026-{2 * k - 11:02d}-15",
             "odometer_km": 10_000 + 700 * i + 6_000 * (k + 1), "vehicle_id": v, "position": p, "groove": g,
             "depth_mm": round(8 - 0.6 * (k + 1) * (1 + 0.02 * (i % 8)) - uneven * w + 0.1 * ((i + k + w + j) % 3 - 1), 1)}
            for i, v in enumerate(ids) for k in range(visits) for w, p in enumerate(WHEELS)
            for j, g in enumerate(("outer", "inner"))
        ]
    )  # fmt: skip
    mounts = pd.DataFrame(
        [{"date": "2024-11-15", "odometer_km": 10_000 + 700 * i, "vehicle_id": v, "tire_id": f"{v}{p}", "position": p}
         for i, v in enumerate(ids) for p in WHEELS]
    )  # fmt: skip
    tires = pd.DataFrame(
        {"tire_id": mounts["tire_id"], "tire_line": "A", "new_depth_mm": "" if uneven else 8.0}
    )
    vehicles = pd.DataFrame(
        {"vehicle_id": ids, "drive": "front", "placard_front_kpa": 230, "placard_rear_kpa": 230}
    )
    return {"vehicles": vehicles, "tires": tires, "mounts": mounts, "depths": depths}


def visit(table, car, which):
    """Rows of one visit of a car, by number; all of the car's with None."""
    own = table[table["vehicle_id"] == car]
    return own.index if which is None else own.index[own["date"] == sorted(own["date"].unique())[which]]


def asked(folder, tables):
    """What is asked about the log: codes of slips and the rows of the depths asked about."""
    folder.mkdir(exist_ok=True)
    for name, table in tables.items():
        table.to_csv(folder / f"{name}.csv", index=False)
    problems = check_logbook(folder)
    return problems[problems["code"].isin(CODES)]


def parsed(folder, tables):
    """The tables as the tests of slips are given them, by name."""
    folder.mkdir(exist_ok=True)
    for name, table in tables.items():
        table.to_csv(folder / f"{name}.csv", index=False)
    found = Findings()
    texts, _ = read_texts(folder, found)
    return settle({name: parse(text, found) for name, text in texts.items()}, found)


def visits(folder, tables):
    """Its visits, as the tests of slips see them."""
    book = parsed(folder, tables)
    vehicles, tires = book["vehicles"].text["vehicle_id"].words, book["tires"].text["tire_id"].words
    new = np.full(len(tires), np.nan)
    new[book["tires"].text["tire_id"].codes] = book["tires"].number["new_depth_mm"]
    return visits_of(book["depths"], chain_of(book["mounts"], vehicles, tires), vehicles, new)
