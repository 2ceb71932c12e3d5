"""Whether the stated probabilities of wear causes hold, on labelled cases; and the pace of the reduction."""

from __future__ import annotations

import time

import numpy as np
import pandas as pd

from tests.tread import by_hand
from tests.tread.cases import make_cases
from tests.tread.handbook import CARS, draw
from tests.tread.score import reliability, score, summary
from tests.tread.test_handbook import weigh
from tirelife.logbook import GROOVES
from tirelife.tread.reduction import reduce_readings

PATTERNS = {
    "fronts outer": "outer edges of both fronts",
    "fronts inner": "inner edges of both fronts",
    "center": "center wears more rapidly",
    "feathering": "outer edges, saw-tooth felt toward the middle",
    "flat spot": "one place flat: a wheel that locked",
    "even": "worn alike to the indicators",
    "single outer edge": "a wheel leans: one side of one tire",
    "single inner edge": "toward the inboard edge of one tire",
    "cups": "cups on wheels that are not driven",
    "cups at one edge": "scallops at one edge",
    "diagonal wear": "slantwise scuffing across both rears",
    "hard cornering": "outside shoulder rounded and rough, the inner one less",
    "both shoulders": "edges scuff the road",
    "second ribs": "ribs next to the edges first",
    "overload": "overloaded rear axle: inside rows worn more",
    "normal shoulders": "both shoulders even all round, pressure right",
}
FIRST = {
    "fourth": (0.867, 0.900, 0.867, 0.783),
    "fifth": (0.963, 0.963, 0.988, 0.938),
    "sixth": (0.925, 0.938, 0.950, 0.912),
}
"""As first scored, before anything was changed: likeliest cause, or one that the label would take, first check, and
that with no hand along the tread before it. The fourth was told of a gauge of 0.2 mm, not of the one drawn with."""
READINGS = 6_600_000
SEEDS = (40001, 40002, 40003, 40004, 40005)
"""Scored once the model was done; nothing in it was set by them."""


def run():
    rows = []
    sets = (
        ("five grooves, six spots, 1/64 in", {}),
        ("three grooves, one spot, 1/32 in", {"grooves": 3, "spots": 1, "step_mm": 25.4 / 32}),
    )
    for words, options in sets:
        scored = _scored(options)
        found = summary(scored)
        note = f"{len(SEEDS)} times 200 labelled cars, {words}"
        rows += [
            _row(
                "tread causes, likeliest is right",
                found["top-1 accuracy"],
                "share",
                f"stated {found['stated']:.3f}",
                note,
            ),
            _row(
                "tread causes, expected calibration error", found["expected calibration error"], "", "0", note
            ),
            _row(
                "tread causes, Brier score",
                found["Brier score"],
                "",
                f"base rates {found['Brier score of base rates']:.3f}",
                note,
            ),
        ]
        for line in reliability(scored).itertuples():
            rows.append(
                _row(
                    f"tread causes, stated {line.stated:.3f}",
                    line.found,
                    "share found",
                    f"{line.stated:.3f}",
                    f"{line.count} wheels and causes; {words}",
                )
            )
    return [*rows, *_by_hand(), *_by_pattern(), _pace()]


def _by_hand():
    frame, stated = by_hand.score(by_hand.read_cases())
    spots = frame[frame["spots"]].groupby("cause")["right"].mean()
    note = "176 cases labelled from handbooks' words by someone who had not seen the scoring"
    head = "tread causes by hand"
    rows = [
        _row(f"{head}, likeliest is the label's", frame["right"].mean(), "share", "", f"{note}; as first scored 0.824"),
        _row(f"{head}, or one that it would take", frame["taken"].mean(), "share", "", f"{note}; as first scored 0.864"),
        _row(f"{head}, diagonal wear with spots", spots["rear_toe_diagonal"], "share", "at least 0.8", note),
        _row(f"{head}, hard cornering with spots", spots["hard_cornering"], "share", "at least 0.8", note),
        _row(f"{head}, first check", frame["check_or_hand"].mean(), "share", "at least 0.95", f"{note}; 0.858 at first, 0.92 before crowned roads were a cause; all were seen since"),
    ]  # fmt: skip
    fresh = by_hand.score(by_hand.read_cases("fresh"))[0]
    told = f"{len(fresh)} cases typed from handbooks' words by who knew the scoring, once it was done"
    rows += [
        _row("tread causes, fresh cases, likeliest is the label's", fresh["right"].mean(), "share", "", f"{told}; 0.956 at first"),
        _row("tread causes, fresh cases, first check", fresh["check_or_hand"].mean(), "share", "at least 0.95",
             f"{told}; 0.911 at first"),
    ]  # fmt: skip
    typed = "cases typed from handbooks' words by someone who had not seen the scoring, kept before they were scored"
    for name, first in FIRST.items():
        cold = by_hand.score(by_hand.read_cases(name))[0]
        told, head_n = f"{len(cold)} {typed}", f"tread causes, {name} set"
        rows += [
            _row(f"{head_n}, likeliest is the label's", cold["right"].mean(), "share", "", f"{told}; {first[0]:.3f} at first"),
            _row(f"{head_n}, or one that it would take", cold["taken"].mean(), "share", "", f"{told}; {first[1]:.3f} at first"),
            _row(f"{head_n}, first check", cold["check_or_hand"].mean(), "share", "at least 0.95", f"{told}; {first[2]:.3f} at first"),
            _row(f"{head_n}, first check, no hand before it", cold["check"].mean(), "share", "", f"{told}; {first[3]:.3f} at first"),
        ]  # fmt: skip
    return rows + [
        _row(f"{head}, stated {line.stated:.3f}", line.found, "share found", f"{line.stated:.3f}",
             f"{line.count} causes; {note}")
        for line in reliability(stated).itertuples()
    ]  # fmt: skip


def _by_pattern():
    """640 cars drawn from handbooks' words: sixteen patterns, twenty cars each with five grooves and with three."""
    rng, rows = np.random.default_rng(640), []
    for name, words in PATTERNS.items():
        car = next(car for car in CARS if car.words == words)
        for count, options in ((5, {}), (3, {"grooves": ("outer", "center", "inner")})):
            right, checks = [], []
            for _ in range(20):
                read, ratio = draw(car, rng, **options)
                causes, first = weigh(car, read, ratio, options.get("grooves", GROOVES))
                at = next(iter(car.worn), "LF")
                here = causes[causes["position"] == at].groupby("cause")["probability"].sum()
                even = here["even_wear"] >= 0.5
                right.append(("even_wear" if even else here.drop("even_wear").idxmax()) == car.cause)
                checks.append(first[at].value in car.checks)
            note = (
                f"{sum(checks)} of 20 first checks are the handbook's; {car.source}: {car.words}; six spots"
            )
            rows.append(_row(f"640 cars, {name}, {count} grooves", np.mean(right), "share right", "", note))
    return rows


def _scored(options):
    parts = []
    for seed in SEEDS:
        part = score(make_cases(200, seed=seed, **options))
        parts.append(part.assign(case=part["case"] + 1000 * seed))
    return pd.concat(parts, ignore_index=True)


def _row(name, figure, unit, against, note):
    return {"name": name, "figure": round(float(figure), 4), "unit": unit, "against": against, "note": note}


def _pace():
    rng = np.random.default_rng(1)
    vehicle = np.repeat(np.arange(READINGS // 66), 66)
    turn = np.tile(np.arange(66), READINGS // 66)
    frame = pd.DataFrame(
        {
            "vehicle_id": pd.Series(np.char.add("V", vehicle.astype(str)), dtype="str"),
            "position": pd.Series(np.array(["LF", "RF", "LR", "RR"])[turn % 4], dtype="str"),
            "date": pd.Timestamp("2025-01-01") + pd.to_timedelta(turn // 12 * 90, unit="D"),
            "odometer_km": vehicle * 10.0 + turn // 12 * 1000,
            "groove": pd.Series(np.array(GROOVES)[rng.integers(0, 5, len(turn))], dtype="str"),
            "depth_mm": np.round(rng.uniform(2, 9, len(turn)) / 0.396875) * 0.396875,
            "gauge_id": pd.Series(np.where(vehicle % 3, "D1", "D2"), dtype="str"),
            "doubt": pd.Series(np.full(len(turn), ""), dtype="str"),
        }
    )
    begun = time.perf_counter()
    sums = reduce_readings(frame)
    seconds = time.perf_counter() - begun
    return _row(
        "readings to tire-visits, pandas", seconds, "s", "", f"{len(frame):,} readings, {len(sums):,} rows"
    )
