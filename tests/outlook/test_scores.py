"""Scores of predictions by part, counted by hand."""

import numpy as np
import pandas as pd
import pytest

from tirelife.outlook import Held, held, reliability, score_predictions

LEVELS = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)
DAY = pd.Timestamp("2026-01-18")


def predictions(observed, middle=5.0, wide=1.0, **more):
    """Cases whose quantiles lie evenly about a middle: 0.05 at 2.25 wide under it, 0.5 at it."""
    count = len(observed)
    case = {
        "case": np.arange(count), "origin": DAY, "target": "depth", "method": "tirelife", "unit": "mm",
        "vehicle_id": [f"V{i}" for i in range(count)], "tire_id": [f"T{i}" for i in range(count)],
        "observed": np.asarray(observed, dtype=float), "censored": False, "horizon": np.inf, "moved": False,
        "ahead_km": 1_000.0, "visits_before": 1, "removal_mm": np.nan, "middle": middle, "wide": wide, **more,
    }  # fmt: skip
    rows = pd.DataFrame(case).merge(pd.DataFrame({"quantile": LEVELS}), how="cross")
    rows["value"] = rows["middle"] + (rows["quantile"] - 0.5) * 5 * rows["wide"]
    return rows.drop(columns=["middle", "wide"])


def score(table, part="all", **of):
    found = score_predictions(table)
    for name, value in of.items():
        found = found[found[name] == value]
    return found.set_index("part").loc[part]


EVEN = np.linspace(3.0, 7.0, 41)
"""Observed every 0.1 mm: ranges of 80 % reach from 3 to 7, of 50 % from 3.75 to 6.25."""


def test_coverage_is_how_many_lie_in_each_range():
    found = score(predictions(np.append(EVEN, [2.9, 7.1, 9.0, 0.0])))
    assert (found["forecasts"], found["vehicles"], found["censored"]) == (45, 45, 0)
    assert found["cover_50"] == pytest.approx(25 / 45)  # 3.8 to 6.2
    assert found["cover_80"] == pytest.approx(41 / 45)
    assert found["cover_90"] == pytest.approx(43 / 45)  # 2.75 to 7.25
    assert found["unit"] == "mm"
    # The jackknife of a share is that of independent ones.
    assert found["cover_80_error"] == pytest.approx(np.sqrt(41 / 45 * 4 / 45 / 44), rel=1e-6)


def test_sharpness_bias_and_median_error():
    found = score(predictions([4.0, 5.5, 7.0], wide=[1.0, 2.0, 0.5]))
    assert found["sharpness"] == pytest.approx(4.0)  # median of 4, 8 and 2
    assert found["bias"] == pytest.approx((-1.0 + 0.5 + 2.0) / 3)
    assert found["median_error"] == pytest.approx(1.0)
    # Gneiting and Raftery 2007: twice the mean pinball loss over the levels.
    table = predictions([4.0, 5.5, 7.0], wide=[1.0, 2.0, 0.5])
    miss = table["observed"] - table["value"]
    loss = np.where(miss >= 0, table["quantile"] * miss, (table["quantile"] - 1) * miss)
    assert found["weighted_interval"] == pytest.approx(2 * loss.mean())
    better = score(predictions([5.0, 5.0, 5.0], wide=0.1))
    assert better["log_score"] < found["log_score"]


def test_what_could_not_be_seen_yet_counts_as_far_as_it_was_seen():
    # Distances: seen to 6 at the most; one of three is censored there, and the median of all is 5 or 8.
    table = predictions([4.0, 6.0, 5.5], middle=[5.0, 8.0, 5.0], censored=[False, True, False], horizon=6.0)
    found = score(table)
    assert found["censored"] == 1
    assert found["bias"] == pytest.approx(((4 - 5) + (6 - 6) + (5.5 - 5)) / 3)
    assert found["median_error"] == pytest.approx((1.0 + 0.5) / 2)
    assert np.isnan(score(table.assign(censored=True))["median_error"])
    assert score(table.assign(censored=True))["worth"] == 1


def test_tires_of_a_vehicle_that_lean_alike_are_worth_its_vehicles():
    same = predictions([3.0, 3.0, 5.0, 5.0, 6.5, 6.5], vehicle_id=["A", "A", "B", "B", "C", "C"])
    assert (score(same)["worth"], score(same)["vehicles"]) == (3, 3)
    assert score(predictions([3.0, 3.0, 5.0, 5.0, 6.5, 6.5]))["worth"] == 6


def test_an_even_forecast_lies_inside_its_band_and_one_that_leans_does_not():
    even = score(predictions(np.linspace(2.6, 7.4, 60)))
    assert even["pit_off"] < 0.07
    assert even["pit_inside"]
    leaning = score(predictions(np.linspace(6.0, 7.4, 60)))
    assert leaning["pit_off"] > 0.6
    assert not leaning["pit_inside"]
    # All at the middle: up to there none was seen, and 0.5 of them should have been.
    assert score(predictions([5.0] * 30))["pit_off"] == pytest.approx(0.5, abs=0.06)


def test_parts_are_those_of_the_cases():
    table = predictions(
        [5.0] * 6, origin=[DAY, DAY, DAY, DAY, DAY, DAY + pd.Timedelta(days=100)],
        ahead_km=[0.0, 8_046.0, 8_046.72, 16_093.44, 32_186.88, 40_000.0],
        moved=[True, False, False, True, False, False], visits_before=[0, 1, 2, 3, 9, 0],
        removal_mm=[1.6, 1.6, 1.6, 3.2, 3.2, 3.2],
    )  # fmt: skip
    found = score_predictions(table).set_index("part")["forecasts"].to_dict()
    assert found == {
        "all": 6, "origin-2026-01-18": 5, "origin-2026-04-28": 1, "limit-mm-1.6": 3, "limit-mm-3.2": 3,
        "ahead-short": 2, "ahead-some": 1, "ahead-far": 1, "ahead-farthest": 2,  # 5,000, 10,000 and 20,000 miles
        "same-axle": 4, "other-axle": 2, "visits-none": 2, "visits-few": 2, "visits-more": 2,
    }  # fmt: skip


def test_only_depths_have_parts_by_distance_and_only_tires_by_visits():
    parts = set(score_predictions(predictions([5.0] * 3, target="distance"))["part"])
    assert not any(part.startswith(("ahead-", "limit-")) for part in parts)
    assert {"same-axle", "visits-few"} <= parts
    sets = score_predictions(predictions([5.0] * 3, target="first", tire_id=""))
    assert set(sets["part"]) == {"all", "origin-2026-01-18"}
    known = score_predictions(predictions([5.0] * 3, target="depth-known-mounts"))
    assert "ahead-short" in set(known["part"])


def test_targets_and_methods_are_scored_apart_whatever_the_order_of_rows():
    one = predictions(EVEN)
    two = predictions(EVEN, wide=0.1).assign(method="straight-line", case=lambda t: t["case"] + 100)
    three = predictions([5.0, 5.0]).assign(target="date", unit="days", case=lambda t: t["case"] + 200)
    table = pd.concat([one, two, three]).sample(frac=1, random_state=2, ignore_index=True)
    assert score(table, target="depth", method="tirelife")["cover_80"] == 1.0
    assert score(table, target="depth", method="straight-line")["cover_80"] == pytest.approx(5 / 41)
    assert score(table, target="date")["unit"] == "days"


def test_reliability_is_the_share_seen_under_each_level():
    table = reliability(predictions(np.linspace(2.55, 7.45, 50)), points=4)
    assert table["promised"].tolist() == [0.25, 0.5, 0.75]
    # Quantiles at 3.75, 5 and 6.25; one every 0.1 from 2.55 on.
    assert table["found"].tolist() == pytest.approx([0.26, 0.5, 0.76], abs=0.021)
    assert (table["lower"] < table["promised"]).all()
    assert (table["upper"] > table["promised"]).all()
    assert set(table["forecasts"]) == {50}
    assert len(reliability(predictions(EVEN))) == 19
    both = pd.concat(
        [predictions(EVEN), predictions(EVEN).assign(method="b", case=lambda t: t["case"] + 100)]
    )
    assert reliability(both, 4)["method"].tolist() == ["tirelife"] * 3 + ["b"] * 3


def judged(cover, error, count=400, target="depth", method="tirelife", part="all"):
    return pd.DataFrame(
        [{"target": target, "method": method, "part": part, "forecasts": count, "cover_80": cover, "cover_80_error": error}]
    )  # fmt: skip


def test_ranges_are_judged_by_their_error():
    assert held(judged(0.70, 0.02)) is Held.NARROW
    assert held(judged(0.70, 0.06)) is Held.HELD
    assert held(judged(0.90, 0.02)) is Held.WIDE
    assert held(judged(0.83, 0.001)) is Held.HELD
    assert held(judged(0.80, 0.02, count=12)) is Held.FEW


def test_ranges_are_judged_at_their_limits():
    assert held(judged(0.7601, 0.0)) is held(judged(0.8399, 0.0)) is Held.HELD
    assert held(judged(0.7599, 0.0)) is Held.NARROW
    assert held(judged(0.8401, np.nan)) is Held.WIDE
    assert held(judged(0.70, 0.0501)) is Held.HELD
    assert held(judged(0.70, 0.0499)) is Held.NARROW
    assert held(judged(0.5, 0.01, count=20)) is Held.NARROW
    assert held(judged(0.5, 0.01, count=19)) is Held.FEW
    assert held(judged(np.nan, 0.01)) is Held.FEW


def test_only_the_forecasts_own_ranges_are_judged_and_those_of_the_target_asked():
    for other in ({"target": "date"}, {"method": "straight-line"}, {"part": "ahead-far"}):
        assert held(judged(0.5, 0.01, **other)) is Held.FEW
    assert held(judged(0.5, 0.01, target="date"), "date") is Held.NARROW
