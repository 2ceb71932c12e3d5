"""Depths, pressures and distances in words: what is rounded to which step, and how a language writes it."""

import math

import pytest

from tirelife.sheet.language import texts
from tirelife.sheet.quantities import (
    UNKNOWN,
    decimals,
    depth,
    distance_step,
    far,
    far_within,
    half_up,
    label,
    percent_over,
    places,
    pressure,
    rounded,
    written,
)

NAN, INF = math.nan, math.inf
SPACED = {"point-metric": ",", "group-metric": "\u00a0", "point-us": ".", "group-us": ","}


@pytest.mark.parametrize(
    ("text", "units", "said"),
    [
        ("1,234.5", "us", "1,234.5"),
        ("1,234.5", "metric", "1234,5"),
        ("12,345.5", "metric", "12\u00a0345,5"),
        ("-1,234.5", "metric", "-1234,5"),
        ("−9,999", "metric", "−9999"),
        ("+12,345", "metric", "+12\u00a0345"),
        ("0.12345", "metric", "0,12345"),
    ],
)
def test_thousands_are_spaced_off_from_five_digits_before_the_point(text, units, said):
    assert written(text, units, SPACED) == said


def test_a_sign_of_thousands_that_is_no_space_stands_in_numbers_of_four_digits_too():
    assert written("1,234.5", "metric", {"point-metric": ",", "group-metric": "."}) == "1.234,5"
    assert written("1,234.5", "metric") == "1,234.5"


def test_units_go_by_the_language_s_names_where_it_has_them():
    assert label("mi") == "miles"
    assert label("mi", {"label-mi": "millas"}) == "millas"
    assert label("mi", {}) == "miles"


@pytest.mark.parametrize(
    ("value", "step", "got"),
    [(2.5, 1, 3), (-2.5, 1, -2), (2.49, 1, 2), (1249, 500, 1000), (1250, 500, 1500), (0.74, 0.5, 0.5)],
)
def test_halves_go_upwards_as_in_the_page_s_script(value, step, got):
    assert half_up(value, step) == got


def test_digits_after_the_point_are_those_asked_for_and_nothing_has_no_sign():
    assert [places(1234.25, n) for n in (0, 1, 2)] == ["1,234", "1,234.3", "1,234.25"]
    assert [places(value, 1) for value in (-0.01, -0.05, -0.06)] == ["0.0", "0.0", "-0.1"]


@pytest.mark.parametrize(
    ("spread", "digits"),
    [(0.04, 3), (0.4, 2), (4.0, 1), (9.99, 1), (10.0, 0), (5000.0, 0), (0.0, 0), (-1.0, 0), (NAN, 0)],
)
def test_digits_show_a_tenth_of_a_range(spread, digits):
    assert decimals(spread) == digits


def test_a_depth_is_whole_32nds_where_it_is_whole_unless_it_stands_in_a_column():
    # 25.4 mm / 32 = 0.79375 mm.
    assert [depth(n * 0.79375, "us") for n in (2, 5.5)] == ["2/32 inch", "5.5/32 inch"]
    assert depth(2 * 0.79375, "us", tenths=True) == "2.0/32 inch"
    assert [depth(mm, "metric") for mm in (2.0, 1.62)] == ["2.0 mm", "1.6 mm"]
    assert depth(2.0, "metric", texts("es")) == "2,0 mm"
    assert depth(5.5 * 0.79375, "us", texts("es")) == "5.5/32 de pulgada"


@pytest.mark.parametrize("mm", [NAN, INF])
def test_a_depth_that_is_not_known_says_so_in_the_language(mm):
    assert depth(mm, "us") == UNKNOWN
    assert depth(mm, "us", texts("es")) == texts("es")["unknown"] != UNKNOWN


def test_a_pressure_has_a_tenth_under_ten_psi_alone():
    # 1 psi = 6.894757 kPa.
    psi = [0.26, 2, 9.94, 10.26, 33.4]
    assert [pressure(6.894757 * p, "us") for p in psi] == ["0.3 psi", "2 psi", "9.9 psi", "10 psi", "33 psi"]
    assert [pressure(p, "metric") for p in (2.4, 9.6, 230.4)] == ["2 kPa", "10 kPa", "230 kPa"]
    assert pressure(6.894757 * 2.5, "us", texts("es")) == "2.5 psi"


@pytest.mark.parametrize(
    ("spread", "step"),
    [
        (0, 10), (49, 10), (249, 10), (250, 50), (499, 50), (500, 100), (2499, 100), (2500, 500), (4999, 500),
        (5000, 1000), (24_999, 1000), (25_000, 5000), (49_999, 5000), (50_000, 10_000), (1e9, 10_000),
    ],
)  # fmt: skip
def test_a_step_is_the_largest_within_a_fifth_of_the_range(spread, step):
    assert distance_step(spread) == step


@pytest.mark.parametrize(
    ("shown", "units", "said"),
    [
        (499, "us", "500 miles"),
        (449, "us", "400 miles"),
        (500, "us", "500 miles"),
        (740, "us", "500 miles"),
        (760, "us", "1,000 miles"),
        (6249, "us", "6,000 miles"),
        (949, "metric", "900 km"),
        (1000, "metric", "1,000 km"),
        (1400, "metric", "1,000 km"),
        (1500, "metric", "2,000 km"),
    ],
)
def test_a_distance_without_a_range_goes_by_500_miles_or_1000_km_and_a_shorter_one_by_100(shown, units, said):
    assert far(shown * (1.609344 if units == "us" else 1.0), units) == said


def test_a_distance_with_a_range_goes_by_its_step_in_the_unit_shown():
    # A range of 300 miles (483 km): a fifth is 60 miles, so steps of 50; in km a fifth is 97, so 50 as well.
    assert far(1234 * 1.609344, "us", spread_km=300 * 1.609344) == "1,250 miles"
    assert far(1234, "metric", spread_km=300 * 1.609344) == "1,250 km"
    # 400 km are 249 miles: steps of 50 km, but of 10 miles.
    assert far(1234, "metric", spread_km=400) == "1,250 km"
    assert far(1234 * 1.609344, "us", spread_km=400) == "1,230 miles"
    assert far(20_100, "metric", texts("es"), 9000) == "20\u00a0000 km"


def test_without_its_unit_a_distance_that_is_not_known_is_nothing():
    assert far_within(1234, "metric", 400) == "1,250"
    assert far_within(1234 * 1.609344, "us", 400) == "1,230"
    assert [far_within(km, "us", 400) for km in (NAN, INF)] == ["", ""]


@pytest.mark.parametrize(
    ("value", "spread", "got"),
    [
        (17_931.4, 5700, 18_000),  # a tenth is 570: steps of 500
        (17_931.4, 4900, 18_000),  # 490: of 200
        (17_731.4, 1900, 17_700),  # 190: of 100
        (17_731.4, 2000, 17_800),  # 200: of 200
        (0.0157, 0.02, 0.016),  # 0.002
        (0.0151, 0.05, 0.015),  # 0.005
        (1.24, 1.0, 1.2),
        (-1.26, 1.0, -1.3),
    ],
)
def test_a_value_is_rounded_to_1_2_or_5_within_a_tenth_of_its_range(value, spread, got):
    assert rounded(value, spread) == pytest.approx(got, abs=1e-12)


def test_a_value_without_a_range_keeps_two_figures_and_one_that_is_not_known_stays_so():
    assert [rounded(123.4, spread) for spread in (0, -5, NAN, INF)] == [120] * 4
    assert rounded(-0.01234, 0) == pytest.approx(-0.012, abs=1e-12)
    assert rounded(987.6, 0) == 990
    assert rounded(0.0, 0) == 0.0
    assert math.isnan(rounded(NAN, 1))
    assert rounded(INF, 1) == INF


def test_a_ratio_that_rounds_to_one_has_no_sign():
    assert [percent_over(r) for r in (1.004, 0.996, 1.0)] == ["0%"] * 3
    assert [percent_over(r) for r in (1.006, 0.994, 2.5)] == ["+1%", "-1%", "+150%"]
