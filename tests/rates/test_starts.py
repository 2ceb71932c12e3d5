import numpy as np
import pandas as pd
import pytest
from scipy.optimize import brentq
from scipy.stats import norm

from tests.rates.made import frames
from tirelife.rates import PUBLISHED, fit_rates
from tirelife.rates.starts import SPENT_MM, start_priors

NEW = PUBLISHED.new_depth.mean


def priors(depths, runs, new=np.nan, line="A", first="2024-01-01", **columns):
    """Starts of tires read once each, on a vehicle each."""
    count = len(depths)
    table = pd.DataFrame({"tire_line": line, "new_depth_mm": new, "first_date": first}, index=range(count))
    table["vehicle_id"] = [f"V{i}" for i in range(count)]
    table = table.assign(**columns)
    used = pd.DataFrame({"depth_mm": depths, "reference_km": runs}).dropna()
    return start_priors(used.reset_index(drop=True), table, used.index.to_numpy(), PUBLISHED)


def test_an_unknown_start_is_as_wide_as_what_it_can_be():
    found = priors([3.2, 8.2], [500.0, 500.0])
    # anywhere from the indicators to new: the sd of a uniform law over it
    assert np.sqrt(found.variance[0]) == pytest.approx((NEW - SPENT_MM) / np.sqrt(12), rel=0.01)
    assert found.mean[0] == pytest.approx(3.2, abs=0.1)  # about where it was read
    assert found.worn.tolist() == [True, False]
    assert found.new.tolist() == [False, True]
    assert found.mean[1] > 7.0


def test_how_far_it_ran_is_taken_into_account():
    # 5.5 mm after 30,000 km is what a new tire reads at the usual rate; after 1,000 km it never is
    found = priors([5.5, 5.5], [30_000.0, 1_000.0])
    assert found.worn.tolist() == [False, True]


def test_its_own_wear_tells_more_than_the_usual():
    # 5 mm after 12,000 km: read again it wore 1.9 mm in 8,000 km, or hardly at all
    table = pd.DataFrame({"tire_line": "A", "new_depth_mm": [np.nan] * 2}, index=range(2))
    used = pd.DataFrame({"depth_mm": [5.0, 3.1, 5.0, 4.7], "reference_km": [12_000.0, 20_000.0] * 2})
    found = start_priors(used, table, np.array([0, 0, 1, 1]), PUBLISHED)
    assert found.worn.tolist() == [False, True]


def test_a_stated_depth_stands_until_a_reading_speaks_against_it():
    found = priors([7.5, 6.5, 3.0, np.nan, 8.9], [5_000.0, 20_000.0, 1_000.0, np.nan, 100.0], new=8.0)
    assert found.mean[[0, 1, 3, 4]].tolist() == [8.0] * 4
    assert found.variance[[0, 1, 3]].tolist() == [0.0] * 3
    assert found.worn.tolist() == [False, False, True, False, False]
    assert np.sqrt(found.variance[2]) > 1.5
    assert found.variance[4] == 0.0


def test_deeper_than_new_the_stated_depth_is_in_doubt():
    found = priors([9.2, 8.6], [100.0, 100.0], new=8.0, line=["A", "B"])
    assert found.over.tolist() == [True, False]
    assert found.mean.tolist() == [pytest.approx(9.2, abs=0.05), 8.0]
    assert found.variance.tolist() == [pytest.approx(1.0, abs=0.01), 0.0]
    assert not found.worn.any()
    many = priors([9.2, 9.3, 8.6, 8.6, 8.6], [100.0] * 5, new=8.0)
    assert many.over.all()  # then it is wrong for all of its line


@pytest.mark.parametrize("stated", [6.0, 9.9])
def test_a_whole_fleet_stated_wrong_by_over_two_32nds_does_not_make_visits_lean(stated):
    read, tires, vehicles = frames(vehicles=40, visits=1, seed=2, lines=(0.0,))
    fit = fit_rates(read, tires.assign(new_depth_mm=stated), vehicles)  # 8.0 mm in truth
    off = fit.tires.set_index("tire_id")["depth_mm"] - read.set_index("tire_id")["depth_mm"]
    assert off.abs().max() < 0.4
    visit = fit.components.set_index("term").loc["visit", "estimate"]
    assert visit < 0.3  # truth 0.12
    # the prior's rate is what is left to know it by, and the true one lies within two of its sds
    miss = fit.tires.set_index("tire_id")["log_wear"] - tires.set_index("tire_id")["true_log_rate"]
    assert np.median(np.abs(miss / fit.tires.set_index("tire_id")["log_wear_sd"])) < 2.0


def test_others_of_its_line_tell_what_new_is():
    found = priors([8.7, 8.7], [500.0, 500.0], new=[9.0, np.nan], first=["2024-01-01", "2024-01-01"])
    assert found.mean[1] > 8.0
    assert found.mean[1] > priors([8.7], [500.0]).mean[0]


def test_never_read_it_may_be_either():
    found = priors([np.nan, 8.2], [np.nan, 100.0])
    # As likely new as part-worn, which is halfway from the indicators to new: a quarter of the way down.
    assert found.mean[0] == pytest.approx(NEW - (NEW - SPENT_MM) / 4)
    assert np.sqrt(found.variance[0]) > 1.5


def test_a_log_teaches_how_many_come_part_worn():
    new = priors([8.3] * 30 + [6.6], [300.0] * 30 + [20_000.0])
    worn = priors([4.0] * 30 + [6.6], [300.0] * 30 + [20_000.0])
    assert new.new[-1]
    assert worn.worn[-1]
    assert new.variance[-1] < 0.7 * worn.variance[-1]


@pytest.mark.parametrize("visits", [1, 2, 4])
def test_part_worn_tires_stand_where_they_were_read(visits):
    read, tires, vehicles = frames(vehicles=2, visits=visits, seed=4, km=3000.0, lines=(0.0,), rotate=None)
    rear = read["position"].str[1] == "R"
    read.loc[rear, "depth_mm"] -= 4.0
    fit = fit_rates(read, tires.assign(new_depth_mm=np.nan), vehicles)
    last = read.drop_duplicates("tire_id", keep="last").set_index("tire_id")["depth_mm"]
    off = fit.tires.set_index("tire_id")["depth_mm"] - last
    assert off.abs().max() < 0.35  # gauge and visit: 0.12 mm each
    part = fit.tires[fit.tires["position"].str[1] == "R"]
    assert part["reason"].str.contains("fit-part-worn").all()


def test_how_many_come_part_worn_before_any_reading():
    # A tire of unknown new depth, mounted later than its vehicle was first recorded and never read: 15 in 100
    # are part-worn, and then halfway from the indicators to new.
    days = ["2024-01-01", "2025-01-01"]
    found = priors([np.nan, np.nan], [np.nan, np.nan], first=days, vehicle_id="V")
    assert found.mean[1] == pytest.approx(NEW - 0.15 * (NEW - SPENT_MM) / 2)


@pytest.mark.parametrize(("before", "day", "depth"), [(0.05, "2025-01-01", 6.6), (0.2, "2024-01-01", 6.8)])
def test_a_stated_depth_that_a_reading_speaks_against_is_weighed_by_bayes_rule(before, day, depth):
    # Stated 8 mm, read before it ran at all. New, it differs from 8 mm by 0.3 mm and the gauge errs by 0.35;
    # part-worn, it is anything from the indicators to 8 mm, and the gauge errs as much.
    new = norm.pdf(depth, 8.0, np.hypot(0.3, 0.35))
    worn = (norm.cdf((depth - SPENT_MM) / 0.35) - norm.cdf((depth - 8.0) / 0.35)) / (8.0 - SPENT_MM)

    def after(share):
        return share * worn / (share * worn + (1 - share) * new)

    # What was assumed is worth eight tires, and this one is the ninth.
    chance = after(brentq(lambda share: (8 * before + after(share)) / 9 - share, 0, 1))
    assert 0.5 < chance < 0.9
    found = priors([np.nan, depth], [np.nan, 0.0], new=8.0, first=["2024-01-01", day], vehicle_id="V")
    assert found.mean[1] == pytest.approx((1 - chance) * 8.0 + chance * depth, abs=1e-4)
