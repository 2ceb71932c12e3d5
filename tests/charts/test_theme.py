import numpy as np
import pandas as pd
import pytest

from tirelife.charts import require_columns, shown
from tirelife.charts.theme import ACCENT, DARK, INK, LIGHT, MID, PALE, axis_title, finish
from tirelife.errors import InputError

# Machado, Oliveira and Fernandes 2009, IEEE Trans. Vis. Comput. Graph. 15(6), table of matrices at severity 1.0
# (from memory; rows sum to 1, which is checked below), acting on linear RGB.
DEFICIENCIES = {
    "protan": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritan": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}


def linear(color):
    c = np.array([int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def lightness(rgb):
    # CIE 1976 L*, from the relative luminance of IEC 61966-2-1 (sRGB).
    y = float(np.clip(rgb, 0, 1) @ [0.2126, 0.7152, 0.0722])
    return 116 * y ** (1 / 3) - 16 if y > 0.008856 else 903.3 * y


def contrast(a, b):
    # WCAG 2.1, 1.4.3: (L1 + 0.05) / (L2 + 0.05).
    ya, yb = (float(linear(c) @ [0.2126, 0.7152, 0.0722]) for c in (a, b))
    return (max(ya, yb) + 0.05) / (min(ya, yb) + 0.05)


def test_the_simulation_leaves_grey_alone():
    for matrix in DEFICIENCIES.values():
        assert np.sum(matrix, axis=1) == pytest.approx([1, 1, 1], abs=2e-6)


@pytest.mark.parametrize("sight", ["grey", *DEFICIENCIES])
def test_marks_that_meet_differ_in_lightness_in_grey_and_for_every_colour_vision(sight):
    def seen(color):
        rgb = linear(color)
        return lightness(rgb if sight == "grey" else np.array(DEFICIENCIES[sight]) @ rgb)

    # Ink on the dark bar, dark on light, light on the page, gone on the page, the limit on both.
    meeting = [
        (INK, DARK),
        (DARK, LIGHT),
        (LIGHT, MID),
        (LIGHT, "#ffffff"),
        (DARK, PALE),
        (ACCENT, DARK),
        (ACCENT, PALE),
    ]
    for a, b in meeting:
        assert abs(seen(a) - seen(b)) > 14, (a, b)


def test_text_has_the_contrast_that_small_type_needs():
    assert contrast(INK, "#ffffff") > 7
    assert contrast(DARK, "#ffffff") > 4.5


def test_a_missing_column_is_named_and_no_chart_is_drawn():
    with pytest.raises(InputError, match=r"^band lacks p10, p90; it has x\.$"):
        require_columns(pd.DataFrame({"x": [1]}), ["x", "p10", "p90"], table="band")


def test_shown_converts_every_unit_and_leaves_the_frame_it_was_given():
    frame = pd.DataFrame(
        {"km_left_p10": [1.609344], "depth_p50_mm": [0.79375], "cold_kpa": [6.894757293168361], "n": [3]}
    )
    out = shown(frame, "us")
    assert list(out.columns) == ["mi_left_p10", "depth_p50_32nds", "cold_psi", "n"]
    assert out.iloc[0].tolist() == pytest.approx([1, 1, 1, 3], rel=1e-12)
    assert next(iter(frame.columns)) == "km_left_p10"
    pd.testing.assert_frame_equal(shown(frame, "metric"), frame)


def test_axis_titles_carry_the_unit():
    assert axis_title("Left", "mi_left_p50") == "Left (miles)"
    assert axis_title("Depth", "depth_mm") == "Depth (mm)"


def test_the_look_is_on_the_chart_and_nothing_global_changes():
    import altair as alt

    before = alt.theme.active
    chart = finish(alt.Chart(pd.DataFrame({"a": [1]})).mark_point(), "One point.").to_dict()
    assert chart["description"] == "One point."
    assert "Arial" in chart["config"]["font"]
    assert alt.theme.active == before
