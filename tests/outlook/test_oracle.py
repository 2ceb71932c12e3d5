"""Forecasts against draws from the fit's own posterior, run wheel by wheel; shares no code with the package.

The oracle takes the fit's means and covariances, the logbook's mounts and the severity of each stretch, draws
5,000 tires each and runs them mount by mount to today and step by step onwards, with the rotations that the
forecast says may come. It knows no formula of the package's: paths are stepped, crossings are counted.
"""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.outlook.folders import one_car
from tirelife.logbook import read_logbook
from tirelife.outlook import forecast, present_state
from tirelife.rates import PUBLISHED, fit_logbook
from tirelife.rates.fits import misfits
from tirelife.wear import stretch_severity

DEMO = Path(__file__).parents[2] / "data_synthetic" / "logbook"
DRAWS = 5_000
STEP_KM = 500.0
LEVELS = (0.1, 0.25, 0.5, 0.75, 0.9)


def normals(rng, tire, law, draws):
    """Depth, log rate on its last axle, log ratio of the axles and q, drawn."""
    mean = [tire.depth_mm, tire.log_wear, tire.log_axle_front - tire.log_axle_rear, tire.q]
    cov = np.diag([tire.depth_sd_mm**2, tire.log_wear_sd**2, tire.axle_sd**2, tire.q_sd**2])
    for i, j, value in (
        (0, 1, tire.depth_log_wear_cov), (0, 2, tire.depth_axle_cov), (0, 3, tire.depth_q_cov),
        (1, 2, tire.log_wear_axle_cov), (1, 3, tire.log_wear_q_cov), (2, 3, tire.axle_q_cov),
    ):  # fmt: skip
        cov[i, j] = cov[j, i] = value
    drawn = rng.multivariate_normal(mean, cov, draws, method="eigh").T
    # q is of two kinds, straight and bent; what goes with it goes in proportion.
    kind = rng.choice(2, draws, p=law["share"] / law["share"].sum())
    q = rng.normal(law["mean"].to_numpy()[kind], law["sd"].to_numpy()[kind])
    return drawn + np.outer(cov[3] / cov[3, 3], q - drawn[3])


class Worn:
    """Draws of one tire, stepped."""

    def __init__(self, rng, tire, law, draws):
        self.rng, self.draws = rng, draws
        self.depth, self.log_rate, self.axle, self.q = normals(rng, tire, law, draws)
        self.start = np.maximum(self.depth, 0.05)
        self.front = tire.position in ("LF", "RF")
        self.wander, self.scatter = tire.wander_var_per_km, tire.scatter_km
        self.walk = np.zeros(draws)

    def iterate(self, km, severity, front):
        """So many km at that severity, on the front, the rear or (None) half on each."""
        ahead = {True: self.axle, False: 0.0, None: np.log((np.exp(self.axle) + 1) / 2)}[front]
        clock = km * severity * np.exp(ahead - (self.axle if self.front else 0.0))
        self.walk += self.rng.normal(size=self.draws) * np.sqrt(self.wander * clock)
        run = clock + self.rng.normal(size=self.draws) * np.sqrt(self.scatter * clock)
        left = np.maximum(self.depth, 0.02) / self.start
        self.depth = self.depth - np.exp(self.log_rate + self.walk) * left**self.q * run


def since(parts, tire, row, pace):
    """Stretches after the tire's last reading, in order: km, severity, axle."""
    own = parts[(parts["tire_id"] == tire.tire_id) & (parts["to_date"] >= tire.last_date)].sort_values(
        "from_date"
    )
    for part in own.itertuples():
        begin = part.from_km
        if part.vehicle_id == tire.vehicle_id:
            begin = max(begin, tire.last_odometer_km)
        if part.to_km > begin and part.position != "SP":
            yield part.to_km - begin, part.severity, part.position in ("LF", "RF")
    last = parts.loc[parts["vehicle_id"] == row.vehicle_id, "to_km"].max()
    if row.odometer_km > last and row.position != "SP":
        yield (row.odometer_km - last) * pace, row.here, row.position in ("LF", "RF")


def oracle(parts, tire, row, seed, law, draws=DRAWS, either=(0.0, 0.0)):
    """Distances left, drawn. ``either``: the depth is one of two, each as likely, so far from the fit's [mm]."""
    rng = np.random.default_rng(seed)
    worn = Worn(rng, tire, law, draws)
    if any(either):
        worn.depth = worn.depth + np.where(np.arange(draws) % 2, *either)
        worn.start = np.maximum(worn.depth, 0.05)
    pace = np.exp(row.log_sd * rng.normal(size=draws))  # the odometer of today is a guess too
    for km, severity, front in since(parts, tire, row, pace):
        for _ in range(n := int(np.ceil(np.max(km) / STEP_KM))):
            worn.iterate(km / n, severity, front)
    front = {"front": True, "rear": False, "spare": None}[row.axle]
    limit = row.limit_mm + row.limit_sd_mm * rng.normal(size=draws)
    worn.log_rate = worn.log_rate + row.bend_log_sd * rng.normal(size=draws)
    # An interval longer than the one under way, and from then on the usual one.
    first = np.full(draws, np.inf)
    waiting = np.ones(draws, dtype=bool)
    while waiting.any():
        drawn = row.every_km * np.exp(row.interval_log_sd * rng.normal(size=draws))
        first = np.where(waiting, drawn, first)
        waiting = first <= row.since_km
        if row.chance < 1e-3:
            break
    every = row.every_km * np.exp(row.every_log_sd * rng.normal(size=draws))
    due = np.where(rng.random(draws) < row.chance, first - row.since_km, np.inf)
    left, gone, x = np.full(draws, np.nan), worn.depth <= limit, 0.0
    left[gone] = 0.0
    here, there = row.here, row.there
    while np.isnan(left).mean() > 0.05 and x < 400_000:
        before = worn.depth
        middle = x + STEP_KM / 2  # a step is run on the axle that most of it is on
        turned = (middle >= due) & (np.floor((middle - np.where(np.isinf(due), 0, due)) / every) % 2 == 0)
        saved = worn.depth.copy(), worn.walk.copy()
        state = rng.bit_generator.state
        worn.iterate(STEP_KM, here, front)
        stays = worn.depth, worn.walk
        if turned.any():  # the same chance, on the other axle
            worn.depth, worn.walk = saved
            rng.bit_generator.state = state
            worn.iterate(STEP_KM, there, None if front is None else not front)
            worn.depth = np.where(turned, worn.depth, stays[0])
            worn.walk = np.where(turned, worn.walk, stays[1])
        crossed = np.isnan(left) & (worn.depth <= limit)
        share = (before - limit) / np.maximum(before - worn.depth, 1e-9)
        left[crossed] = (x + STEP_KM * np.clip(share, 0, 1))[crossed]
        x += STEP_KM
    left = np.where(np.isnan(left), x, left) * (1.25 if row.spare_turns else 1.0)
    return left


@cache
def fitted(cut):
    book = read_logbook(DEMO, as_of=cut)
    return book, fit_logbook(book)


@pytest.fixture(scope="module")
def off():
    """How far the forecast's quantiles are from the oracle's, a row a tire of the demo: half of them today and half on
    an earlier day; tires moved since they were read, never read and, all of them, read once.
    """
    rows, kinds = [], []
    for cut, part in ((None, slice(0, None, 2)), ("2025-09-01", slice(1, None, 2))):
        book, fit = fitted(cut)
        state = present_state(book, fit)
        table = forecast(book, fit)
        parts = stretch_severity(book, fit.factors)
        tires = fit.tires.set_index("tire_id", drop=False)
        km = table[[f"km_left_p{round(100 * p)}" for p in LEVELS]].to_numpy()
        last = tires["position"].reindex(state["tire_id"]).to_numpy(object)
        halved = set(range(len(state))[part])
        for i, row in enumerate(state.itertuples()):
            if i not in halved and row.visits != 1:
                continue
            if not np.isfinite(km[i]).all() or row.verdict == "at-or-under":
                continue
            if row.misfit_mm != 0:  # no draw of the fit's law, but held between reading and fit: see ``torn``
                continue
            asked = parts, next(tires.loc[[row.tire_id]].itertuples()), row, i, fit.frames["bend"]
            want = oracle(*asked)
            middle = np.quantile(want, LEVELS)
            if np.abs(km[i] - middle).max() > 0.015 * middle[2]:  # it may be the oracle's own chance
                want = oracle(*asked, 7 * DRAWS)
                middle = np.quantile(want, LEVELS)
            rows.append([(km[i] - middle) / middle[2], (want[:, None] <= km[i]).mean(axis=0) - LEVELS])
            moved = row.visits > 0 and last[i] != row.position
            once = "read once" if row.visits == 1 else ""
            kinds.append({"never read" if row.visits == 0 else once, "moved" * moved})
    return np.array(rows), kinds


def test_forecasts_of_all_demo_tires_are_the_posterior_run_wheel_by_wheel(off):
    gap, chance = off[0][:, 0], off[0][:, 1]
    assert len(gap) >= 90
    # In shares of the median distance. Both sides are draws: what is left is chance.
    assert np.abs(gap).max() < 0.03
    assert np.sqrt(np.mean(gap**2)) < 0.01
    # Between the two kinds of tread few draws lie, and a small chance is a long way.
    assert np.abs(chance).max() < 0.08
    # The draws are the same for every tire, and so is their chance: it does not cancel over tires.
    assert np.abs(gap.mean(axis=0)).max() < 0.015


@pytest.mark.parametrize("kind", ["moved", "never read", "read once"])
def test_kinds_that_went_wrong_are_centred_too(off, kind):
    gap, kinds = off
    some = gap[[kind in one for one in kinds], 0]
    assert len(some) >= 4
    assert np.abs(some.mean(axis=0)).max() < 0.015
    assert (np.abs(some) < 0.03).mean() > 0.95


def test_a_spare_that_takes_its_turn_is_the_posterior_run_wheel_by_wheel(tmp_path):
    # The demo has no spares: a car on five tires, rotated through the boot four times.
    places = ["LF", "RF", "LR", "RR", "SP"]
    goes = {"LF": "LR", "LR": "SP", "SP": "RF", "RF": "RR", "RR": "LF"}
    days = [str(d.date()) for d in pd.date_range("2024-01-01", periods=10, freq="90D")]
    at, worn, mounts, depths = {f"T{i}": p for i, p in enumerate(places)}, dict.fromkeys("01234", 0.0), [], []
    for k, day in enumerate(days):
        miles = 10_000 + 3000 * k
        if k % 2 == 0:
            at = at if k == 0 else {tire: goes[place] for tire, place in at.items()}
            mounts += [(day, miles, "V1", tire, place) for tire, place in at.items()]
            continue
        for tire, place in at.items():
            worn[tire[1]] += {"F": 1.4, "R": 0.8, "P": 0.0}[place[1]]
            if place != "SP":
                depths.append((day, miles, "V1", place, "center", round(2 * (10 - worn[tire[1]])) / 2))
    book = read_logbook(
        one_car(tmp_path, [], mounts=mounts, depths=depths, tires=[(f"T{i}", "Line A", 10) for i in range(5)])
    )
    fit = fit_logbook(book)
    state = present_state(book, fit)
    i = int(np.flatnonzero(state["position"] == "SP")[0])
    row = state.iloc[i]
    assert row.spare_turns
    assert row.misfit_mm == 0
    tires = fit.tires.set_index("tire_id", drop=False)
    asked = (
        stretch_severity(book, fit.factors),
        next(tires.loc[[row.tire_id]].itertuples()),
        row,
        3,
        fit.frames["bend"],
    )
    middle = np.quantile(oracle(*asked, 3 * DRAWS), LEVELS)
    km = forecast(book, fit).loc[i, [f"km_left_p{round(100 * p)}" for p in LEVELS]].to_numpy(float)
    assert np.abs(km - middle).max() < 0.03 * middle[2]


GAPS = (-1.2, -1.0, 1.0, 1.2)  # [mm]


@pytest.fixture(scope="module")
def torn():
    """Tires whose last reading is so many mm off the fit's estimate: forecast's quantiles, and draws of which half
    stand at the estimate and half as far beyond the forecast's mean on the reading's side.
    """
    book, fit = fitted("2025-09-01")
    visits = fit.frames["visits"].copy()
    tires = fit.tires.set_index("tire_id", drop=False)
    last = visits.reset_index().drop_duplicates("tire_id", keep="last").set_index("tire_id")
    sound = present_state(book, fit)
    read = sound[(sound["visits"] > 3) & (sound["misfit_mm"] == 0) & (sound["verdict"] != "at-or-under")]
    read = read[tires.loc[read["tire_id"], "depth_mm"].to_numpy() > 4.5].drop_duplicates("vehicle_id")
    chosen = dict(zip(read["tire_id"], GAPS, strict=False))
    for tire, gap in chosen.items():
        visits.loc[last.loc[tire, "index"], "depth_mm"] = tires.loc[tire, "depth_mm"] + gap
        # As a fit of four readings or more finds it: far off, and it hardly counts.
        visits.loc[last.loc[tire, "index"], ["outlier", "weight"]] = True, 0.01 / gap**2
    fit = replace(fit, frames={**fit.frames, "visits": visits})
    state, parts = present_state(book, fit), stretch_severity(book, fit.factors)
    table = forecast(book, fit)
    out = []
    for i in np.flatnonzero(state["tire_id"].isin(list(chosen))):
        row = state.iloc[i]
        km = table.loc[i, [f"km_left_p{round(100 * p)}" for p in LEVELS]].to_numpy(float)
        tire = next(tires.loc[[row.tire_id]].itertuples())
        (gap,), (pulled,) = misfits(fit, state["tire_id"].iloc[[i]])
        assert abs(gap) >= 0.99 * abs(chosen[row.tire_id])
        # Half way, but no further from the reading than three sds of gauge and visit, as learned or published.
        sds = [
            np.exp(min(one.spreads[n].mean for one in (fit.posterior, PUBLISHED))) for n in ("noise", "visit")
        ]
        way = max(abs(gap) / 2, abs(gap) - 3 * np.hypot(*sds))
        other = np.sign(gap) * 2 * way
        drawn = oracle(parts, tire, row, i, fit.frames["bend"], either=(-pulled, other - pulled))
        out.append((row.tire_id, row.misfit_mm, km, drawn))
    assert len(out) == len(GAPS)
    return out


def test_of_a_reading_and_a_fit_that_contradict_each_other_the_answer_holds_both(torn):
    for tire, gap, km, drawn in torn:
        want = np.quantile(drawn, LEVELS)
        # A normal law of the depth with mean and variance of both is not quite both.
        assert np.abs(km - want).max() < 0.045 * want[2], (tire, gap)
        for half in (drawn[::2], drawn[1::2]):
            assert ((half >= km[0]) & (half <= km[-1])).mean() > 0.7, (tire, gap)
