"""What correcting the cause of a pattern would buy, on two small logbooks: toe-in and an even tread."""

import numpy as np
import pandas as pd
import pytest

from tests.tread.books import EVEN, two_visits
from tirelife.errors import InputError
from tirelife.outlook import correct_causes, correction_ratios, forecast, gain_factors
from tirelife.rates import fit_logbook
from tirelife.tread import (
    correction_factors,
    latest_profiles,
    remaining_ratios,
    weigh_causes,
    wheel_histories,
)

TOE_IN = (4.3, 5.4, 5.9, 6.0, 6.0)


@pytest.fixture(scope="module")
def toed(tmp_path_factory):
    book = two_visits(tmp_path_factory.mktemp("toe") / "book", TOE_IN)
    return book, fit_logbook(book)


def test_toe_put_right_gains_at_the_front_by_the_ratio_of_the_grooves(toed):
    book, fit = toed
    table = correct_causes(book, fit)
    tires = table[table["position"] != "set"].set_index("position")
    assert set(table["change"]) == {"Toe put right"}
    assert set(tires.index) == {"LF", "RF"}
    assert (tires["cause"] == "toe_in").all()
    # The ratio itself, from the tread room; at this probability the median is near it.
    histories = wheel_histories(book)
    causes = weigh_causes(book, histories=histories).query("cause == 'toe_in'")
    factors = correction_factors(causes, histories, {"V1": "front"})
    ratio = remaining_ratios(factors, histories, latest_profiles(book, "V1"), 2 * 25.4 / 32)
    ratio = ratio.set_index("position")["ratio"]
    now = forecast(book, fit).set_index("position")["km_left_p50"]
    expected = now["LF"] * (ratio["LF"] - 1)
    assert tires.loc["LF", "probability"] > 0.9
    # The median of a product over draws, of which some rotate, is under the product of the medians.
    assert 0.75 * expected < tires.loc["LF", "km_gained_p50"] < 1.05 * expected
    assert ratio["LF"] > 1.2
    assert (tires["km_gained_p10"] < tires["km_gained_p50"]).all()
    assert (tires["km_gained_p50"] < tires["km_gained_p90"]).all()
    assert (tires["months_gained_p50"] > 0).all()
    row = table[table["position"] == "set"].iloc[0]
    assert 0 < row["km_gained_p50"] <= tires["km_gained_p50"].max() + 1


def test_nothing_is_offered_on_an_even_tread(tmp_path):
    book = two_visits(tmp_path / "book", EVEN)
    assert correction_ratios(book).empty
    none = correct_causes(book, fit_logbook(book))
    assert none.empty
    assert {"km_gained_p50", "months_gained_p90", "cause"} <= set(none.columns)


def test_wear_round_the_tread_is_no_angle_and_is_not_offered(toed):
    book, _ = toed
    causes = pd.DataFrame(
        {"vehicle_id": "V1", "position": "LF", "cause": ["cupping"], "side": "", "probability": 0.95}
    )
    assert correction_ratios(book, causes=causes).empty


def test_a_cause_less_likely_than_not_is_not_offered(toed):
    book, _ = toed
    likely = weigh_causes(book)
    assert len(correction_ratios(book, causes=likely))
    doubtful = likely.assign(probability=0.45 * likely["probability"])
    assert correction_ratios(book, causes=doubtful).empty


def test_the_ratio_counts_with_its_probability():
    # By hand: with chance 0.6 the distance is 1.5 times as long, else as now: mean 1 + 0.6 * 0.5.
    row = pd.DataFrame({"probability": [0.6], "ratio": [1.5], "ratio_low": [1.5], "ratio_high": [1.5]})
    points = (np.arange(1000) + 0.5) / 1000
    factor = gain_factors(row, points)[0]
    assert factor.mean() == pytest.approx(1.3, abs=1e-3)
    assert set(np.round(factor, 9)) == {1.0, 1.5}
    spread = gain_factors(row.assign(ratio_low=1.2, ratio_high=1.9), points)[0]
    assert (np.diff(spread) >= 0).all()
    assert np.median(spread[400:]) == pytest.approx(1.5, rel=0.01)


def test_a_limit_by_position_counts_at_its_position_alone(toed):
    book, _ = toed
    shallow = correction_ratios(book, removal_depth_mm=1.6).set_index("position")["ratio"]
    assert list(shallow.index) == ["LF", "RF"]
    # The outer groove stands at 4.3 mm: at a limit of 4.5 there is no distance left for a correction to stretch.
    depths = pd.Series({"LF": 4.5, "RF": 1.6, "LR": 1.6, "RR": 1.6})
    found = correction_ratios(book, removal_depth_mm=depths).set_index("position")["ratio"]
    assert found.to_dict() == {"RF": pytest.approx(shallow["RF"])}


def test_a_vehicle_that_is_not_there_is_refused(toed):
    with pytest.raises(InputError, match="V9"):
        correction_ratios(toed[0], ["V9"])
