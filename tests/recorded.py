"""A car's visit at the counter's page beside the same visit recorded in the log, its fit's variances held."""

from __future__ import annotations

import math
from contextlib import contextmanager
from dataclasses import replace
from unittest import mock

import numpy as np
import pandas as pd

from tirelife.logbook import Visit, convert_logbook, read_logbook, record_visit
from tirelife.outlook import kept_fit, project
from tirelife.outlook.calibrating import Calibration, calibrate
from tirelife.outlook.counter import CounterVisit, counter_state, counter_tables
from tirelife.outlook.returning import car_tables, history_of, unpacked
from tirelife.outlook.state import present_state
from tirelife.rates import PUBLISHED, Belief, fit_logbook
from tirelife.rates.blocks import VARIANCES
from tirelife.rates.fit import solve_logbook
from tirelife.tread import tire_visits

__all__ = ["Shop", "beside"]

LOG = "data_synthetic/logbook"
ROAD = ("LF", "RF", "LR", "RR")
KM = [f"km_left_{p}" for p in ("p10", "p25", "p50", "p75", "p90")]
MM = 25.4 / 32


class Shop:
    """The demo's log, its fit, and what a page of it holds."""

    def __init__(self):
        self.book = read_logbook(LOG)
        self.fit, self.found = kept_fit(self.book), solve_logbook(self.book)
        self.tables = counter_tables(
            self.fit.posterior, self.book, car_tables(self.book, self.fit, self.found)
        )
        self.state = present_state(self.book, self.fit)
        self.read = tire_visits(self.book)

    @contextmanager
    def held(self):
        """Spreads, factors, the law of the curvature and the fleet's pace as the log gave them."""
        pace, found = self.tables["car_law"], self.found
        variances, level = (pace["year_log_sd"], pace["drift_log_sd"]), (pace["center"], pace["between"])
        learned = self.fit.factors, None
        with (
            mock.patch("tirelife.rates.fit.learn_causes", return_value=learned),
            mock.patch(
                "tirelife.rates.fit.within_bend", return_value=(found.bend_posterior, found.bend_sd_ratio)
            ),
            mock.patch("tirelife.rates.daily.pace_spreads", return_value=variances),
            mock.patch("tirelife.rates.daily.season_strength", return_value=pace["season"]),
            mock.patch("tirelife.rates.daily._fleet_level", return_value=level),
        ):
            yield

    def fitted(self, book):
        """A fit of a grown log with all that held, calibrated as the log's was."""
        variances = {
            n: Belief(math.log(max(v, 1e-40)) / 2, 0.0)
            for n, v in zip(VARIANCES, self.found.estimate.variances, strict=True)
        }
        fit = fit_logbook(book, replace(PUBLISHED, spreads={**PUBLISHED.spreads, **variances}))
        return calibrate(fit, Calibration(**self.fit.frames["calibration"].iloc[0].to_dict()))


def beside(shop, name, folder, rng):
    """A visit of a car some months on, worn as it was expected to be: by the page, and recorded.

    Returns
    -------
    ours, theirs : DataFrame
        Forecasts by position; groove patterns and the chance of a rotation are the page's on both sides, since
        they are not learned at a counter.
    """
    car = unpacked(shop.tables["cars"][name]["numbers"])
    mine = shop.state[shop.state["vehicle_id"] == name].set_index("position")
    gone = float(rng.choice([3000.0, 6000.0, 12_000.0]))
    day = shop.book.as_of + pd.Timedelta(days=int(gone / max(mine["km_per_day"].iloc[0], 5.0)))
    half = math.exp(car["mean"][8] / 2)
    run = car["front"] * half + car["rear"] / half + car["onward"] * gone * [half, half, 1 / half, 1 / half]
    expected = car["mean"][:4] - np.exp(car["mean"][4:8]) * run
    typed = {}
    for place, depth in zip(ROAD, expected, strict=True):
        before = shop.read[shop.read["tire_id"] == mine.loc[place, "tire_id"]]
        off = np.zeros(3)
        if len(before):
            grooves = before[["outer_mm", "center_mm", "inner_mm"]].to_numpy(float)[-1]
            off = np.nan_to_num(grooves - np.nanmean(grooves))
        typed[place] = [max(round((depth + o + rng.normal(0, 0.1)) / MM * 2) / 2, 1.0) for o in off]
    odometer = float(car["at"][0]) + gone
    log = folder / f"{name}.sqlite"
    convert_logbook(LOG, log)
    rows = [
        (p, g, str(d), "") for p in ROAD for g, d in zip(("outer", "center", "inner"), typed[p], strict=True)
    ]
    visit = Visit(name, f"{day:%Y-%m-%d}", str(odometer / 1.609344), rows)
    assert record_visit(log, visit, accept_doubts=True).written
    with shop.held():
        book = read_logbook(log, as_of=f"{day:%Y-%m-%d}")
        state = present_state(book, shop.fitted(book))
    state = state[(state["vehicle_id"] == name) & state["position"].isin(ROAD)].reset_index(drop=True)
    for column in ("limit_mm", "limit_sd_mm"):
        state[column] = state["position"].map(mine[column])
    mean = {p: float(np.mean(typed[p])) * MM for p in ROAD}
    told = CounterVisit(
        {p: min(typed[p]) * MM for p in ROAD}, dict.fromkeys(ROAD, 1.5875), day, car=name,
        odometer_km=odometer, mean_mm=mean, grooves=dict.fromkeys(ROAD, 3),
    )  # fmt: skip
    assert history_of(shop.tables, told) == "used"
    page = counter_state(shop.tables, told)
    both = [project(one.assign(chance=0.0)).set_index("position").loc[list(ROAD)] for one in (page, state)]
    return both[0], both[1]
