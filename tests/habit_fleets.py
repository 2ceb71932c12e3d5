"""Fleets whose drivers differ and whose causes have factors of their own; imports nothing from tirelife.

Invented data. Each wheel's wear per kilometre is a sum over causes, from the same published form (tangential
energy over load, HDM-4, recalled) written anew here, each cause times its true factor; what the logbook says of
habits is off by a stated error. The level of wear is set so that factors share it out and do not raise it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

CAUSES = ("base", "speed", "starts", "stops", "corners", "parking", "alignment", "pressure")
POSITIONS = np.array(["LF", "RF", "LR", "RR"])
G, AIR = 9.80665, 1.2
TERMS = ("share", "v2", "v4", "a", "a2", "av2")
# Ordinary mixed driving: parts of the means over distance, pulling and braking; invented round figures near
# those of household cars.
DRIVE = np.array([0.87, 340.0, 190_000.0, 0.115, 0.085, 21.0])
BRAKE = np.array([0.13, 39.0, 14_000.0, -0.115, 0.10, -21.0])
AY2, SLOW = 0.31, 0.008
# What a top speed of 27 m/s leaves of v² and v⁴, pulling and braking: part of what is asked, not of the truth.
CAP_MPS, SLOWER = 27.0, (0.8369, 0.6442, 0.9780, 0.9153)
MASS, AREA, ROLL, LOAD_SHARE, BRAKE_SHARE = 1500.0, 0.75, 0.010, {"front": 0.60, "rear": 0.52}, 0.70


@dataclass(frozen=True)
class Fleet:
    """How a fleet is made."""

    vehicles: int = 60
    factors: dict[str, float] = field(default_factory=dict)
    error: float = 0.2  # of recorded habits, log
    useful: float = 1.0  # 0: the recorded habits are another driver's
    spread: dict[str, float] = field(
        default_factory=lambda: {"speed": 0.15, "starts": 0.5, "stops": 0.5, "corners": 0.5, "parking": 0.5}
    )
    vehicle_sd: float = 0.15
    tire_sd: float = 0.08
    gauge_mm: float = 0.25
    visit_mm: float = 0.12
    visits: int = 7
    visit_km: float = 7_500.0
    life_km: float = 65_000.0
    toe_share: float = 0.4
    axle_sd: float = 0.0  # of vehicles' own ratios of the axles, log; beyond causes


def energies(
    habits: dict[str, np.ndarray],
    drive: np.ndarray,
    toe_mm: np.ndarray,
    kpa: np.ndarray,
    slower: tuple[float, float, float, float] = (1.0, 1.0, 1.0, 1.0),
) -> dict:
    """Wear by cause of LF, RF, LR, RR of each vehicle, shape (vehicles, 4); arbitrary unit.

    ``slower`` multiplies the means of v² and v⁴, while pulling and braking; accelerations stay as they are.
    """
    front = np.array([True, True, False, False])
    share = np.array([LOAD_SHARE[d] for d in drive])[:, None]
    load = MASS * G * np.where(front, share, 1 - share) / 2
    pull = np.where(np.where(front, drive[:, None] == "front", drive[:, None] == "rear"), 0.5, 0.0)
    brake = np.where(front, BRAKE_SHARE, 1 - BRAKE_SHARE) / 2
    roll, drag = ROLL * MASS * G, 0.5 * AIR * AREA
    by_speed, by_start, by_stop = (np.exp(habits[n])[:, None] for n in ("speed", "starts", "stops"))
    d = dict(zip(TERMS, DRIVE, strict=True))
    b = dict(zip(TERMS, BRAKE, strict=True))
    d2, d4, b2, b4 = (
        phase[f"v{power}"] * by_speed**power * less
        for (phase, power), less in zip(((d, 2), (d, 4), (b, 2), (b, 4)), slower, strict=True)
    )
    along = MASS**2 * d["a2"] * by_start + 2 * MASS * (roll * d["a"] + drag * d["av2"] * by_speed**2)
    held = MASS**2 * b["a2"] * by_stop + 2 * MASS * (roll * b["a"] + drag * b["av2"] * by_speed**2)
    held = held + roll**2 * b["share"] + 2 * roll * drag * b2 + drag**2 * b4
    own = np.where(pull > 0, 0.0, ROLL * load)
    out = {
        "base": 0.02616 / 0.00204 + (pull**2 * roll**2 + own**2) * d["share"] / load,
        "speed": pull**2 * (2 * roll * drag * d2 + drag**2 * d4) / load,
        "starts": pull**2 * along / load,
        "stops": np.maximum(brake**2 * held / load, 0.0),
        "corners": load * AY2 * np.exp(habits["corners"])[:, None] / G**2,
        "parking": np.where(front, 0.25 * load * SLOW * np.exp(habits["parking"])[:, None], 0.0),
        "alignment": load * (0.2 * np.degrees(np.arctan(toe_mm / 660.0)) / 2) ** 2,
    }
    whole = sum(np.broadcast_to(v, load.shape) for v in out.values())
    out["pressure"] = whole * (1 / (1 - 0.0178 * np.maximum(240.0 - kpa, 0.0)[:, None] / 6.894757) - 1)
    return {name: np.broadcast_to(v, load.shape) for name, v in out.items()}


def simulate(folder: Path, fleet: Fleet, seed: int) -> pd.DataFrame:
    """Write a logbook folder; return each mounted tire's true rate ahead and what gentler habits would buy.

    Columns: vehicle_id, tire_id, position, depth_mm, rate (mm per km, habits and wheel as they are), and
    ``gain_<cause>``: the share of wear saved where starts or stops are a fifth gentler (mean of a² times 0.8),
    bends a fifth slower in side force (0.8 squared), no faster than ``CAP_MPS``, toe is set to nothing, or
    pressures are kept at the placard.
    """
    rng = np.random.default_rng(seed)
    n = fleet.vehicles
    drive = np.where(rng.random(n) < 0.7, "front", "rear")
    habits = {name: rng.normal(0, sd, n) for name, sd in fleet.spread.items()}
    toe = np.zeros((n, 4))
    out_of = rng.random(n) < fleet.toe_share
    toe[:, :2] = (out_of * rng.uniform(1.5, 5.0, n))[:, None]
    kpa = 240.0 - np.where(rng.random(n) < 0.5, rng.uniform(0, 50.0, n), 0.0)
    causes = energies(habits, drive, toe, kpa)
    true = {c: causes[c] * fleet.factors.get(c, 1.0) for c in CAUSES}
    level = sum(true[c].mean() for c in CAUSES)
    severity = sum(true.values()) / level
    vehicle = rng.normal(0, fleet.vehicle_sd, n)
    line = rng.integers(0, 2, n)
    base = np.log(6.35 / fleet.life_km) + vehicle + np.where(line == 1, 0.15, -0.05)
    names = np.array([[f"T{v:04d}{p}" for p in range(4)] for v in range(n)], dtype=object)
    half = np.random.default_rng(seed + 77_000_000).normal(0, fleet.axle_sd / 2, n)[:, None]
    severity = severity * np.exp(half * np.array([1.0, 1.0, -1.0, -1.0]))
    own = rng.normal(0, fleet.tire_sd, (n, 4))
    depth = np.full((n, 4), 8.0) + rng.normal(0, 0.08, (n, 4))
    odometer = rng.uniform(10_000, 60_000, n)
    begun = odometer.copy()
    day = np.full(n, 0)
    begin = pd.Timestamp("2022-03-01")
    ids = np.array([f"V{v:04d}" for v in range(n)])
    mounts, depths, pressures = [], [], []

    def write_mounts() -> None:
        for v in range(n):
            date = (begin + pd.Timedelta(days=int(day[v]))).date()
            for p in range(4):
                mounts.append((date, round(odometer[v], 1), ids[v], names[v, p], POSITIONS[p]))

    def write_pressure(v: int, p: int) -> None:
        date = (begin + pd.Timedelta(days=int(day[v]))).date()
        pressures.append((date, round(odometer[v], 1), ids[v], POSITIONS[p], round(kpa[v], 0), "cold"))

    write_mounts()
    for v, p in np.ndindex(n, 4):
        write_pressure(v, p)
    for visit in range(fleet.visits):
        km = fleet.visit_km * rng.uniform(0.6, 1.4, n)
        odometer, day = odometer + km, day + (km / 45).astype(int)
        depth = depth - np.exp(base[:, None] + own) * severity * km[:, None]
        lean = rng.normal(0, fleet.visit_mm, n)
        for v in range(n):
            date = (begin + pd.Timedelta(days=int(day[v]))).date()
            for p in range(4):
                for groove in ("outer", "center", "inner"):
                    read = max(depth[v, p] + lean[v] + rng.normal(0, fleet.gauge_mm), 0.1)
                    depths.append((date, round(odometer[v], 1), ids[v], POSITIONS[p], groove, round(read, 1)))
                write_pressure(v, p)
        if visit % 2 == 1 and visit < fleet.visits - 1:
            for array in (names, own, depth):
                array[:] = array[:, [2, 3, 0, 1]]
            write_mounts()
    recorded = {
        name: fleet.useful * value
        + np.sqrt(1 - fleet.useful**2) * rng.normal(0, fleet.spread[name], n)
        + rng.normal(0, fleet.error * (0.25 if name == "speed" else 1.0), n)
        for name, value in habits.items()
    }
    _write(folder, ids, drive, names, mounts, depths, pressures, recorded, toe, begin, day, begun, line)
    out = pd.DataFrame(
        {
            "vehicle_id": np.repeat(ids, 4),
            "tire_id": names.ravel(),
            "position": np.tile(POSITIONS, n),
            "depth_mm": depth.ravel(),
            "rate": (np.exp(base[:, None] + own) * severity).ravel(),
            "front": np.tile([True, True, False, False], n),
        }
    )
    gentler = {"starts": 0.8, "stops": 0.8, "corners": 0.64}
    changes = {name: (habits | {name: habits[name] + np.log(by)}, toe, kpa) for name, by in gentler.items()}
    changes |= {
        "speed": (habits, toe, kpa, SLOWER),
        "alignment": (habits, 0.0 * toe, kpa),
        "pressure": (habits, toe, np.full(n, 240.0)),
    }
    for name, conditions in changes.items():
        then = energies(conditions[0], drive, *conditions[1:])
        after = sum(then[c] * fleet.factors.get(c, 1.0) for c in CAUSES)
        out[f"gain_{name}"] = (1 - after / sum(true.values())).ravel()
    return out


def _write(
    folder, ids, drive, names, mounts, depths, pressures, recorded, toe, begin, day, begun, line
) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    pd.DataFrame(
        {"vehicle_id": ids, "drive": drive, "placard_front_kpa": 240, "placard_rear_kpa": 240}
    ).to_csv(folder / "vehicles.csv", index=False)
    pd.DataFrame(
        {
            "tire_id": names.ravel(),
            "tire_line": np.repeat(np.where(line == 1, "Brook", "Alder"), 4),
            "new_depth_mm": 8.0,
        }
    ).to_csv(folder / "tires.csv", index=False)
    pd.DataFrame(mounts, columns=["date", "odometer_km", "vehicle_id", "tire_id", "position"]).to_csv(
        folder / "mounts.csv", index=False
    )
    pd.DataFrame(
        depths, columns=["date", "odometer_km", "vehicle_id", "position", "groove", "depth_mm"]
    ).to_csv(folder / "depths.csv", index=False)
    pd.DataFrame(
        pressures, columns=["date", "odometer_km", "vehicle_id", "position", "pressure_kpa", "state"]
    ).to_csv(folder / "pressures.csv", index=False)
    n = len(ids)
    rows = {"vehicle_id": ids, "from_date": [begin.date()] * n}
    rows["to_date"] = [(begin + pd.Timedelta(days=int(d))).date() for d in day]
    shares = (0.11, 0.19, 0.26, 0.26, 0.18)
    bands = ("under_25mph", "25_40mph", "40_55mph", "55_70mph", "over_70mph")
    rows |= {f"share_{b}": np.full(n, s) for b, s in zip(bands, shares, strict=True)}
    rows |= {f"hard_{e}_per_100km": np.full(n, 1.0) for e in ("starts", "stops", "turns")}
    speed = np.exp(recorded["speed"])
    power = {"share": 0, "v2": 2, "v4": 4, "a": 0, "a2": 0, "av2": 2}
    for phase, values, hard in (("drive", DRIVE, "starts"), ("brake", BRAKE, "stops")):
        for term, value in zip(TERMS, values, strict=True):
            moment = value * speed ** power[term]
            rows[f"{phase}_{term}"] = moment * np.exp(recorded[hard]) if term == "a2" else moment
    rows["ay2"] = AY2 * np.exp(recorded["corners"])
    rows["slow_turn"] = SLOW * np.exp(recorded["parking"])
    pd.DataFrame(rows).to_csv(folder / "habits.csv", index=False)
    found = np.flatnonzero(toe[:, 0] > 0)
    pd.DataFrame(
        {
            "date": [begin.date()] * len(found),
            "odometer_km": begun[found].round(1),
            "vehicle_id": ids[found],
            "axle": "front",
            "toe_mm": toe[found, 0].round(2),
        }
    ).to_csv(folder / "alignment.csv", index=False)
