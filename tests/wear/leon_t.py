"""The driving cycles of the LEON-T proving-ground series, lap by lap.

Lap geometry, speeds and decelerations as coded by RIVM for these tests (github.com/rivm-syso/
tyre-friction-abrasion-emission, R/IDIADA_rural_v.R, _vi, _vii, IDIADA_motorway_viii.R, "urban i.R" to
"urban iv.R"; Meesters and Quik 2023, LEON-T D3.4). Ours: equal distances of the laps of a cycle, the oval's
banking taken to carry the side force, side force in 5.85 m turns held to 5 m/s².
"""

from __future__ import annotations

import math

from tests.wear.laps import KMH, cruise, mean_moments, moments, run
from tirelife.driving.profile import STEERED_SHARE
from tirelife.wear import Vehicle

OVAL_M = 2 * (3193 - 940) + math.pi * 940
TIGHT_M, WIDE_M = 11.7 / 2, 38.2 / 2
CROSSOVER = Vehicle("front", 1644.0, 0.60, 0.347 * 2.629, 0.009, 0.70)  # load share and brakes: defaults


def oval(kmh, dips, slow_kmh, brake, accelerate):
    v, slow = kmh * KMH, slow_kmh * KMH
    parts = [run(v, slow, brake), run(slow, v, accelerate)] * dips
    return [*parts, cruise(OVAL_M - sum(p[0] for p in parts), v)]


def turn(radius, degrees, v, times=1):
    return cruise(times * math.pi * radius * degrees / 180, v, min(v**2 / radius, 5.0))


def slow_lap(stop):
    v = 20 * KMH
    parts = [turn(WIDE_M, 180, v, 2), turn(TIGHT_M, 35, v, 4)]
    if stop:
        parts += [run(v, 0, 1.11), run(0, v, 1.11)]
    return [*parts, cruise(500 - sum(p[0] for p in parts), v)]


def parking_lap(kmh):
    v, slow, creep = kmh * KMH, 20 * KMH, 2 * math.pi * TIGHT_M / 15
    parts = [
        turn(WIDE_M, 180, slow, 2), turn(TIGHT_M, 33, v, 2),
        run(v, slow, 2.94), run(slow, v, 1.0), run(v, 0, 2.94), run(0, creep, 1.0),
        turn(TIGHT_M, 360, creep), run(creep, v, 1.0),
    ]  # fmt: skip
    return [*parts, cruise(800 - sum(p[0] for p in parts), v)]


def cycles():
    """Moments of the rural, motorway and town cycles."""
    town = mean_moments([slow_lap(False), slow_lap(True), parking_lap(30), parking_lap(40)])
    # Here the share at full lock is known: one circle of 5.85 m in each parking lap of 800 m.
    town["slow_turn"] = 0.5 * 2 * math.pi * TIGHT_M / 800 / STEERED_SHARE
    return {
        "rural": mean_moments(
            [oval(60, 10, 50, 1, 1), oval(70, 6, 50, 1.4, 1.4), oval(80, 6, 50, 2.94, 1.65)]
        ),
        "motorway": moments(oval(130, 1, 50, 2.94, 1.5)),
        "town": town,
    }
