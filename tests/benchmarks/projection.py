"""Ranges of distances, dates and first-of-set on fleets of known future: what holds, and what it loses.

    python -m tests.benchmarks.projection [SEEDS] [VEHICLES] [PART OF A NAME]

A row a kind of fleet: shares of tires in the 80 % range of distance and of date, and of sets in that of the first
due, with standard errors clustered by vehicle; quantile loss of the distance. A tire already worn has none left.
The kinds after "unlike" vary what the others hold fixed. In well-specified fleets the loss stands beside that of a
reference posterior (tests/reference.py), brute-force draws with the generator's own variances.
"""

from __future__ import annotations

import math
import sys
import tempfile
from dataclasses import replace
from functools import lru_cache
from itertools import combinations
from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd
from scipy.special import ndtri

from tests.fleets import BENT, INCH_32ND, WELL, Fleet, simulate
from tests.reference import reference
from tirelife.logbook import read_logbook
from tirelife.outlook import present_state, set_outlook
from tirelife.outlook.ahead import by_vehicle
from tirelife.outlook.forecasts import project
from tirelife.rates import PUBLISHED, Belief, Prior, fit_logbook
from tirelife.rates.curvature import BENT_SHARE, STRAIGHT
from tirelife.tread import Verdict

LEVELS: Final = (0.1, 0.25, 0.5, 0.75, 0.9)
SEEDS: Final = range(401, 407)
"""Not those that anything was chosen on: of the ranges of today's model none was seen before they were reported."""
KINDS: Final = {
    **{f"gap {days} days": replace(WELL, gap_days=days) for days in (20, 150, 300, 500)},
    "none rotate": replace(WELL, rotation=None),
    "half rotate": replace(WELL, rotating_share=0.5),
    "worn sets replaced": replace(WELL, days=1350),
    "70 % of visits without depths": replace(WELL, read_share=0.3, visit_days=60.0),
    "whole 32nds": replace(WELL, step_32nds=1.0),
    "one mileage": replace(WELL, visits=1, days=500, km_day_sd=0.02),
}
BENDS: Final = {f"bent: {name}": fleet for name, fleet in BENT.items()}
UNLIKE: Final = {
    "unlike: drivers differ": replace(WELL, vehicle_sd=0.35, tire_sd=0.05),
    "unlike: drivers alike": replace(WELL, vehicle_sd=0.08, tire_sd=0.15),
    "unlike: pace drifts": replace(WELL, pace_drift=0.2),
    "unlike: pace and gap": replace(WELL, pace_drift=0.12, gap_days=300, visit_days=200.0),
    "unlike: axles differ": replace(WELL, axle_sd=0.2),
    "unlike: rotated at will": replace(WELL, rotation_log_sd=0.4),
}


TOLD: Final = {
    "": "told nothing",
    "rotations": "told who is rotated and how often",
    "walks": "told that rates do not walk",
    "curvature": "told that treads wear straight",
    "all": "told all of these and every variance",
}
"""What the reference knows and the projection has to learn, told to it piece by piece: what each costs."""
TOLD_SEEDS: Final = range(411, 417)
"""Other fleets than those on which causes were looked for (501 to 516)."""
LEARNED_BEND: Final = STRAIGHT * PUBLISHED.bend.sd
"""Spread of the curvature about 0 of a reference that is not told that treads wear straight, as ours has it."""
FROM_PRIOR: Final = ("half rotate", "one mileage")
PRIOR_SEEDS: Final = range(60)
WELL_SPECIFIED: Final = tuple(name for name in KINDS if name.startswith("gap ") or name.endswith(" rotate"))


def quantile_loss(quantiles: np.ndarray, truth: np.ndarray) -> np.ndarray:
    """Quantile loss over LEVELS, shape (n,); in the unit of the truth."""
    off, level = truth[:, None] - quantiles, np.array(LEVELS)
    return np.asarray(np.maximum(level * off, (level - 1) * off).mean(axis=1))


def told_prior(fleet: Fleet, what: str) -> Prior:
    """What is held before the log, with parts of it as the generator has them: see :data:`TOLD`."""
    variances, bend = dict(PUBLISHED.spreads), PUBLISHED.bend
    one = math.sqrt(
        (fleet.gauge_sd_32nds**2 + fleet.step_32nds**2 / 12) / 3
    )  # a tire's mean of three grooves
    errors = {"noise": one, "visit": fleet.visit_sd_32nds, "start": fleet.mould_sd_32nds}
    true = {name: sd * INCH_32ND for name, sd in errors.items()}
    true |= {"unit": fleet.tire_sd, "block": fleet.vehicle_sd, "axle": max(fleet.axle_sd, 0.005)}
    walks = {"scatter": 0.02, "drift": 3e-6, "habit": 3e-6}  # as good as none
    if what in ("walks", "all"):
        variances |= {name: Belief(math.log(sd), 1e-3) for name, sd in walks.items()}
    if what == "all":
        variances |= {name: Belief(math.log(sd), 1e-3) for name, sd in true.items()}
    if what in ("curvature", "all"):
        bend = Belief(0.0, 0.002)
    return replace(PUBLISHED, spreads=variances, bend=bend)


def told_turns(state: pd.DataFrame, fleet: Fleet) -> pd.DataFrame:
    """The state with who is rotated, and how often, as the generator has it."""
    number = state["vehicle_id"].str[1:].astype(int) - 1
    turns = (number * 7 % 10 < 10 * fleet.rotating_share) & (fleet.rotation is not None)
    sure = {"every_log_sd": 1e-4, "interval_log_sd": 1e-4}
    return state.assign(chance=turns.astype(float), every_km=fleet.rotation_km, **sure)


def scored(
    folder: Path, truth: pd.DataFrame, fleet: Fleet = WELL, told: str = ""
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Score one written fleet: a row a tire (km, date, loss_km) and a row a set (first)."""
    book = read_logbook(folder)
    state = present_state(book, fit_logbook(book, told_prior(fleet, told)))
    if told in ("rotations", "all"):
        state = told_turns(state, fleet)
    tires = project(state).merge(truth, on=["vehicle_id", "tire_id"], suffixes=("", "_true"))
    true, day = tires["true_km_left"].to_numpy(), tires["true_date"].dt.floor("D")
    km = tires[[f"km_left_p{round(100 * p)}" for p in LEVELS]].to_numpy()
    tires = tires[["vehicle_id", "tire_id", "true_km_left"]].assign(
        km=(true >= km[:, 0]) & (true <= km[:, -1]),
        date=(day >= tires["date_p10"]) & (day <= tires["date_p90"]),
        over=true > km[:, -1],
        late=day > tires["date_p90"],
        down=(tires["verdict"] == Verdict.AT_OR_UNDER).to_numpy(),
        loss_km=quantile_loss(km, true),
    )
    sets = set_outlook(state).query("group == 'set'").set_index("vehicle_id")
    first = truth.groupby("vehicle_id")["true_km_left"].min().reindex(sets.index)
    km = sets[[f"km_left_p{round(100 * p)}" for p in LEVELS]].to_numpy()
    return tires, pd.DataFrame(
        {
            "vehicle_id": sets.index,
            "first": ((first >= km[:, 0]) & (first <= km[:, -1])).to_numpy(),
            "first_over": (first > km[:, -1]).to_numpy(),
            "first_loss_km": quantile_loss(km, first.to_numpy()),
        }
    )


@lru_cache(maxsize=16)
def _once(fleet: Fleet, seed: int, told: str = "") -> tuple[pd.DataFrame, pd.DataFrame]:
    with tempfile.TemporaryDirectory() as name:
        return scored(Path(name), simulate(Path(name), fleet, seed), fleet, told)


@lru_cache(maxsize=16)
def _reference(fleet: Fleet, seed: int, bend_sd: float = 1e-6) -> tuple[pd.DataFrame, np.ndarray, np.ndarray]:
    with tempfile.TemporaryDirectory() as name:
        truth = simulate(Path(name), fleet, seed)
        return truth, *reference(Path(name), fleet, truth, bend_sd=bend_sd)


def of_prior(fleet: Fleet, seed: int) -> Fleet:
    """A fleet like this one with what the model learns drawn from what it holds before the log."""
    rng = np.random.default_rng(seed + 77)
    sd = {name: math.exp(rng.normal(law.mean, law.sd)) for name, law in PUBLISHED.spreads.items()}
    noise = math.sqrt(max(3 * sd["noise"] ** 2 - (fleet.step_32nds * INCH_32ND) ** 2 / 12, 1e-4))
    straight = rng.random() >= BENT_SHARE
    return replace(
        fleet,
        q=rng.normal(0, PUBLISHED.bend.sd * (STRAIGHT if straight else 1.0)),
        line_log_rates=tuple(rng.normal(0, sd["line"], 2)),
        life_km=8 * INCH_32ND / math.exp(rng.normal(PUBLISHED.log_rate.mean, PUBLISHED.log_rate.sd)),
        vehicle_sd=sd["block"],
        tire_sd=sd["unit"],
        axle_sd=sd["axle"],
        gauge_sd_32nds=noise / INCH_32ND,
        visit_sd_32nds=sd["visit"] / INCH_32ND,
        mould_sd_32nds=sd["start"] / INCH_32ND,
        wander_sd=100 * sd["drift"],
        habit_sd=100 * sd["habit"],
    )


def score(fleet: Fleet, seeds: range | tuple[int, ...] = SEEDS) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Score a kind of fleet over seeds; frames of :func:`scored` with the seed beside the vehicle."""
    parts = []
    for seed in seeds:
        parts.append([part.assign(seed=seed) for part in _once(fleet, seed)])
    tires, sets = (pd.concat(part, ignore_index=True) for part in zip(*parts, strict=True))
    return tires, sets


def beside_reference(
    fleet: Fleet, seeds: range | tuple[int, ...] = SEEDS, told: str = "", bend_sd: float = 1e-6
) -> dict[str, float]:
    """Quantile loss over that of the reference posterior: of distances and of first-of-set; and its coverage.

    A tire read at its limit has none left by rule, which the reference does not know: ``km_over`` and
    ``first_over`` are of all other tires, and of sets without one. ``told``: of :data:`TOLD`; ``bend_sd`` as the
    reference takes it.
    """
    ours, best, held = np.zeros(4), np.zeros(4), []
    for seed in seeds:
        truth, km, first = _reference(fleet, seed, bend_sd)
        tires, sets = _once(fleet, seed, told)
        true = truth["true_km_left"].to_numpy()
        least = truth.groupby("vehicle_id")["true_km_left"].min().to_numpy()
        tires = tires.set_index("tire_id").reindex(truth["tire_id"])
        sets = sets.set_index("vehicle_id").sort_index()
        over = ~tires["down"].to_numpy(dtype=bool)
        whole = ~tires.groupby("vehicle_id")["down"].any().to_numpy(dtype=bool)
        lost = [tires["loss_km"].to_numpy(), sets["first_loss_km"].to_numpy()]
        least_lost = [quantile_loss(km, true), quantile_loss(first, least)]
        for total, (tire, one) in ((ours, lost), (best, least_lost)):
            total += tire.mean(), one.mean(), tire[over].mean(), one[whole].mean()
        held += list((true >= km[:, 0]) & (true <= km[:, -1]))
    ratio = dict(zip(("km", "first", "km_over", "first_over"), (ours / best).tolist(), strict=True))
    return {**ratio, "held": float(np.mean(held))}


def share(frame: pd.DataFrame, name: str) -> tuple[float, float]:
    """Share that holds and its standard error, clustered by vehicle [%]."""
    mean = frame[name].mean()
    by = (frame[name] - mean).groupby([frame["seed"], frame["vehicle_id"]]).sum()
    return 100 * float(mean), 100 * float(np.sqrt((by**2).sum()) / len(frame))


def table(kinds: dict[str, Fleet], seeds: range | tuple[int, ...] = SEEDS) -> pd.DataFrame:
    """One row a kind of fleet."""
    rows = []
    for name, fleet in kinds.items():
        tires, sets = score(fleet, seeds)
        row: dict[str, object] = {"kind": name}
        for part, what in ((tires, "km"), (tires, "date"), (sets, "first")):
            row[what], row[f"{what}_error"] = (round(v, 1) for v in share(part, what))
        row |= {f"{what}_over": round(100 * float(tires[what].mean()), 1) for what in ("over", "late")}
        row["first_over"] = round(100 * float(sets["first_over"].mean()), 1)
        row |= {
            "loss_km": round(tires["loss_km"].mean()),
            "first_loss_km": round(sets["first_loss_km"].mean()),
        }
        rows.append(row)
        print(" ".join(str(v) for v in row.values()), file=sys.stderr, flush=True)
    return pd.DataFrame(rows)


def alike(fleet: Fleet, seeds: range | tuple[int, ...] = SEEDS) -> tuple[float, float, float]:
    """Correlation of the distances left of a vehicle's tires: in the draws, and as it turned out, with its error.

    As it turned out: of the normal scores that the true distances have among the draws, over pairs.
    """
    assumed, pairs = [], []
    for seed in seeds:
        with tempfile.TemporaryDirectory() as name:
            truth = simulate(Path(name), fleet, seed)
            book = read_logbook(Path(name))
            state = present_state(book, fit_logbook(book))
        km = np.vstack(by_vehicle(state, lambda course, _: course.distance(course.stays(), course.turns())))
        true = truth.set_index("tire_id")["true_km_left"].reindex(state["tire_id"]).to_numpy()
        good = (true > 0) & (np.median(km, axis=1) > 0)
        size = km.shape[1]
        score = ndtri(((km < true[:, None]).sum(axis=1) + 0.5) / (size + 1))
        rank = ndtri((np.argsort(np.argsort(km, axis=1, kind="stable"), axis=1) + 0.5) / size)
        for _, rows in pd.Series(np.flatnonzero(good)).groupby(state["vehicle_id"].to_numpy()[good]):
            for i, j in combinations(rows, 2):
                assumed.append((rank[i] @ rank[j]) / (rank[i] @ rank[i]))
                both = (score[i] ** 2 + score[j] ** 2) / 2
                pairs.append((f"{seed} {state['vehicle_id'].iloc[i]}", score[i] * score[j], both))
    table = pd.DataFrame(pairs, columns=["vehicle", "product", "square"])
    found = table["product"].sum() / table["square"].sum()
    left = (table["product"] - found * table["square"]).groupby(table["vehicle"]).sum()
    return float(np.mean(assumed)), float(found), float(np.sqrt((left**2).sum()) / table["square"].sum())


def _sized(kind: str, kinds: dict[str, Fleet]) -> str:
    return kind if kind.endswith(" vehicles") else f"{kind}, {kinds[kind].vehicles} vehicles"


def _seeds(seeds: range = SEEDS) -> str:
    return f"{len(seeds)} fleets, seeds {seeds[0]} to {seeds[-1]}"


def covered(kinds: dict[str, Fleet], wanted: dict[str, str]) -> list[dict[str, object]]:
    """Rows of what the ranges of these kinds of fleet hold."""
    rows: list[dict[str, object]] = []
    for row in table(kinds).to_dict("records"):
        for what, words in (("km", "distances"), ("date", "dates"), ("first", "first of the set")):
            rows.append(
                {
                    "name": f"80 % range of {words}, {_sized(row['kind'], kinds)}",
                    "figure": row[what],
                    "unit": "%",
                    "against": wanted[row["kind"]],
                    "note": f"standard error {row[f'{what}_error']}; {_seeds()}; quantile loss "
                    f"{row['first_loss_km' if what == 'first' else 'loss_km']} km",
                }
            )
    return rows


def in_proportion(names: tuple[str, ...]) -> list[dict[str, object]]:
    """Rows of the loss over a reference posterior's."""
    rows: list[dict[str, object]] = []
    for name in names:
        ratio = beside_reference(KINDS[name])
        for what, words in (("km", "distances"), ("first", "first of the set")):
            rows.append(
                {
                    "name": f"quantile loss of {words} over a reference posterior's, {name}",
                    "figure": round(ratio[what], 3),
                    "unit": "times",
                    "against": "at most 1.08",
                    "note": f"{_seeds()}; the reference's 80 % ranges hold {100 * ratio['held']:.0f} %; "
                    f"without tires read at their limit {ratio[f'{what}_over']:.3f} times",
                }
            )
    return rows


def fair(name: str) -> list[dict[str, object]]:
    """Rows of the loss over that of a reference posterior which learns the curvature as well."""
    ratio = beside_reference(KINDS[name], bend_sd=LEARNED_BEND)
    return [
        {
            "name": f"quantile loss of {words} over a reference posterior's that learns the curvature, {name}",
            "figure": round(ratio[what], 3),
            "unit": "times",
            "against": "",
            "note": f"{_seeds()}; without tires read at their limit {ratio[f'{what}_over']:.3f} times",
        }
        for what, words in (("km", "distances"), ("first", "first of the set"))
    ]


def under_the_prior(name: str) -> list[dict[str, object]]:
    """Rows of what ranges hold on fleets drawn from what is held before the log: too wide, they would hold more."""
    each = []
    for seed in PRIOR_SEEDS:
        tires, sets = _once(of_prior(KINDS[name], seed), seed)
        each.append((tires["km"].mean(), sets["first"].mean()))
    held = 100 * np.array(each)
    mean, error = held.mean(axis=0), held.std(axis=0) / math.sqrt(len(held))
    return [
        {
            "name": f"80 % range of {words}, {name}, fleets drawn from the prior",
            "figure": round(float(mean[i]), 1),
            "unit": "%",
            "against": "",
            "note": f"standard error {error[i]:.1f}, by fleet; {_seeds(PRIOR_SEEDS)}",
        }
        for i, words in enumerate(("distances", "first of the set"))
    ]


def pieces(name: str) -> list[dict[str, object]]:
    """Rows of the loss over a reference posterior's, with the projection told the truth piece by piece."""
    rows: list[dict[str, object]] = []
    for told, said in TOLD.items():
        ratio = beside_reference(KINDS[name], TOLD_SEEDS, told)
        for what, words in (("km", "distances"), ("first", "first of the set")):
            rows.append(
                {
                    "name": f"quantile loss of {words} over a reference posterior's, {name}, {said}",
                    "figure": round(ratio[what], 3),
                    "unit": "times",
                    "against": "at most 1.08" if not told else "",
                    "note": f"{_seeds(TOLD_SEEDS)}; without tires read at their limit {ratio[f'{what}_over']:.3f} times",
                }
            )
    return rows


def together(names: tuple[str, ...]) -> list[dict[str, object]]:
    """Rows of how alike a vehicle's tires are."""
    rows: list[dict[str, object]] = []
    for name in names:
        assumed, found, error = alike(KINDS[name])
        rows.append(
            {
                "name": f"correlation of distances within a set, as found, {name}",
                "figure": round(found, 3),
                "unit": "",
                "against": f"assumed in the draws: {assumed:.3f}",
                "note": f"standard error {error:.3f}; {_seeds()}",
            }
        )
    return rows


def run() -> list[dict[str, object]]:
    """All kinds with 40 vehicles, and the plain one with 24 and with 8."""
    few = {f"gap 20 days, {n} vehicles": replace(WELL, vehicles=n) for n in (24, 8)}
    wanted = {**dict.fromkeys(KINDS, "76 to 84 %"), **dict.fromkeys(BENDS, "72 to 88 %")}
    wanted |= dict.fromkeys(few, "74 to 88 %") | dict.fromkeys(UNLIKE, "76 to 84 %")
    rows = covered({**KINDS, **few, **BENDS, **UNLIKE}, wanted)
    rows += in_proportion(WELL_SPECIFIED) + together(WELL_SPECIFIED)
    for name in FROM_PRIOR:
        rows += under_the_prior(name)
    return rows + pieces("half rotate") + pieces("gap 300 days") + fair("half rotate") + fair("gap 300 days")


def small() -> list[dict[str, object]]:
    """Fleets read once, where little is told: of 40 and of 24 vehicles; loss and likeness of one kind."""
    kinds, wanted = {}, {}
    for name, fleet in (("one mileage", KINDS["one mileage"]), ("bent: one visit", BENDS["bent: one visit"])):
        for vehicles in (40, 24):
            kind = f"{name}, {vehicles} vehicles"
            kinds[kind] = replace(fleet, vehicles=vehicles)
            wanted[kind] = "72 to 88 %" if name in BENDS else "76 to 84 %" if vehicles == 40 else "74 to 88 %"
    return covered(kinds, wanted) + in_proportion(("none rotate",)) + together(("none rotate",))


if __name__ == "__main__":
    count, vehicles = (int(arg) for arg in (*sys.argv[1:3], *("6", "24")[len(sys.argv) - 1 :]))
    part = sys.argv[3] if len(sys.argv) > 3 else ""
    chosen = {n: replace(f, vehicles=vehicles) for n, f in {**KINDS, **BENDS, **UNLIKE}.items() if part in n}
    found = table(chosen, tuple(SEEDS)[:count])
    print(found.to_string(index=False))
    print(found.drop(columns="kind").mean().round(1).to_string())
