"""Rotation by worth over simulated cars: is the advice ever worse than the best usual pattern, and what is realised?

Plans are chosen with one set of draws and weighed with another that nobody chose by; what is realised comes of the
true depths and rates, stepped out by hand.
"""

from __future__ import annotations

import numpy as np

from tests.rotation.test_worth import LIMIT, known_cars, step
from tirelife.rotation import Why, all_plans, set_lives
from tirelife.rotation.worth import USUAL_INTERVALS_KM, advise

CARS = 200
DRAWS, FRESH = 512, 2048
"""A projection's, and those that plans are weighed by once one is chosen."""


def run():
    return _rows(CARS)


def small():
    return _rows(40)


def _rows(count):
    rng = np.random.default_rng(77)
    least, gains, promised, other = [], [], [], []
    drives = ["front", "rear", "all"]
    for number in range(count):
        drive = drives[number % 3]
        car = known_cars(rng, lag=0.35, draws=DRAWS + FRESH, drive=drive)
        depth, wear, known, drawn = car
        found = advise(known[:DRAWS], drawn[:DRAWS], LIMIT, all_plans(4), drive)
        fresh = np.maximum(known[DRAWS:] - LIMIT, 0.0), drawn[DRAWS:]
        usual = set(found.table.loc[found.table["usual"], "plan"])
        best = max(
            set_lives(*fresh, plan, USUAL_INTERVALS_KM, 0.0).mean(axis=0).max()
            for plan in all_plans(4)
            if plan.name in usual
        )
        mean = set_lives(*fresh, found.plan, [found.plan.interval_km], 0.0)[:, 0].mean()
        least.append(mean / best)
        plans = found.plan, found.usual
        new, old = (step(depth - LIMIT, wear, np.array(p.permutation()), p.interval_km) for p in plans)
        if found.notes[0].code is Why.BETTER:
            gains.append(new / old - 1)
            promised.append(found.better)
        else:
            other.append(new / old - 1)
    assert not other or max(map(abs, other)) == 0.0  # where it does not differ it is the usual one
    note = f"{count} simulated cars of each drive in turn, a third with a tire that lags; the advice differs on {len(gains)}"
    head = f"rotation, {count} cars"

    def row(name, figure, against=""):
        return {
            "name": f"{head}: {name}", "figure": round(float(figure), 4), "unit": "share", "against": against,
            "note": note,
        }  # fmt: skip

    return [
        row("least expected life over the best usual pattern's", min(least), "at least 0.99"),
        row("promised gain where it differs, mean", np.mean(promised)),
        row("realised gain where it differs, mean", np.mean(gains), "more than 0"),
        row("realised gain where it differs, least", min(gains)),
        row("cars of those that lose more than 1 %", np.mean(np.array(gains) < -0.01)),
    ]
