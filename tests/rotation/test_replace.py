"""Replace what and when, worked by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest

from tirelife import read_logbook
from tirelife.errors import InputError
from tirelife.outlook import kept_fit
from tirelife.rotation import vehicle_set, vehicle_ways
from tirelife.rotation.replace import Line, Scope, Stop, line_typed, ways_to_replace

LINE = Line("Touring", 100.0, 8.0)
LIMIT = 2.0
RATE = 1e-4  # 0.1 mm per 1,000 km: 6 mm of tread last 60,000 km


def way(table, scope, when, line="Touring"):
    return table[(table["scope"] == scope) & (table["when"] == when) & (table["line"] == line)].iloc[0]


def test_one_alike_set_costs_its_rubber_and_fitting():
    # Four alike tires, 3 mm above the limit: all down at 30,000 km, four bought at 100 + 15 each, and half of their
    # 6 mm left at 60,000 km. Rubber: 4 x 6 mm worn at 100 / 6 a mm = 400; fitting 60; over 60,000 km 7.667 per 1,000.
    table = ways_to_replace(
        np.full((1, 4), 5.0), np.full((1, 4), RATE), LIMIT, [LINE], over_km=60_000, fitting=15.0
    )
    later = way(table, "set", "later")
    assert later["cost_per_1000km"] == pytest.approx((400 + 60) / 60)
    assert (later["paid_now"], later["thrown_away"], later["tires"]) == (460, 0, 4)
    # Now: 3 mm of each is thrown away, 4 x 50 = 200; new ones are down at 60,000 km exactly.
    now = way(table, "set", "now")
    assert now["thrown_away"] == pytest.approx(200)
    assert now["cost_per_1000km"] == pytest.approx((400 + 200 + 60) / 60)
    assert table["cost_per_1000km"].is_monotonic_increasing or table["allowed"].eq(False).any()


def test_one_pair_and_four_where_one_tire_is_down():
    # RF at the limit, the others 5.5 mm above it and alike in pace; new ones have 6 mm. Over 30,000 km each tire
    # loses 3 mm: nothing more is bought. ONE: 12 mm of rubber at 100/6 = 200, and one fitting of 20.
    depth, pace = np.array([[7.5, 2.0, 7.5, 7.5]]), np.full((1, 4), RATE)
    table = ways_to_replace(depth, pace, LIMIT, [LINE], over_km=30_000, fitting=20.0)
    assert way(table, "one", "now")["cost_per_1000km"] == pytest.approx((200 + 20) / 30)
    # PAIR: LF comes off with 5.5 mm, worth 91.67, and a second fitting.
    pair = way(table, "pair", "now")
    assert pair["thrown_away"] == pytest.approx(5.5 * 100 / 6)
    assert pair["cost_per_1000km"] == pytest.approx((200 + 40 + 550 / 6) / 30)
    four = way(table, "set", "now")
    assert four["cost_per_1000km"] == pytest.approx((200 + 80 + 3 * 550 / 6) / 30)
    assert table.iloc[0]["scope"] == Scope.ONE


def test_what_must_match_is_not_offered_alone():
    # 3/32 in (2.38 mm) on an axle and over an all-wheel drive: common practice, no source.
    depth, pace = np.array([[5.0, 2.0, 7.5, 7.5]]), np.full((1, 4), RATE)
    table = ways_to_replace(depth, pace, LIMIT, [LINE])
    one = way(table, "one", "now")
    assert not one["allowed"]
    assert one["note"].code is Stop.MATCH_AXLE
    assert one["note"].value("apart_mm") == pytest.approx(3.0)
    assert way(table, "pair", "now")["allowed"]
    rear = ways_to_replace(np.array([[2.0, 2.0, 5.0, 5.0]]), pace, LIMIT, [LINE], drive="all")
    assert way(rear, "pair", "now")["note"].code is Stop.MATCH_DRIVE
    assert way(rear, "set", "now")["allowed"]


def test_a_dearer_line_that_lasts_is_the_cheaper():
    # 150 against 100, half the pace: 150/6/2 = 12.5 a mm of the old pace against 16.67. All four are down today.
    depth, pace = np.full((1, 4), 2.0), np.full((1, 4), RATE)
    table = ways_to_replace(
        depth, pace, LIMIT, [LINE, Line("Long", 150.0, 8.0, 0.5)], over_km=60_000, fitting=0.0
    )
    assert way(table, "set", "now", "Long")["cost_per_1000km"] == pytest.approx(4 * 3 * 150 / 6 / 60)
    assert way(table, "set", "now")["cost_per_1000km"] == pytest.approx(4 * 6 * 100 / 6 / 60)
    assert table.iloc[0]["line"] == "Long"


def test_rotation_is_paid_and_evens_the_places():
    # Fronts wear twice as fast; rotated every 10,000 km all wear 0.15 mm per 1,000 km: 6 mm last 40,000 km.
    depth, pace = np.full((1, 4), 8.0), np.array([[2e-4, 2e-4, 1e-4, 1e-4]])
    table = ways_to_replace(
        depth, pace, LIMIT, [LINE], over_km=40_000, rotation=30.0, rotate_km=10_000, fitting=10.0
    )
    later = way(table, "set", "later")
    # At 40,000 km the set is just down and nothing has been bought: 4 x 100 of rubber and four rotations of 30.
    assert later["cost_per_1000km"] == pytest.approx((400 + 120) / 40, rel=1e-6)


def test_ranges_and_the_chance_to_be_cheapest():
    rng = np.random.default_rng(1)
    depth, pace = rng.normal(5.0, 0.5, (80, 4)), RATE * rng.lognormal(0, 0.2, (80, 4))
    table = ways_to_replace(depth, pace, LIMIT, [LINE], fitting=15.0)
    open_ = table[table["allowed"]]
    assert (open_["cost_per_1000km_p10"] < open_["cost_per_1000km_p90"]).all()
    assert open_["chance_cheapest"].sum() == pytest.approx(1.0)
    assert open_["chance_dearer"].iloc[0] == 0
    assert (open_["chance_dearer"].iloc[1:] > 0.5).all()


@pytest.mark.parametrize("lines", [[], [Line("free", 0.0, 8.0)], [Line("bald", 90.0, 2.0)]])
def test_what_cannot_be_bought_is_refused(lines):
    with pytest.raises(InputError):
        ways_to_replace(np.full((1, 4), 5.0), np.full((1, 4), RATE), LIMIT, lines)


def test_the_tires_now_on_a_vehicle_are_weighed_as_they_are():
    book = read_logbook("data_synthetic/logbook")
    now = vehicle_set(book, "V03", kept_fit(book))
    table = vehicle_ways(book, now, LIMIT, over_km=60_000)  # at the logbook's own price
    tires = book.tires.set_index("tire_id").loc[now.tires["tire_id"].loc[["LF", "RF", "LR", "RR"]]]
    own = Line("", float(tires["price"].mean()))
    assert set(table["line"]) == set(tires["tire_line"].iloc[:1])
    named = vehicle_ways(
        book, now, LIMIT, [own], over_km=60_000
    )  # a depth that is not given is the tires' own
    assert list(named["cost_per_1000km"]) == pytest.approx(list(table["cost_per_1000km"]), nan_ok=True)
    deeper = vehicle_ways(book, now, LIMIT, [Line("", own.price, 12.0)], over_km=60_000)
    assert deeper["cost_per_1000km"].min() < table["cost_per_1000km"].min()
    bare = replace(book, tables={**book.tables, "tires": book.tires.drop(columns="price")})
    with pytest.raises(InputError, match="no price is known"):
        vehicle_ways(bare, now, LIMIT)


def test_a_line_is_typed_with_its_price_depth_and_pace():
    assert line_typed(" long life =180/11/0.8", "us") == Line(
        "long life", 180.0, pytest.approx(11 * 0.79375), 0.8
    )
    assert line_typed("basic=95/10", "metric") == Line("basic", 95.0, 10.0)
    plain = line_typed("basic=95", "us")
    assert (plain.price, math.isnan(plain.new_depth_mm), plain.pace) == (95.0, True, 1.0)


@pytest.mark.parametrize("text", ["x", "x=", "x=1/a", "x=a", "=b"])
def test_what_is_no_line_is_refused(text):
    with pytest.raises(InputError, match="write NAME=PRICE"):
        line_typed(text, "us")


def test_what_is_bought_later_must_match_what_is_left_by_then():
    # RF has 0.5 mm to go, which at 0.1 mm per 1,000 km it does in 5,000 km. By then LF has gone from 5 to
    # 4.5 mm, and a new one of 8 mm is 3.5 mm deeper.
    depth, pace = np.array([[5.0, 2.5, 7.5, 7.5]]), np.full((1, 4), RATE)
    table = ways_to_replace(depth, pace, LIMIT, [LINE])
    note = way(table, "one", "later")["note"]
    assert note.code is Stop.MATCH_AXLE
    assert (note.value("position"), note.value("apart_mm")) == ("LF", pytest.approx(3.5))
    assert way(table, "one", "now")["note"].value("apart_mm") == pytest.approx(3.0)
