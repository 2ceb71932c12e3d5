"""Sections through treads, as data."""

import pytest

from tests.charts import frames
from tests.charts.test_drawings import every, values
from tirelife import charts
from tirelife.captions import WORDS


def test_profiles_write_each_depth_and_draw_the_limit_in_the_units_shown():
    spec = charts.tread_profiles(frames.depths(), 3.175).to_dict()
    rows = values(spec)
    assert [row["limit"] for row in rows if "limit" in row] == pytest.approx([4.0])
    front = sorted((row for row in rows if row.get("position") == "LF"), key=lambda row: row["x"])
    told = {(row["at"], row["label"], row["least"]) for row in front}
    assert {at: label for at, label, _ in told} == {
        "outer": "5.1", "outer_mid": "5.8", "center": "6", "inner_mid": "5.9", "inner": "5.6"
    }  # fmt: skip
    assert [at for at, _, least in told if least] == ["outer"]
    panels = [", ".join(t["text"]) for t in every(spec, "title") if isinstance(t, dict) and "text" in t]
    assert panels == ["Left front", "Right front", "Left rear", "Right rear"]
    assert "Left front outer 5.1 (least), outer middle 5.8" in spec["description"]


def test_a_section_has_flat_shoulders_a_groove_to_the_floor_at_each_reading_and_its_outside_outside():
    spec = charts.tread_profiles(frames.depths(), 1.6).to_dict()
    outlines = [rows for rows in spec["datasets"].values() if "height" in rows[0]]
    tops = [[point["height"] for point in rows if point["height"] > 0] for rows in outlines]
    worn = pytest.approx([5.1, 5.1, 5.1, 5.8, 5.8, 6.0, 6.0, 5.9, 5.9, 5.6, 5.6, 5.6], abs=0.05)
    assert worn in tops
    assert all(sum(point["height"] == 0 for point in rows) == 10 for rows in outlines)
    assert all((rows[0]["x"], rows[-1]["x"]) == (0, 1) for rows in outlines)
    wheel = [row for row in values(spec) if row.get("position") == "RF"]
    assert max(wheel, key=lambda row: row["x"])["at"] == "outer"
    assert any(heights[-1] == pytest.approx(4.6, abs=0.05) for heights in tops)


def test_profiles_of_three_wheels_and_no_new_depth_still_draw():
    depths = frames.depths().query("position != 'RR'").assign(new_depth_mm=float("nan"))
    panels = [
        ", ".join(t["text"])
        for t in every(charts.tread_profiles(depths, 1.6, "metric").to_dict(), "title")
        if isinstance(t, dict) and "text" in t
    ]
    assert panels == ["Left front", "Right front", "Left rear"]


def test_readings_that_tie_are_all_the_least_and_grooves_stand_from_outside_in_whatever_their_order():
    depths = (
        frames.depths().query("position == 'LF'").assign(depth_mm=[4.0, 3.0, 3.0 + 5e-7, 3.0 + 5e-6, 5.0])
    )
    shown = [
        row
        for row in values(charts.tread_profiles(depths.iloc[::-1], 1.6, "metric").to_dict())
        if "at" in row
    ]
    least = {row["at"] for row in shown if row["least"]}
    assert least == {"outer_mid", "center"}
    assert [row["x"] for row in shown if row["at"] == "outer"] == [pytest.approx(0.1)] * len(
        [row for row in shown if row["at"] == "outer"]
    )
    assert {row["at"]: row["x"] for row in shown}["inner"] == pytest.approx(0.9)


def test_what_is_new_is_drawn_only_where_it_is_known_and_labels_stand_above():
    depths = frames.depths().assign(
        label=lambda t: t["position"].map({"LF": "Left front, 2 mm", "RF": "b", "LR": "c", "RR": "d"})
    )
    depths.loc[depths["position"] == "LR", "new_depth_mm"] = float("nan")
    spec = charts.tread_profiles(depths, 1.6, "metric").to_dict()
    areas = [mark for mark in every(spec, "mark") if isinstance(mark, dict) and mark.get("type") == "area"]
    assert len(areas) == 7  # three wheels new and worn, one worn alone
    titles = [t["text"] for t in every(spec, "title") if isinstance(t, dict) and "text" in t]
    assert titles == [["Left front", "2 mm"], ["b"], ["c"], ["d"]]
    # From the floor of the grooves up to an eighth over the deepest that is drawn.
    domains = [domain for domain in every(spec, "domain") if isinstance(domain, list) and domain != [0, 1]]
    assert domains
    assert all(domain == pytest.approx([-0.12 * 1.12 * 7.9375, 1.12 * 7.9375]) for domain in domains)


def test_depths_are_written_in_a_languages_own_way():
    depths = frames.depths().query("position == 'LF'").assign(depth_mm=[4.0, 3.1, 3.25, 3.2, 5.0])
    said = charts.tread_profiles(depths, 1.6, "metric", say={**WORDS, "point-metric": ","}).to_dict()
    assert {row["label"] for row in values(said) if "label" in row} == {"4", "3,1", "3,2", "5"}
    assert "1,6" in said["description"]
