"""Trips for comparing engines: some with every fault, and a drive small enough to be worked out by hand."""

import numpy as np
import pandas as pd
import pytest

from tests.driving.recordings import MPH, cycle, published_trips, smooth
from tirelife.driving import Thresholds
from tirelife.driving.sums import SUMS

LOW = Thresholds(1.5, 1.5, 2.0)  # low, so that there are events to compare
SHOWN = (
    "hard_starts", "hard_stops", "spikes", "jumps", "gaps", "repeated", "missing", "negative", "drift_s",
)  # fmt: skip

# Speeds [m/s] at 1 Hz. Hard starts (beyond 2 m/s²) over seconds 1-3 and 4-5 lie 1 s apart, so they are one
# event, and 10-11 is another; hard stops over 15-16 and 18-19 lie 2 s apart, so they are two.
SPEEDS = [0, 0, 3, 6, 6, 9, 9, 9, 9, 9, 9, 12, 12, 12, 12, 12, 8, 8, 8, 4, 2.5, 1, 0, 0, 0]
HARD = 2.0
BANDS = (0.0, 11.176, 17.8816, 24.5872, 31.2928, 1e9)  # 25, 40, 55, 70 mph in m/s


def small_drive():
    """Two vehicles with trips of one name, the second one faster; rows of both in no order."""
    parts = [
        pd.DataFrame(
            {
                "vehicle_id": vehicle,
                "trip_id": "T",
                "time_s": np.arange(len(SPEEDS), dtype=float),
                "speed_mps": np.array(SPEEDS) * factor,
            }
        )
        for vehicle, factor in (("A", 1.0), ("B", 1.5))
    ]
    return pd.concat(parts).sample(frac=1, random_state=4).reset_index(drop=True)


def by_hand(frame, vehicle):
    """What a plain loop over one vehicle's samples, in order of time, counts and adds up."""
    one = frame[frame["vehicle_id"] == vehicle].sort_values("time_s")
    t, v = one["time_s"].tolist(), one["speed_mps"].tolist()
    out = dict.fromkeys(["path_m", "stops", "up_runs", "down_runs", "hard_starts", "hard_stops"], 0.0)
    out |= {f"band{i}_m": 0.0 for i in range(5)}
    before, ended = 0.0, {"hard_starts": -1e9, "hard_stops": -1e9}
    for i in range(len(t) - 1):
        dt, dv = t[i + 1] - t[i], v[i + 1] - v[i]
        mean = v[i] + dv / 2
        out["path_m"] += mean * dt
        out["stops"] += v[i + 1] == 0 and v[i] > 0
        out["up_runs"] += dv > 0 and not before > 0
        out["down_runs"] += dv < 0 and not before < 0
        out[next(f"band{b}_m" for b in range(5) if BANDS[b] <= mean < BANDS[b + 1])] += mean * dt
        for event, sign in (("hard_starts", 1), ("hard_stops", -1)):
            if sign * dv / dt > HARD:
                out[event] += t[i] - ended[event] > 1.5
                ended[event] = t[i + 1]
        before = dv
    return out


def ordered(sums):
    return sums.sort_values(["vehicle_id", "trip_id"], ignore_index=True)


def same_sums(got, want):
    """All sums of all trips to 1e-9; an engine has no order of rows that could be wrong."""
    got, want = ordered(got), ordered(want)
    assert list(got["trip_id"]) == list(want["trip_id"])
    for column in SUMS:
        if column != "unsorted":
            a, b = got[column].to_numpy(float), want[column].to_numpy(float)
            assert a == pytest.approx(b, rel=1e-9, abs=1e-9), column


def awkward():
    """Published trips and made ones with every fault, rows shuffled."""
    rng = np.random.default_rng(0)
    parts = [published_trips()[0].assign(speed_mps=lambda f: f["speed_mph"] * MPH).drop(columns="speed_mph")]

    def add(name, t, v):
        parts.append(pd.DataFrame({"vehicle_id": "X", "trip_id": name, "time_s": t, "speed_mps": v}))

    t, v = cycle("us06")
    spiked, jumping, holed = v.copy(), v.copy(), v.copy()
    spiked[100:103] += 45
    spiked[300] = 200
    jumping[250:] = np.abs(jumping[250:] - 18)
    holed[10], holed[50:60] = np.nan, -0.2
    add("plain", t, v)
    add("spiked", t, spiked)
    add("jumping", t, jumping)
    add("holed", t, holed)
    add("repeated", np.concatenate([t, t[100:120]]), np.concatenate([v, v[100:120] + rng.normal(0, 0.1, 20)]))
    fast_t, fast_v = smooth(10, seconds=300)
    add("fast", fast_t, np.maximum(fast_v + rng.normal(0, 0.05, len(fast_t)), 0))
    kept = rng.random(len(fast_t)) > 0.02
    kept[1500:1600] = False
    add("fast with gaps", fast_t[kept], fast_v[kept])
    rest = np.arange(200.0)
    crawl = np.interp(rest, [0, 40, 50, 150, 160, 199], [15, 15, 0, 0, 15, 15])
    crawl[crawl == 0] = rng.uniform(0.05, 0.4, (crawl == 0).sum())
    add("drifting", rest, crawl)
    add("one sample", [3.0], [4.0])
    add("nothing", [1.0, 2.0], [np.nan, np.nan])
    return pd.concat(parts).sample(frac=1, random_state=3).reset_index(drop=True)


def awkward_frames():
    """The same trips without anything to the side, with lateral acceleration, and with heading."""
    rng = np.random.default_rng(1)
    plain = awkward()
    side = plain.assign(lateral_mps2=rng.normal(0, 1.5, len(plain)))
    side.loc[rng.random(len(side)) < 0.05, "lateral_mps2"] = np.nan
    side.loc[77, "lateral_mps2"] = 50.0
    turning = plain.assign(heading_deg=(rng.uniform(0, 360) + np.cumsum(rng.normal(0, 1, len(plain)))) % 360)
    both = side.assign(heading_deg=turning["heading_deg"], longitudinal_mps2=rng.normal(0, 1.5, len(plain)))
    both.loc[rng.random(len(both)) < 0.05, ["longitudinal_mps2", "heading_deg"]] = np.nan
    both.loc[78, "longitudinal_mps2"] = -40.0
    both.loc[both["trip_id"] == "fast with gaps", "speed_mps"] = np.nan  # accelerations alone
    return {"plain": plain, "lateral": side, "heading": turning, "all": both}
