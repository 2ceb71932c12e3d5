"""Whether groups can be told apart from what they alone have."""

import numpy as np
import pandas as pd
import pytest

from tirelife.groups.advice import Apart, Check
from tirelife.groups.design import build_design
from tirelife.groups.mixed import fit_mixed
from tirelife.groups.overlap import overlap_checks


def checked(adjusted=(), cars=(4, 4), **columns):
    """Two groups of four cars each, or of so many, two tires a car."""
    n = 2 * sum(cars)
    frame = pd.DataFrame(
        {
            "driver_group": ["a"] * 2 * cars[0] + ["b"] * 2 * cars[1],
            "vehicle_id": [f"V{i // 2}" for i in range(n)],
            **columns,
        }
    )
    design = build_design(frame, "driver_group", list(adjusted))
    y = np.random.default_rng(2).normal(size=n)
    fit = fit_mixed(y, design.x, frame["vehicle_id"].to_numpy(object), np.full(n, 0.01))
    table, apart = overlap_checks(frame, "driver_group", ["a", "b"], list(adjusted), design, fit)
    return table.set_index("check"), apart


def test_groups_that_share_all_are_told_apart():
    table, apart = checked(tire_line=["L", "M"] * 8)
    assert apart == {}
    assert table["passed"].all()
    assert table.loc[f"{Check.OWN_KIND}: tire_line", "value"] == 0.0


def test_a_kind_of_its_own():
    table, apart = checked(tire_line=["L", "L"] * 4 + ["M", "N"] * 4)
    assert apart == {("a", "b"): (f"{Apart.OWN.value}=tire_line",)}
    row = table.loc[f"{Check.OWN_KIND}: tire_line"]
    assert (row["value"], row["passed"], row["about"]) == (1.0, False, "a, b")


def test_adjusting_for_a_kind_that_each_group_has_alone_bridges_nothing():
    _, apart = checked(["tire_line"], tire_line=["L"] * 8 + ["M"] * 8)
    assert apart == {("a", "b"): (f"{Apart.OWN.value}=tire_line",)}


def test_a_column_of_one_kind_or_of_one_a_car_is_not_looked_at():
    table, _ = checked(tire_line="L", site=[f"S{i // 2}" for i in range(16)])
    assert not any(str(name).startswith(str(Check.OWN_KIND)) for name in table.index)


@pytest.mark.parametrize(("other", "apart"), [(1500.0, True), (1300.0, False)])
def test_amounts_whose_ranges_do_not_meet(other, apart):
    # Of eight cars 70 ways to choose four: that one group has the four lightest or heaviest is 2/70, under 5 %.
    mass = np.repeat([1000.0, 1100.0, 1200.0, 1300.0, other, 1600.0, 1700.0, 1800.0], 2)
    _, found = checked(mass_kg=mass)
    assert found == ({("a", "b"): (f"{Apart.OWN.value}=mass_kg",)} if apart else {})


@pytest.mark.parametrize(("cars", "apart"), [((3, 5), True), ((2, 7), False)])
def test_few_cars_may_not_meet_by_chance(cars, apart):
    # 2/56 is under 5 %, 2/36 over it; either group may have the lighter cars.
    mass = np.repeat(1000.0 + 100 * np.arange(sum(cars)), 2)
    _, found = checked(cars=cars, mass_kg=mass)
    assert bool(found) is apart


def test_one_car_a_group():
    frame = {"vehicle_id": ["V0"] * 8 + [f"V{i}" for i in (1, 1, 2, 2, 3, 3, 4, 4)]}
    table, apart = checked(**frame)
    assert apart[("a", "b")] == (Apart.ONE_CAR.value,)
    assert (table.loc[Check.ONE_CAR.value, "value"], table.loc[Check.ONE_CAR.value, "about"]) == (1.0, "a")
    shared = {"vehicle_id": ["V0"] * 8 + ["V0", "V0", "V2", "V2", "V3", "V3", "V4", "V4"]}
    assert checked(**shared)[1] == {}


def test_adjusting_makes_a_comparison_less_exact_by_its_variance():
    # A line of three tires in four of one group and one in four of the other: correlation 1/2, so 1 / (1 - 1/4).
    lines = ["L", "L", "L", "M"] * 2 + ["M", "M", "M", "L"] * 2
    table, _ = checked(["tire_line"], tire_line=lines)
    assert table.loc[Check.INFLATION.value, "value"] == pytest.approx(1.33)
    assert table.loc[Check.INFLATION.value, "passed"]
    assert checked(tire_line=lines)[0].loc[Check.INFLATION.value, "value"] == 1.0
