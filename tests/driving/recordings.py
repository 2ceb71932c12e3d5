"""Recordings that the driving tests share: published cycles and trips, and made ones."""

from pathlib import Path

import numpy as np
import pandas as pd

DATA = Path(__file__).parent / "data"
MPH = 0.44704


def cycle(name):
    """Time [s] and speed [m/s] of a published cycle, as arrays."""
    frame = pd.read_csv(DATA / f"{name}.csv")
    return frame["time_s"].to_numpy(float), frame["speed_mps"].to_numpy(float)


def trips_frame(*trips, vehicle="V1", **columns):
    """A trips table from (time, speed) pairs; trip ids T0, T1 ... in order."""
    parts = [
        pd.DataFrame({"vehicle_id": vehicle, "trip_id": f"T{i}", "time_s": t, "speed_mps": v})
        for i, (t, v) in enumerate(trips)
    ]
    return pd.concat(parts, ignore_index=True).assign(**columns)


def published_trips():
    """The laboratory's samples of four household trips, and its published rows."""
    return pd.read_csv(DATA / "tsdc_trips.csv"), pd.read_csv(DATA / "tsdc_published.csv")


def smooth(hz, seconds=1200, seed=7):
    """A smooth made-up drive, the same at any sampling rate: sums of slow sines, at rest at both ends."""
    rng = np.random.default_rng(seed)
    t = np.arange(seconds * hz + 1) / hz
    v = np.zeros_like(t)
    for period, size in ((600, 9.0), (140, 5.0), (45, 2.5), (20, 1.0)):
        v += size * np.sin(2 * np.pi * t / period + rng.uniform(0, 6))
    v = np.clip(v + 12, 0, None) * np.sin(np.pi * t / seconds) ** 0.25
    return t, v
