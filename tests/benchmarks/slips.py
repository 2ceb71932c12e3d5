"""How often visits of clean fleets are asked about, and how often each slip is, and rightly named.

Fleets of known truth (``tests/slipped.py``); a slip on one visit of a twentieth of the vehicles at a time.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import pandas as pd

from tests.slipped import FLEETS, SLIPS, clean, slip
from tirelife.logbook import Slip, check_logbook

APART = 1.5
"""Places swapped are counted where the readings then differ so much [the column's unit, root mean square]."""
SEEDS = (1, 2)
TURNS = 10


def asked(folder: Path) -> pd.DataFrame:
    """What the tests of visits ask: file, row, code."""
    problems = check_logbook(folder)
    return problems.loc[problems["code"].isin([slip.value for slip in Slip]), ["file", "row", "code"]]


def count(
    folder: Path, grooves: tuple[str, int], turns: int = TURNS, seeds: tuple[int, ...] = SEEDS
) -> pd.DataFrame:
    """Counts of one fleet: slip, cases, asked, named; the first row is the clean fleet, by visits."""
    fleet, read = grooves
    rows = []
    for seed in seeds:
        whole = clean(folder / str(seed), fleet, read, seed)
        visits = sum(
            len(pd.read_csv(whole / f"{name}.csv")[["vehicle_id", "date"]].drop_duplicates())
            for name in ("depths", "pressures")
        )
        doubts = asked(whole)
        tables = {name: pd.read_csv(whole / f"{name}.csv") for name in ("depths", "pressures")}
        wrong = sum(
            len(
                table.loc[
                    doubts.loc[doubts["file"] == f"{name}.csv", "row"] - 2, ["vehicle_id", "date"]
                ].drop_duplicates()
            )
            for name, table in tables.items()
        )
        rows.append(("none", visits, wrong, 0))
        for kind, code in SLIPS.items():
            for turn in range(turns):
                spoilt = slip(whole, folder / "spoilt", kind, 100 * seed + turn)
                doubts = asked(folder / "spoilt")
                doubts = doubts[doubts["file"] == ("pressures.csv" if kind == "absolute" else "depths.csv")]
                for _, case in spoilt.groupby("vehicle_id"):
                    if kind in ("sides", "axles") and case["apart"].iloc[0] < APART:
                        continue
                    here = doubts.loc[doubts["row"].isin(case["row"]), "code"]
                    rows.append((kind, 1, int(len(here) > 0), int((here == code).any())))
    table = pd.DataFrame(rows, columns=["slip", "cases", "asked", "named"])
    return table.groupby("slip", sort=False).sum().reset_index()


def run() -> list[dict[str, object]]:
    """All fleets; one row a fleet and slip."""
    rows = []
    for name, fleet in FLEETS.items():
        with tempfile.TemporaryDirectory() as folder:
            for one in count(Path(folder), fleet).itertuples():
                note = f"{one.asked} of {one.cases} asked about, {one.named} rightly named"
                figure = one.asked / max(one.cases, 1)
                rows.append(
                    {"name": f"{name}: {one.slip}", "figure": round(figure, 4), "unit": "share", "note": note}
                )
                print(rows[-1], flush=True)
    return rows
