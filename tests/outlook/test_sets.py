"""When the first tire of a set is due, of tires that wear so many km without doubt."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from tests.rates.standing import stands
from tirelife.outlook.sets import first_chances, first_quantiles, set_outlook
from tirelife.rates import COUNT
from tirelife.tread import Verdict

TODAY = pd.Timestamp("2026-06-01")
PLACES = ["LF", "RF", "LR", "RR"]


def car(depths, places=PLACES, **more):
    """Tires of so many mm: each mm over 2 goes 10,000 km, at 50 km a day."""
    return stands(len(places), position=places, at_depth=depths, as_of=TODAY, **more)


def groups(state):
    return set_outlook(state).set_index(["vehicle_id", "group"])


def test_a_set_is_due_with_its_first_tire_and_an_axle_with_the_first_of_its_two():
    found = groups(car([5.0, 4.0, 4.5, 6.0])).loc["V1"]
    assert found["km_left_p50"].tolist() == pytest.approx([20_000, 20_000, 25_000])
    assert found.index.tolist() == ["set", "front pair", "rear pair"]
    assert found["first"].tolist() == ["RF", "RF", "LR"]
    assert found["tires"].tolist() == [4, 2, 2]
    assert found["date_p10"].tolist() == [TODAY + pd.Timedelta(days=d) for d in (400, 400, 500)]


def test_levels_are_those_of_the_least_of_all_tires_draw_by_draw():
    # Two tires whose log distances vary by 0.2 each by itself: P(least > x) = P(one > x) P(other > x).
    found = groups(car([6.0, 6.0, 9.0, 9.0], bend_log_sd=0.2, walk_share=0.0)).loc[("V1", "set")]
    for level in (10, 25, 50, 75, 90):
        want = 40_000 * np.exp(0.2 * norm.ppf(1 - np.sqrt(1 - level / 100)))
        assert found[f"km_left_p{level}"] == pytest.approx(want, rel=0.02)


def test_each_vehicle_has_three_rows_in_its_own_name_whatever_its_tires():
    state = pd.concat(
        [car([5.0, 4.0, 4.5, 6.0], vehicle_id="B"), car([3.0], ["LF"], vehicle_id="A"),
         car([5.0], ["SP"], vehicle_id="C")], ignore_index=True
    )  # fmt: skip
    found = groups(state)
    assert found.index.get_level_values(0).tolist() == ["A"] * 3 + ["B"] * 3 + ["C"] * 3
    assert found.loc[("A", "set"), "km_left_p90"] == pytest.approx(10_000)
    assert found.loc[("A", "rear pair"), ["tires", "first"]].tolist() == [0, ""]
    assert np.isnan(found.loc[("A", "rear pair"), "km_left_p50"])
    assert pd.isna(found.loc[("A", "rear pair"), "date_p50"])
    assert found.loc["C", "tires"].tolist() == [0, 0, 0]  # a spare that lies is of no set
    assert set_outlook(state.iloc[:0]).empty


def test_a_tire_without_a_forecast_does_not_hide_the_others():
    state = car([5.0, 4.0, np.nan, 6.0])
    found = groups(state).loc["V1"]
    assert found.loc["set", "tires"] == 3
    assert found.loc["set", "km_left_p50"] == pytest.approx(20_000)
    assert found.loc["rear pair", "first"] == "RR"


def test_days_end_with_age_and_distances_do_not():
    found = groups(car([5.0, 4.0, 4.5, 6.0], age_days=[100.0, 900.0, 900.0, 900.0])).loc["V1"]
    assert found.loc["set", "date_p50"] == TODAY + pd.Timedelta(days=100)
    assert found.loc["set", "km_left_p50"] == pytest.approx(20_000)
    assert found.loc["set", "first"] == "RF"


def chances(state):
    return first_chances(state).set_index(["vehicle_id", "position"])["chance"].to_dict()


def test_the_surely_first_has_all_the_chance_and_those_that_tie_share_it():
    assert chances(car([5.0, 4.0, 4.5, 6.0])) == {("V1", "RF"): 1.0}
    assert chances(car([4.0, 4.0, 4.5, 4.0])) == pytest.approx(
        dict.fromkeys([("V1", p) for p in ("LF", "RF", "RR")], 1 / 3)
    )
    down = car(
        [4.0, 4.0, 4.5, 4.0], verdict=[Verdict.AT_OR_UNDER, Verdict.OVER, Verdict.OVER, Verdict.AT_OR_UNDER]
    )
    assert chances(down) == {("V1", "LF"): 0.5, ("V1", "RR"): 0.5}


def test_chances_of_a_vehicle_sum_to_one_over_its_four():
    both = pd.concat(
        [car([5.0, 4.8, 4.5, 6.0], bend_log_sd=0.3), car([2.5, 4.8, 4.9, 5.0, 1.0], [*PLACES, "SP"], vehicle_id="V2",
         bend_log_sd=0.3, spare_turns=True)], ignore_index=True
    )  # fmt: skip
    found = first_chances(both)
    assert found.groupby("vehicle_id")["chance"].sum().to_dict() == pytest.approx({"V1": 1.0, "V2": 1.0})
    assert "SP" not in found["position"].tolist()
    first = found[found["vehicle_id"] == "V1"].set_index("position")["chance"]
    assert first["LR"] > first["RF"] > first["LF"] > first["RR"]


def test_of_any_rows_the_first_is_that_of_all_and_one_unknown_leaves_it_unknown():
    state = pd.concat(
        [car([5.0, 4.0], ["LF", "SP"], vehicle_id="B", spare_turns=True), car([5.0, np.nan], ["LF", "RF"], vehicle_id="A")],
        ignore_index=True,
    )  # fmt: skip
    names, found = first_quantiles(state, (0.1, 0.5))
    assert names.tolist() == ["B", "A"]
    # Spares that take turns rest the set: five tires do the work of four.
    assert found[0] == pytest.approx([25_000, 25_000, 500, 500])
    assert np.isnan(found[1]).all()
    none, empty = first_quantiles(state.iloc[:0], (0.1, 0.5))
    assert (len(none), empty.shape) == (0, (0, 4))
    assert COUNT == 512
