"""What-ifs: which gains are told apart from none, and what the options of the command ask for."""

import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.terminal.whatif import changes_of, whatif_data, whatif_text


def gains(*rows):
    """One tire a row: ends and middle of the distance gained [km], months."""
    low, middle, high, months = zip(*rows, strict=True)
    return pd.DataFrame(
        {
            "vehicle_id": "V1", "position": "LF", "change": [f"change {i}" for i in range(len(rows))],
            "km_gained_p10": low, "km_gained_p50": middle, "km_gained_p90": high, "months_gained_p50": months,
        }
    )  # fmt: skip


def test_a_gain_is_told_apart_where_its_ends_lie_on_one_side():
    found = gains((1, 2, 3, 0), (-3, -2, -1, 0), (-1, 0, 1, 0), (0, 1, 2, 0), (-2, -1, 0, 0))
    out = whatif_data(found, "metric")
    assert out["told_apart"].tolist() == [True, True, False, False, False]


def test_names_and_numbers_follow_the_logbooks_units():
    out = whatif_data(gains((1.609344, 3.218688, 4.828032, 0)), "us")
    assert out[["miles_gained_p10", "miles_gained_p50", "miles_gained_p90"]].round(9).to_numpy().tolist() == [
        [1.0, 2.0, 3.0]
    ]


def test_a_row_says_none_or_too_small_and_signs_what_is_known():
    # Width 2,000: a step of at most 200, so 1,130 becomes 1,200; width 400: steps of 20.
    found = gains((100, 1130, 2100, 2.04), (0, 0, 0, 0), (-200, 30, 200, -0.04))
    first, none, small = whatif_text(found, "metric").splitlines()[-3:]
    assert "+1,200" in first
    assert "+2.0" in first
    assert "too small" not in first
    assert "none" not in first
    assert "none" in none
    assert "too small to tell" in small
    assert "-200 to +200" in small
    assert small.endswith(" 0")  # 0.04 of a month is less than what one digit shows


def test_a_gain_that_ends_at_nothing_is_too_small_to_tell():
    for ends in ((0, 500, 1000), (-1000, -500, 0)):
        assert "too small to tell" in whatif_text(gains((*ends, 1.0)), "metric")


def test_nothing_to_compare_is_said():
    assert (
        whatif_text(gains((1, 2, 3, 0)).iloc[:0], "us") == "nothing to compare: no tire with a distance left"
    )


def test_each_option_is_a_change_of_its_own():
    found = changes_of(
        {"pressures_kept": True, "stops": 0.8, "top_speed": "36 km/h", "a_year": "10000 km", "off_at": "3 mm"}
    )
    assert [change.name for change in found] == [
        "pressures at the placard", "stops at 0.8 of the acceleration", "no faster than 36 km/h",
        "10000 km a year", "removal at 3 mm",
    ]  # fmt: skip
    kept, stops, cap, year, off = found
    assert kept.wear.pressure_kept
    assert not stops.wear.pressure_kept
    assert stops.wear.stops == 0.8
    assert stops.wear.starts == 1
    assert cap.wear.cap_mps == pytest.approx(10.0)
    assert year.km_per_year == pytest.approx(10_000)
    assert year.wear is None
    assert off.removal_depth_mm == pytest.approx(3.0)


def test_together_they_are_one():
    (one,) = changes_of({"wheels_straight": True, "turns": 2, "rotate_every": "8000 km", "together": True})
    assert one.name == "wheels set straight, turns at 2 of the acceleration, rotation every 8000 km"
    assert (one.wear.front_toe_mm, one.wear.rear_toe_mm, one.wear.turns) == (0.0, 0.0, 2)
    assert one.rotation_km == pytest.approx(8_000)
    (pace,) = changes_of({"a_year": "5000 km", "together": True})
    assert pace.wear is None


@pytest.mark.parametrize("factor", [0.1, 10, 1])
def test_factors_of_a_tenth_to_ten_are_taken(factor):
    assert changes_of({"starts": factor})[0].wear.starts == factor


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ({"stops": 0.099}, "terminal-factor"),
        ({"turns": 10.1}, "terminal-factor"),
        ({"top_speed": "60mph", "slower": "5mph"}, "terminal-one-speed"),
        ({}, "terminal-no-change"),
        ({"together": True}, "terminal-no-change"),
    ],
)
def test_what_cannot_be_used_is_refused(told, code):
    with pytest.raises(InputError) as caught:
        changes_of(told)
    assert [problem.code for problem in caught.value.problems] == [code]
