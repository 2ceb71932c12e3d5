"""A reference posterior for well-specified fleets of tests/fleets.py: brute-force draws, with the true variances.

Shares no code with the package. It knows the generator's variances and that wear does not wander, and, as it is asked,
that wear is straight or only that its curvature is small; the level of wear, the tire lines, the ratio of the axles, and
who is rotated and how often, it learns from the log, as everyone must. (Told who is rotated and every how many km to the
metre, it lost 1 to 2 % less.)
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from scipy import sparse

from tests.fleets import INCH_32ND, MILE, Fleet

CHAINS, TRAJECTORIES, STEPS, STEP = 200, 6, 8, 0.2
LEVELS = (0.1, 0.25, 0.5, 0.75, 0.9)


@dataclass
class _Model:
    """Depth of each row: start - wear(exp(rate @ x) * clock) + lean @ x; x is all that is unknown.

    With start = new + mould @ x, and q the last of x: wear goes as (depth / start) ** q.
    """

    rate: sparse.csr_matrix
    mould: sparse.csr_matrix
    lean: sparse.csr_matrix
    new: np.ndarray
    driven: np.ndarray
    other: np.ndarray
    ratio: int  # which unknown is the log ratio of the axles

    def start(self, x: np.ndarray) -> np.ndarray:
        """Depth that each row's tire started from, shape (rows, chains)."""
        return self.new[:, None] + self.mould @ x

    def depth(self, x: np.ndarray) -> tuple[np.ndarray, ...]:
        """Depth, shape (rows, chains); its derivatives by the log rate, the ratio, the start and q."""
        half = np.exp(x[self.ratio] / 2)
        by = np.exp(self.rate @ x)
        ahead, back = by * self.driven[:, None] * half, by * self.other[:, None] / half
        start, q = self.start(x), x[-1]
        share = (ahead + back) / start
        left, slope = _left(share, q)
        by_q = (_left(share, q + 1e-4)[0] - _left(share, q - 1e-4)[0]) / 2e-4
        depth = start * left + self.lean @ x
        return depth, -slope * (ahead + back), slope * (back - ahead) / 2, left + share * slope, start * by_q

    def back(self, pulls: tuple[np.ndarray, ...]) -> np.ndarray:
        """Of what pulls at each row's depth, log rate, ratio, start and q: what pulls at the unknowns."""
        depth, rate, ratio, start, q = pulls
        out = self.rate.T @ rate + self.mould.T @ start + self.lean.T @ depth
        out[self.ratio] += ratio.sum(axis=0)
        out[-1] += q.sum(axis=0)
        return out


def _left(share: np.ndarray, q: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Share of the tread that is left when so much would be gone of a straight one, and how fast it goes."""
    base = np.maximum(1 - (1 - q) * share, 1e-9)
    slope = base ** (q / (1 - q))
    return base * slope, slope


def _runs(mounts: pd.DataFrame, drive: pd.Series, at: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """Distance that each row's tire ran on the driven and on the other axle to its odometer [km]."""
    stays = mounts.sort_values(["tire_id", "odometer_km"], kind="stable").reset_index(drop=True)
    stays["to_km"] = stays.groupby("tire_id")["odometer_km"].shift(-1).fillna(np.inf)
    stays = stays[stays["position"] != "OFF"]
    front = stays["position"].isin(["LF", "RF"]).to_numpy()
    stays["driven"] = front == (drive.reindex(stays["vehicle_id"]) == "front").to_numpy()
    both = at[["tire_id", "odometer_km"]].assign(row=np.arange(len(at)))
    both = both.merge(stays, on="tire_id", suffixes=("", "_from"))
    km = np.clip(both["odometer_km"], both["odometer_km_from"], both["to_km"]) - both["odometer_km_from"]
    return tuple(
        np.bincount(both["row"], km * (both["driven"] == on), minlength=len(at)) for on in (True, False)
    )


def reference(
    folder: Path, fleet: Fleet, truth: pd.DataFrame, seed: int = 0, bend_sd: float = 1e-6
) -> tuple[np.ndarray, np.ndarray]:
    """Quantiles of the distance left of the truth's tires, and of its vehicles' first (sorted by name) [km].

    ``bend_sd``: of the curvature about 0 before the log; as good as none, it is told that treads wear straight.
    """
    table = {name: pd.read_csv(folder / f"{name}.csv") for name in ("mounts", "depths", "tires", "vehicles")}
    mounts, depths = table["mounts"], table["depths"]
    for frame in (mounts, depths):
        frame["odometer_km"] = frame.pop("odometer_mi") * MILE
    tires = table["tires"].set_index("tire_id")
    drive = table["vehicles"].set_index("vehicle_id")["drive"]
    here = mounts[mounts["position"] != "OFF"].sort_values("odometer_km", kind="stable")
    rows = (
        depths.groupby(["vehicle_id", "position", "date", "odometer_km"])["depth_32nds"].mean().reset_index()
    )
    # A reading comes before the changes of its day: the tire that came before that odometer.
    rows = pd.merge_asof(
        rows.sort_values("odometer_km"), here[["vehicle_id", "position", "odometer_km", "tire_id"]],
        on="odometer_km", by=["vehicle_id", "position"], allow_exact_matches=False,
    ).dropna(subset=["tire_id"])  # fmt: skip
    end = truth[["vehicle_id", "tire_id", "position", "odometer_km"]]
    names, cars = tires.index, pd.Index(sorted(drive.index))
    lines = pd.Index(sorted(tires["tire_line"].unique()))
    visit = rows.groupby(["vehicle_id", "date"]).ngroup().to_numpy()
    car_of = here.drop_duplicates("tire_id").set_index("tire_id")["vehicle_id"]
    first = np.cumsum([0, len(lines), 1, len(cars), len(names), len(names), visit.max() + 1, 1])
    size = int(first[-1])

    def model(at: pd.DataFrame, leans: bool) -> _Model:
        tire = names.get_indexer(at["tire_id"])
        unknown = (
            lines.get_indexer(tires["tire_line"])[tire] + first[0],
            cars.get_indexer(car_of.reindex(at["tire_id"])) + first[2],
            tire + first[3],
        )
        row = np.arange(len(at))
        rate = sum(sparse.csr_matrix((np.ones(len(at)), (row, c)), (len(at), size)) for c in unknown)
        mould = sparse.csr_matrix((np.ones(len(at)), (row, tire + first[4])), (len(at), size))
        lean = sparse.csr_matrix((len(at), size))
        if leans:
            lean = sparse.csr_matrix((np.ones(len(at)), (row, visit + first[5])), (len(at), size))
        new = tires["new_depth_32nds"].to_numpy()[tire] * INCH_32ND
        return _Model(rate.tocsr(), mould, lean, new, *_runs(mounts, drive, at), int(first[1]))

    seen, now = model(rows, True), model(end, False)
    y = rows["depth_32nds"].to_numpy() * INCH_32ND
    noise = (fleet.gauge_sd_32nds**2 + fleet.step_32nds**2 / 12) / 3 * INCH_32ND**2
    sds = (1.0, 1.0, fleet.vehicle_sd, fleet.tire_sd, fleet.mould_sd_32nds * INCH_32ND,
           fleet.visit_sd_32nds * INCH_32ND, bend_sd)  # fmt: skip
    law = np.repeat(np.array(sds) ** -2.0, np.diff(first))
    middle = np.zeros(size)
    middle[: len(lines)] = np.log(8 * INCH_32ND / 72_420)

    def slope(x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Minus log posterior of each chain, and its gradient."""
        depth, *by = seen.depth(x)
        off, away = (depth - y[:, None]) / noise, x - middle[:, None]
        down = seen.back((off, *(off * part for part in by))) + law[:, None] * away
        return (noise * off**2).sum(axis=0) / 2 + (law[:, None] * away**2).sum(axis=0) / 2, down

    x = middle.copy()
    for _ in range(12):
        _, by_rate, by_ratio, by_start, by_q = (part[:, 0] for part in seen.depth(x[:, None]))
        jac = (sparse.diags(by_rate) @ seen.rate + sparse.diags(by_start) @ seen.mould + seen.lean).toarray()
        jac[:, seen.ratio] += by_ratio
        jac[:, -1] += by_q
        curve = jac.T @ jac / noise + np.diag(law)
        x = x - np.clip(np.linalg.solve(curve, slope(x[:, None])[1][:, 0]), -0.5, 0.5)
    rng = np.random.default_rng(seed)
    root = np.linalg.inv(np.linalg.cholesky(curve)).T  # root root' is the covariance
    score = rng.normal(size=(size, CHAINS))
    # The normal law about the mode, moved on by Hamiltonian steps until it is the posterior.
    level, down = slope(x[:, None] + root @ score)
    for _ in range(TRAJECTORIES):
        speed = rng.normal(size=score.shape)
        at, push, gone = score.copy(), root.T @ down, speed.copy()
        for _ in range(STEPS):
            gone -= STEP / 2 * push
            at += STEP * gone
            new_level, new_down = slope(x[:, None] + root @ at)
            push = root.T @ new_down
            gone -= STEP / 2 * push
        drop = level - new_level + (speed**2 - gone**2).sum(axis=0) / 2
        taken = np.log(rng.random(CHAINS)) < drop
        score, down = np.where(taken, at, score), np.where(taken, new_down, down)
        level = np.where(taken, new_level, level)
    drawn = x[:, None] + root @ score
    # What is left, as a straight tread would have it left.
    start, q, limit = now.start(drawn), 1 - drawn[-1], fleet.removal_32nds * INCH_32ND
    depth = start * ((np.maximum(now.depth(drawn)[0], 1e-3) / start) ** q - (limit / start) ** q) / q
    pace, half = np.exp(now.rate @ drawn), np.exp(drawn[now.ratio] / 2)
    front = (
        end["position"].isin(["LF", "RF"]).to_numpy()
        == (drive.reindex(end["vehicle_id"]) == "front").to_numpy()
    )
    car = cars.get_indexer(end["vehicle_id"])
    km = _ahead(depth, pace * np.where(front[:, None], half, 1 / half), pace * np.where(front[:, None], 1 / half, half),
                *(part[car] for part in _turns(mounts, end, cars, rng)))  # fmt: skip
    least = np.full((len(cars), CHAINS), np.inf)
    np.minimum.at(least, car, km)
    return tuple(np.quantile(part, LEVELS, axis=1).T for part in (km, least))


def _turns(
    mounts: pd.DataFrame, end: pd.DataFrame, cars: pd.Index, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Draws of each vehicle's distance to its next rotation, infinite where there is none, and between rotations.

    An interval is one of those that the fleet's log shows, longer than the one under way; a vehicle that was rotated
    goes on, one that never was is one of the fleet's share that are, as its longest stay has it. [km]
    """
    stays = mounts.sort_values(["tire_id", "odometer_km"], kind="stable")
    before = stays.groupby("tire_id")["odometer_km"].shift()
    stays = stays.assign(stay=stays["odometer_km"] - before).dropna(subset=["stay"])
    seen = stays[stays["position"] != "OFF"].groupby(["vehicle_id", "odometer_km"])["stay"].median()
    now = end.groupby("vehicle_id")["odometer_km"].max().reindex(cars)
    since = (now - mounts.groupby("vehicle_id")["odometer_km"].max().reindex(cars)).to_numpy()
    longest = np.fmax(stays.groupby("vehicle_id")["stay"].max().reindex(cars).to_numpy(), since)
    shape = len(cars), CHAINS
    if seen.empty:
        return np.full(shape, np.inf), np.full(shape, np.inf)
    past = np.sort(seen.to_numpy())
    turned = np.isin(cars, seen.index.get_level_values(0))
    longer = (past[None, :] > longest[:, None]).mean(axis=1)
    share = (1 + turned.sum()) / (2 + len(cars))
    chance = np.where(turned, 1.0, share * longer / (share * longer + 1 - share))
    from_on = np.searchsorted(past, since, side="right")  # the first that is longer than the one under way
    pick = from_on[:, None] + np.floor(rng.random(shape) * (len(past) - from_on)[:, None]).astype(int)
    due = np.where(pick < len(past), past[np.minimum(pick, len(past) - 1)] - since[:, None], 0.0)
    return np.where(rng.random(shape) < chance[:, None], due, np.inf), rng.choice(past, shape)


def _ahead(
    left: np.ndarray, here: np.ndarray, there: np.ndarray, due: np.ndarray, every: np.ndarray
) -> np.ndarray:
    """Distance until nothing is left, the two axles taking turns [km]."""
    km, left = np.zeros_like(left), np.maximum(left, 0.0)
    stretch = due
    while (left > 0).any():
        run = np.minimum(stretch, left / here)
        km, left = km + run, np.where(run < stretch, 0.0, np.maximum(left - here * run, 0.0))
        here, there, stretch = there, here, every
    return km
