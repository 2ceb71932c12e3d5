"""Fleets whose causes take a third, as much, or three times what the physics says: what the fit finds of it.

Habits are recorded with an error of 20 %. Reported over all fleets of a size: how often a planted factor lies in the
fit's 80 % range, and how often what each change would buy lies in its own; the error of rates ahead with factors
learned over none learned, fleet by fleet, beside the error that the true factors would leave; and the time of a fit.
Where the model is right no factor is better than those it begins with, so learning can only lose there: by about as
much as the whole posterior under the same prior does: that is the best learner of ``tests/habit_ideal.py``, run beside ours
on the same fleets. Over fleets whose factors are drawn from the prior it must win. The generator
(``tests/habit_fleets.py``) imports nothing from the package. Level: invented data, which says how the fit does where
its model holds, and nothing of roads.

``python -m tests.benchmarks.factors 24 2 out.csv`` runs fleets of 24 cars, two of each kind, a row a fleet and cause;
``python -m tests.benchmarks.factors ideal 24 6`` tells ours beside the best learner, six fleets of a kind.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import replace
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
SIZES = ((24, 4, 40), (60, 4, 40), (150, 4, 40))
"""Cars, fleets of each kind, and fleets whose factors are drawn from the prior, in ``python -m tests.benchmarks``."""
AHEAD = ((24, 40, 24, 24, 3), (60, 20, 16, 0, 0))
"""Cars, fleets where the model is right, where bends wear three times, where all factors are drawn from the prior, and
of each cause at 1/3 and 3 times: of these the rates ahead are asked."""
APART = 0.15
"""Log-sd of cars' own ratios of front to rear wear, beyond causes: about the prior's 0.14. The model leaves room for it, so
fleets without it are easier than what the ranges are made for; both kinds are told."""
BESIDE = ((24, 6),)
"""Cars, and fleets of each kind, that are told beside the best learner there can be."""


def drawn(seed: int) -> dict[str, float]:
    """True factors drawn from what is held of them before a log."""
    from tirelife.wear.cause import CAUSE_LOG_SD

    rng = np.random.default_rng(seed)
    return {cause: float(np.exp(rng.normal(0, CAUSE_LOG_SD[cause]))) for cause in CAUSES}


def one(
    cars: int, factors: dict[str, float], seed: int, planted: str = "", axle_sd: float = 0.0
) -> list[dict[str, Any]]:
    """Fit one fleet; a row a cause."""
    from tirelife.logbook import read_logbook
    from tirelife.rates import fit_logbook
    from tirelife.wear import Change, change_ratios

    with tempfile.TemporaryDirectory() as folder:
        truth = simulate(Path(folder), Fleet(cars, factors, axle_sd=axle_sd), seed)
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
    level = float(np.median([np.log(factors.get(name, 1.0)) for name in CAUSES]))  # no part of severity
    rows = []
    for name in CAUSES:
        true = float(np.log(factors.get(name, 1.0))) - level
        low, mean, high = np.log(table.loc[name, ["lower", "factor", "upper"]].to_numpy(float))
        row = {
            "cars": cars, "planted": planted, "times": factors.get(planted, np.nan), "seed": seed, "cause": name,
            "log_true": true, "log_mean": mean, "low": low, "high": high, "log_sd": table.loc[name, "log_sd"],
            "inside": float(low <= true <= high), "seconds": seconds, "belief": fit.factors.belief,
        }  # fmt: skip
        if name in gains:
            change = gains[name].set_index(["vehicle_id", "position"])
            gain = np.log1p(-truth[f"gain_{name}"]).reindex(change.index).to_numpy()
            moved = np.abs(gain) > LEAST_GAIN
            off = gain - np.log(change["ratio"].to_numpy())
            reach = Z80 * change["log_sd"].to_numpy()
            row["gain_inside"] = float(np.mean(np.abs(off) < reach, where=moved)) if moved.any() else np.nan
            row["gain_width"] = float(2 * np.mean(reach, where=moved)) if moved.any() else np.nan
            with np.errstate(invalid="ignore", divide="ignore"):
                row["gain_z"] = float(np.sqrt(np.mean((off / reach * Z80) ** 2, where=moved)))
        rows.append(row)
    return rows


def fleets(cars: int, of_each: int, first: int | None = None, axle_sd: float = 0.0) -> pd.DataFrame:
    """All kinds of fleets of one size."""
    first = 8_000_000 + 10_000 * cars if first is None else first
    rows = []
    for k, cause in enumerate(CAUSES):
        for j, factor in enumerate(FACTORS):
            for i in range(of_each):
                rows += one(cars, {cause: factor}, first + 1000 * k + 100 * j + i, cause, axle_sd)
    return pd.DataFrame(rows)


def errors(
    cars: int,
    factors: dict[str, float],
    seed: int,
    visits: int = 7,
    told: dict[str, Any] | None = None,
    straight: bool = False,
) -> dict[str, float]:
    """Mean error of log rates ahead with factors learned, none learned, and the true ones; the time of a fit.

    Of the tires read (``learned``, ``held``, ``true``) and, but for the level, of another fleet's that nobody read.
    ``told``: also (``told``) with these fields of the factors, believing of the usual habits what they say.
    ``straight``: the fit is told that treads wear straight, as the generator's do.
    """
    from tirelife.logbook import read_logbook
    from tirelife.outlook import present_state
    from tirelife.rates import PUBLISHED, fit_logbook
    from tirelife.rates import fit as fits
    from tirelife.rates.prior import Belief
    from tirelife.wear import stretch_severity, usual_moments

    learn, out = fits.learn_causes, {}
    held = replace(PUBLISHED, bend=Belief(0.0, 0.002)) if straight else PUBLISHED
    log_true = tuple(float(np.log(factors.get(cause, 1.0))) for cause in CAUSES)
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryDirectory() as elsewhere:
        truth = simulate(Path(folder), Fleet(cars, factors, visits=visits), seed).set_index("tire_id")
        other = simulate(Path(elsewhere), Fleet(60, factors, visits=3), 500_000 + seed).set_index("tire_id")
        strangers = read_logbook(elsewhere)
        ways = {
            "learned": learn,
            "held": lambda book, visits, tires, prior, most: (prior.factors, None),
            "true": lambda book, visits, tires, prior, most: (
                replace(prior.factors, log_mean=log_true), None
            ),
        }  # fmt: skip
        if told is not None:
            ways["told"] = lambda book, visits, tires, prior, most: (
                replace(prior.factors, usual=usual_moments(book), **told), None
            )  # fmt: skip
        for way, used in ways.items():
            fits.learn_causes = used
            try:
                book = read_logbook(folder)
                begun = time.process_time()
                fit = fit_logbook(book, held)
                out[f"{way}_s"] = time.process_time() - begun
            finally:
                fits.learn_causes = learn
            state = present_state(book, fit, 1.5875).set_index("tire_id")
            off = state["log_wear"].astype(float)
            out[way] = float(np.abs(off - np.log(truth["rate"].reindex(state.index))).mean())
            now = stretch_severity(strangers, fit.factors).drop_duplicates("tire_id", keep="last")
            apart = np.log(now.set_index("tire_id")["severity"]) - np.log(other["rate"])
            out[f"{way}_unread"] = float(np.abs(apart - apart.mean()).mean())
    return out


def by_fleet(values: Sequence[float] | pd.Series) -> tuple[float, float]:
    """Mean over fleets, and its standard error."""
    found = np.asarray(values, dtype=float)
    found = found[np.isfinite(found)]
    return float(found.mean()), float(found.std(ddof=1) / np.sqrt(len(found)))


def row(name: str, figure: str, unit: str, against: str, note: str) -> dict[str, Any]:
    """One row of the table of results."""
    return {"name": name, "figure": figure, "unit": unit, "against": against, "note": note}


def _whose(cars: int, axle_sd: float) -> str:
    more = f" whose axles' ratios differ by {axle_sd} beyond causes, as the prior holds" if axle_sd else ""
    return f"{cars} cars{more}"


def coverage(cars: int, of_each: int, first: int | None = None, axle_sd: float = 0.0) -> list[dict[str, Any]]:
    """How often planted factors, and what changes buy, lie in their ranges."""
    table = fleets(cars, of_each, first, axle_sd)
    planted = table[table["planted"] == table["cause"]]
    kinds = f"{table['seed'].nunique()} fleets of {cars} cars, each cause at 1/3, 1 and 3 times, habits off by 20 %"
    out = []
    for said, whose, part in (
        ("planted factors", "the planted cause", planted),
        ("all factors", "any cause", table),
    ):
        for name, what, more in (
            ("inside", f"{said} inside their 80 % range, {_whose(cars, axle_sd)}", ""),
            (
                "gain_inside", f"what a change of {whose} buys inside its 80 % range, {_whose(cars, axle_sd)}",
                "speed, starts, stops, bends, toe, pressure; mean over wheels; ",
            ),
        ):  # fmt: skip
            mean, error = by_fleet(part.groupby("seed")[name].mean())
            by = ", ".join(f"{x:.2f}" for x in part.groupby("times")[name].mean())
            note = f"{kinds}; {more}standard error by fleet {error:.3f}; at each: {by}"
            out.append(row(what, f"{mean:.2f}", "share", "0.74 to 0.86", note))
    return out


def coverage_drawn(
    cars: int, count: int, first: int | None = None, axle_sd: float = 0.0
) -> list[dict[str, Any]]:
    """The same of fleets whose factors are all drawn from the prior: there the ranges are to hold 80 %."""
    first = 8_000_000 + 10_000 * cars + 9000 if first is None else first
    table = pd.DataFrame(
        [x for i in range(count) for x in one(cars, drawn(first + i), first + i, "", axle_sd)]
    )
    note = f"{count} fleets of {cars} cars, habits off by 20 %; standard error by fleet "
    out = []
    for name, what in (("inside", "factors"), ("gain_inside", "what a change buys")):
        mean, error = by_fleet(table.groupby("seed")[name].mean())
        what = f"{what} inside the 80 % range, all factors drawn from the prior, {_whose(cars, axle_sd)}"
        out.append(row(what, f"{mean:.2f}", "share", "0.74 to 0.86", f"{note}{error:.3f}"))
    return out


def ahead(
    cars: int, said: str, wanted: str, factors: Sequence[dict[str, float]], first: int
) -> list[dict[str, Any]]:
    """Error of rates ahead over fleets with such true factors, and the least that is left with the true ones."""
    found = pd.DataFrame([errors(cars, true, first + i) for i, true in enumerate(factors)])
    out = []
    for of, whose in (("", "tires read"), ("_unread", "tires of 60 cars that nobody read")):
        held = found[f"held{of}"].mean()
        figures = {}
        for way in ("learned", "true"):
            mean, error = by_fleet(100 * (found[f"{way}{of}"] - found[f"held{of}"]) / held)
            figures[way] = f"{mean:+.1f}", f"{error:.1f}"
        out.append(
            row(
                f"error of rates ahead with factors learned, {whose}, {said}, {cars} cars", figures["learned"][0],
                "%", wanted,
                f"{len(found)} fleets of {cars} cars, 7 visits; standard error by fleet {figures['learned'][1]}; "
                f"{found[f'learned{of}'].mean():.4f} over {held:.4f}; with the true factors {figures['true'][0]} "
                f"(standard error {figures['true'][1]}), which is the most that could be gained",
            )
        )  # fmt: skip
    return out


def all_ahead(cars: int, right: int, bends: int, prior: int, turn: int, first: int) -> list[dict[str, Any]]:
    """Error of rates ahead where the model is right, where bends or each cause are wrong, and over the prior."""
    kinds = [
        ("model right", "no more", [{}] * right),
        ("model wrong: bends three times", "10 % less", [{"corners": 3.0}] * bends),
        ("all factors drawn from the prior", "less", [drawn(first + 7000 + i) for i in range(prior)]),
        (
            "model wrong: each cause in turn at 1/3 and 3 times", "10 % less",
            [{cause: by} for cause in CAUSES for by in (1 / 3, 3.0) for _ in range(turn)],
        ),
    ]  # fmt: skip
    out = []
    for k, (said, wanted, factors) in enumerate(kinds):
        if factors:
            out += ahead(cars, said, wanted, factors, first + 1000 * k)
    return out


def beside_ideal(cars: int, factors: dict[str, float], seed: int, visits: int = 7) -> dict[str, float]:
    """Errors as :func:`errors` and coverage as :func:`one`, of our fit and of the best learner on the same fleet.

    ``told`` is our fit told the best learner's factors: what is then left is no matter of factors.
    """
    from tests import habit_ideal as ideal
    from tirelife.wear.cause import CAUSE_LOG_SD

    rng = np.random.default_rng(seed)
    sd = np.array([CAUSE_LOG_SD[cause] for cause in CAUSES])
    log_true = np.array([np.log(factors.get(cause, 1.0)) for cause in CAUSES])
    made, other = Fleet(cars, factors, visits=visits), Fleet(60, factors, visits=3)
    out: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryDirectory() as elsewhere:
        truth = simulate(Path(folder), made, seed)
        there = simulate(Path(elsewhere), other, 500_000 + seed).set_index("tire_id")["rate"]
        log, strangers = ideal.read(Path(folder), made), ideal.read(Path(elsewhere), other)
    rate = truth.set_index("tire_id")["rate"]
    begin = {"chains": 20, "rounds": 15}
    for way, found in (
        ("ideal_held", ideal.learn(log, 0 * sd, rng, **begin)),
        ("ideal_true", ideal.learn(log, 0 * sd, rng, log_true, **begin)),
        ("ideal", ideal.learn(log, sd, rng)),
    ):
        ahead_of = ideal.rates(log, found, rng)
        out[way] = float((ahead_of - np.log(rate.reindex(ahead_of.index))).abs().mean())
        apart = ideal.unread(strangers, found, rng)
        apart = apart - np.log(there.reindex(apart.index))
        out[f"{way}_unread"] = float((apart - apart.mean()).abs().mean())
    drawn_factors = found.log_factor
    beside = drawn_factors - np.median(drawn_factors, axis=1, keepdims=True)
    low, high = np.quantile(beside, [0.1, 0.9], axis=0)
    true = log_true - np.median(log_true)
    out["ideal_inside"] = float(np.mean((low <= true) & (true <= high)))
    planted = [i for i, cause in enumerate(CAUSES) if cause in factors] or list(range(len(CAUSES)))
    out["ideal_planted"] = float(np.mean(((low <= true) & (true <= high))[planted]))
    hit, width = {}, {}
    for lever, ratio in ideal.gains(log, found, rng).items():
        gain = np.log1p(-truth[f"gain_{lever}"].to_numpy().reshape(-1, 4))[:, [0, 2]]
        moved = np.abs(gain) > LEAST_GAIN
        if moved.any():
            low, high = np.quantile(ratio, [0.1, 0.9], axis=0)
            hit[lever] = float(((low <= gain) & (gain <= high))[moved].mean())
            width[lever] = float((high - low)[moved].mean())
    ours = pd.DataFrame(one(cars, factors, seed)).set_index("cause")
    asked = list(hit)
    out["ideal_gain"], out["gain"] = float(np.mean(list(hit.values()))), float(ours["gain_inside"].mean())
    out["inside"] = float(ours["inside"].mean())
    out["planted"] = float(ours["inside"].iloc[planted].mean())
    out["width"] = float(np.mean([ours.loc[lever, "gain_width"] / width[lever] for lever in asked]))
    true_share = float(np.mean(log.habit_sd**2 / (log.habit_sd**2 + log.record_sd**2)))
    told = {"log_mean": tuple(np.median(beside, axis=0).tolist()), "belief": true_share}
    return out | errors(cars, factors, seed, visits, told)


def kinds_of(first: int, each: int) -> list[tuple[str, dict[str, float], int]]:
    """Fleets to be told beside the best learner: what is planted in them, factors, seed."""
    turn = [(cause, by) for cause in CAUSES for by in (1 / 3, 3.0)]
    out: list[tuple[str, dict[str, float], int]] = []
    for i in range(each):
        out += [
            ("model right", {}, first + i),
            ("bends three times", {"corners": 3.0}, first + 1000 + i),
            ("factors drawn from the prior", drawn(first + 7000 + i), first + 2000 + i),
        ]
    out += [("each cause in turn", {cause: by}, first + 3000 + 3 * k) for k, (cause, by) in enumerate(turn)]
    return out


def ideal_rows(cars: int, each: int, first: int | None = None) -> list[dict[str, Any]]:
    """Our fit beside the best learner of the same fleets: what more it would gain, and its ranges."""
    first = 8_500_000 + 10_000 * cars if first is None else first
    table = pd.DataFrame(
        [{"kind": kind, **beside_ideal(cars, factors, seed)} for kind, factors, seed in kinds_of(first, each)]
    )
    out = []
    for kind, part in table.groupby("kind", sort=False):
        for of, whose in (("", "tires read"), ("_unread", "tires of 60 cars that nobody read")):
            base = part[f"held{of}"].mean()
            said = {}
            for way in ("learned", "told", "true", "ideal", "ideal_true", "ideal_held"):
                mean, error = by_fleet(100 * (part[f"{way}{of}"] - part[f"held{of}"]) / base)
                said[way] = f"{mean:+.1f} (standard error {error:.1f})"
            mean, error = by_fleet(100 * (part[f"learned{of}"] - part[f"told{of}"]) / base)
            out.append(
                row(
                    f"error of rates ahead, ours over ours told the best learner's factors, {whose}, {kind}, {cars} cars",
                    f"{mean:+.1f}", "%", "0 within its error",
                    f"{len(part)} fleets, standard error by fleet {error:.1f}; against none learned, in % of its "
                    f"{base:.4f}: ours {said['learned']}, told {said['told']}, told the true ones {said['true']}, the "
                    f"best learner itself, whose model has no part that the generator has not, {said['ideal']}, it "
                    f"told the true ones {said['ideal_true']}, it with none learned {said['ideal_held']}",
                )
            )  # fmt: skip
        for of, what in (
            ("planted", "planted factors"),
            ("inside", "factors"),
            ("gain", "what a change buys"),
        ):
            (mean, error), (best, wide) = by_fleet(part[of]), by_fleet(part[f"ideal_{of}"])
            note = f"{len(part)} fleets, standard error by fleet {error:.3f}; the best learner {best:.2f} ({wide:.3f})"
            if of == "gain":
                note += f"; range over the best learner's {part['width'].mean():.2f}"
            said_of = f"{what} inside the 80 % range beside the best learner's, {kind}, {cars} cars"
            out.append(row(said_of, f"{mean:.2f}", "share", "as the best learner", note))
    return out


def straight_rows(cars: int, each: int, first: int | None = None) -> list[dict[str, Any]]:
    """Error of rates ahead of tires read, if the fit is told that treads wear straight.

    Whether treads bend is not known before they are read (published series bend and do not), and moves the wear of
    the last millimetres more than factors do; the generator's do not bend. So told, the rest of the error is smaller,
    and what factors take off it a larger part.
    """
    first = 8_500_000 + 10_000 * cars if first is None else first
    table = pd.DataFrame(
        [
            {"kind": kind, **errors(cars, factors, seed, straight=True)}
            for kind, factors, seed in kinds_of(first, each)
        ]
    )
    out = []
    for kind, part in table.groupby("kind", sort=False):
        base = part["held"].mean()
        learned, true = (
            by_fleet(100 * (part[way] - part["held"]) / base) for way in ("learned", "true")
        )  # fmt: skip
        out.append(
            row(
                f"error of rates ahead with factors learned, tires read, treads told to be straight, {kind}, "
                f"{cars} cars",
                f"{learned[0]:+.1f}", "%", "no more" if kind == "model right" else "10 % less",
                f"{len(part)} fleets, standard error by fleet {learned[1]:.1f}; {part['learned'].mean():.4f} over "
                f"{base:.4f}; with the true factors {true[0]:+.1f} (standard error {true[1]:.1f})",
            )
        )  # fmt: skip
    return out


def time_of_fit(cars: int = 800, turns: int = 4) -> dict[str, Any]:
    """Processor time of a fit that learns factors over one that learns none, in turns."""
    from tirelife.logbook import read_logbook
    from tirelife.rates import fit as fits
    from tirelife.rates import fit_logbook

    learn, spent = fits.learn_causes, {"learned": [], "held": []}
    with tempfile.TemporaryDirectory() as folder:
        simulate(Path(folder), Fleet(cars, {"corners": 3.0}), 31)
        for _ in range(turns):
            for way, used in (("learned", learn), ("held", lambda *given: (given[3].factors, None))):
                fits.learn_causes = used
                try:
                    book = read_logbook(folder)
                    begun = time.process_time()
                    fit_logbook(book)
                    spent[way].append(time.process_time() - begun)
                finally:
                    fits.learn_causes = learn
    learned, held = (float(np.median(spent[way])) for way in ("learned", "held"))
    said = f"over one that learns none, {cars} cars; {learned:.2f} over {held:.2f} s of processor time, medians of {turns}"
    return row("time of a fit with factors learned", f"{learned / held:.2f}", "times", "1.5 at most", said)


def run() -> list[dict[str, Any]]:
    """Coverage of planted factors and of gains, error of rates ahead, and time of the fit."""
    out = []
    for cars, of_each, count in SIZES:
        out += coverage(cars, of_each) + coverage_drawn(cars, count)
        first = 9_100_000 + 10_000 * cars
        out += coverage(cars, of_each, first, APART) + coverage_drawn(cars, count, first + 900_000, APART)
    for cars, right, bends, prior, turn in AHEAD:
        out += all_ahead(cars, right, bends, prior, turn, 8_500_000 + 10_000 * cars)
    out.append(time_of_fit())
    for cars, each in BESIDE:
        out += ideal_rows(cars, each) + straight_rows(cars, each)
    return out


if __name__ == "__main__":
    if sys.argv[1] == "ideal":
        first = int(sys.argv[4]) if len(sys.argv) > 4 else None
        print(pd.DataFrame(ideal_rows(int(sys.argv[2]), int(sys.argv[3]), first)).to_csv(index=False))
        sys.exit()
    fleets(int(sys.argv[1]), int(sys.argv[2])).to_csv(sys.argv[3], index=False)
