"""Fleets whose causes take a third, as much, or three times what the physics says: what the fit finds of it.

Habits are recorded with an error of 20 %. Reported over all fleets of a size: how often a planted factor lies in the
fit's 80 % range, and how often what each change would buy lies in its own; the error of rates ahead with factors
learned over none learned, where the model was right and where it was wrong; and the time of a fit. The generator (``tests/habit_fleets.py``) imports nothing from the package. Level: invented data,
which says how the fit does where its model holds, and nothing of roads.

``python -m tests.benchmarks.factors 24 2 out.csv`` runs fleets of 24 cars, two of each kind, a row a fleet and cause.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from tests.habit_fleets import CAP_MPS, CAUSES, Fleet, simulate

FACTORS = (1 / 3, 1.0, 3.0)
Z80 = 1.2815515655446004
LEAST_GAIN = 1e-3
CHANGES: dict[str, dict[str, Any]] = {
    "speed": {"cap_mps": CAP_MPS},
    "starts": {"starts": 0.8},
    "stops": {"stops": 0.8},
    "corners": {"turns": 0.8},
    "alignment": {"front_toe_mm": 0.0},
    "pressure": {"pressure_kept": True},
}
"""What is asked of each cause that a change answers to; wheels that save less than 0.1 % are left out."""
SIZES = ((24, 2), (60, 1), (150, 1))
"""Cars and fleets of each kind in ``python -m tests.benchmarks``."""


def one(cars: int, cause: str, factor: float, seed: int) -> list[dict[str, Any]]:
    """Fit one fleet; a row a cause."""
    from tirelife.logbook import read_logbook
    from tirelife.rates import fit_logbook
    from tirelife.wear import Change, change_ratios

    with tempfile.TemporaryDirectory() as folder:
        truth = simulate(Path(folder), Fleet(cars, {cause: factor}), seed)
        book = read_logbook(folder)
        begun = time.perf_counter()
        fit = fit_logbook(book)
        seconds = time.perf_counter() - begun
        table = fit.factors.table().set_index("cause")
        gains = {
            lever: change_ratios(book, Change("", **change), factors=fit.factors)
            for lever, change in CHANGES.items()
        }
    truth = truth.set_index(["vehicle_id", "position"])
    rows = []
    for name in CAUSES:
        true = np.log(factor) if name == cause else 0.0
        low, mean, high = np.log(table.loc[name, ["lower", "factor", "upper"]].to_numpy(float))
        row = {
            "cars": cars, "planted": cause, "times": factor, "seed": seed, "cause": name, "log_true": true,
            "log_mean": mean, "low": low, "high": high, "log_sd": table.loc[name, "log_sd"],
            "inside": float(low <= true <= high), "seconds": seconds, "belief": fit.factors.belief,
        }  # fmt: skip
        if name in gains:
            change = gains[name].set_index(["vehicle_id", "position"])
            gain = np.log1p(-truth[f"gain_{name}"]).reindex(change.index).to_numpy()
            moved = np.abs(gain) > LEAST_GAIN
            off = gain - np.log(change["ratio"].to_numpy())
            reach = Z80 * change["log_sd"].to_numpy()
            row["gain_inside"] = float(np.mean(np.abs(off) < reach, where=moved)) if moved.any() else np.nan
            with np.errstate(invalid="ignore", divide="ignore"):
                row["gain_z"] = float(np.sqrt(np.mean((off / reach * Z80) ** 2, where=moved)))
        rows.append(row)
    return rows


def fleets(cars: int, of_each: int) -> pd.DataFrame:
    """All kinds of fleets of one size."""
    rows = []
    for k, cause in enumerate(CAUSES):
        for j, factor in enumerate(FACTORS):
            for i in range(of_each):
                rows += one(cars, cause, factor, seed=10_000 * cars + 1000 * k + 100 * j + i)
    return pd.DataFrame(rows)


def errors(cars: int, cause: str, factor: float, seed: int, visits: int = 7) -> dict[str, float]:
    """Mean error of log rates ahead, factors learned and not, and the time of either fit.

    Of the tires read (``learned``, ``held``) and, but for the level, of another fleet's that nobody read.
    """
    from tirelife.logbook import read_logbook
    from tirelife.outlook import present_state
    from tirelife.rates import causes, fit_logbook
    from tirelife.wear import stretch_severity

    learn, out = causes.learn_causes, {}
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryDirectory() as elsewhere:
        truth = simulate(Path(folder), Fleet(cars, {cause: factor}, visits=visits), seed).set_index("tire_id")
        other = simulate(Path(elsewhere), Fleet(60, {cause: factor}, visits=3), 1000 + seed).set_index(
            "tire_id"
        )
        strangers = read_logbook(elsewhere)
        for way, used in (
            ("learned", learn),
            ("held", lambda book, visits, tires, prior, most: (prior.factors, None)),
        ):
            causes.learn_causes = used
            try:
                book = read_logbook(folder)
                begun = time.process_time()
                fit = fit_logbook(book)
                out[f"{way}_s"] = time.process_time() - begun
            finally:
                causes.learn_causes = learn
            state = present_state(book, fit, 1.5875).set_index("tire_id")
            off = state["log_wear"].astype(float)
            out[way] = float(np.abs(off - np.log(truth["rate"].reindex(state.index))).mean())
            now = stretch_severity(strangers, fit.factors).drop_duplicates("tire_id", keep="last")
            apart = np.log(now.set_index("tire_id")["severity"]) - np.log(other["rate"])
            out[f"{way}_unread"] = float(np.abs(apart - apart.mean()).mean())
    return out


def run() -> list[dict[str, Any]]:
    """Coverage of planted factors and of gains, error of rates ahead, and time of the fit."""
    out = []

    def row(name: str, figure: str, unit: str, against: str, note: str) -> None:
        out.append({"name": name, "figure": figure, "unit": unit, "against": against, "note": note})

    for cars, of_each in SIZES:
        table = fleets(cars, of_each)
        planted = table[table["planted"] == table["cause"]]
        kinds = f"{len(planted)} fleets of {cars} cars, each cause at 1/3, 1 and 3 times, habits off by 20 %"
        for said, part in (("planted factors", planted), ("all factors", table)):
            by = ", ".join(f"{x:.2f}" for x in part.groupby("times")["inside"].mean())
            row(
                f"{said} inside their 80 % range, {cars} cars", f"{part['inside'].mean():.2f}", "share",
                "0.74 to 0.86", f"{kinds}; at each: {by}",
            )  # fmt: skip
            row(
                f"what a change of {'the planted cause' if part is planted else 'any cause'} buys inside its "
                f"80 % range, {cars} cars", f"{part['gain_inside'].mean():.2f}", "share", "0.74 to 0.86",
                f"{kinds}; speed, starts, stops, bends, toe, pressure; mean over wheels",
            )  # fmt: skip
    for factor, said, wanted in ((1.0, "right", "no more"), (3.0, "wrong: bends three times", "10 % less")):
        found = pd.DataFrame([errors(24, "corners", factor, seed) for seed in range(4)])
        for of, whose in (("", "tires read"), ("_unread", "tires of 60 cars that nobody read")):
            learned, held = found[f"learned{of}"].mean(), found[f"held{of}"].mean()
            row(
                f"error of rates ahead with factors learned, {whose}, model {said}",
                f"{100 * (learned / held - 1):+.1f}", "%", wanted,
                f"4 fleets of 24 cars, 3 visits; {learned:.4f} over {held:.4f}",
            )  # fmt: skip
    row(
        "time of a fit with factors learned", f"{found['learned_s'].sum() / found['held_s'].sum():.2f}", "times",
        "1.5 at most", "over one that learns none, 4 fleets of 24 cars",
    )  # fmt: skip
    return out


if __name__ == "__main__":
    fleets(int(sys.argv[1]), int(sys.argv[2])).to_csv(sys.argv[3], index=False)
