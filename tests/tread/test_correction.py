"""Correcting a cause as a what-if, groove by groove."""

import numpy as np
import pandas as pd
import pytest

from tirelife.logbook import GROOVES
from tirelife.tread import Wheel, WheelHistory, correction_factors, remaining_ratios
from tirelife.tread.correction import wheel_factors
from tirelife.tread.patterns import NOT_A_FAULT, Shape

VAR = np.full(5, 0.04)


def wheel(extra, wear=3.0):
    """A tire worn so far everywhere, and more in some grooves."""
    lost = wear + np.array(extra)
    return Wheel(8.0 - lost, VAR, float(lost.mean()))


def test_toe_corrected_leaves_the_even_wear():
    # 3 mm everywhere and toe-in's pattern on top, 1.5 mm at the outer edge: 3 / 4.5 of the wear there.
    factor, reason = wheel_factors(wheel([1.5, 0.6, 0.15, 0, 0]), "toe_in", driven=False)
    assert factor[0] == pytest.approx(3 / 4.5, abs=0.06)
    assert factor[4] == pytest.approx(1.0, abs=0.02)
    assert (np.diff(factor) >= -1e-9).all()
    assert reason == ""


def test_what_a_known_pattern_took_is_saved_exactly(monkeypatch):
    shape = [Shape((-1.0, -0.5, 0.0, 0.0, 0.0), 1.0)]
    monkeypatch.setattr("tirelife.tread.correction.shapes_of", lambda state, driven: shape)
    factor, _ = wheel_factors(wheel([1.5, 0.75, 0, 0, 0]), "toe_in", driven=False)
    assert factor == pytest.approx([3 / 4.5, 3 / 3.75, 1, 1, 1], abs=1e-9)


def test_an_even_tread_gains_nothing():
    for cause in ("toe_in", "toe_out", "low_pressure", "high_pressure", "camber_inner"):
        assert wheel_factors(wheel([0] * 5), cause, True)[0] == pytest.approx(np.ones(5), abs=1e-9)


def test_the_pattern_of_the_other_side_gains_nothing():
    assert wheel_factors(wheel([0, 0, 0.15, 0.6, 1.5]), "toe_in", False)[0][4] == pytest.approx(1.0, abs=0.02)


def test_what_cannot_be_told_says_why():
    factor, reason = wheel_factors(Wheel(np.full(5, 6.0), VAR), "toe_in", False)
    assert np.isnan(factor).all()
    assert reason == "not-known-new-depth"
    one = np.array([np.nan, np.nan, 6.0, np.nan, np.nan])
    assert wheel_factors(Wheel(one, VAR, 2.0), "toe_in", False)[1] == "not-known-one-groove"
    assert (wheel_factors(wheel([0] * 5), "cupping", False)[0] == 1).all()


def test_the_expected_factor_weighs_the_cause_with_its_probability():
    history = WheelHistory(
        "LF",
        wheel([1.5, 0.6, 0.15, 0, 0]),
        pd.Timestamp("2025-01-01"),
        pd.Timestamp("2026-01-01"),
        2e4,
        ("T",),
        "",
    )
    causes = pd.DataFrame(
        {
            "vehicle_id": "V1",
            "position": "LF",
            "cause": ["toe_in", "even_wear"],
            "side": "",
            "probability": [0.6, 0.4],
        }
    )
    table = correction_factors(causes, {"V1": {"LF": history}}, {"V1": "front"})
    assert table["groove"].tolist() == list(GROOVES)
    assert set(table["cause"]) == {"toe_in"}
    assert table["expected_factor"].to_numpy() == pytest.approx(1 - 0.6 * (1 - table["factor"].to_numpy()))
    assert table["factor"].between(0.25, 1).all()


def whole_answer(extra, depth, removal=1.6, cause="toe_in", probability=1.0, monkeypatch=None):
    shape = [Shape((-1.0, -0.5, 0.0, 0.0, 0.0), 1.0)]
    if monkeypatch:
        monkeypatch.setattr("tirelife.tread.correction.shapes_of", lambda state, driven: shape)
    day = pd.Timestamp("2025-01-01")
    histories = {"V1": {"LF": WheelHistory("LF", wheel(extra), day, day, 2e4, ("T",), "")}}
    causes = pd.DataFrame(
        {"vehicle_id": ["V1"], "position": "LF", "cause": cause, "side": "", "probability": probability}
    )
    latest = pd.DataFrame({"vehicle_id": "V1", "position": "LF", "groove": GROOVES, "depth_mm": depth})
    return remaining_ratios(
        correction_factors(causes, histories, {"V1": "front"}), histories, latest, removal
    ).iloc[0]


def test_the_first_groove_to_the_limit_sets_how_much_further_the_tire_goes(monkeypatch):
    # Outer groove: 2 mm above the limit, 4.5 mm lost so far; the others 3.5 mm above it, 3 mm lost.
    # Now 2/4.5; corrected the outer wears as the others do: 2/3. Ratio 1.5, and it is still the first.
    row = whole_answer([1.5, 0.75, 0, 0, 0], [3.6, 4.35, 5.1, 5.1, 5.1], monkeypatch=monkeypatch)
    assert (row["groove_now"], row["groove_then"]) == ("outer", "outer")
    assert row["ratio"] == pytest.approx(1.5, abs=1e-9)
    # With 3.4 mm left at the outer groove another groove gets there first: center, 3.5/3 against 3.4/4.5.
    other = whole_answer([1.5, 0.75, 0, 0, 0], [5.2, 5.3, 5.1, 5.1, 5.1], monkeypatch=monkeypatch)
    assert (other["groove_now"], other["groove_then"]) == ("outer", "center")
    assert other["ratio"] == pytest.approx((3.5 / 3) / (3.6 / 4.5), abs=1e-9)


def test_the_ratio_is_weighed_with_the_probability(monkeypatch):
    row = whole_answer(
        [1.5, 0.75, 0, 0, 0], [3.6, 4.35, 5.1, 5.1, 5.1], probability=0.4, monkeypatch=monkeypatch
    )
    assert row["expected_ratio"] == pytest.approx(1 + 0.4 * 0.5, abs=1e-9)


def test_a_tire_at_the_limit_goes_no_further_whatever_is_corrected():
    row = whole_answer([1.5, 0.75, 0, 0, 0], [1.5, 4.0, 5.0, 5.0, 5.0])
    assert np.isnan(row["ratio"])
    assert row["reason"]


def test_correcting_what_did_nothing_gains_nothing():
    assert whole_answer([0] * 5, [5.0] * 5)["ratio"] == pytest.approx(1.0)
    assert whole_answer([0] * 5, [5.0] * 5, cause="cupping")["ratio"] == pytest.approx(1.0)


@pytest.mark.parametrize("cause", NOT_A_FAULT)
def test_what_is_normal_is_never_offered_as_something_to_correct(cause):
    # "With normal shoulder wear corrected 1.48 times as far" once stood beside "nothing to do".
    day = pd.Timestamp("2025-01-01")
    history = WheelHistory(
        "LF", wheel([1.0, 0.2, 0, 0.2, 1.0]), day, day + pd.Timedelta(days=365), 16_000.0, ("T1",), None
    )
    causes = pd.DataFrame(
        [("V1", "LF", cause, "", 0.9), ("V1", "LF", "low_pressure", "", 0.1)],
        columns=["vehicle_id", "position", "cause", "side", "probability"],
    )
    table = correction_factors(causes, {"V1": {"LF": history}}, {"V1": "front"})
    assert set(table["cause"]) == {"low_pressure"}
