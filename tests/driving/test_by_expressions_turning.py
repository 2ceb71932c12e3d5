"""Turning and measured accelerations of a step in dataframe expressions: limits, and what is not known."""

import math

import narwhals as nw
import polars as pl
import pytest

from tests.driving.by_expressions import felt, parking, turning


def column(table, name):
    return nw.from_native(table).get_column(name).to_list()


def made(**columns):
    return nw.from_native(pl.DataFrame(columns, strict=False))


def steps(area, unknown=0, area0=0.0, **more):
    """Steps of a second at 10 m/s, speed up by 1 m/s in each, one a value of ``area``."""
    n = len(area)
    each = {"a": 1.0, "a0": 1.0, "x": 10.0, "x_a": 10.0, "safe": 1.0, "safe0": 1.0, "sound": 1.0,
            "sound0": 1.0, "along_unknown": unknown, "along_unknown0": unknown, "along_area0": area0}  # fmt: skip
    columns = {name: [value] * n for name, value in each.items()} | {"along_area": area}
    return made(**columns | {name: [value] * n for name, value in more.items()})


def test_a_measured_acceleration_stands_where_it_is_known_and_believable():
    out = felt(steps([3.0, -12.0, 12.1, -12.1], area0=5.0))
    assert column(out, "a") == [3.0, -12.0, 1.0, 1.0]
    assert column(out, "x_a") == [30.0, -120.0, 10.0, 10.0]
    assert column(out, "a0") == [5.0] * 4
    assert column(out, "along_wrong_") == [0, 0, 1, 1]
    assert column(felt(steps([1.0], area0=12.1)), "a0") == [1.0]


def test_it_is_the_mean_over_its_step():
    out = felt(steps([3.0], area0=3.0, safe=1.25, safe0=0.5))
    assert column(out, "a") == [2.4]
    assert column(out, "a0") == [6.0]


@pytest.mark.parametrize("why", [{"unknown": 1}, {"sound": 0.0, "sound0": 0.0}])
def test_where_it_is_not_known_the_change_of_speed_stands(why):
    out = felt(steps([99.0], area0=3.0, **why))
    assert (column(out, "a"), column(out, "a0"), column(out, "x_a")) == ([1.0], [1.0], [10.0])
    assert column(out, "along_wrong_") == [0]


def slow(speed=2.0, **more):
    return made(**{"m": [speed], "x": [speed], "safe": [1.0], **{k: [v] for k, v in more.items()}})


def parked(**given):
    out = parking(slow(**given))
    return [column(out, name)[0] for name in ("parking_m_", "slow_m_", "steer_m_")]


@pytest.mark.parametrize(
    ("speed", "weight"), [(2.0, (1 - 4 / 27) ** 2), (5.0, (2 / 27) ** 2), (5.2, 0.0), (0.0, 0.0)]
)
def test_distance_at_parking_speed_is_weighed_and_unknown_without_either(speed, weight):
    far = pytest.approx(speed * weight)
    assert parked(speed=speed) == [far, far, 0]


WEIGHED = 2 * (1 - 4 / 27) ** 2


@pytest.mark.parametrize(
    ("per_m", "use"), [(0.0, 0.0), (0.05, (0.05 * 5.5) ** 2), (0.2, 1.0), (0.24, 1.0), (0.26, None)]
)
def test_a_heading_tells_how_much_was_turned(per_m, use):
    turned = math.degrees(2 * per_m)
    unknown = 0 if use is not None else WEIGHED
    for head, head1 in ((10.0, 10 + turned), (10.0, 10 - turned), (359.0, (359 + turned) % 360)):
        assert parked(head=head, head1=head1) == pytest.approx([WEIGHED, unknown, WEIGHED * (use or 0)])


@pytest.mark.parametrize(("side", "squared"), [(0.15, 0.0), (0.25, 0.0225), (-0.25, 0.0225)])
def test_lateral_acceleration_tells_it_less_the_fall_of_the_road(side, squared):
    share = squared / 16 * 5.5**2  # (side² - 0.2²) / v⁴ times the radius of full lock squared
    assert parked(side_unknown=0, side_area=side) == pytest.approx([WEIGHED, 0, WEIGHED * share])
    assert parked(side_unknown=1, side_area=side) == pytest.approx([WEIGHED, WEIGHED, 0])


def test_a_heading_goes_before_the_sensor_and_the_sensor_speaks_where_it_is_blank():
    both = {"side_unknown": 0, "side_area": 0.25}
    assert parked(**both, head=10.0, head1=10.0)[2] == 0
    blank = parked(**both, head=10.0, head1=None)
    assert blank[2] == pytest.approx(WEIGHED * 0.0225 / 16 * 5.5**2)


def sided(by, **more):
    each = {"safe": 1.0, "safe0": 1.0, "sound": 1.0, "sound0": 1.0, "m": 10.0, "m0": 10.0, **more}
    out = turning(made(**{name: [value] for name, value in each.items()}), by)
    return {name: column(out, name)[0] for name in ("ay", "ay0", "usable", "beyond")}


def test_nothing_to_the_side_is_no_turning_and_nothing_usable():
    assert sided(None) == {"ay": 0, "ay0": 0, "usable": 0, "beyond": 0}


def test_the_size_of_a_lateral_acceleration_and_its_limit():
    known = {"side_unknown": 0, "side_unknown0": 0}
    assert sided("lateral", side_area=-4.0, side_area0=3.0, safe=0.5, safe0=1.5, **known) == {
        "ay": 8, "ay0": 2, "usable": 1, "beyond": 0,
    }  # fmt: skip
    assert sided("lateral", side_area=12.0, side_area0=12.0, **known) == {
        "ay": 12, "ay0": 12, "usable": 1, "beyond": 0,
    }  # fmt: skip
    assert sided("lateral", side_area=-12.1, side_area0=12.1, **known) == {
        "ay": 0, "ay0": 0, "usable": 0, "beyond": 1,
    }  # fmt: skip
    out = sided("lateral", side_area=12.1, side_area0=3.0, **known, sound=0.0, sound0=0.0)
    assert (out["ay0"], out["beyond"]) == (0, 0)  # a step that is left out is neither
    out = sided("lateral", side_area=4.0, side_area0=3.0, side_unknown=1, side_unknown0=1)
    assert out == {"ay": 0, "ay0": 0, "usable": 0, "beyond": 0}


def test_a_heading_turns_the_short_way_round_and_says_nothing_below_walking_pace():
    out = sided("heading", side0=20.0, side=350.0, side1=5.0, safe=1.25, safe0=1.5, m=8.0, m0=9.0)
    assert out["ay"] == pytest.approx(math.radians(15) / 1.25 * 8)
    assert out["ay0"] == pytest.approx(math.radians(30) / 1.5 * 9)
    for speed, moves in ((2.0, 0), (2.1, 1)):
        out = sided("heading", side0=0.0, side=30.0, side1=60.0, m=speed, m0=speed)
        assert out["ay"] == pytest.approx(moves * math.radians(30) * speed)
        assert out["usable"] == 1
