"""Columns of a comparison: which are adjusted for, and what stands in them."""

import numpy as np
import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.groups.design import ROADS, adjust_columns, build_design, clip_axle, levels


def tires(n=8, **columns):
    base = {
        "driver_group": ["a", "b"] * (n // 2), "vehicle_id": [f"V{i}" for i in range(n)], "tire_line": "L",
        "drive": "front", "front_share": [0.0, 1.0] * (n // 2), "warm_share": 0.5,
    }  # fmt: skip
    return pd.DataFrame({**base, **columns})


def test_levels_are_texts():
    assert levels(pd.Series([1.0, 2.5, np.nan])).tolist() == ["1", "2.5", ""]
    assert levels(pd.Series([" x ", None])).tolist() == ["x", ""]


def test_by_default_only_what_varies_is_adjusted_for():
    assert adjust_columns(tires(), "driver_group", None) == ("axle",)
    lines = tires(tire_line=["L", "L", "M", "M"] * 2)
    assert adjust_columns(lines, "driver_group", None) == ("tire_line", "axle")
    assert adjust_columns(lines, "tire_line", None) == ("axle", "driver_group")
    assert "site" in adjust_columns(tires(site=["x", "x", "y", "y"] * 2), "driver_group", None)


@pytest.mark.parametrize(
    ("column", "values", "kept"),
    [
        ("warm_share", [0.4, 0.6], True),
        ("warm_share", [0.48, 0.52], False),
        ("mass_kg", [1500.0, 1600.0], True),
        ("mass_kg", [1500.0, 1510.0], False),
        ("mass_kg", [1500.0, np.nan], False),
        (ROADS, [0.3, 0.4], True),
        (ROADS, [0.30, 0.31], False),
        (ROADS, [0.3, np.nan], False),
    ],
)
def test_amounts_that_hardly_vary_or_are_not_known_are_left(column, values, kept):
    name = "season" if column == "warm_share" else column
    assert (name in adjust_columns(tires(**{column: values * 4}), "driver_group", None)) is kept


def test_what_is_named_must_be_there():
    with pytest.raises(InputError):
        adjust_columns(tires(), "driver_group", ["nothing"])
    assert adjust_columns(tires(), "driver_group", ["axle", "driver_group"]) == ("axle",)


def test_columns_are_groups_and_differences_from_the_mean():
    frame = tires(4, tire_line=["L", "L", "M", "M"], mass_kg=[1000.0, 1000.0, 2000.0, 2000.0])
    design = build_design(frame, "driver_group", ["tire_line", "mass_kg"])
    assert design.names == ("a", "b", "tire_line, M", "mass_kg")
    assert design.x[:, :2].tolist() == [[1, 0], [0, 1], [1, 0], [0, 1]]
    assert design.x[:, 2].tolist() == [-0.5, -0.5, 0.5, 0.5]
    assert design.x[:, 3] == pytest.approx(np.log(2) * np.array([-0.5, -0.5, 0.5, 0.5]))
    assert (design.offset == 0).all()


def test_the_axles_column_is_the_slope_of_the_log_of_mixed_wear():
    shares = np.array([0.0, 1.0, 0.5, 0.25])
    frame = tires(4, front_share=shares)
    ratio = 0.4
    design = build_design(frame, "driver_group", ["axle"], {"front": ratio})
    mixed = np.log(shares * np.exp(ratio) + 1 - shares)
    slope = shares * np.exp(ratio) / np.exp(mixed)
    assert design.x[:, 2] == pytest.approx(slope - slope.mean())
    assert design.offset == pytest.approx(mixed - slope * ratio)
    assert design.axle == (("front", 2),)


def test_too_few_tires_or_one_share_tell_no_axle():
    assert build_design(tires(2), "driver_group", ["axle"]).axle == ()
    assert build_design(tires(front_share=0.5), "driver_group", ["axle"]).axle == ()


def test_weights_of_groups():
    frame = tires(6, driver_group=["a", "b", "c"] * 2)
    design = build_design(frame, "driver_group", [])
    assert design.contrast("c", "a").tolist() == [-1, 0, 1]
    assert design.level("b").tolist() == [0, 1, 0]
    assert design.against_all("b") == pytest.approx([-1 / 3, 2 / 3, -1 / 3])


def test_a_ratio_of_axles_stays_within_what_is_likely():
    assert [clip_axle(value) for value in (-3.0, 0.5, 3.0)] == [-2.0, 0.5, 2.5]
