"""What the best learner there can be makes of a fleet of ``tests/habit_fleets.py``; imports nothing from tirelife.

It is told all that the generator does but the numbers that a log must tell: the energies' form, every spread, how far
records of habits are off, which tire was where. Held before: the logarithm of each factor normal about 0 with the
variances that it is given. What is left is integration. Given the factors and the level of either tire line, a car
is alone: its habits, its own level, its tires' rates and new depths are integrated by Laplace's method (its readings
are near linear in them); factors and levels by Markov chains side by side. Readings
near the end of the gauge, where the generator stops them, are left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from tests.habit_fleets import AY2, BRAKE, CAUSES, DRIVE, POSITIONS, SLOW, SLOWER, TERMS, Fleet, energies

HABITS = ("speed", "starts", "stops", "corners", "parking")
GENTLER = {"starts": 0.8, "stops": 0.8, "corners": 0.64}
LEVERS = ("speed", "starts", "stops", "corners", "alignment", "pressure")
LEAST_MM = 0.6  # readings stop at 0.1: nearer to it than this, some of a visit's would have been stopped
_FREEDOM = 5.0
_KEPT = 400
_PRESSURE = CAUSES.index("pressure")


@dataclass(frozen=True)
class Log:
    """A fleet's log in arrays: n cars, four wheels, v visits."""

    drive: np.ndarray  # (n,)
    toe: np.ndarray  # (n, 4) [mm]
    kpa: np.ndarray  # (n,)
    line: np.ndarray  # (n,) 0 or 1
    recorded: np.ndarray  # (n, 5), log
    record_sd: np.ndarray  # (5,)
    habit_sd: np.ndarray  # (5,)
    km: np.ndarray  # (n, 4, v, 2), run on front and rear by a visit, of the tire that began at a wheel
    depth: np.ndarray  # (n, 4, v) [mm]
    error: np.ndarray  # (n, 4, v), variance of a reading's own error [mm²]
    lean: float
    vehicle_sd: float
    tire_sd: float
    names: np.ndarray  # (n, 4), of the tire that began at a wheel
    last: np.ndarray  # (4,), wheel where the tire that began at a wheel is now
    ids: np.ndarray  # (n,)


def read(folder: Path, fleet: Fleet) -> Log:
    """Read a folder as the generator wrote it."""
    table = {name: pd.read_csv(folder / f"{name}.csv") for name in ("vehicles", "tires", "mounts", "depths")}
    table |= {name: pd.read_csv(folder / f"{name}.csv") for name in ("pressures", "habits", "alignment")}
    ids = table["vehicles"]["vehicle_id"].to_numpy()
    n, visits = len(ids), fleet.visits
    # By the wheel where each is at the end.
    tires = table["tires"]["tire_id"].to_numpy().reshape(n, 4)
    line = (table["tires"]["tire_line"].to_numpy().reshape(n, 4)[:, 0] == "Brook").astype(int)
    kpa = table["pressures"].groupby("vehicle_id")["pressure_kpa"].first().reindex(ids).to_numpy()
    toe = np.zeros((n, 4))
    set_to = table["alignment"].set_index("vehicle_id")["toe_mm"].reindex(ids).fillna(0.0)
    toe[:, :2] = set_to.to_numpy()[:, None]
    h = table["habits"].set_index("vehicle_id").loc[ids]
    drive, brake = dict(zip(TERMS, DRIVE, strict=True)), dict(zip(TERMS, BRAKE, strict=True))
    recorded = np.column_stack(
        [
            np.log(h["drive_v2"] / drive["v2"]) / 2,
            np.log(h["drive_a2"] / drive["a2"]),
            np.log(h["brake_a2"] / brake["a2"]),
            np.log(h["ay2"] / AY2),
            np.log(h["slow_turn"] / SLOW),
        ]
    )
    depths = table["depths"]
    seen = depths.pivot_table("depth_mm", ["vehicle_id", "odometer_km"], "position")
    at_wheel = seen[list(POSITIONS)].to_numpy().reshape(n, visits, 4)
    odometer = seen.index.get_level_values(1).to_numpy().reshape(n, visits)
    begun = table["mounts"].groupby("vehicle_id")["odometer_km"].min().reindex(ids).to_numpy()
    steps = np.diff(np.column_stack([begun, odometer]), axis=1)
    where = np.arange(4)  # wheel of the tire that began at each
    km, depth = np.zeros((n, 4, visits, 2)), np.zeros((n, 4, visits))
    run = np.zeros((n, 4, 2))
    for j in range(visits):
        for t in range(4):
            run[:, t, int(where[t] > 1)] += steps[:, j]
            depth[:, t, j] = at_wheel[:, j, where[t]]
        km[:, :, j] = run
        if j % 2 == 1 and j < visits - 1:
            where = (where + 2) % 4
    error = np.full(depth.shape, fleet.gauge_mm**2 / 3 + 0.1**2 / 36)
    error[depth < LEAST_MM] += 1e6
    return Log(
        drive=table["vehicles"]["drive"].to_numpy(), toe=toe, kpa=kpa, line=line, recorded=recorded,
        record_sd=np.array([fleet.error * (0.25 if name == "speed" else 1.0) for name in HABITS]),
        habit_sd=np.array([fleet.spread[name] for name in HABITS]),
        km=km, depth=depth, error=error, lean=fleet.visit_mm, vehicle_sd=fleet.vehicle_sd,
        tire_sd=fleet.tire_sd, names=tires[:, where], last=where, ids=ids,
    )  # fmt: skip


def parts(
    log: Log, h: np.ndarray, toe: np.ndarray | None = None, kpa: np.ndarray | None = None, slower=(1.0,) * 4
) -> np.ndarray:
    """Wear by cause on the front and the rear axle, shape (..., n, 2, causes), of habits (..., n, 5)."""
    lead = h.shape[:-2]
    flat = h.reshape(-1, 5)
    again = len(flat) // len(log.drive)
    drive = np.tile(log.drive, again)
    toe = np.tile(log.toe if toe is None else toe, (again, 1))
    kpa = np.tile(log.kpa if kpa is None else kpa, again)
    found = energies({name: flat[:, i] for i, name in enumerate(HABITS)}, drive, toe, kpa, slower)
    out = np.stack([found[c][:, [0, 2]] for c in CAUSES], axis=-1)
    return out.reshape(*lead, len(log.drive), 2, len(CAUSES))


def log_severity(log: Log, h: np.ndarray, log_factor: np.ndarray, **other) -> np.ndarray:
    """Shape (draws, n, 2); factors of shape (draws, causes)."""
    return np.log(np.einsum("knac,kc->kna", parts(log, h, **other), np.exp(log_factor)))


@dataclass
class Cars:
    """Every car's own at given factors and levels, shape (draws, n, 14): habits, level, rates, new depths."""

    z: np.ndarray
    cov: np.ndarray  # (draws, n, 14, 14)
    log_marginal: np.ndarray  # (draws,)


def _jacobian(
    log: Log, z: np.ndarray, log_factor: np.ndarray, level: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Depths (draws, n, 4, v) and their derivatives (draws, n, 4, v, 14)."""
    h, eps, factor = z[..., :5], 1e-4, np.exp(log_factor)
    here = parts(log, h)
    # Starts, stops, bends and parking have a cause each; speed moves several.
    slow = (parts(log, h + eps * np.array([1.0, 0, 0, 0, 0])) - here) / eps
    others = (parts(log, h + eps * np.array([0, 1.0, 1, 1, 1])) - here) / eps
    low = here[..., _PRESSURE] / np.delete(here, _PRESSURE, axis=-1).sum(axis=-1)
    severity = np.einsum("knac,kc->kna", here, factor)
    slope = np.empty((*severity.shape, 5))
    slope[..., 0] = np.einsum("knac,kc->kna", slow, factor)
    for i, name in enumerate(HABITS[1:], 1):
        c = CAUSES.index(name)
        slope[..., i] = others[..., c] * (factor[:, None, None, c] + low * factor[:, None, None, _PRESSURE])
    rate = np.exp(level[:, log.line][..., None] + z[..., 5:6] + z[..., 6:10])  # (draws, n, 4)
    worn = rate[..., None] * np.einsum("ntva,kna->kntv", log.km, severity)
    by = np.zeros((*worn.shape, 14))
    by[..., :5] = -rate[..., None, None] * np.einsum("ntva,knai->kntvi", log.km, slope)
    by[..., 5] = -worn
    for t in range(4):
        by[:, :, t, :, 6 + t] = -worn[:, :, t]
        by[:, :, t, :, 10 + t] = 1.0
    return z[..., 10:14][..., None] - worn, by


def cars(
    log: Log, log_factor: np.ndarray, level: np.ndarray, start: np.ndarray | None = None, rounds: int = 5
) -> Cars:
    """Integrate every car's own away: factors (draws, causes), levels of lines (draws, 2)."""
    k, n = len(log_factor), len(log.drive)
    seen = 1 / (1 / log.habit_sd**2 + 1 / log.record_sd**2)
    mean = np.zeros((n, 14))
    mean[:, :5] = log.recorded * seen / log.record_sd**2
    mean[:, 10:] = 8.0
    precision = np.concatenate(
        [1 / seen, [log.vehicle_sd**-2], np.full(4, log.tire_sd**-2), np.full(4, 0.08**-2)]
    )
    visits = log.depth.shape[2]
    # Four tires of a visit lean together: D^-1 - D^-1 1 1' D^-1 / (1/lean² + 1' D^-1 1).
    weight = 1 / log.error
    apart = np.zeros((n, visits, 4, 4))
    for t in range(4):
        apart[:, :, t, t] = weight[:, t]
    whole = 1 / log.lean**2 + weight.sum(axis=1)
    across = weight.transpose(0, 2, 1)
    apart -= across[..., :, None] * across[..., None, :] / whole[..., None, None]
    z = np.broadcast_to(mean if start is None else start, (k, n, 14)).copy()
    for turn in range(rounds):
        predicted, by = _jacobian(log, z, log_factor, level)
        off = log.depth - predicted
        turned = np.einsum("nvts,knsvi->kntvi", apart, by)
        hessian = np.einsum("kntvi,kntvj->knij", by, turned) + np.diag(precision)
        right = np.einsum("kntvi,kntv->kni", turned, off) - precision * (z - mean)
        if turn == rounds - 1:
            break
        step = np.linalg.solve(hessian, right[..., None])[..., 0]
        z = z + np.clip(step, -1.0, 1.0)
    square = np.einsum("kntv,nvts,knsv->k", off, apart, off) + (precision * (z - mean) ** 2).sum(axis=(1, 2))
    log_det = np.linalg.slogdet(hessian)[1].sum(axis=1)
    return Cars(z, np.linalg.inv(hessian), -(square + log_det) / 2)


@dataclass
class Posterior:
    """Draws of log factors (k, causes) and levels (k, 2), all as likely as one another, and the cars with them."""

    log_factor: np.ndarray
    level: np.ndarray
    cars: Cars
    taken: float  # share of steps that were taken


def learn(
    log: Log,
    sd: np.ndarray,
    rng: np.random.Generator,
    at: np.ndarray | None = None,
    chains: int = 60,
    rounds: int = 60,
) -> Posterior:
    """Posterior of the factors, of such variances before; one of spread 0 is held at ``at`` (its log; 0)."""
    free = np.flatnonzero(sd > 0)
    m = len(free) + 2

    def spread(theta: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        factor = np.tile(np.zeros(len(CAUSES)) if at is None else at, (len(theta), 1))
        factor[:, free] = theta[:, :-2]
        return factor, theta[:, -2:]

    mean_severity = float(np.mean(log_severity(log, log.recorded[None], np.zeros((1, len(CAUSES))))))
    whole = log.km[:, :, -1].sum(axis=(1, 2))
    used = np.log(np.maximum(8.0 - log.depth[:, :, -1], 0.5).sum(axis=1) / whole).mean() - mean_severity
    theta = np.append(np.zeros(len(free)), [used, used])
    start: np.ndarray | None = None

    def height(
        points: np.ndarray, begin: np.ndarray | None = None, rounds: int = 5
    ) -> tuple[np.ndarray, Cars]:
        found = cars(log, *spread(points), start if begin is None else begin, rounds)
        return found.log_marginal - ((points[:, :-2] / sd[free]) ** 2).sum(axis=1) / 2, found

    # Newton by differences, damped.
    eps = 0.02
    steps = np.vstack([np.zeros(m), eps * np.eye(m), -eps * np.eye(m)])
    pairs = [(i, j) for i in range(m) for j in range(i)]
    both = np.array([eps * (np.eye(m)[i] + np.eye(m)[j]) for i, j in pairs]).reshape(-1, m)
    steps = np.vstack([steps, both])
    for _ in range(12):
        high, found = height(theta + steps)
        start = found.z[0]
        gradient = (high[1 : m + 1] - high[m + 1 : 2 * m + 1]) / (2 * eps)
        curve = np.diag((high[1 : m + 1] + high[m + 1 : 2 * m + 1] - 2 * high[0]) / eps**2)
        for (i, j), value in zip(pairs, high[2 * m + 1 :], strict=True):
            curve[i, j] = curve[j, i] = (value - high[1 + i] - high[1 + j] + high[0]) / eps**2
        size, axes = np.linalg.eigh(-curve)
        size = np.maximum(size, 0.5)
        step = axes @ ((axes.T @ gradient) / size)
        step *= min(1.0, 1.0 / np.abs(step).max())
        theta = theta + step
        if np.abs(step).max() < 0.02:
            break
    # From about the mode on by differences of other chains (ter Braak 2006, from memory).
    normal = rng.standard_normal((chains, m)) @ (axes / np.sqrt(size)).T
    now = theta + normal / np.sqrt(rng.chisquare(_FREEDOM, chains) / _FREEDOM)[:, None]
    high, found = height(now)
    z, kept, taken = found.z, [], 0
    for turn in range(rounds):
        one, other = (np.argsort(rng.random((chains, chains)), axis=1)[:, i] for i in range(2))
        reach = 1.0 if turn % 10 == 9 else 2.38 / np.sqrt(2 * m)
        there = now + reach * (now[one] - now[other]) + 1e-3 * rng.standard_normal(now.shape)
        level, found = height(there, z, 3)
        moved = np.log(rng.random(chains)) < level - high
        now, high = np.where(moved[:, None], there, now), np.where(moved, level, high)
        z = np.where(moved[:, None, None], found.z, z)
        if turn >= rounds // 3:
            taken += int(moved.sum())
            kept.append(now)
    points = np.concatenate(kept)[:: max(1, len(kept) * chains // _KEPT)]
    _, found = height(points)
    factor, level = spread(points)
    return Posterior(factor, level, found, taken / (len(kept) * chains))


def drawn_cars(post: Posterior, rng: np.random.Generator) -> np.ndarray:
    """A draw of every car's own for each draw of the factors."""
    root = np.linalg.cholesky(post.cars.cov)
    return post.cars.z + np.einsum("knij,knj->kni", root, rng.standard_normal(post.cars.z.shape))


def rates(log: Log, post: Posterior, rng: np.random.Generator) -> pd.Series:
    """Posterior mean of the log rate ahead of every tire, where it is now."""
    z = drawn_cars(post, rng)
    severity = log_severity(log, z[..., :5], post.log_factor)
    at = severity[..., (log.last > 1).astype(int)]
    made = post.level[:, log.line][..., None] + z[..., 5:6] + z[..., 6:10] + at
    return pd.Series(np.median(made, axis=0).ravel(), index=log.names.ravel())


def unread(log: Log, post: Posterior, rng: np.random.Generator) -> pd.Series:
    """Posterior median of the log severity of tires that nobody read, but for the level."""
    seen = 1 / (1 / log.habit_sd**2 + 1 / log.record_sd**2)
    mean = log.recorded * seen / log.record_sd**2
    h = mean + np.sqrt(seen) * rng.standard_normal((len(post.log_factor), *mean.shape))
    made = log_severity(log, h, post.log_factor)[..., (log.last > 1).astype(int)]
    made = made - made.mean(axis=(1, 2), keepdims=True)
    return pd.Series(np.median(made, axis=0).ravel(), index=log.names.ravel())


def gains(log: Log, post: Posterior, rng: np.random.Generator) -> dict[str, np.ndarray]:
    """Draws of the log of wear after a change over before, shape (draws, n, 2), by lever."""
    h = drawn_cars(post, rng)[..., :5]
    before = log_severity(log, h, post.log_factor)
    out = {}
    for lever in LEVERS:
        then, other = h.copy(), {}
        if lever in GENTLER:
            then[..., HABITS.index(lever)] += np.log(GENTLER[lever])
        elif lever == "speed":
            other = {"slower": SLOWER}
        elif lever == "alignment":
            other = {"toe": 0.0 * log.toe}
        else:
            other = {"kpa": np.full(len(log.kpa), 240.0)}
        out[lever] = log_severity(log, then, post.log_factor, **other) - before
    return out
