"""Logs with a reading of some newest visits at the limit, and whether every answer says so first."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from tests.commands import CHANGE, asked, sharing
from tirelife.cli import main
from tirelife.logbook import Logbook
from tirelife.rates import WearFit

BOX = """() => document.getElementById("now").hidden ? [] :
  [...document.querySelectorAll("#urgent li")].map((e) => e.textContent)"""
WORDS = {"LF": "left front", "RF": "right front", "LR": "left rear", "RR": "right rear"}


def plant(folder: Path, rng: np.random.Generator, share: float, limit: float) -> dict[str, str]:
    """Set one reading of the newest visit of some vehicles to the limit or less; vehicle and wheel of each.

    Vehicles whose tires were mounted or moved that day or since are left out, so that the wheel is known from the
    tables alone. ``limit`` is in the unit of the depths.
    """
    depths, mounts = (pd.read_csv(folder / f"{name}.csv") for name in ("depths", "mounts"))
    column = next(name for name in depths if name.startswith("depth_"))
    depths[column] = depths[column].astype(float)
    newest = depths.groupby("vehicle_id")["date"].max()
    moved = mounts.groupby("vehicle_id")["date"].max().reindex(newest.index)
    still = newest.index[(moved < newest).to_numpy()]
    out = {}
    for vehicle in rng.choice(still, int(np.ceil(share * len(still))), replace=False):
        rows = depths.index[(depths["vehicle_id"] == vehicle) & (depths["date"] == newest[vehicle])]
        row = rng.choice(rows)
        depths.loc[row, column] = limit * rng.choice([1.0, 0.75, 0.5])
        out[str(vehicle)] = str(depths.loc[row, "position"])
    depths.to_csv(folder / "depths.csv", index=False)
    return out


def down_by_tables(folder: Path, limit: float) -> set[str]:
    """Vehicles with a reading at or under the limit at their newest visit, by the tables alone."""
    depths = pd.read_csv(folder / "depths.csv")
    column = next(name for name in depths if name.startswith("depth_"))
    newest = depths["date"] == depths.groupby("vehicle_id")["date"].transform("max")
    return set(depths.loc[newest & (depths[column] <= limit + 1e-9), "vehicle_id"])


def silent(book: Logbook, fit: WearFit, planted: dict[str, str]) -> list[str]:
    """Commands over all vehicles that do not say one of the planted; none where every one does."""
    out = []
    with sharing(book, fit):
        ahead, changed = asked("forecast", "a logbook"), asked("whatif", "a logbook", *CHANGE)
    at = {(row["vehicle_id"], row["position"]): row for row in ahead["tires"]}
    for vehicle, wheel in planted.items():
        if at[vehicle, wheel]["verdict"] != "at-or-under" or at[vehicle, wheel]["miles_left_p90"] != 0:
            out.append(f"forecast: {vehicle} {wheel}")
        for name, said in (("forecast", ahead), ("whatif", changed)):
            first = said["decisions"][vehicle][0]
            if (first["do"], first["severity"]) != ("inspect-now", "urgent") or wheel not in first[
                "positions"
            ]:
                out.append(f"{name}, decision: {vehicle} {wheel}")
    return out


def silent_one_by_one(book: Logbook, fit: WearFit, planted: dict[str, str]) -> list[str]:
    """Commands on one vehicle that do not say its planted reading first."""
    out = []
    with sharing(book, fit):
        for vehicle, wheel in planted.items():
            for name in ("tread", "rotate"):
                said = asked(name, "a logbook", "--vehicle", vehicle)
                if wheel not in [row["position"] for row in said["urgent"]]:
                    out.append(f"{name}: {vehicle} {wheel}")
                if name == "rotate" and any(
                    m["from_position"] == wheel != m["to_position"] for m in said["moves"]
                ):
                    out.append(f"rotate moves it: {vehicle} {wheel}")
            said = asked("replace", "a logbook", "--vehicle", vehicle, "--line", "x=100")
            if wheel not in str(said["at_limit"]):
                out.append(f"replace: {vehicle} {wheel}")
    return out


def silent_whatif(book: Logbook, fit: WearFit, planted: dict[str, str]) -> list[str]:
    """What-ifs of one vehicle that do not decide by its planted reading first."""
    out = []
    with sharing(book, fit):
        for vehicle, wheel in planted.items():
            said = asked("whatif", "a logbook", "--vehicle", vehicle, *CHANGE)
            first = said["decisions"][vehicle][0]
            at = [row["verdict"] for row in said["rows"] if row["position"] == wheel]
            if first["do"] != "inspect-now" or wheel not in first["positions"] or set(at) - {"at-or-under"}:
                out.append(f"whatif: {vehicle} {wheel}")
    return out


def silent_walkins(folder: Path, planted: dict[str, str]) -> list[str]:
    """Walk-ins with the depths of a vehicle's newest visit, from the table alone, that do not say the planted one."""
    depths = pd.read_csv(folder / "depths.csv")
    column = next(name for name in depths if name.startswith("depth_"))
    units = "us" if column.endswith("32nds") else "metric"
    newest = depths["date"] == depths.groupby("vehicle_id")["date"].transform("max")
    out = []
    for vehicle, wheel in planted.items():
        own = depths[newest & (depths["vehicle_id"] == vehicle)].set_index("position")
        words = [",".join(f"{one:g}" for one in own.loc[[place], column]) for place in WORDS]
        said = asked("walkin", "--units", units, "--depths", *words)
        at = {row["position"]: row["verdict"] for row in said["forecast"]}
        if wheel not in [row["position"] for row in said["urgent"]] or at[wheel] != "at-or-under":
            out.append(f"walkin: {vehicle} {wheel}")
    return out


def silent_pages(browser, book: Logbook, fit: WearFit, planted: dict[str, str], folder: Path) -> list[str]:  # type: ignore[no-untyped-def]
    """Pages that, read back in a browser, do not say the planted reading in the box above all."""
    out = []
    tab = browser.new_page()
    for vehicle, wheel in planted.items():
        page = folder / f"{vehicle}.html"
        with sharing(book, fit):
            assert main(["sheet", "a logbook", "--vehicle", vehicle, "--out", str(page)]) == 0
        tab.goto(page.as_uri())
        box = tab.evaluate(BOX)
        if not any(WORDS[wheel] in said.lower() and "qualified person" in said for said in box):
            out.append(f"page: {vehicle} {wheel}: {box}")
    tab.close()
    return out
