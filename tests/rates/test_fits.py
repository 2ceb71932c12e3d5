"""Whether a last reading fits what came before: a whole visit of the demo, spoilt."""

import math
from dataclasses import replace

import numpy as np
import pytest

from tirelife.logbook import of_vehicles, read_logbook
from tirelife.outlook.state import present_state
from tirelife.rates import PUBLISHED, fit_logbook
from tirelife.rates.fits import _before, hold_both, misfits
from tirelife.rates.present import tires_now
from tirelife.rotation import vehicle_set
from tirelife.tread import Verdict

N32 = 25.4 / 32


def spoilt(book, change, vehicle="V03"):
    """The logbook with every depth of a vehicle's last visit changed."""
    depths = book.depths
    last = depths.loc[depths["vehicle_id"] == vehicle, "date"].max()
    rows = (depths["vehicle_id"] == vehicle) & (depths["date"] == last)
    assert rows.sum() >= 12
    depths.loc[rows, "depth_mm"] = change(depths.loc[rows, "depth_mm"])
    return replace(book, tables={**book.tables, "depths": depths})


@pytest.fixture(scope="module")
def demo():
    return read_logbook("data_synthetic/logbook")


def test_on_the_demo_as_it_is_every_last_reading_fits(demo):
    state = present_state(demo, fit_logbook(demo))
    assert state["fits"].all()


@pytest.mark.parametrize("vehicle", ["V03", "V07"])
@pytest.mark.parametrize(
    "change",
    [lambda d: 0 * d + 2.5 * N32, lambda d: 0 * d, lambda d: d - 2 * N32, lambda d: d + 1.5 * N32],
    ids=["all at 2.5/32", "all zero", "2/32 less", "1.5/32 more"],
)
def test_in_a_log_of_one_car_a_last_visit_that_does_not_fit_is_told_and_both_are_held(demo, change, vehicle):
    # The fit of so small a log follows the visit, or is refused and ends at it: nothing is outvoted.
    one = of_vehicles(demo, [vehicle])
    assert present_state(one, fit_logbook(one))["fits"].all()
    book = spoilt(one, change, vehicle)
    fit = fit_logbook(book)
    now = tires_now(book, fit)
    assert (now["misfit_mm"] != 0).all()
    read = fit.visits.drop_duplicates("tire_id", keep="last").set_index("tire_id")["depth_mm"]
    read = read.reindex(now["tire_id"]).to_numpy()
    spread = 1.2816 * np.sqrt(now["at_cov_depth_depth"])
    for held in (read, read - now["misfit_mm"]):  # the reading, and what is known without it
        assert (abs(now["at_depth"] - held) < spread).all()


@pytest.mark.parametrize(
    "change",
    [lambda d: 0 * d + 2.5 * N32, lambda d: 0 * d, lambda d: d * N32],
    ids=["all at 2.5/32", "all zero", "mm typed into 32nds"],
)
def test_a_whole_visit_that_fits_nothing_is_told_and_both_are_held(demo, change):
    book = spoilt(demo, change)
    fit = fit_logbook(book)
    state = present_state(book, fit)
    assert set(state.loc[~state["fits"], "vehicle_id"]) == {"V03"}
    own = state[state["vehicle_id"] == "V03"].set_index("tire_id")
    assert not own["fits"].any()
    read = fit.visits.drop_duplicates("tire_id", keep="last").set_index("tire_id")["depth_mm"]
    said = fit.tires.set_index("tire_id")["depth_mm"]
    spread = 1.2816 * own["mean_depth_sd_mm"]
    planned = vehicle_set(book, "V03", fit).depths.reindex(own["position"]).to_numpy()
    # The planner stands where the forecast stands, or at its limit where it was read there.
    down = (own["verdict"] == Verdict.AT_OR_UNDER).to_numpy()
    np.testing.assert_allclose(planned[~down], own["depth_now_mm"].to_numpy()[~down], rtol=1e-12)
    assert (planned[down] <= own["depth_now_mm"].to_numpy()[down]).all()
    run = 0.2  # a little was worn since the reading
    for held in (read.reindex(own.index), said.reindex(own.index)):
        assert (own["mean_depth_mm"] - spread < held).all()
        assert (own["mean_depth_mm"] + spread + run > held).all()


def test_what_fits_is_left_as_it_is(demo):
    fit = fit_logbook(demo)
    state = present_state(demo, fit)
    gap, _ = misfits(fit, state["tire_id"])
    assert (gap == 0).all()
    names = ["at_depth", "at_cov_depth_depth"]
    before = state[names].copy()
    hold_both(state, gap, 0.75)
    assert state[names].equals(before)
    # Half way, but no further from the reading than 0.75 mm; the estimate stays within one sd.
    for gap_mm, way in ((-1.0, -0.5), (1.5, 0.75), (2.0, 1.25), (-4.0, -3.25)):
        moved = before.copy()
        hold_both(moved, np.where(np.arange(len(gap)) == 0, gap_mm, 0.0), 0.75)
        assert moved["at_depth"][0] == pytest.approx(before["at_depth"][0] + way)
        assert moved["at_cov_depth_depth"][0] == pytest.approx(before["at_cov_depth_depth"][0] + way**2)
        assert moved[1:].equals(before[1:])


@pytest.mark.parametrize("of_one_car", [True, False])
@pytest.mark.parametrize("depth", [0.0, 2.5 * N32, 14 * N32])
def test_depth_at_a_reading_that_fits_nothing_stays_as_near_it_as_a_gauge_may_be_off(demo, depth, of_one_car):
    book = spoilt(of_vehicles(demo, ["V03"]) if of_one_car else demo, lambda d: 0 * d + depth)
    fit = fit_logbook(book)
    now = tires_now(book, fit)
    now = now[now["vehicle_id"] == "V03"]
    assert (now["misfit_mm"] != 0).all()
    # A step of a gauge that reads whole 32nds, and three sds of gauge and visit (0.32/32).
    assert (abs(now["at_depth"] - depth) < (0.5 + 3 * 0.32) * N32).all()


def test_what_one_earlier_reading_says_of_the_next_is_as_worked_by_hand():
    # One reading of 8 mm at 10,000 km, the last one 20,000 km on: the line falls at the published rate r, known
    # to half of itself, and a stretch wears by a quarter more or less.
    rate, run, noise = math.exp(PUBLISHED.log_rate.mean), 20_000.0, 0.2
    expected, sd = _before(np.array([0]), np.array([10_000.0]), np.array([8.0]), np.array([30_000.0]), noise)
    assert expected == pytest.approx([8.0 - rate * run])
    variance = 2 * noise**2 + (0.5 * rate * run) ** 2 + (0.25 * rate * run) ** 2
    assert sd == pytest.approx([math.sqrt(variance)])
    assert _before(*np.zeros((3, 0), dtype=int), np.array([1.0]), noise)[1] == [np.inf]
