"""Ten million trip samples from Parquet: this package, hand-written Polars and DuckDB SQL, side by side.

All three compute the same 43 sums of each trip (tested equal here to 1e-9 before they are timed). The data are
stretches of the published cycles with a little noise, 10,000 trips of 1,000 s; what is timed reads the file.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd

from tirelife.driving import Thresholds, coast_down
from tirelife.driving.profile import BAND_EDGES_MPS

CYCLES = Path(__file__).parents[1] / "driving" / "data"
TRIP_S = 1000
KEYS = ["vehicle_id", "trip_id"]
C0 = float(coast_down(0.0))
C2 = float(coast_down(1.0) + coast_down(-1.0)) / 2 - C0
C1 = float(coast_down(1.0)) - C0 - C2
HARD_START, HARD_STOP = Thresholds().start_mps2, Thresholds().stop_mps2
LOW, HIGH = (0.0, *BAND_EDGES_MPS), (*BAND_EDGES_MPS, 1e9)
TERMS = {"m": "ds", "v2": "c3", "v4": "c5", "a": "q", "a2": "a*q", "av2": "a*c3"}


def write_trips(path: Path, trips: int, vehicles: int = 100, seed: int = 1) -> None:
    """Write trips of 1,000 s, in row groups of a million."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    rng = np.random.default_rng(seed)
    speeds = [
        pd.read_csv(CYCLES / f"{n}.csv")["speed_mps"].to_numpy() for n in ("udds", "hwfet", "us06", "wltc_3b")
    ]
    pool = np.tile(np.concatenate(speeds), 2)
    writer = None
    for first in range(0, trips, 1000):
        number = np.arange(first, min(first + 1000, trips))
        at = rng.integers(0, len(pool) // 2, len(number))
        speed = pool[at[:, None] + np.arange(TRIP_S)]
        speed = np.round(np.where(speed > 1, speed + rng.normal(0, 0.05, speed.shape), np.round(speed)), 3)
        table = pa.table(
            {
                "vehicle_id": pa.array(
                    np.char.add("V", (number * vehicles // trips).astype(str)).repeat(TRIP_S)
                ),
                "trip_id": pa.array(np.char.add("T", number.astype(str)).repeat(TRIP_S)),
                "time_s": np.tile(np.arange(TRIP_S, dtype=float), len(number)),
                "speed_mps": speed.ravel(),
            }
        )
        writer = writer or pq.ParquetWriter(path, table.schema)
        writer.write_table(table)
    if writer:
        writer.close()


def with_polars(path: Path) -> pd.DataFrame:
    """The same sums as one would write them for Polars, for a file whose rows are in order of trip and time."""
    import polars as pl

    v, m, a, ds = (pl.col(c) for c in ("speed_mps", "m", "a", "ds"))
    h, m2, dt, dv, fine = (pl.col(c) for c in ("h", "m2", "dt", "dv", "fine"))
    same = (pl.col("trip_id") == pl.col("trip_id").shift(-1)) & (
        pl.col("vehicle_id") == pl.col("vehicle_id").shift(-1)
    )
    frame = pl.scan_parquet(path).with_columns(
        dt=pl.when(same).then(pl.col("time_s").shift(-1) - pl.col("time_s")),
        dv=pl.when(same).then(v.shift(-1) - v),
    )
    frame = frame.with_columns(m=v + dv / 2, a=dv / dt)
    frame = frame.with_columns(
        ds=m * dt, h=(dv / 2) ** 2, m2=m * m, fine=(dt <= 1.5) & (dv.abs() <= 10 * dt + 1)
    )
    brakes = a + C0 + m * (C1 + C2 * m) < 0
    frame = frame.with_columns(
        c3=ds * (m2 + h), c5=ds * (m2 * m2 + m2 * h * (10 / 3) + h * h), q=m * dv, pw=m * a, p3=m * (m2 + h),
        brake=fine & brakes, drive=fine & ~brakes, start=fine & (a > HARD_START),
        stop=fine & (a < -HARD_STOP),
    )  # fmt: skip
    pw, p3, t = pl.col("pw"), pl.col("p3"), pl.col("time_s")
    terms = {
        "m": ds,
        "v2": pl.col("c3"),
        "v4": pl.col("c5"),
        "a": pl.col("q"),
        "a2": a * pl.col("q"),
        "av2": a * pl.col("c3"),
    }
    wanted = [
        pl.len().alias("samples"), v.sum().alias("s1"), (v * v).sum().alias("s2"), (v * v * v).sum().alias("s3"),
        v.max().alias("v_max"), ds.sum().alias("path"), pw.clip(lower_bound=0).sum().alias("gained"),
        pw.max().alias("pw_max"), pw.clip(upper_bound=0).sum().alias("lost"), pw.min().alias("pw_min"),
        p3.sum().alias("aero"), p3.max().alias("aero_max"), m.sum().alias("roll"), m.max().alias("roll_max"),
        a.max().alias("a_max"), a.min().alias("a_min"), (v == 0).sum().alias("zero"),
        ((dv > 0) & ~(dv.shift(1) > 0).fill_null(False)).sum().alias("up"),
        ((dv < 0) & ~(dv.shift(1) < 0).fill_null(False)).sum().alias("down"),
        ((v == 0) & ~(v.shift(1) == 0).fill_null(True)).sum().alias("stops"),
        (dt > 1.5).sum().alias("gaps"), (ds * (1 - m2 / 27) ** 2).filter(fine & (m2 < 27)).sum().alias("slow"),
    ]  # fmt: skip
    for name, value in terms.items():
        wanted += [value.filter(pl.col(p)).sum().alias(f"{p}_{name}") for p in ("drive", "brake")]
    wanted += [
        ds.filter(fine & (m >= low) & (m < high)).sum().alias(f"band{i}")
        for i, (low, high) in enumerate(zip(LOW, HIGH, strict=True))
    ]
    for event in ("start", "stop"):
        begin, end = t.filter(pl.col(event)), (t + dt).filter(pl.col(event))
        wanted.append((begin - end.shift(1) > 1.5).fill_null(True).sum().alias(f"hard_{event}s"))
    return frame.group_by(KEYS).agg(wanted).collect().to_pandas()


def with_duckdb(path: Path) -> pd.DataFrame:
    """The same sums as one would write them in SQL."""
    import duckdb

    parts = [f"sum({e}) filter ({p}) as {p}_{n}" for n, e in TERMS.items() for p in ("drive", "brake")]
    bands = [
        f"sum(ds) filter (fine and m >= {low} and m < {high}) as band{i}"
        for i, (low, high) in enumerate(zip(LOW, HIGH, strict=True))
    ]
    events = [
        f"count(*) filter ({e} and (last_{e} is null or time_s - last_{e} > 1.5)) as hard_{e}s"
        for e in ("start", "stop")
    ]
    query = f"""
    with a as (select *, lead(time_s) over w - time_s as dt, lead(speed_mps) over w - speed_mps as dv,
               lag(speed_mps) over w as before from '{path}'
               window w as (partition by vehicle_id, trip_id order by time_s)),
    b as (select *, speed_mps + dv / 2 as m, dv / dt as a, (dv / 2) * (dv / 2) as h,
          dt <= 1.5 and abs(dv) <= 10 * dt + 1 as fine from a),
    c as (select *, m * dt as ds, m * dt * (m * m + h) as c3,
          m * dt * (m * m * m * m + m * m * h * 10 / 3 + h * h) as c5, m * dv as q, m * a as pw,
          m * (m * m + h) as p3, fine and a + {C0} + m * ({C1} + {C2} * m) < 0 as brake,
          fine and a + {C0} + m * ({C1} + {C2} * m) >= 0 as drive, fine and a > {HARD_START} as start,
          fine and a < -{HARD_STOP} as stop, speed_mps - before as gained from b),
    d as (select *, max(case when start then time_s + dt end) over p as last_start,
          max(case when stop then time_s + dt end) over p as last_stop from c
          window p as (partition by vehicle_id, trip_id order by time_s
                       rows between unbounded preceding and 1 preceding))
    select vehicle_id, trip_id, count(*) as samples, sum(speed_mps) as s1, sum(speed_mps * speed_mps) as s2,
    sum(speed_mps * speed_mps * speed_mps) as s3, max(speed_mps) as v_max, sum(ds) as path,
    sum(greatest(pw, 0)) as gained, max(pw) as pw_max, sum(least(pw, 0)) as lost, min(pw) as pw_min,
    sum(p3) as aero, max(p3) as aero_max, sum(m) as roll, max(m) as roll_max, max(a) as a_max, min(a) as a_min,
    count(*) filter (speed_mps = 0) as zero, count(*) filter (dv > 0 and (gained is null or gained <= 0)) as up,
    count(*) filter (dv < 0 and (gained is null or gained >= 0)) as down,
    count(*) filter (speed_mps = 0 and before > 0) as stops, count(*) filter (dt > 1.5) as gaps,
    sum(ds * (1 - m * m / 27) ** 2) filter (fine and m * m < 27) as slow, {", ".join([*parts, *bands, *events])}
    from d group by all"""
    with duckdb.connect() as connection:
        connection.execute("set enable_progress_bar = false")
        return connection.sql(query).df()


def ours(path: Path) -> pd.DataFrame:
    """This package's sums under the names of the other two."""
    from tirelife.driving import sum_trips

    s = sum_trips(path)
    gained = (s["power_size_sum"] + s["power_sum"]) / 2
    same = {
        "speed_sum": "s1", "speed2_sum": "s2", "speed3_sum": "s3", "speed_max": "v_max", "path_m": "path",
        "power_max": "pw_max", "power_min": "pw_min", "aero_sum": "aero", "mean_sum": "roll", "mean_max": "roll_max",
        "accel_max": "a_max", "accel_min": "a_min", "zero_samples": "zero", "up_runs": "up", "down_runs": "down",
        "parking_m": "slow",
    }  # fmt: skip
    same |= {f"{p}_m" + ("" if n == "m" else f"_{n}"): f"{p}_{n}" for n in TERMS for p in ("drive", "brake")}
    same |= {f"band{i}_m": f"band{i}" for i in range(5)}
    return s.assign(gained=gained, lost=s["power_sum"] - gained).rename(columns=same)


ENGINES = {"this package": ours, "hand-written Polars": with_polars, "hand-written DuckDB SQL": with_duckdb}


def largest_difference(path: Path) -> float:
    """Largest relative difference between the three, over all sums of all trips."""
    tables = [engine(path).sort_values(KEYS, ignore_index=True) for engine in ENGINES.values()]
    worst = 0.0
    for column in (c for c in tables[1].columns if c not in KEYS):
        values = [t[column].astype(float).fillna(0.0).to_numpy() for t in tables]
        for other in values[1:]:
            worst = max(worst, float(np.max(np.abs(values[0] - other) / np.maximum(1.0, np.abs(other)))))
    return worst


ALONE = """
import json, sys, time
from pathlib import Path
from tests.benchmarks.trips import ENGINES
from tirelife.driving import reduce_trips
begun, name = time.perf_counter(), sys.argv[2]
rows = len(reduce_trips(sys.argv[1]).trips) if name == "reduce" else len(ENGINES[name](sys.argv[1]))
status = Path("/proc/self/status").read_text()  # not ru_maxrss: it starts from the parent's
peak = int(status.split("VmHWM:")[1].split()[0]) / 1024
print(json.dumps([time.perf_counter() - begun, peak, rows]))
"""


def alone(path: Path, name: str) -> tuple[float, float, int]:
    """Seconds, peak resident MB and trips of one reduction in a fresh process."""
    done = subprocess.run(
        [sys.executable, "-c", ALONE, str(path), name], capture_output=True, text=True, check=True
    )
    seconds, peak, rows = json.loads(done.stdout.splitlines()[-1])
    return seconds, peak, rows


def small() -> list[dict[str, object]]:
    return run(trips=1_000, copies=4, repeats=2)


def run(trips: int = 10_000, copies: int = 20, repeats: int = 3) -> list[dict[str, object]]:
    """Measure; ``copies`` times the trips make the large data set, of hard links to one file."""
    rows: list[dict[str, object]] = []
    with tempfile.TemporaryDirectory() as folder:
        few, many = Path(folder, "few.parquet"), Path(folder, "many.parquet")
        write_trips(few, max(trips // 10, 200))
        difference = largest_difference(few)
        if difference > 1e-9:
            raise AssertionError(f"the three do not give the same sums: they differ by {difference:.1e}")
        write_trips(many, trips)
        times: dict[str, list[float]] = {name: [] for name in ENGINES}
        for _ in range(repeats):  # in turn, so that all meet the same load of the machine
            for name, engine in ENGINES.items():
                begun = time.perf_counter()
                engine(many)
                times[name].append(time.perf_counter() - begun)
        best = {name: min(t) for name, t in times.items()}
        mine = best["this package"]
        size = f"{trips * TRIP_S / 1e6:g} million samples"
        note = f"best of {repeats} in turn; all sums of all trips agree to {difference:.0e}"
        rows.append(
            {"name": f"trips: {size}", "figure": round(mine, 2), "unit": "s", "against": "", "note": note}
        )
        for name in list(ENGINES)[1:]:
            ratio = f"{best[name]:.2f} s: {name}"
            rows.append({"name": f"trips: {name} / this package", "figure": round(best[name] / mine, 2), "unit": "times",
                         "against": ratio, "note": "above 1 this package is faster"})  # fmt: skip
        for name in ENGINES:
            _, peak, _ = alone(many, name)
            rows.append({"name": f"trips: peak memory, {name}", "figure": round(peak), "unit": "MB", "against": size,
                         "note": "own process, libraries included"})  # fmt: skip
        rows += _growth(Path(folder), few, many, copies)
    return rows


def _growth(folder: Path, few: Path, many: Path, copies: int) -> list[dict[str, object]]:
    import os

    import pyarrow.parquet as pq

    large = folder / "large"
    bare = folder / "bare.parquet"
    with pq.ParquetWriter(bare, pq.read_schema(many).remove(0)) as writer:
        for batch in pq.ParquetFile(many).iter_batches(1_000_000, columns=["trip_id", "time_s", "speed_mps"]):
            writer.write_batch(batch)
    for i in range(copies):
        home = large / f"vehicle_id=F{i:02d}"
        home.mkdir(parents=True)
        os.link(bare, home / "part.parquet")
    rows = []
    for path in (few, many, large):
        seconds, peak, trips = alone(path, "reduce")
        rows.append({"name": f"trips: whole reduction, {trips * TRIP_S / 1e6:g} million samples",
                     "figure": round(seconds, 1), "unit": "s", "against": f"peak {peak:.0f} MB",
                     "note": "own process: to the tables of trips, vehicles and problems"})  # fmt: skip
    return rows
