"""Depths read and ahead, as data."""

import json

import pytest

from tests.charts import frames
from tests.charts.test_drawings import every
from tirelife import charts
from tirelife.captions import WORDS
from tirelife.errors import InputError


def test_the_path_draws_both_ranges_and_refuses_an_unknown_axis():
    spec = charts.depth_path(frames.readings(), frames.band(), 1.5875).to_dict()
    fields = json.dumps(spec)
    for level in ("p10", "p25", "p50", "p75", "p90"):
        assert f"depth_{level}_32nds" in fields
    assert "5 readings" in spec["description"]
    with pytest.raises(InputError, match="by must be"):
        charts.depth_path(frames.readings(), frames.band(), 1.5875, by="time")


def test_depths_go_from_nought_to_over_the_deepest_and_panels_in_the_order_of_the_band():
    spec = charts.depth_path(frames.readings(), frames.band().iloc[::-1], 1.6, "metric", columns=3).to_dict()
    titles = [t["text"] for t in every(spec, "title") if isinstance(t, dict) and "text" in t]
    assert titles == ["Right rear", "Left rear", "Right front", "Left front"]
    rows = spec["vconcat"]
    assert [len(row["hconcat"]) for row in rows] == [3, 1]
    tops = [d[1] for d in every(spec, "domain") if isinstance(d, list) and d[0] == 0]
    assert tops == pytest.approx([7.9 * 1.06] * len(tops))
    assert tops
    # Distance goes from the first reading to the end of the band.
    assert [20_000, 96_000] in [d for d in every(spec, "domain") if isinstance(d, list)]


def test_one_without_readings_has_a_panel_and_says_so():
    few = frames.readings().query("label != 'Left rear'")
    spec = charts.depth_path(few, frames.band(), 1.5875).to_dict()
    titles = [t["text"] for t in every(spec, "title") if isinstance(t, dict) and "text" in t]
    assert "Left rear" in titles
    assert WORDS["chart-unread"].format(label="Left rear") in spec["description"]
    bare = charts.depth_path(few.iloc[:0], frames.band().assign(depth_p90_mm=float("nan")), 1.5875).to_dict()
    tops = [d[1] for d in every(bare, "domain") if isinstance(d, list) and d[0] == 0]
    assert tops == pytest.approx([2 * 1.06] * len(tops))  # nothing is known but the limit


def test_what_is_ahead_and_the_limit_are_named_panel_by_panel_with_blanks_where_nothing_is_known():
    band = frames.band()
    band.loc[0, "depth_p90_mm"] = float("nan")
    spec = charts.depth_path(frames.readings(), band, 1.5875, by="date").to_dict()
    named = {data["name"]: data["values"] for data in every(spec, "data") if {"name", "values"} <= set(data)}
    assert {f"band-{i}" for i in range(4)} | {f"limit-{i}" for i in range(4)} <= set(named)
    assert named["limit-2"] == [{"limit": pytest.approx(2.0)}]
    assert named["band-0"][0]["depth_p90_32nds"] is None
    assert named["band-0"][1]["date"] == "2026-12-29T00:00:00"
    assert {row["label"] for row in named["band-1"]} == {"Right front"}


def test_only_the_first_panel_of_a_row_names_depths_and_only_the_last_row_distances():
    spec = charts.depth_path(frames.readings(), frames.band(), 1.5875, columns=2).to_dict()
    told = []
    for row in spec["vconcat"]:
        for panel in row["hconcat"]:
            line = next(layer["encoding"] for layer in panel["layer"] if layer["mark"]["type"] == "line")
            told.append((bool(line["y"]["axis"].get("title")), bool(line["x"]["axis"].get("title"))))
    assert told == [(True, False), (False, False), (True, True), (False, True)]
