"""Simulated fleets with known truth, written as logbook folders; imports nothing from tirelife.

Invented data: they show that ranges are honest and that ways of being wrong are noticed. They prove nothing
about real tires. Each day is stepped through: distance, wear in each groove, visits with gauge readings,
rotations, replacements; then on, with the same habits, until every mounted tire has worn down, for the truth.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import pandas as pd

INCH_32ND = 25.4 / 32
MILE = 1.609344
CROSSES = {  # where the tire at LF, RF, LR, RR goes
    "forward_cross": (2, 3, 1, 0),
    "x": (3, 2, 1, 0),
    "front_rear": (2, 3, 0, 1),
}
POSITIONS = np.array(["LF", "RF", "LR", "RR"])
GROOVES = ("outer", "center", "inner")


@dataclass(frozen=True)
class Fleet:
    """How a fleet is made; the defaults are the well-specified one."""

    vehicles: int = 40
    days: int = 900
    visit_days: float = 110.0
    visits: int | None = None  # no more than so many, the last ones
    units: str = "us"
    step_32nds: float = 0.5  # gauge step
    gauge_sd_32nds: float = 0.3
    visit_sd_32nds: float = 0.2
    tail_df: float | None = None  # Student t errors
    gross_share: float = 0.0  # share of readings with a slip of 2 to 5 thirty-seconds
    life_km: float = 72_420.0  # 45,000 miles over 8/32: NHTSA FMVSS 138 analysis
    vehicle_sd: float = 0.2
    tire_sd: float = 0.08
    line_log_rates: tuple[float, ...] = (0.0, 0.2)
    axle_log_ratio: float = 0.5  # driven axle over the other
    wander_sd: float = 0.0  # log rate, per root of 10,000 km
    q: float = 0.0  # wear goes as (depth / new depth) ** q
    season: float = 0.0  # amplitude of log wear over the year
    habit_change: float = 0.0  # log-sd of a step in a vehicle's wear at a random day
    groove_sd: float = 0.0  # log-sd of a tire's grooves' wear ratios
    new_depth_32nds: tuple[float, ...] = (10.0, 10.0)
    mould_sd_32nds: float = 0.1
    rotation: str | None = "forward_cross"
    rotation_km: float = 9_000.0
    km_day: float = 52.0
    km_day_sd: float = 0.35
    one_visit_share: float = 0.0
    early_replaced: float = 0.0  # share of vehicles whose tires are replaced half-way for other reasons
    known_new_depth: bool = True
    removal_32nds: float = 2.0
    gap_days: int = 20  # the as-of lies up to so long after a vehicle's last visit
    rotating_share: float = 1.0  # of vehicles, in tenths; the others are never rotated
    read_share: float = 1.0  # of visits at which depths are read
    pace_drift: float = 0.0  # log distance per day, per root of a year
    axle_sd: float = 0.0  # log-sd of vehicles' own ratios of the axles
    rotation_log_sd: float = 0.0  # log-sd of one rotation's interval
    habit_sd: float = 0.0  # a vehicle's log rate, per root of 10,000 km


WELL = Fleet()
BENT = {
    "slowing": replace(WELL, q=0.5),
    "seasons": replace(WELL, season=0.25),
    "heavy tails": replace(WELL, tail_df=3.0),
    "gross errors": replace(WELL, gross_share=0.02),
    "habits change": replace(WELL, habit_change=0.15),
    "another driver": replace(WELL, habit_change=0.3),  # a step wider than all vehicles differ: 0.2
    "one visit": replace(WELL, visits=1),
    "wandering": replace(WELL, wander_sd=0.12),
    "grooves": replace(WELL, groove_sd=0.08),
    "replaced": replace(WELL, early_replaced=0.4, days=1200),
    "some rarely seen": replace(WELL, one_visit_share=0.3),
}
PLAIN = {
    "well": WELL,
    "no rotation": replace(WELL, rotation=None),
    "few vehicles": replace(WELL, vehicles=8),
    "sparse": replace(WELL, visit_days=220.0),
    "differing miles": replace(WELL, km_day_sd=0.7),
    "metric": replace(WELL, units="metric"),
}


@dataclass
class _State:
    """What is on the vehicles now: arrays of shape (vehicles, 4), grooves last where there are any."""

    tire: np.ndarray
    new_mm: np.ndarray
    worn_mm: np.ndarray
    log_rate: np.ndarray
    grooves: np.ndarray
    wander: np.ndarray
    count: int = 0
    tires: list[dict] = field(default_factory=list)
    mounts: list[dict] = field(default_factory=list)


def simulate(folder: Path, fleet: Fleet = WELL, seed: int = 1) -> pd.DataFrame:
    """Write a logbook folder; return the truth, one row a mounted tire.

    Columns: vehicle_id, tire_id, position, as_of, odometer_km, depth_mm (mean over grooves), shallowest_mm,
    true_km_left and true_date: when the shallowest groove reaches the removal depth if all goes on alike.
    """
    rng, unread = np.random.default_rng(seed), np.random.default_rng(seed + 10**6)
    n = fleet.vehicles
    turns = np.arange(n) * 7 % 10 < 10 * fleet.rotating_share if fleet.rotation else np.zeros(n, bool)
    start = pd.Timestamp("2023-01-02")
    vehicle_id = np.array([f"V{i + 1:05d}" for i in range(n)])
    drive = np.where(np.arange(n) % 4 == 3, "rear", "front")
    km_day = fleet.km_day * np.exp(rng.normal(0, fleet.km_day_sd, n))
    vehicle = rng.normal(0, fleet.vehicle_sd, n)
    first_day = rng.integers(0, max(1, fleet.days // 3), n)
    odometer = rng.uniform(5_000, 90_000, n)
    change_day = rng.integers(fleet.days // 4, fleet.days, n)
    change = rng.normal(0, fleet.habit_change, n)
    axle = np.zeros((n, 4))
    # What a fleet does not have is not drawn, so that those without it stay what they were.
    more = np.random.default_rng(seed + 2 * 10**6)
    ratio = fleet.axle_log_ratio + more.normal(0, 1, n) * fleet.axle_sd
    drifted, habit = np.zeros(n), np.zeros(n)
    every = _interval(fleet, more, n)
    half = np.where(drive == "front", ratio, -ratio) / 2
    axle[:, :2], axle[:, 2:] = half[:, None], -half[:, None]
    state = _State(
        *(np.zeros((n, 4)) for _ in range(2)),
        *(np.zeros((n, 4, 3)), np.zeros((n, 4)), np.ones((n, 4, 3)), np.zeros((n, 4))),
    )
    state.tire = np.full((n, 4), "", dtype=object)
    depths, odometers = [], []
    base = np.log(8 * INCH_32ND / fleet.life_km)
    last_rotation = odometer.copy()
    fresh_at = rng.integers(int(fleet.days * 0.4), int(fleet.days * 0.7), n)
    fresh = rng.random(n) < fleet.early_replaced
    rare = rng.random(n) < fleet.one_visit_share
    planned = _visit_days(fleet, rng, first_day, rare)

    def wear(day: int, alive: np.ndarray) -> np.ndarray:
        """Distance of the day [km]; wears the tires."""
        date = day % 365
        if fleet.pace_drift:
            drifted[:] += more.normal(0, fleet.pace_drift / np.sqrt(365.25), n)
        km = km_day * np.exp(drifted) * rng.gamma(2.0, 0.5, n) * alive
        season = fleet.season * np.sin(2 * np.pi * (date - 100) / 365)
        level = base + vehicle + season + np.where(day >= change_day, change, 0.0)
        if fleet.wander_sd:
            state.wander += rng.normal(0, 1, (n, 4)) * fleet.wander_sd * np.sqrt(km / 10_000)[:, None]
        if fleet.habit_sd:
            habit[:] += more.normal(0, 1, n) * fleet.habit_sd * np.sqrt(km / 10_000)
            level = level + habit
        rate = np.exp(level[:, None] + axle + state.log_rate + state.wander)
        left = np.maximum(state.new_mm[..., None] - state.worn_mm, 0.05) / np.maximum(
            state.new_mm[..., None], 0.05
        )
        state.worn_mm += (rate * km[:, None])[..., None] * state.grooves * left**fleet.q
        return km

    for day in range(fleet.days):
        for v in np.flatnonzero(day == first_day):
            _fit_new(state, fleet, rng, v, range(4), vehicle_id[v], start, day, odometer[v])
            last_rotation[v] = odometer[v]
        odometer += wear(day, day >= first_day)
        for v in np.flatnonzero(fresh & (day == fresh_at) & (day > first_day)):
            _fit_new(state, fleet, rng, v, range(4), vehicle_id[v], start, day, odometer[v])
            last_rotation[v] = odometer[v]
        for v in np.flatnonzero(planned[:, day] & (day > first_day)):
            date = start + pd.Timedelta(days=day)
            read = _read(state, fleet, rng, v, vehicle_id[v], date, odometer[v])
            if fleet.read_share == 1 or unread.random() < fleet.read_share:
                depths += read
            low = (state.new_mm[v, :, None] - state.worn_mm[v]).min(axis=1)
            spent = low < (fleet.removal_32nds + 0.7) * INCH_32ND
            if spent.any():  # a worn tire takes its axle mate with it
                pairs = [p for p in range(4) if spent[p] or spent[p ^ 1]]
                _fit_new(state, fleet, rng, v, pairs, vehicle_id[v], start, day, odometer[v])
                last_rotation[v] = odometer[v]
        # Tires are rotated at a visit when about due, and otherwise at the latest when overdue.
        due = np.where(planned[:, day], 0.9, 1.1) * every
        for v in np.flatnonzero((odometer - last_rotation > due) & (day > first_day) & turns):
            _rotate(state, fleet, v, vehicle_id[v], start + pd.Timedelta(days=day), odometer[v])
            last_rotation[v], every[v] = odometer[v], _interval(fleet, more, 1)[0]
        for v in np.flatnonzero(((day - first_day) % 30 == 0) & (day >= first_day)):
            odometers.append((start + pd.Timedelta(days=day), vehicle_id[v], odometer[v]))
    end = start + pd.Timedelta(days=fleet.days - 1)
    odometers += [(end, vehicle_id[v], odometer[v]) for v in range(n)]
    ahead = (every, more)
    truth = _truth(state, fleet, wear, vehicle_id, odometer, last_rotation, turns, end, ahead)
    _write(folder, fleet, vehicle_id, drive, state, depths, odometers)
    return truth


def _interval(fleet: Fleet, rng: np.random.Generator, count: int) -> np.ndarray:
    """Distances to the next rotation of so many vehicles [km]."""
    if not fleet.rotation_log_sd:
        return np.full(count, fleet.rotation_km)
    return fleet.rotation_km * np.exp(rng.normal(0, fleet.rotation_log_sd, count))


def _visit_days(fleet: Fleet, rng: np.random.Generator, first: np.ndarray, rare: np.ndarray) -> np.ndarray:
    """Which days each vehicle is seen: bool, shape (vehicles, days)."""
    seen = np.zeros((fleet.vehicles, fleet.days), bool)
    for v in range(fleet.vehicles):
        day = fleet.days - 1 - int(rng.integers(0, fleet.gap_days + 1))
        days = []
        while day > first[v] + 20:
            days.append(day)
            day -= int(fleet.visit_days * rng.uniform(0.6, 1.4))
        keep = 1 if rare[v] else fleet.visits
        seen[v, days[:keep]] = True
    return seen


def _fit_new(state, fleet, rng, v, positions, vehicle_id, start, day, odometer) -> None:
    date = start + pd.Timedelta(days=int(day))
    line = int(rng.integers(len(fleet.line_log_rates)))
    for p in positions:
        if state.tire[v, p]:
            state.mounts.append(_mount(date, odometer, vehicle_id, state.tire[v, p], "OFF"))
        state.count += 1
        name = f"T{state.count:06d}"
        new = fleet.new_depth_32nds[line] * INCH_32ND
        state.tire[v, p] = name
        state.new_mm[v, p] = new + rng.normal(0, fleet.mould_sd_32nds) * INCH_32ND
        state.worn_mm[v, p] = 0.0
        state.wander[v, p] = 0.0
        state.log_rate[v, p] = fleet.line_log_rates[line] + rng.normal(0, fleet.tire_sd)
        ratio = np.exp(rng.normal(0, fleet.groove_sd, 3)) if fleet.groove_sd else np.ones(3)
        state.grooves[v, p] = ratio / ratio.mean()
        state.tires.append({"tire_id": name, "tire_line": f"Line {'ABCDEF'[line]}", "new_depth_mm": new})
        state.mounts.append(_mount(date, odometer, vehicle_id, name, POSITIONS[p]))


def _mount(date, odometer, vehicle_id, tire, position) -> dict:
    return {
        "date": date,
        "odometer_km": odometer,
        "vehicle_id": vehicle_id,
        "tire_id": tire,
        "position": position,
    }


def _rotate(state, fleet, v, vehicle_id=None, date=None, odometer=None) -> None:
    goes = np.array(CROSSES[fleet.rotation])
    for name in ("tire", "new_mm", "worn_mm", "log_rate", "grooves", "wander"):
        array = getattr(state, name)
        moved = array[v].copy()
        moved[goes] = array[v]
        array[v] = moved
    if vehicle_id is not None:
        for p in range(4):
            state.mounts.append(_mount(date, odometer, vehicle_id, state.tire[v, p], POSITIONS[p]))


def _read(state, fleet, rng, v, vehicle_id, date, odometer) -> list[tuple]:
    lean = rng.normal(0, fleet.visit_sd_32nds)
    rows = []
    for p in range(4):
        for g, groove in enumerate(GROOVES):
            true = (state.new_mm[v, p] - state.worn_mm[v, p, g]) / INCH_32ND
            noise = rng.normal() if fleet.tail_df is None else rng.standard_t(fleet.tail_df)
            value = true + lean + fleet.gauge_sd_32nds * noise
            if rng.random() < fleet.gross_share:
                value += rng.choice([-1, 1]) * rng.uniform(2, 5)
            value = max(np.round(value / fleet.step_32nds) * fleet.step_32nds, 0.0)
            rows.append((date, odometer, vehicle_id, POSITIONS[p], groove, value * INCH_32ND))
    return rows


def _truth(state, fleet, wear, vehicle_id, odometer, last_rotation, turns, end, ahead) -> pd.DataFrame:
    """Go on day by day until every mounted tire has worn down to the removal depth."""
    n = fleet.vehicles
    limit = fleet.removal_32nds * INCH_32ND
    row = np.arange(n * 4).reshape(n, 4)
    left_km, left_days = np.full(n * 4, np.nan), np.full(n * 4, np.nan)
    before = (state.new_mm[..., None] - state.worn_mm).min(axis=2)
    names = state.tire.ravel().copy()
    mean_mm = (state.new_mm - state.worn_mm.mean(axis=2)).ravel()
    shallow = before.ravel().copy()
    left_km[shallow <= limit] = 0.0
    left_days[shallow <= limit] = 0.0
    driven, rotated = np.zeros(n), last_rotation - odometer
    every, more = ahead
    for day in range(fleet.days, fleet.days + 365 * 40):
        km = wear(day, np.ones(n))
        now = (state.new_mm[..., None] - state.worn_mm).min(axis=2)
        crossed = (now <= limit) & np.isnan(left_km[row])
        if crossed.any():
            share = (before - limit) / np.maximum(before - now, 1e-12)
            at = driven[:, None] + share * km[:, None]
            left_km[row[crossed]] = at[crossed]
            left_days[row[crossed]] = (day - fleet.days + share)[crossed]
        driven += km
        before = now
        if fleet.rotation:
            for v in np.flatnonzero((driven - rotated > every) & turns):
                _rotate(state, fleet, v)
                every[v] = _interval(fleet, more, 1)[0]
                goes = np.array(CROSSES[fleet.rotation])
                moved, was = row[v].copy(), before[v].copy()
                moved[goes], before[v, goes] = row[v], was
                row[v] = moved
                rotated[v] = driven[v]
        if not np.isnan(left_km).any():
            break
    return pd.DataFrame(
        {
            "vehicle_id": np.repeat(vehicle_id, 4),
            "tire_id": names,
            "position": np.tile(POSITIONS, n),
            "as_of": end,
            "odometer_km": np.repeat(odometer, 4),
            "depth_mm": mean_mm,
            "shallowest_mm": shallow,
            "true_km_left": left_km,
            "true_date": end + pd.to_timedelta(left_days, unit="D"),
        }
    )


def _write(folder, fleet, vehicle_id, drive, state, depths, odometers) -> None:
    us = fleet.units == "us"
    far, deep = ("odometer_mi", "depth_32nds") if us else ("odometer_km", "depth_mm")
    per_far, per_deep = (MILE, INCH_32ND) if us else (1.0, 1.0)
    pressure = ("psi", 32.0) if us else ("kpa", 220.0)
    folder.mkdir(parents=True, exist_ok=True)
    pd.DataFrame(
        {
            "vehicle_id": vehicle_id,
            "drive": drive,
            f"placard_front_{pressure[0]}": pressure[1],
            f"placard_rear_{pressure[0]}": pressure[1],
        }
    ).to_csv(folder / "vehicles.csv", index=False)
    tires = pd.DataFrame(state.tires)
    new = (tires.pop("new_depth_mm") / per_deep).round(3)
    tires[f"new_{deep}"] = new if fleet.known_new_depth else ""
    tires.to_csv(folder / "tires.csv", index=False)
    mounts = pd.DataFrame(state.mounts)
    mounts.insert(1, far, (mounts.pop("odometer_km") / per_far).round(1))
    mounts.to_csv(folder / "mounts.csv", index=False)
    readings = pd.DataFrame(depths, columns=["date", far, "vehicle_id", "position", "groove", deep])
    readings[far] = (readings[far] / per_far).round(1)
    readings[deep] = (readings[deep] / per_deep).round(3)
    readings.sort_values(["date", "vehicle_id"], kind="stable").to_csv(folder / "depths.csv", index=False)
    readings = pd.DataFrame(odometers, columns=["date", "vehicle_id", far])
    readings[far] = (readings[far] / per_far).round(1)
    readings.sort_values(["date", "vehicle_id"]).to_csv(folder / "odometer.csv", index=False)


def smaller(fleet: Fleet, vehicles: int) -> Fleet:
    """The same fleet with fewer vehicles."""
    return replace(fleet, vehicles=vehicles)


def coverage(table: pd.DataFrame, truth: pd.DataFrame) -> dict[str, float]:
    """How often the truth fell in the ranges of a forecast frame, and how far off its middle was."""
    both = table.merge(truth, on="tire_id", suffixes=("", "_true"))
    true = both["true_km_left"]

    def inside(low: str, high: str) -> float:
        return float(((true >= both[low]) & (true <= both[high])).mean())

    day = both["true_date"].dt.floor("D")
    return {
        "tires": len(both),
        "cover_50": inside("km_left_p25", "km_left_p75"),
        "cover_80": inside("km_left_p10", "km_left_p90"),
        "date_80": float(((day >= both["date_p10"]) & (day <= both["date_p90"])).mean()),
        "median_error_km": float((both["km_left_p50"] - true).abs().median()),
        "log_bias": float(np.log(both["km_left_p50"].clip(lower=500) / true.clip(lower=500)).median()),
    }


def line_errors(folder: Path, truth: pd.DataFrame, new_depth: bool = True) -> list[float]:
    """Errors [km] of each tire's own least-squares line through its readings, and through its new depth where asked.

    A tire that has no falling line, for want of two points or of wear, has an infinite error.
    """
    tables = {name: pd.read_csv(folder / f"{name}.csv") for name in ("depths", "mounts", "tires")}
    us = "odometer_mi" in tables["mounts"]
    far, deep = ("odometer_mi", "depth_32nds") if us else ("odometer_km", "depth_mm")
    per_far, per_deep = (MILE, INCH_32ND) if us else (1.0, 1.0)
    mounts = tables["mounts"].sort_values(["tire_id", "date", far])
    new = tables["tires"].set_index("tire_id")[f"new_{deep}"] * per_deep
    mean = tables["depths"].groupby(["vehicle_id", "position", "date", far])[deep].mean().reset_index()
    out = []
    for row in truth.itertuples():
        stays = mounts[(mounts["tire_id"] == row.tire_id) & (mounts["position"] != "OFF")]
        begin = stays[far].iloc[0]
        x, y = ([0.0], [new[row.tire_id]]) if new_depth else ([], [])
        for i in range(len(stays)):
            low = stays[far].iloc[i]
            high = stays[far].iloc[i + 1] if i + 1 < len(stays) else np.inf
            seen = mean[
                (mean["vehicle_id"] == row.vehicle_id)
                & (mean["position"] == stays["position"].iloc[i])
                & (mean[far] > low)
                & (mean[far] <= high)
            ]
            x += ((seen[far] - begin) * per_far).tolist()
            y += (seen[deep] * per_deep).tolist()
        if len(x) < 2:
            out.append(np.inf)
            continue
        slope, at = np.polyfit(x, y, 1)
        run = row.odometer_km - begin * per_far
        left = (2 * INCH_32ND - at) / slope - run if slope < 0 else np.inf
        out.append(abs(left - row.true_km_left))
    return out
