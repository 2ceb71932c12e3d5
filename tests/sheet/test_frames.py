"""What the page's charts are drawn from: last grooves, readings, the way ahead, shares of causes, by hand."""

import numpy as np
import pandas as pd
import pytest

from tirelife.sheet.frames import (
    ahead_km,
    axle_shares,
    band_ahead,
    depth_along,
    labelled,
    last_grooves,
    limiting_readings,
)
from tirelife.sheet.language import texts

DAY = pd.Timestamp("2026-09-30")
LEVELS = (10, 25, 50, 75, 90)
READ = ["tire_id", "read_at_position", "read_date", "groove", "least_raw_mm"]
TWO = pd.DataFrame({"tire_id": ["A", "B"], "position": ["LF", "RF"], "label": ["Left front", "Right front"]})


def tire(km=(5000, 7500, 10_000, 12_500, 15_000), due=100, **more):
    return {
        "label": "Left front", "odometer_km": 50_000.0, "as_of": DAY, "depth_now_mm": 6.0,
        **{f"km_left_p{q}": float(at) for q, at in zip(LEVELS, km, strict=True)},
        "date_p50": DAY + pd.Timedelta(days=due),
    } | more  # fmt: skip


def band(*tires, removal=2.0, reach=None):
    return band_ahead(pd.DataFrame(list(tires)), removal, reach)


def test_grooves_are_those_of_the_last_day_in_their_order_and_say_where_they_were_read():
    may, june = pd.Timestamp("2026-05-02"), pd.Timestamp("2026-06-03")
    read = pd.DataFrame(
        [
            ["A", "LR", june, "outer", 5.0], ["A", "LR", june, "inner", 5.5], ["A", "LR", may, "center", 6.0],
            ["B", "RF", may, "center", 7.0], ["C", "SP", june, "center", 8.0],
        ],
        columns=READ,
    )  # fmt: skip
    shown, day = last_grooves(read.iloc[::-1], TWO, pd.Series({"A": 8.0, "B": 9.0}))
    assert day == june
    assert shown[["position", "groove"]].to_numpy().tolist() == [
        ["LF", "outer"],
        ["LF", "inner"],
        ["RF", "center"],
    ]
    assert shown["depth_mm"].tolist() == [5.0, 5.5, 7.0]
    assert shown["new_depth_mm"].tolist() == [8.0, 8.0, 9.0]
    assert shown["label"].tolist() == ["Left front, read at left rear"] * 2 + [
        "Right front, read on May 2, 2026"
    ]
    there = last_grooves(read, TWO, pd.Series({"A": 8.0, "B": 9.0}), order="dmy")[0]
    assert there["label"].iloc[2] == "Right front, read on 2 May 2026"


def test_tires_that_were_never_read_have_no_grooves_and_no_day():
    shown, day = last_grooves(pd.DataFrame(columns=READ), TWO, pd.Series({"A": 8.0, "B": 9.0}))
    assert list(shown) == ["position", "groove", "depth_mm", "new_depth_mm", "label"]
    assert shown.empty
    assert day is pd.NaT


def test_readings_are_of_the_groove_that_limits_on_this_vehicle_or_of_the_least_one():
    visits = pd.DataFrame(
        {
            "tire_id": ["A", "A", "A", "B"], "vehicle_id": ["V", "V", "W", "V"], "date": [DAY] * 4,
            "odometer_km": [1.0, 2.0, 3.0, 4.0], "depth_mm": [7.0, 6.0, 5.0, 4.0], "outer_mm": [6.5, np.nan, 4.5, 3.5],
            "shallowest_mm": [6.4, 5.4, 4.4, 3.4],
        }
    )  # fmt: skip
    seen = limiting_readings(visits, TWO.assign(limited_by=["outer", "mean"]), "V")
    assert seen["label"].tolist() == ["Left front", "Left front", "Right front"]
    assert seen["depth_mm"].tolist() == [6.5, 5.4, 4.0]
    assert seen["odometer_km"].tolist() == [1.0, 2.0, 4.0]


def test_the_way_ahead_is_straight_to_the_removal_depth_at_each_quantile():
    made = band(tire(), reach=12_000)
    along = np.arange(13) * 1000.0  # twelve even steps
    assert made["odometer_km"].tolist() == (50_000 + along).tolist()
    # 4 mm go in 5,000 km at the first decile, in 10,000 in the middle, and further on as well.
    assert made["depth_p10_mm"].tolist() == pytest.approx((6 - along * 4 / 5000).tolist())
    assert made["depth_p50_mm"].tolist() == pytest.approx((6 - along * 4 / 10_000).tolist())
    # 100 days for 10,000 km: 10 days a step.
    assert [(day - DAY).days for day in made["date"]] == list(range(0, 121, 10))


def test_charts_look_a_little_past_the_longest_distance_or_1000_km():
    assert ahead_km(pd.DataFrame([tire(), tire((1, 2, 3, 4, 20_000))])) == pytest.approx(21_000)
    for far in (0.0, -5.0, np.nan, np.inf):
        assert ahead_km(pd.DataFrame({"km_left_p90": [far]})) == 1000.0
    assert band(tire())["odometer_km"].max() == pytest.approx(50_000 + 15_750)


def test_a_tire_due_today_wears_in_a_day_and_a_slow_one_is_not_dated_past_a_century():
    # Due the same day: 10,000 km in one day, so the end of the reach is the day after next.
    assert (band(tire(due=0), reach=20_000)["date"].iloc[-1] - DAY).days == 2
    slow = band(tire((1e-3,) * 5, due=36_000), reach=1000)
    assert (slow["date"].max() - DAY).days == 36_525


def test_a_tire_that_is_down_has_no_path_and_one_whose_middle_is_down_no_middle():
    depths = [f"depth_p{q}_mm" for q in LEVELS]
    down = band(tire((-400, -300, -200, -100, 0), due=0))
    assert down[depths].isna().all(axis=None)
    assert (down["date"] == DAY).all()
    half = band(tire((-5, -2, 0, 200, 900), due=0))
    assert half[depths].isna().all().tolist() == [False, False, True, False, False]
    some = band(tire((-5, 1, 10, 200, 900)))
    assert not some[depths].isna().any(axis=None)


def test_a_tire_of_which_nothing_is_known_has_no_path():
    made = band(tire((np.nan,) * 5), tire(label="Right front"))
    assert set(made["label"]) == {"Right front"}
    none = band(tire((np.nan,) * 5))
    assert none.empty
    assert list(none)[:3] == ["label", "odometer_km", "date"]
    assert len(none.columns) == 8


def test_the_depth_is_at_its_limit_after_the_distance_left_and_nothing_is_left_of_one_that_is_down():
    assert depth_along(6.0, 2.0, 1000.0, np.array([0.0, 250.0, 1000.0])).tolist() == [6.0, 5.0, 2.0]
    assert depth_along(6.0, 2.0, 0.0, np.array([0.0, 250.0])).tolist() == [0.0, 0.0]


def test_wheels_are_named_in_words_first():
    rows = pd.DataFrame({"position": ["LF", "RR"], "x": [1, 2]})
    made = labelled(rows, texts())
    assert list(made) == ["label", "position", "x"]
    assert made["label"].tolist() == ["Left front", "Right rear"]
    assert list(rows) == ["position", "x"]


def parts(**km):
    """What causes took of the left front and of the right rear."""
    rows = [
        (place, cause, value)
        for cause, two in km.items()
        for place, value in zip(("LF", "RR"), two, strict=True)
    ]
    return pd.DataFrame(rows, columns=["position", "cause", "km"])


def shares_of(table, say=None):
    made = axle_shares(table, "km", say)
    return {label: dict(zip(own["cause"], own["share"], strict=True)) for label, own in made.groupby("label")}


def test_shares_are_of_each_axle_s_whole():
    both = pd.concat(
        [parts(base=(60, 30), stops=(40, 10)), parts(base=(0, 30), stops=(0, 30)).replace("RR", "LR")]
    )
    made = shares_of(both)
    assert made["Front"] == pytest.approx({"Rolling along": 0.6, "Braking": 0.4})
    assert made["Rear"] == pytest.approx({"Rolling along": 0.6, "Braking": 0.4})
    spanish = texts("es")
    assert set(shares_of(both, spanish)) == {spanish["axle-front"], spanish["axle-rear"]}


def test_what_is_small_on_both_axles_is_put_together_and_with_rolling_if_it_would_not_show():
    # Of 100: speed 0.5 and parking 0.4 are under a hundredth; 0.9 in all shows.
    made = shares_of(parts(base=(90.4, 90.4), speed=(0.5, 0.5), stops=(8.7, 8.7), parking=(0.4, 0.4)))
    rest = texts()["cause-rest"]
    assert made["Front"] == pytest.approx({"Rolling along": 0.904, "Braking": 0.087, rest: 0.009})
    made = shares_of(parts(base=(90, 90), speed=(0.2, 0.2), stops=(9.6, 9.6), parking=(0.2, 0.2)))
    assert made["Rear"] == pytest.approx({"Rolling along": 0.904, "Braking": 0.096})
    # On one axle is enough; a hundredth and a little stands by itself.
    made = shares_of(parts(base=(98.39, 98.79), speed=(0.59, 0.19), stops=(1.02, 1.02)))
    assert made["Rear"] == pytest.approx({"Rolling along": 0.9879, "Braking": 0.0102, rest: 0.0019})
    # A cause that shows on one axle stands there for both; exactly half a hundredth shows.
    made = shares_of(parts(base=(99.5, 97), speed=(0.5, 3)))
    assert made["Front"] == pytest.approx({"Rolling along": 0.995, texts()["cause-speed"]: 0.005})
    made = shares_of(parts(base=(199, 199), speed=(1, 1)))
    assert made["Front"] == pytest.approx({"Rolling along": 0.995, rest: 0.005})


def test_an_axle_that_did_not_wear_has_no_shares():
    assert set(shares_of(parts(base=(10, 0)))) == {"Front"}
    none = axle_shares(parts(base=(0, 0)), "km")
    assert none.empty
    assert list(none) == ["label", "cause", "share"]
