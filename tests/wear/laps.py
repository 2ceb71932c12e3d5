"""Laps on a proving ground, as runs of constant acceleration, reduced to the moments of a profile."""

from __future__ import annotations

import math

from tirelife.driving.profile import MOMENTS, PARKING_MPS, coast_down, parking_weight

KMH = 1 / 3.6


def run(v0: float, v1: float, a: float) -> tuple[float, float, float, float, float]:
    """Change of speed at constant acceleration: length, v0, v1, a, lateral acceleration."""
    return (abs(v1**2 - v0**2) / 2 / abs(a), v0, v1, math.copysign(a, v1 - v0), 0.0)


def cruise(length: float, v: float, ay: float = 0.0) -> tuple[float, float, float, float, float]:
    return (length, v, v, 0.0, ay)


def moments(parts: list[tuple[float, float, float, float, float]]) -> dict[str, float]:
    """Means over distance; exact for constant acceleration, where v² is linear in distance."""
    total = sum(p[0] for p in parts)
    out = dict.fromkeys(MOMENTS, 0.0)
    for length, v0, v1, a, ay in parts:
        w = length / total
        v2, v4 = (v0**2 + v1**2) / 2, (v0**4 + v0**2 * v1**2 + v1**4) / 3
        phase = "brake" if -a > coast_down(max(v0, v1)) else "drive"
        for name, value in {"share": 1.0, "v2": v2, "v4": v4, "a": a, "a2": a * a, "av2": a * v2}.items():
            out[f"{phase}_{name}"] += w * value
        out["ay2"] += w * ay**2
        if a == 0:
            out["slow_turn"] += w * float(parking_weight(v0))
        else:
            # The mean of (1 - u)² over u = (v / PARKING_MPS)², which is linear in distance, up to 1.
            low, high = ((min(v, PARKING_MPS) / PARKING_MPS) ** 2 for v in sorted((v0, v1)))
            span = abs(v1**2 - v0**2) / PARKING_MPS**2
            out["slow_turn"] += w * ((1 - low) ** 3 - (1 - high) ** 3) / 3 / span
    return out


def mean_moments(laps: list[list[tuple[float, float, float, float, float]]]) -> dict[str, float]:
    """Equal distances of several laps."""
    held = [moments(lap) for lap in laps]
    return {name: sum(h[name] for h in held) / len(held) for name in MOMENTS}
