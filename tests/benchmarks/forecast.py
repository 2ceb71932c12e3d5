"""Forecasts: 400,000 tires with ranges and dates, and how well ranges hold on simulated fleets."""

from __future__ import annotations

import gc
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

from tests.fleets import BENT, PLAIN, WELL, coverage, line_errors, simulate
from tirelife.logbook import Logbook, read_logbook
from tirelife.outlook import Otherwise, forecast, forecast_fleet, what_if_fleet
from tirelife.outlook.calibrating import calibrated_fit
from tirelife.rates import WearFit, fit_logbook
from tirelife.wear import Change

COPIES = 2_500
FLEETS = 6
"""Fleets of 40 vehicles for each way of being; as many vehicles in all where fleets are smaller."""


def run() -> list[dict[str, object]]:
    return [*_speed(COPIES), *_ranges()]


def small() -> list[dict[str, object]]:
    return _speed(COPIES // 25)


def _speed(copies: int) -> list[dict[str, object]]:
    with tempfile.TemporaryDirectory() as folder:
        simulate(Path(folder), PLAIN["well"], 7)
        book = read_logbook(folder)
        fit = fit_logbook(book)
        big, big_fit = _copies(book, fit, copies)
        _ = big.stretches, big.odometer  # as the fit leaves a logbook
        out = Path(folder)
        changes = [Change("gentler stops", stops=0.8), Otherwise("4/32", removal_depth_mm=3.175)]
        mounted = forecast(book, fit)
        tires = f"{len(mounted) * copies:,} tires"
        size = f"{tires} with ranges and dates"
        chunks = "5,000 vehicles a chunk, resumable"
        return [
            *_timed(lambda: forecast(big, big_fit), f"forecast in one go, {tires}", "target 20 s for 400,000", size),
            *_timed(
                lambda: forecast_fleet(big, big_fit, out / "parts"),
                f"forecast in chunks to Parquet, {tires}", "", f"{size}, {chunks}",
            ),
            *_timed(
                lambda: what_if_fleet(big, big_fit, changes, out / "changes"),
                f"two what-ifs in chunks to Parquet, {tires}", "",
                f"gentler stops, and off at 4/32: what each buys {tires}; {chunks}",
            ),
        ]  # fmt: skip


def _timed(step: Callable[[], object], name: str, against: str, note: str) -> list[dict[str, object]]:
    """Time one step, with the memory that it takes beyond what lies there already."""
    gc.collect()
    Path("/proc/self/clear_refs").write_text("5")  # the peak starts from here
    before = _memory("VmRSS")
    begun = time.perf_counter()
    step()
    took = time.perf_counter() - begun
    peak = _memory("VmHWM")
    said = f"{note}; peak {peak:.1f} GB, {peak - before:.1f} GB of it beyond logbook and fit"
    return [_row(name, took, "s", against, said)]


def _memory(field: str) -> float:
    status = Path("/proc/self/status").read_text()
    return int(status.split(f"{field}:")[1].split()[0]) / 1024**2


def _copies(book: Logbook, fit: WearFit, copies: int) -> tuple[Logbook, WearFit]:
    """Give a logbook and its fit many times over, under new names."""
    from dataclasses import replace

    def again(table: pd.DataFrame, names: tuple[str, ...]) -> pd.DataFrame:
        names = tuple(n for n in names if n in table)
        if not names or not len(table):
            return table
        big = table.iloc[np.tile(np.arange(len(table)), copies)].reset_index(drop=True)
        number = np.repeat(np.arange(copies), len(table)).astype(str).astype(object)
        for name in names:
            big[name] = big[name].to_numpy(dtype=object) + "-" + number
        return big

    keys = ("vehicle_id", "tire_id")
    tables = {name: again(table, keys) for name, table in book.tables.items()}
    frames = {
        name: again(frame, keys) if name in ("tires", "vehicles", "visits") else frame
        for name, frame in fit.frames.items()
    }
    return replace(book, tables=tables), replace(fit, frames=frames)


def _ranges() -> list[dict[str, object]]:
    rows = []
    for group, fleets, bounds in (("well specified", PLAIN, (76, 84)), ("bent", BENT, (72, 88))):
        for name, fleet in fleets.items():
            scores, ours, lines, bare = [], [], [], []
            seeds = range(101, 101 + FLEETS * WELL.vehicles // fleet.vehicles)
            for seed in seeds:
                with tempfile.TemporaryDirectory() as folder:
                    truth = simulate(Path(folder), fleet, seed)
                    book = read_logbook(folder)
                    table = forecast(book, calibrated_fit(book))
                    scores.append(coverage(table, truth))
                    both = table.merge(truth, on="tire_id")
                    ours += (both["km_left_p50"] - both["true_km_left"]).abs().tolist()
                    lines += line_errors(Path(folder), truth)
                    bare += line_errors(Path(folder), truth, new_depth=False)
            score = pd.DataFrame(scores).mean()
            against = (
                f"error {np.median(ours) / np.median(lines):.2f} of a line through new depth and readings"
            )
            if np.isfinite(np.median(bare)):
                against += f", {np.median(ours) / np.median(bare):.2f} of one through readings only"
            note = (
                f"{group}; wanted {bounds[0]} to {bounds[1]} %; 50 % range {score['cover_50']:.0%}, dates "
                f"{score['date_80']:.0%}; {len(seeds)} fleets of {fleet.vehicles} vehicles"
            )
            rows.append(_row(f"80 % range, {name}", 100 * score["cover_80"], "%", against, note))
    return rows


def _row(name: str, figure: float, unit: str, against: str, note: str) -> dict[str, object]:
    return {"name": name, "figure": round(float(figure), 2), "unit": unit, "against": against, "note": note}
