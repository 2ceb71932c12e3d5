import math

import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.language import code_words
from tirelife.wear import (
    PREPARATION,
    Judged,
    Measured,
    Range,
    Vehicle,
    camber_without_runout,
    compare_with_specification,
    sideways_slip,
    toe_angle_deg,
    toe_wear,
    total_toe,
    worksheet,
    worksheet_typed,
)

IN = 25.4


# standards-and-trade 5.4: toe [in], diameter [in], angle [°], ft per mile = 5280 toe / D.
@pytest.mark.parametrize(
    ("toe", "diameter", "degrees", "feet"),
    [(1 / 16, 26, 0.138, 12.69), (1 / 8, 26, 0.275, 25.38), (1 / 8, 28, 0.256, 23.57), (0.17, 30, 0.325, 29.92),
     (1 / 4, 26, 0.551, 50.77), (1 / 2, 28, 1.023, 94.29)],
)  # fmt: skip
def test_toe_to_slip_table(toe, diameter, degrees, feet):
    assert toe_angle_deg(toe * IN, diameter * IN) == pytest.approx(degrees, abs=0.0006)
    assert sideways_slip(toe * IN, diameter * IN, 5280) == pytest.approx(feet, abs=0.006)


@pytest.mark.parametrize(("degrees", "feet"), [(0.1, 9.22), (0.5, 46.08), (1.0, 92.16)])
def test_slip_of_an_angle(degrees, feet):
    toe = 660 * math.tan(math.radians(degrees))
    assert sideways_slip(toe, 660, 5280) == pytest.approx(feet, abs=0.006)


def test_published_68_miles():
    # kirtec.ca: 0.17 in of misalignment, 12,000 miles a year, 68 miles dragged sideways; D = 30 in is derived.
    assert sideways_slip(0.17 * IN, 30 * IN, 12_000) == pytest.approx(68.0, abs=0.1)
    # The same claim with 0.34° does not fit (71.2).
    assert 12_000 * math.tan(math.radians(0.34)) == pytest.approx(71.2, abs=0.05)


def test_run_out_averages_out():
    # A wheel whose line wobbles by 2 mm: first reading +2, half a turn later -2; true toe 3 mm.
    assert total_toe(1500 - 2, 1503) == 5.0
    assert total_toe(1500 - 2, 1503, 1500 + 2, 1503) == 3.0
    assert camber_without_runout(-0.9, -0.5) == pytest.approx(-0.7)
    assert camber_without_runout(-0.9) == -0.9


def test_toe_in_is_positive_and_toe_out_negative():
    assert total_toe(1500, 1502) == 2.0
    assert total_toe(1502, 1500) == -2.0
    assert sideways_slip(-3, 660, 1000) == sideways_slip(3, 660, 1000)


def test_wear_of_toe_has_a_range_and_grows_with_the_square():
    small, large = toe_wear(2.0, "front").iloc[0], toe_wear(4.0, "front").iloc[0]
    assert (large["wear_ratio"] - 1) / (small["wear_ratio"] - 1) == pytest.approx(4, rel=1e-3)
    assert 1 < small["low"] < small["wear_ratio"] < small["high"]
    assert small["life_share"] == pytest.approx(1 / small["wear_ratio"])
    none = toe_wear(0.0, "rear").iloc[0]
    assert none.tolist() == [1.0, 1.0, 1.0, 1.0]
    # A larger wheel turns the same distance into a smaller angle.
    assert toe_wear(4.0, "front", diameter_mm=800).loc[0, "wear_ratio"] < large["wear_ratio"]
    assert toe_wear(4.0, "front", Vehicle("rear")).loc[0, "wear_ratio"] > large["wear_ratio"]


def test_comparison_with_the_specification_entered():
    found = {"toe_mm": 3.0, "camber_left_deg": -0.5, "camber_right_deg": -1.6}
    limits = {"toe_mm": Range(0.0, 2.0), "camber_left_deg": Range(-1.0, 0.5)}
    got = compare_with_specification(found, limits).set_index("quantity")
    assert got["inside"].tolist() == [False, True, None]
    assert got.loc["toe_mm", "off_by"] == pytest.approx(1.0)
    assert got.loc["toe_mm", "note"] == Judged.OUTSIDE
    assert got.loc["camber_right_deg", "note"] == Judged.NO_SPECIFICATION
    assert compare_with_specification({"toe_mm": -0.5}, limits).loc[0, "off_by"] == pytest.approx(0.5)


def test_worksheet():
    sheet = worksheet(
        Measured(1498, 1503, 1502, 1503, 26 * IN, camber_left_deg=-0.4, camber_left_turned_deg=-0.6),
        "front",
        {"toe_mm": Range(-1, 1)},
        km_per_year=20_000,
    ).set_index("quantity")
    assert sheet.loc["toe_mm", "found"] == pytest.approx(3.0)
    assert sheet.loc["toe_in", "found"] == pytest.approx(3 / 25.4)
    assert sheet.loc["toe_deg", "found"] == pytest.approx(math.degrees(math.atan(3 / (26 * IN))))
    assert sheet.loc["runout_mm", "found"] == pytest.approx(2.0)
    assert sheet.loc["camber_left_deg", "found"] == pytest.approx(-0.5)
    assert sheet.loc["slip_ft_per_mile", "found"] == pytest.approx(5280 * 3 / (26 * IN))
    assert sheet.loc["slip_km_per_year", "found"] == pytest.approx(20_000 * 3 / (26 * IN))
    assert not sheet.loc["toe_mm", "inside"]
    cost = sheet.loc["wear_ratio"]
    assert 1 < cost["low"] < cost["found"] < cost["high"]
    assert "camber_right_deg" not in sheet.index


def test_preparation_covers_what_the_job_needs():
    text = " ".join(code_words(step) for step in PREPARATION).lower()
    for word in (
        "level floor",
        "settle the springs",
        "run-out",
        "looseness",
        "pressures",
        "never bleed a hot tire",
    ):
        assert word in text


def test_bad_input():
    with pytest.raises(InputError, match=r"distance between the lines 59\.1 mm is outside 500 to 3500"):
        total_toe(59.1, 59.2)
    with pytest.raises(InputError, match="measure both distances, front and rear, or neither"):
        total_toe(1500, 1502, 1501)
    with pytest.raises(InputError, match="diameter 0 mm"):
        toe_angle_deg(3, 0)
    with pytest.raises(InputError, match="give the lower figure first"):
        Range(2, 1)
    with pytest.raises(InputError, match="axle is 'left'"):
        toe_wear(1.0, "left")
    with pytest.raises(InputError, match="outside -20 to 20 degrees"):
        camber_without_runout(30)


TYPED = dict.fromkeys(["turned", "diameter", "camber_left", "camber_right", "toe_spec", "camber_spec", "miles_a_year"]) | {
    "axle": "rear", "unit": "in", "distances": [58.98, 59.11],
}  # fmt: skip


def test_a_worksheet_typed_in_inches_is_that_of_the_same_millimeters():
    given = TYPED | {
        "turned": [59.0, 59.1], "diameter": 26.0, "camber_left": [1.0, 1.2], "camber_right": [-0.5], "toe_spec": [0.0, 0.1],
        "camber_spec": [-1.0, 0.0], "miles_a_year": 12_000.0,
    }  # fmt: skip
    measured = Measured(
        *(25.4 * inches for inches in (58.98, 59.11, 59.0, 59.1, 26.0)), 1.0, -0.5, camber_left_turned_deg=1.2
    )
    camber = Range(-1.0, 0.0)
    limits = {"toe_mm": Range(0.0, 2.54), "camber_left_deg": camber, "camber_right_deg": camber}
    own = worksheet(measured, "rear", limits, km_per_year=12_000 * 1.609344)
    pd.testing.assert_frame_equal(worksheet_typed(given), own)
    plain = worksheet(Measured(58.98 * 25.4, 59.11 * 25.4), "rear")
    pd.testing.assert_frame_equal(worksheet_typed(TYPED), plain)


def test_a_worksheet_needs_its_distances_and_at_most_two_readings_of_a_camber():
    with pytest.raises(InputError, match="no distances"):
        worksheet_typed(TYPED | {"distances": None})
    with pytest.raises(InputError, match="--camber-right: give one reading"):
        worksheet_typed(TYPED | {"camber_right": [1.0, 2.0, 3.0]})
