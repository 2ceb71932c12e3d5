"""The fit: the plain linear model beside R's lme4 and statsmodels, the full model on a large logbook, the demo's."""

from __future__ import annotations

import json
import resource
import shutil
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd

LARGE = (1_000, 10_000, 100_000)
"""Vehicles of the full model's runs: 1, 10 and 100 times."""


def linear_readings(vehicles: int = 5_000) -> pd.DataFrame:
    """Four tires a vehicle, 16 or 17 readings each: 332,000 for 5,000 vehicles. km in thousands."""
    rng = np.random.default_rng(332)
    tires = vehicles * 4
    count = np.where(np.arange(tires) % 5 < 3, 17, 16)
    tire = np.repeat(np.arange(tires), count)
    km = rng.uniform(0, 60, len(tire))
    start, rate = 8 + rng.normal(0, 0.1, tires), 0.088 * np.exp(rng.normal(0, 0.2, tires))
    depth = start[tire] - rate[tire] * km + rng.normal(0, 0.2, len(tire))
    return pd.DataFrame({"tire": tire, "km": km, "depth": depth})


def large_logbook(
    vehicles: int, visits: int = 16, piece: int = 0
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Tire-visits, tires and vehicles; 16.5 visits a tire on average, tires rotated every second one.

    Each ``piece`` has vehicles of its own, and tires of the same lines.
    """
    rng, of_lines = np.random.default_rng([575, piece]), np.random.default_rng(575).normal(0, 0.15, 20)
    per = np.where(np.arange(vehicles) % 2, visits, visits + 1)
    rows = np.repeat(per, 4)
    tire = np.repeat(np.arange(vehicles * 4), rows)
    order = np.arange(len(tire)) - np.repeat(np.cumsum(rows) - rows, rows)
    vehicle = tire // 4
    step = rng.uniform(2500, 4500, (vehicles, visits + 1))[vehicle, order]
    front = ((tire % 4) // 2 + order // 2) % 2 == 0
    line = rng.integers(0, 20, vehicles * 4)
    rate = np.exp(
        np.log(5e-5) + rng.normal(0, 0.2, vehicles)[vehicle] + of_lines[line[tire]]
        + rng.normal(0, 0.08, vehicles * 4)[tire]
    )  # fmt: skip

    def run(values: np.ndarray) -> np.ndarray:
        total = np.cumsum(values)
        first = np.repeat(np.cumsum(rows) - rows, rows)
        return total - (total[first] - values[first])

    ahead, behind = run(np.where(front, step, 0.0)), run(np.where(front, 0.0, step))
    lean = rng.normal(0, 0.15, (vehicles, visits + 1))[vehicle, order]
    depth = 8 + rng.normal(0, 0.08, vehicles * 4)[tire] - rate * (1.16 * ahead + 0.86 * behind) + lean
    ids = pd.Series([f"V{piece}-{i:06d}" for i in range(vehicles)])
    tire_ids = pd.Series([f"T{piece}-{i:07d}" for i in range(vehicles * 4)])
    visit = pd.DataFrame(
        {
            "vehicle_id": ids.to_numpy()[vehicle],
            "tire_id": tire_ids.to_numpy()[tire],
            "position": np.where(front, "LF", "LR"),
            "date": np.datetime64("2022-01-01", "us") + order * np.timedelta64(60, "D"),
            "odometer_km": ahead + behind,
            "depth_mm": depth + rng.normal(0, 0.15, len(tire)),
            "reference_km": ahead + behind,
            "reference_front_km": ahead,
            "reference_rear_km": behind,
        }
    )
    tires = pd.DataFrame({"tire_id": tire_ids, "tire_line": [f"Line {i}" for i in line], "new_depth_mm": 8.0})
    return visit, tires, pd.DataFrame({"vehicle_id": ids, "drive": "front"})


def one_large(vehicles: int) -> None:
    """Fit one large logbook in this process, and print what it took as JSON."""
    from tirelife.rates import fit_rates

    tables = large_logbook(vehicles)
    before = resource.getrusage(resource.RUSAGE_SELF)
    begun = time.perf_counter()
    fit = fit_rates(*tables)
    took = time.perf_counter() - begun
    after = resource.getrusage(resource.RUSAGE_SELF)
    status = Path("/proc/self/status").read_text()  # not ru_maxrss: it starts from the parent's
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    print(
        json.dumps(
            {
                "s": took,
                "cpu": cpu,
                "gb": int(status.split("VmHWM:")[1].split()[0]) / 1024**2,
                "rows": len(tables[0]),
                "method": fit.method,
            }
        )
    )


def by_lme4(
    readings: pd.DataFrame, formula: str = "depth ~ km + (km | tire)"
) -> tuple[float, float, float] | None:
    """Seconds, criterion and processor seconds of lme4 on the same readings; None where it is not there."""
    found = shutil.which("Rscript")
    has = found and subprocess.run([found, "-e", "library(lme4)"], capture_output=True).returncode == 0
    if not has:
        return None
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.csv"
        readings.to_csv(path, index=False)
        script = (
            f'library(lme4); d <- read.csv("{path}"); d$tire <- factor(d$tire); '
            f"t <- system.time(m <- lmer({formula}, d, REML = TRUE)); "
            'cat(sprintf("%.6f %.9f %.6f", t[["elapsed"]], REMLcrit(m), t[["user.self"]] + t[["sys.self"]]))'
        )
        done = subprocess.run([found, "-e", script], capture_output=True, text=True, check=True)
    took, criterion, busy = done.stdout.split()
    return float(took), float(criterion), float(busy)


def by_statsmodels(readings: pd.DataFrame) -> tuple[float, float]:
    """Seconds and criterion of statsmodels on the same readings, its optimiser set (the default may stop short)."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    begun = time.perf_counter()
    design = np.column_stack([np.ones(len(readings)), readings["km"]])
    model = MixedLM(readings["depth"], design, groups=readings["tire"], exog_re=design)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that a component may be small; whether it converged is checked
        fit = model.fit(reml=True, method="lbfgs")
    if not fit.converged:
        raise AssertionError("statsmodels did not converge: its time says nothing")
    return time.perf_counter() - begun, float(-2 * fit.llf)


def linear_rows() -> list[dict[str, object]]:
    from tirelife.rates import fit_paths

    readings = linear_readings()
    best, criterion = np.inf, 0.0
    for _ in range(5):
        begun = time.perf_counter()
        fit = fit_paths(readings, "depth", "km", "tire", link="identity", wander=False)
        best, criterion = min(best, time.perf_counter() - begun), fit.criterion
    rows: list[dict[str, object]] = []
    name = f"plain linear model, {len(readings):,} readings of 20,000 tires"
    for tool, run_it, target in (
        ("lme4", by_lme4, "; target at least 20 times"),
        ("statsmodels (lbfgs)", by_statsmodels, ""),
    ):
        other = run_it(readings)
        against, note = f"{tool} skipped: R with lme4 is not installed", ""
        if other:
            against = f"{tool} {other[0]:.1f} s: {other[0] / best:.0f} times as long"
            note = f"criterion {criterion:.6f}, {tool} {other[1]:.6f}{target}"
        rows.append({"name": name, "figure": round(best, 3), "unit": "s", "against": against, "note": note})
    return rows


def demo_row() -> dict[str, object]:
    from tirelife.logbook import read_logbook
    from tirelife.rates import fit_logbook

    book = read_logbook(Path(__file__).parents[2] / "data_synthetic" / "logbook")
    times = []
    for _ in range(3):
        begun = time.perf_counter()
        fit = fit_logbook(book)
        times.append(time.perf_counter() - begun)
    return {
        "name": f"full model, the demo ({len(fit.visits)} tire-visits)",
        "figure": round(min(times), 3), "unit": "s", "against": "", "note": "readings to fit, in one process",
    }  # fmt: skip


def engine_row(vehicles: int = 5_000, turns: int = 3) -> dict[str, object]:
    """The engine that answers use beside lme4's nearest nested model, from the same tables in the same run.

    lme4 has a random line a tire and a random slope a vehicle; it has no rates that multiply, no visits that lean, no
    wandering, no axles and no weights of readings that are far off, so that it does less. In turns, the quickest of
    each: by the clock, where ours has two processors and lme4 one, and in processor time.
    """
    from tirelife.rates import fit_rates

    visits, tires, fleet = large_logbook(vehicles)
    readings = pd.DataFrame(
        {"depth": visits["depth_mm"], "km": visits["reference_km"] / 1000, "tire": visits["tire_id"],
         "vehicle": visits["vehicle_id"]}
    )  # fmt: skip
    ours, theirs = [], []
    for _ in range(turns):
        begun, busy = time.perf_counter(), time.process_time()
        fit = fit_rates(visits, tires, fleet)
        ours.append((time.perf_counter() - begun, time.process_time() - busy))
        if other := by_lme4(readings, "depth ~ km + (km | tire) + (0 + km | vehicle)"):
            theirs.append((other[0], other[2]))
    took, work = (min(one) for one in zip(*ours, strict=True))
    against, said = "lme4's nearest nested model skipped: R with lme4 is not installed", ""
    if theirs:
        slow, long = (min(one) for one in zip(*theirs, strict=True))
        against = f"lme4's nearest nested model {slow:.1f} s: {slow / took:.1f} times as long"
        said = f" after lme4's {long:.1f} s, {long / work:.1f} times"
    return {
        "name": f"the engine that answers use, {len(visits):,} tire-visits of {vehicles:,} vehicles",
        "figure": round(took, 2), "unit": "s", "against": against,
        "note": f"from tables to the fit; {work:.1f} s of processor time{said}; best of {turns} in turns; {fit.method}; "
        "target at least 20 times lme4",
    }  # fmt: skip


def small() -> list[dict[str, object]]:
    return [engine_row(), demo_row(), *large_rows(LARGE[:2])]


def run() -> list[dict[str, object]]:
    return [*linear_rows(), engine_row(), demo_row(), *large_rows(LARGE)]


def large_rows(sizes: Sequence[int]) -> list[dict[str, object]]:
    """The full model by number of vehicles, each in a process of its own."""
    rows: list[dict[str, object]] = []
    before = None
    for vehicles in sizes:
        code = f"from tests.benchmarks.fit import one_large; one_large({vehicles})"
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        took = json.loads(done.stdout.splitlines()[-1])
        against = ""
        if before:
            ratio = took["s"] / before["s"]
            against = f"{ratio:.1f} times the time of {before['rows']:,}, {took['rows'] / before['rows']:.1f} times the rows"
        rows.append(
            {
                "name": f"full model, {vehicles:,} vehicles, {took['rows']:,} tire-visits",
                "figure": round(took["s"], 1),
                "unit": "s",
                "against": against,
                "note": f"{took['cpu']:.0f} s of processor time, {took['gb']:.1f} GB at most; target 60 s, 6 GB; "
                f"{took['method']}",
            }
        )
        before = took
    return rows
