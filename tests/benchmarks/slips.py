"""How often visits of clean fleets are asked about, and how often each slip is, and rightly named.

Fleets of known truth (``tests/slipped.py``); a slip on one visit, or on all, of about a seventh of the vehicles at a
time. A slip is measurable where it moves what is read by :data:`CLEAR` standard errors of what the rest of the log
says should be read: below that, typed and slipped are about as likely, and no test could ask about one and leave
the other. That is settled on the clean log, before any test is asked. A car that is kept in km throughout is
never measurable: cars differ in pace and in wear by about as much (log-sd 0.35 and 0.2 here, against log 1.61);
:func:`best_of_a_car_in_km` says what the best test there can be would find.
Three figures are given: of measurable slips, of all, and the share that is not measurable. Slips that are rarely
measurable are tried more often (:data:`RARE`), so that each kind which can be has 40 such cases or more.
"""

from __future__ import annotations

import math
import os
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.stats import norm

from tests.fleets import WELL
from tests.slipped import FLEETS, SLIPS, clean, slip
from tirelife.logbook import Slip, check_logbook
from tirelife.logbook.chain import chain_of
from tirelife.logbook.findings import Findings
from tirelife.logbook.odometers import points_of
from tirelife.logbook.parse import parse
from tirelife.logbook.settle import settle
from tirelife.logbook.slips.predict import learn
from tirelife.logbook.slips.readings import expected_cells
from tirelife.logbook.slips.road import road_of
from tirelife.logbook.slips.temperatures import season_of
from tirelife.logbook.slips.visits import WHEELS, visits_of
from tirelife.logbook.sources import read_texts
from tirelife.logbook.values import dates_to_days
from tirelife.units import convert

CLEAR = 8.0
"""Standard errors. With log odds of d²/2 in the mean and d in deviation, a prior of 1/200 to 1/10,000 and odds
of 100 to 1 asked for, 95 % are found from d = 6.5 to 7.5 on; a little more for errors with tails."""
CLEAR_KM, CLEAR_KM_END = 12.0, 21.0
"""Of an odometer between two others, and of a vehicle's first or last. One stretch in 200 is taken to be five times as
far off as most (a holiday). A reading d off makes both its stretches d / √2 off: as typed exp(-13.8 - d² / 50), against
a prior of 1/100 for a digit off, about 1/77 for which it is, 100 to 1 asked for, and 3 for what the two stretches of the
right reading are off in 19 of 20 cases: from d = 11.7 on. With one stretch exp(-6.9 - d² / 50), and 1.9: from 20.7 on.
The simulator's cars never go on holiday; a test that took that for known would see smaller slips."""
CLEAR_SEASON = 6.0
"""Of a temperature: prior 1/20, 1 / 1.8 for the scale, noise of 1.6 against it."""
CLEAR_OF = {"C or F": CLEAR_SEASON, "odometer digit": CLEAR_KM}
SEEN_LATER = {"digit", "odometer digit", "C or F", "km or miles", "cars"}
"""Bounds and tests of these were drawn, and every doubt counted as asking, after seeds 1 to 3 were looked at: others,
which nobody had looked at, are used."""
SEEDS, LATER = (1, 2, 3), (4, 5, 6)
RARE = {"sides": 4, "axles": 4, "digit": 3, "odometer digit": 3, "growing tire": 4, "C or F": 2}
"""How often these are tried where others are tried once."""
SHARE = 0.15
ONLY = {word for word in os.environ.get("TIRELIFE_SLIPS", "").split(",") if word}
"""Slips that are tried, if not all."""


@dataclass(frozen=True)
class Clean:
    """What the clean log says should be read: apart, in standard errors, by how a value was moved.

    A standard error is the root mean square of what the clean readings are off, whatever the tests take it for.
    """

    folder: Path

    def __post_init__(self) -> None:
        found = Findings()
        texts, _ = read_texts(self.folder, found)
        parsed = settle({name: parse(text, found) for name, text in texts.items()}, found)
        vehicles, tires = parsed["vehicles"].text["vehicle_id"].words, parsed["tires"].text["tire_id"].words
        chain = chain_of(parsed["mounts"], vehicles, tires)
        new = np.full(len(tires), np.nan)
        if "new_depth_mm" in parsed["tires"].number:
            new[parsed["tires"].text["tire_id"].codes] = parsed["tires"].number["new_depth_mm"]
        visits = visits_of(parsed["depths"], chain, vehicles, new)
        assert visits is not None
        law, left = learn(visits)
        points = points_of(parsed, vehicles)
        put = object.__setattr__
        put(self, "depths", parsed["depths"])
        put(self, "visits", visits)
        put(self, "left", left)
        expected, sd = expected_cells(visits, law, left)
        put(self, "cell_sd", sd * _rms((visits.cells - expected) / sd))
        full = np.isfinite(left.expected).all(axis=1)
        gap = np.where(full[:, None], visits.depth - left.expected, np.nan)
        off = np.einsum("vi,vij,vj->v", gap, left.precision, gap) / WHEELS
        put(self, "visit_sd", float(np.sqrt(np.nanmean(off))) if full.any() else 1.0)
        put(self, "points", points)
        road = road_of(points)
        went = np.array([points.km - road.near[0], road.near[1] - points.km])
        put(self, "road", road)
        put(self, "road_sd", _rms((went - road.usual) / road.sd))
        put(self, "vehicles", list(vehicles))
        table = parsed["pressures"]
        days = dates_to_days(table.date["date"])
        put(self, "season_sd", season_of(days, table.number["ambient_c"])[1])
        put(self, "ambient", table.unit["ambient_c"])

    def apart(self, kind: str, case: pd.DataFrame) -> float:
        """How far a slip moves what is read, in standard errors; infinite where any is far enough."""
        if kind in ("km or miles", "odometer digit"):
            unit = "km" if "km" in self.depths.raw["odometer_km"] else "mi"
            one = case.iloc[0]
            moved = abs(one["now"] - one["was"]) * float(convert(1.0, unit, "km"))
            who = self.vehicles.index(one["vehicle_id"])
            day = (pd.Timestamp(one["date"]) - pd.Timestamp("1970-01-01")).days
            at = np.flatnonzero((self.points.vehicle == who) & (self.points.day == day))
            ends = np.isnan(self.road.near[:, at]).any(axis=0)
            apart = (
                moved / (self.road.spread()[at] * self.road_sd) * np.where(ends, CLEAR_KM / CLEAR_KM_END, 1.0)
            )
            return float(apart.min())
        if kind == "C or F":
            moved = abs(case["now"].iloc[0] - case["was"].iloc[0])
            return float(moved * (1.0 if "c" in self.ambient else 5 / 9) / self.season_sd)
        if kind == "car: km or miles":
            return 0.0  # vehicles differ in pace and wear about as much
        if kind not in ("sides", "axles", "digit"):
            return np.inf
        record = case["row"].to_numpy() - 2
        where = {int(r): k for k, r in enumerate(self.visits.records)}
        at = np.array([where[r] for r in record if r in where])
        if not len(at):
            return 0.0
        unit = self.depths.unit["depth_mm"]
        gone = np.asarray(convert((case["now"] - case["was"]).to_numpy(), unit, "mm"))
        visit, place = int(self.visits.visit[at[0]]), self.visits.place[at]
        if kind == "digit":
            return float(abs(gone[0]) / self.cell_sd[visit].ravel()[place[0]])
        wheel = place // self.cell_sd.shape[2]
        gap = np.bincount(wheel, gone, WHEELS) / np.maximum(np.bincount(wheel, minlength=WHEELS), 1)
        return float(np.sqrt(gap @ self.left.precision[visit] @ gap)) / self.visit_sd


def _rms(gap: np.ndarray) -> float:
    """What one standard error is in truth, tails and all, on the clean log."""
    return float(np.sqrt(np.nanmean(gap**2)))


def asked(folder: Path) -> pd.DataFrame:
    """What the tests of visits ask: file, row, code."""
    problems = check_logbook(folder)
    return _of_visits(problems)


def _of_visits(problems: pd.DataFrame) -> pd.DataFrame:
    return problems.loc[problems["code"].isin([slip.value for slip in Slip]), ["file", "row", "code"]]


def count(
    folder: Path,
    grooves: tuple[object, int],
    turns: int = 1,
    seeds: tuple[int, ...] = SEEDS,
    later: tuple[int, ...] = (),
) -> pd.DataFrame:
    """Counts of one fleet: slip, cases, asked (any doubt that the clean log had not), named, and the same of
    measurable cases (clear, clear_asked, clear_named); the first row is the clean fleet, by visits. Slips of
    :data:`SEEN_LATER` are made at the seeds ``later`` alone, the others at the others; with none, all at all.
    """
    fleet, read = grooves
    rows = []
    for seed in seeds:
        whole = clean(folder / str(seed), fleet, read, seed)
        tables = {
            name: pd.read_csv(whole / f"{name}.csv") for name in ("depths", "pressures", "odometer", "mounts")
        }
        seen = pd.concat(
            [tables[n][["vehicle_id", "date"]] for n in ("depths", "pressures")]
        ).drop_duplicates()
        before = check_logbook(whole)
        doubts = _of_visits(before)
        wrong = [
            tables[file.removesuffix(".csv")].loc[mine["row"] - 2, ["vehicle_id", "date"]]
            for file, mine in doubts[doubts["row"] > 1].groupby("file")
        ]
        wrong_visits = len(pd.concat(wrong).drop_duplicates()) if wrong else 0
        known = set(zip(before["file"], before["row"], before["code"], strict=True))
        rows.append(("none", len(seen), wrong_visits, 0, 0, 0, 0))
        held = Clean(whole)
        for kind, code in SLIPS.items():
            if later and ((kind in SEEN_LATER) != (seed in later) or (ONLY and kind not in ONLY)):
                continue
            for turn in range(turns * RARE.get(kind, 1)):
                spoilt = slip(whole, folder / "spoilt", kind, 100 * seed + turn, SHARE)
                if spoilt.empty:
                    continue
                problems = check_logbook(folder / "spoilt")
                for _, case in spoilt.groupby("case"):
                    here = case[["file", "row"]].merge(problems, on=["file", "row"])
                    new = [tuple(one) not in known for one in here[["file", "row", "code"]].to_numpy()]
                    clear = held.apart(kind, case) >= CLEAR_OF.get(kind, CLEAR)
                    found, named = any(new), bool((here["code"] == code).any())
                    rows.append(
                        (kind, 1, int(found), int(named), int(clear), int(clear & found), int(clear & named))
                    )
    names = ["slip", "cases", "asked", "named", "clear", "clear_asked", "clear_named"]
    return pd.DataFrame(rows, columns=names).groupby("slip", sort=False).sum().reset_index()


def run() -> list[dict[str, object]]:
    """All fleets: one row a slip over all of them, and one a clean fleet."""
    return _all((*SEEDS, *LATER))


def small() -> list[dict[str, object]]:
    """The same of the later seeds alone, and of the slips that are judged by them."""
    return _all(LATER)


def _all(seeds: tuple[int, ...]) -> list[dict[str, object]]:
    rows, every = [], []
    with ProcessPoolExecutor(os.cpu_count(), mp_context=get_context("spawn")) as pool:
        counted = dict(zip(FLEETS, pool.map(_count, FLEETS, [seeds] * len(FLEETS)), strict=True))
    for name, counts in counted.items():
        every.append(counts)
        rows += [_row(name, one, seeds) for one in counts.itertuples() if one.slip == "none"]
        print(counts.assign(fleet=name).to_string(index=False), flush=True)
    total = pd.concat(every).groupby("slip", sort=False).sum().reset_index()
    return [*(_row("all fleets", one, seeds) for one in total.itertuples()), best_of_a_car_in_km(), *rows]


def best_of_a_car_in_km() -> dict[str, object]:
    """How often the best test there can be finds a car that is kept in km among cars in miles, 1 clean car in 100 asked.

    It is told the laws that the cars are drawn from, and each car's wear and pace without error. Kept in km, a car goes
    the further and wears the less by log 1.609, so the two laws lie d standard errors apart, and by Neyman and Pearson's
    lemma nothing finds more than Φ(d - z) of them at a share Φ(-z) of false ones.
    """
    shift = math.log(1.609344)
    apart = math.hypot(shift / WELL.vehicle_sd, shift / WELL.km_day_sd)
    return {
        "name": "car: km or miles, the best test there can be",
        "figure": round(float(norm.cdf(apart - norm.isf(0.01))), 3),
        "unit": "share",
        "against": "at least 0.95",
        "note": f"1 clean car in 100 asked about; {apart:.1f} standard errors apart, with all known but the slip",
    }


def _count(name: str, seeds: tuple[int, ...]) -> pd.DataFrame:
    with tempfile.TemporaryDirectory() as folder:
        return count(Path(folder), FLEETS[name], seeds=seeds, later=LATER)


def _row(fleet: str, one: object, seeds: tuple[int, ...]) -> dict[str, object]:
    clean_fleet = one.slip == "none"
    of, hits = (one.cases, one.asked) if clean_fleet else (one.clear, one.clear_asked)
    mine = seeds if clean_fleet else [s for s in seeds if (s in LATER) == (one.slip in SEEN_LATER)]
    told = f"seeds {min(mine)} to {max(mine)}"
    note = f"{one.asked} of {one.cases} asked about; {told}"
    if not clean_fleet:
        note = (
            f"measurable: {one.clear_asked} of {one.clear} asked about, {one.clear_named} rightly named; "
            f"all: {one.asked} of {one.cases}, {one.named}; "
            f"not measurable: {1 - one.clear / max(one.cases, 1):.0%}; {told}"
        )
    against = "at most 0.01" if clean_fleet else "at least 0.95"
    figure = round(hits / of, 4) if of else float("nan")
    return {
        "name": f"{fleet}: {one.slip}",
        "figure": figure,
        "unit": "share",
        "against": against,
        "note": note,
    }
