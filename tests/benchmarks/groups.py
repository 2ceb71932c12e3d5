"""Groups: how often ranges hold and false differences are called on simulated fleets, and speed."""

from __future__ import annotations

import time
from itertools import combinations

import numpy as np

from tests.groups.simulate import Groups, rates
from tirelife.groups import compare_rates
from tirelife.groups.design import adjust_columns
from tirelife.groups.fitting import fit_groups, group_ratio

FLEETS = 1000
KINDS = {
    "three groups with effects": Groups(),
    "three small groups, no effect": Groups(effects=(0.0,) * 3, vehicles=5),
    "five groups, no effect": Groups(effects=(0.0,) * 5, vehicles=6),
    "vehicles that hardly differ": Groups(vehicle_sd=0.0),
}


def run(fleets: int = FLEETS) -> list[dict[str, object]]:
    rows = [row for name, fleet in KINDS.items() for row in _honest(name, fleet, fleets)]
    tires = rates(np.random.default_rng(1), Groups(vehicles=700))
    begun = time.perf_counter()
    compare_rates(tires, "driver_group")
    took = time.perf_counter() - begun
    return [*rows, _row("comparison", took, "s", "", f"{len(tires):,} tires")]


def _honest(name: str, fleet: Groups, fleets: int) -> list[dict[str, object]]:
    from statsmodels.stats.libqsturng import qsturng

    rng, inside, false = np.random.default_rng(3), [], 0
    for _ in range(fleets):
        tires = rates(rng, fleet)
        fitted = fit_groups(tires, "driver_group", adjust_columns(tires, "driver_group", None))
        wrong = False
        for i, j in combinations(range(len(fleet.effects)), 2):
            contrast = fitted.design.contrast("ABCDEFGH"[i], "ABCDEFGH"[j])
            value, low, high, se, df = group_ratio(fitted, contrast, None, 0.95)
            if not np.isfinite(value):
                continue
            real = fleet.effects[i] - fleet.effects[j]
            inside.append(low <= np.exp(real) <= high)
            wide = qsturng(0.95, len(fleet.effects), df) / np.sqrt(2) if len(fleet.effects) > 2 else 0.0
            wrong |= abs(np.log(value) - real) > wide * se
        false += wrong
    what = f"{name}, {fleets:,} fleets confounded by cars, sites and lines"
    return [
        _row("95 % ranges that hold the true ratio", 100 * np.mean(inside), "%", "target 93 to 97 %", what),
        _row("fleets with any pair wrongly apart", 100 * false / fleets, "%", "target at most 6 %", what),
    ]


def _row(name: str, figure: float, unit: str, against: str, note: str) -> dict[str, object]:
    return {"name": name, "figure": round(float(figure), 2), "unit": unit, "against": against, "note": note}
