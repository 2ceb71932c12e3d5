"""Cars labelled by hand from published handbooks' words (``labelled.csv``), scored: causes, first checks, odds.

The labels were put down before the scoring was looked at. Depths are in 32nds, outer to inner, a spot a part;
``rest`` is a wheel not named; pressures are psi from a placard of 33; ``turns`` hard turns a 100 miles, five usual.
A hand along the tread comes before any tool, so it counts where angles, wheel or dampers are named. Where outer
blocks are worn more than inner ones the 2006 G6 text names the angles beside hard cornering, so both count there.
"""

import csv
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.tread.score import reliability
from tirelife.logbook import GROOVES
from tirelife.tread import Finding, Wheel, checks_first, weigh_wheels
from tirelife.tread.gauge import reading_variances

MM = 25.4 / 32
THREE = ("outer", "center", "inner")
CAUSES = {
    "low pressure": {"low_pressure"}, "high pressure": {"high_pressure"}, "one side": {"camber", "toe_in", "toe_out"},
    "feathered": {"toe_in", "toe_out"}, "diagonal": {"diagonal_wear"}, "cornering": {"hard_cornering"},
    "cupping": {"cupping"}, "flat spot": {"flat_spot"}, "overload": {"overload"}, "second ribs": {"low_pressure"},
    "normal": {"even_wear", "normal_shoulder_wear"}, "heel and toe": {"even_wear"},
}  # fmt: skip
CHECKS = {
    "pressure": {"check pressure"}, "alignment": {"measure angles", "feel the tread"}, "load": {"check load"},
    "wheel": {"check wheel and dampers", "feel the tread"}, "nothing": {"nothing"}, "rotate": {"rotate"},
    "driving": {"ask about turns", "measure angles", "feel the tread"},
}  # fmt: skip
FELT = {"feather": "feathered_edge", "cupped": "cups", "heel_toe": "heel_and_toe"}


def wheel_of(text, pressure, load):
    read = np.array([[float(d) for d in spot.split()] for spot in text.split(";")]) * MM
    grooves = list(GROOVES if read.shape[1] == 5 else THREE)
    at = [GROOVES.index(groove) for groove in grooves]
    single, shared = reading_variances(MM / 2, 0.2, float("nan"))
    depth, variance = np.full(5, np.nan), np.full(5, np.nan)
    depth[at], variance[at] = read.mean(axis=0), shared + single / len(read)
    spots = pd.DataFrame(read, columns=grooves, index=range(1, len(read) + 1)) if len(read) > 1 else None
    return Wheel(depth, variance, 10 * MM - float(np.nanmean(depth)), spots, float(np.sqrt(single)), pressure,
                 load_ratio=load)  # fmt: skip


@pytest.fixture(scope="module")
def scored():
    right, stated = [], []
    with open(Path(__file__).parent / "labelled.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        psi = dict(part.split() for part in row["pressures"].split(";") if part)
        load = 1.05 if row["load_index"] else float("nan")  # told that the tires carry more than they may
        wheels = {
            place: wheel_of(row[place] or row["rest"], 1 + float(psi.get(place, "nan")) / 33, load)
            for place in ("LF", "RF", "LR", "RR")
        }
        felt = [Finding(part.split()[0], FELT[part.split()[1]]) for part in row["feel"].split(";") if part]
        turns = float(row["turns"]) / 5 if row["turns"] else float("nan")
        table = weigh_wheels(wheels, row["drive"], cornering=turns, findings=felt)
        first = checks_first(table, wheels, felt, cornering=turns)
        chance = table.groupby(["position", "cause"])["probability"].sum()
        named = row["cause"].split("+")
        meant = set().union(*(CAUSES[name] for name in named))
        asked = set().union(*(CHECKS[name] for name in row["first"].split("|")))
        hit = [place for place in wheels if row[place]] or list(wheels)
        for place in wheels:
            here = chance[place]
            so = meant if place in hit else CAUSES["normal"]
            # One row a group of causes that a handbook tells apart, and whether it was so.
            for group, own in {
                **CAUSES,
                "feathered": set(),
                "heel and toe": set(),
                "second ribs": set(),
            }.items():
                if own and not (len(own) > 1 and group == "one side" and "feathered" in named):
                    p = min(float(sum(here.get(cause, 0.0) for cause in own)), 1.0)
                    stated.append((p, bool(own & so)))
            if place in hit:
                fault = here.drop("even_wear") if "even_wear" not in meant else here
                top = str(fault.idxmax())
                sure = here["even_wear"] < 0.5 or "even_wear" in meant
                right.append(
                    (row["cause"], row["id"], place, top in meant and sure, first[place].value in asked)
                )
    frame = pd.DataFrame(right, columns=["cause", "id", "position", "right", "check"])
    return frame, pd.DataFrame(stated, columns=["probability", "so"])


def test_causes_are_those_of_the_handbook(scored):
    found = scored[0].groupby("cause")["right"].mean()
    assert found["diagonal"] >= 0.8, found
    assert found["cornering"] >= 0.8, found
    assert scored[0]["right"].mean() >= 0.88, found


def test_the_first_check_is_one_that_the_handbook_names(scored):
    assert scored[0]["check"].mean() >= 0.95, scored[0][~scored[0]["check"]]


def test_stated_probabilities_hold_on_them(scored):
    table = reliability(scored[1])
    sure = table[table["count"] >= 30]
    assert ((sure["stated"] - sure["found"]).abs() < 0.2).all(), table
