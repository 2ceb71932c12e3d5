"""Sets that take turns, on an own simulator: do ranges hold, on the car and in store?"""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

from tests.tread.books import write_book
from tirelife.logbook import read_logbook
from tirelife.outlook import calibrated_fit, forecast

ROAD = ("LF", "RF", "LR", "RR")
LIMIT_MM = 1.5875
SEEDS, CARS = range(1200, 1300), 30
"""Scored once the model was done; it was looked at on others (500 to 541). A log's tires lean on one fit, so a dozen
logs say little: those of 1100 to 1113 held 79, 77, 81 and 84 %, of 1000 to 1013 (as the model was before) 73 to 75."""
KM_A_DAY = 53.0
"""About 12,000 miles a year."""
WALKS = 0.03, 0.01
"""By which the log of a car's and of a tire's own rate walks, per root of 10,000 km: middles of the published prior
(``rates.prior``: 0.0003 and 0.0001 per root of a kilometre). A world in which nothing wanders is narrower than any that
a log can show, and 86 to 88 % held there."""
LEAN_MM = 0.08
"""By which all readings of a visit lean the same way: a tenth of 1/32 in."""


def run():
    return _two_sets()


def _row(name, figure, unit, against, note):
    return {"name": name, "figure": round(float(figure), 4), "unit": unit, "against": against, "note": note}


def of_log(seed):
    """A row a tire of one log: in store or not, whether its range of distance holds, and of dates."""
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        book, truth = _fleet(CARS, seed, Path(folder) / "book")
        fit = calibrated_fit(book)
        table = forecast(book, fit)
        first = book.mounts.groupby("tire_id")["date"].min()
        ends = (first + pd.DateOffset(years=10) - pd.Timedelta(days=3)).to_dict()
    for row in table.to_dict("records"):
        if row["tire_id"] in truth and row["km_left_p50"] > 0:
            km, day = truth[row["tire_id"]]
            held = row["km_left_p10"] <= km <= row["km_left_p90"]
            # Tires here do not age: a date that age may cut short is no date of the tread.
            dated = (
                row["date_p10"] <= day <= row["date_p90"]
                if row["date_p90"] < ends[row["tire_id"]]
                else np.nan
            )
            rows.append((row["position"] == "OFF", held, dated))
    return rows


def _two_sets():
    rows = [(seed, *row) for seed in SEEDS for row in of_log(seed)]
    table = pd.DataFrame(rows, columns=["log", "stored", "km", "date"]).astype({"km": float, "date": float})
    out = []
    for stored, part in table.groupby("stored"):
        note = f"{len(part)} tires {'in store' if stored else 'on the car'}, {len(SEEDS)} logs of {CARS} cars with two sets"
        where, wanted = "in store" if stored else "on the car", "0.76 to 0.84"
        out += [
            _row(
                f"two sets, 80 % range of {what} holds, {where}",
                part[name].mean(),
                "share",
                wanted,
                f"{note}; {_by_log(part, name)}",
            )
            for name, what in (("km", "distance"), ("date", "dates"))
        ]
    return out


def _by_log(part, name):
    """Standard error of a share by logs, whose tires lean on one fit, and the shares of the least and most."""
    found = part.dropna(subset=[name]).groupby("log")[name].agg(["mean", "size"])
    weight = found["size"] / found["size"].sum()
    off = weight * (found["mean"] - weight @ found["mean"])
    return f"standard error by log {np.sqrt((off**2).sum()):.3f}, {found['mean'].min():.2f} to {found['mean'].max():.2f} by log"


def _fleet(count, seed, folder):
    """Cars that change sets within ten days of 15 April and 1 November; and what then comes of each tire."""
    rng = np.random.default_rng(seed)
    as_of = pd.Timestamp("2025-07-01") + pd.Timedelta(days=int(rng.integers(0, 300)))
    mounts, depths, truth = [], [], {}
    names = [f"V{c:03d}" for c in range(count)]
    for name in names:
        _car(name, rng, as_of, mounts, depths, truth)
    head = ["date", "odometer_km", "vehicle_id"]
    mounts = pd.DataFrame(mounts, columns=[*head, "tire_id", "position"])
    depths = pd.DataFrame(depths, columns=[*head, "position", "groove", "depth_mm"])
    tires = mounts["tire_id"].unique()
    lines = [tire[4] for tire in tires]
    return (
        read_logbook(
            write_book(
                folder,
                depths,
                mounts=mounts,
                tires=pd.DataFrame({"tire_id": tires, "tire_line": lines, "new_depth_mm": 8.0}),
                vehicles=pd.DataFrame(
                    {"vehicle_id": names, "drive": "front", "placard_front_kpa": 230, "placard_rear_kpa": 220}
                ),
            ),
            as_of=as_of,
        ),
        truth,
    )


def _car(name, rng, as_of, mounts, depths, truth):
    base, car, years = rng.lognormal(np.log(KM_A_DAY), 0.2), rng.lognormal(0, 0.15), {}
    of_set = {"S": rng.lognormal(0, 0.1), "W": rng.lognormal(0.1, 0.1)}
    day, on, run = pd.Timestamp("2022-04-15") + pd.Timedelta(days=int(rng.integers(-10, 10))), "S", 0.0
    depth, rate, down, since, last = {}, {}, {}, {}, {}

    def read(at):
        lean = rng.normal(0, LEAN_MM)
        for p in ROAD:
            if depth[f"{name}{on}{p}"] < LIMIT_MM:  # down: no shop reads on where a new tire would be
                continue
            for groove in ("outer", "center", "inner"):
                found = round((depth[f"{name}{on}{p}"] + lean + rng.normal(0, 0.12)) / 0.1) * 0.1
                depths.append((at, run, name, p, groove, max(found, 0.1)))

    while day < as_of + pd.Timedelta(days=365 * 14) and len(down) < 8:
        for p in ROAD:
            tire = f"{name}{on}{p}"
            if tire not in depth:
                depth[tire] = 8.0 + rng.normal(0, 0.1)
                axle = 1.5 if p[1] == "F" else 0.9
                rate[tire] = 0.85e-4 * car * of_set[on] * axle * rng.lognormal(0, 0.08)
            if day <= as_of:
                mounts.append((day, run, name, tire, p))
        year = day.year + 1 if day.month > 6 else day.year
        change = pd.Timestamp(f"{day.year}-11-01") if on == "S" else pd.Timestamp(f"{year}-04-15")
        change += pd.Timedelta(days=int(rng.integers(-10, 10)))
        at = day
        while at < change:
            stop = min(at + pd.Timedelta(days=30), change)
            stop = as_of if at < as_of < stop else stop
            far = (stop - at).days * base * years.setdefault(at.year, rng.lognormal(0, 0.12))
            walked = rng.normal(0, WALKS[0] * np.sqrt(far / 10_000))
            for tire in rate:
                rate[tire] *= np.exp(walked)
            for p in ROAD:
                tire = f"{name}{on}{p}"
                rate[tire] *= np.exp(rng.normal(0, WALKS[1] * np.sqrt(far / 10_000)))
                loss = rate[tire] * far
                if at >= as_of and tire not in down and depth[tire] - loss <= LIMIT_MM:
                    part = (depth[tire] - LIMIT_MM) / loss
                    when = at + pd.Timedelta(days=part * (stop - at).days)
                    down[tire] = (since.get(tire, 0.0) + part * far, when)
                if at >= as_of:
                    since[tire] = since.get(tire, 0.0) + far
                depth[tire] -= loss
            run += far
            if stop == as_of:
                since.clear()
                read(stop)
                last = dict(depth)
            at = stop
        if change <= as_of:
            read(change)
            mounts.extend((change, run, name, f"{name}{on}{p}", "OFF") for p in ROAD)
        day, on = change, "W" if on == "S" else "S"
    truth.update({tire: found for tire, found in down.items() if last.get(tire, 0) > LIMIT_MM + 0.3})
