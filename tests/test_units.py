"""Factors against exact arithmetic and against pint's own definitions."""

from fractions import Fraction as F
from itertools import permutations

import numpy as np
import pandas as pd
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tirelife.errors import InputError
from tirelife.units import (
    GRAVITY,
    INSIDE,
    KINDS,
    LABELS,
    SHOWN,
    convert,
    kind_of,
    shown,
    shown_as,
    split_unit,
)

# What each unit is called in pint; a 32nd is of an inch, "per 100 mi" counts events.
PINT = {
    "mm": "mm", "32nds": "inch/32", "mils": "mil_length", "in": "inch", "km": "km", "mi": "mile",
    "kpa": "kPa", "psi": "psi", "bar": "bar", "kg": "kg", "lb": "lb", "mps": "m/s", "mph": "mile/hour",
    "kmh": "km/hour", "mps2": "m/s**2", "g": "standard_gravity", "per_100km": "1/(100*km)",
    "per_100mi": "1/(100*mile)", "m2": "m**2", "ft2": "foot**2", "deg": "deg", "s": "s",
}  # fmt: skip
UREG = pint.UnitRegistry()
PAIRS = [(a, b) for kind, units in KINDS.items() if kind != "temperature" for a, b in permutations(units, 2)]


def in_pint(unit):
    name = PINT[unit]
    return UREG("thou" if name == "mil_length" else name)


@pytest.mark.parametrize(("unit", "to"), PAIRS)
def test_every_pair_of_units_agrees_with_pint(unit, to):
    # pint's definitions file; both sides are double precision, so a few units in the last place.
    assert convert(1.0, unit, to) == pytest.approx(
        (1.0 * in_pint(unit)).to(in_pint(to)).m / in_pint(to).m, rel=4e-15
    )


@pytest.mark.parametrize("value", [-40.0, 0.0, 20.0, 68.0, 100.0])
def test_temperatures_agree_with_pint(value):
    celsius = UREG.Quantity(value, UREG.degF).to(UREG.degC).m
    assert convert(value, "f", "c") == pytest.approx(celsius, abs=1e-10)
    assert convert(celsius, "c", "f") == pytest.approx(value, abs=1e-10)


# International yard and pound agreement (1959) and ISO 80000-4: exact rationals, so the nearest double.
INCH, POUND, G = F(254, 10), F(45359237, 10**8), F(980665, 10**5)


@pytest.mark.parametrize(
    ("value", "unit", "to", "exact"),
    [
        (1, "32nds", "mm", INCH / 32),  # 0.79375 mm
        (1, "mils", "mm", INCH / 1000),
        (1, "mi", "km", F(1609344, 10**6)),
        (1, "lb", "kg", POUND),
        (1, "psi", "kpa", POUND * G / (INCH / 1000) ** 2 / 1000),
        (1, "bar", "kpa", F(100)),
        (1, "mph", "mps", F(44704, 10**5)),
        (1, "ft2", "m2", F(9290304, 10**8)),
        (212, "f", "c", F(100)),
        (-40, "f", "c", F(-40)),
    ],
)
def test_factors_are_the_exact_ones(value, unit, to, exact):
    assert convert(value, unit, to) == pytest.approx(float(exact), rel=2e-16, abs=0)


def test_published_equivalents():
    # 49 CFR 575.104: the treadwear indicator of 1/16 in is 62.5 mils; 2/32 in is 1.5875 mm (arithmetic).
    assert convert(2, "32nds", "mils") == pytest.approx(62.5, rel=1e-15)
    assert convert(2, "32nds", "mm") == 1.5875
    assert GRAVITY == 9.80665


@given(st.floats(-1e6, 1e6), st.sampled_from([*PAIRS, ("f", "c"), ("c", "f")]))
def test_there_and_back_is_the_same(value, pair):
    unit, to = pair
    assert convert(convert(value, unit, to), to, unit) == pytest.approx(value, rel=1e-12, abs=1e-10)


def test_arrays_keep_their_shape_and_scalars_stay_scalars():
    assert convert(np.array([[8.0, 10.0]]), "32nds", "mm").tolist() == [[6.35, 7.9375]]
    assert isinstance(convert(8.0, "32nds", "mm"), float)


def test_unknown_and_mismatched_units_are_refused():
    with pytest.raises(
        InputError, match=r"^cannot convert psi to km: one is a pressure, the other a distance$"
    ):
        convert(1, "psi", "km")
    with pytest.raises(InputError, match=r"^unknown unit 'furlong': use one of mm, 32nds, mils, "):
        convert(1, "furlong", "km")


@pytest.mark.parametrize(
    ("column", "parts"),
    [
        ("odometer_mi", ("odometer", "mi")),
        ("placard_front_kpa", ("placard_front", "kpa")),
        ("hard_turns_per_100km", ("hard_turns", "per_100km")),
        ("camber_left_deg", ("camber_left", "deg")),
        ("tire_line", ("tire_line", None)),
        ("mm", ("mm", None)),
    ],
)
def test_a_column_is_split_into_quantity_and_unit(column, parts):
    assert split_unit(column) == parts


def test_every_unit_has_one_kind_and_a_label():
    units = [unit for units in KINDS.values() for unit in units]
    assert len(units) == len(set(units)) == len(LABELS)
    assert all(kind_of(INSIDE[kind]) == kind for kind in KINDS)


def test_a_unit_is_looked_for_among_the_kinds_asked_for():
    assert split_unit("odometer_mi", ["depth", "distance"]) == ("odometer", "mi")
    assert split_unit("odometer_mi", ["depth"]) == ("odometer_mi", None)
    assert split_unit("rate_per_100km", ["distance"]) == ("rate_per_100km", None)
    assert split_unit("depth_in_32nds") == ("depth_in", "32nds")
    assert split_unit("accel_mps2") == ("accel", "mps2")


@pytest.mark.parametrize(
    ("name", "called", "factors"),
    [
        ("depth_now_mm", "depth_now_32nds", (F(32) / INCH,)),
        ("km_left_p50", "mi_left_p50", (F(10**6, 1609344),)),
        ("placard_kpa", "placard_psi", (1000 * (INCH / 1000) ** 2 / (POUND * G),)),
        ("wear_mm_per_1000km", "wear_32nds_per_1000mi", (F(32) / INCH, F(1609344, 10**6))),
        ("cost_per_km", "cost_per_mi", (F(1609344, 10**6),)),
        ("per_km", "per_mi", (F(1609344, 10**6),)),
        ("camber_deg", "camber_deg", ()),
        ("ambient_c", "ambient_c", ()),
        ("mass_kg", "mass_kg", ()),
        ("tire_id", "tire_id", ()),
        ("summary", "summary", ()),
    ],
)
def test_a_quantity_is_called_and_counted_in_the_units_people_see(name, called, factors):
    us, found = shown_as(name, "us")
    assert (us, found) == (called, pytest.approx([float(one) for one in factors], rel=1e-14))
    assert shown_as(name, "metric") == (name, ())


def test_a_table_is_shown_in_other_units_and_left_as_it_was():
    table = pd.DataFrame({"tire_id": ["A", "B"], "depth_mm": [7.9375, np.nan], "km_left": [1609344, 0],
                          "wear_mm_per_1000km": [0.79375, 0.0]})  # fmt: skip
    before = table.copy()
    out = shown(table, "us")
    assert list(out) == ["tire_id", "depth_32nds", "mi_left", "wear_32nds_per_1000mi"]
    assert out["depth_32nds"].tolist() == pytest.approx([10, np.nan], nan_ok=True)
    assert out["mi_left"].tolist() == pytest.approx([1e6, 0])
    assert out["wear_32nds_per_1000mi"].tolist() == pytest.approx([1.609344, 0])
    pd.testing.assert_frame_equal(table, before)
    pd.testing.assert_frame_equal(shown(table, "metric"), table)


def test_units_that_people_see_are_of_their_kind():
    assert all(kind_of(unit) == kind for units in SHOWN.values() for kind, unit in units.items())
    assert all(INSIDE[kind] == unit for kind, unit in SHOWN["metric"].items())
