"""Every chart as data: what is drawn, in which units, with which words."""

import json
import re
import warnings

import pandas as pd
import pytest

from tests.charts import frames
from tirelife import charts
from tirelife.errors import InputError

DRAWN = {
    "profiles": lambda u: charts.tread_profiles(frames.depths(), 1.5875, u),
    "windows": lambda u: charts.replacement_windows(frames.windows(), frames.AS_OF),
    "causes": lambda u: charts.wear_causes(frames.causes()),
    "changes": lambda u: charts.change_pairs(frames.changes(), u),
    "depth": lambda u: charts.depth_path(frames.readings(), frames.band(), 1.5875, u),
    "dates": lambda u: charts.depth_path(frames.readings(), frames.band(), 1.5875, u, by="date"),
}


def every(node, key):
    if isinstance(node, dict):
        for name, value in node.items():
            if name == key:
                yield value
            yield from every(value, key)
    elif isinstance(node, list):
        for value in node:
            yield from every(value, key)


@pytest.mark.parametrize("name", DRAWN)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_chart_says_what_it_shows_carries_units_and_renders(name, units):
    import vl_convert

    with warnings.catch_warnings():
        warnings.simplefilter("error")
        spec = DRAWN[name](units).to_dict()
    assert len(spec["description"]) > 60
    titles = [
        " ".join(t) if isinstance(t, list) else t for t in every(spec, "title") if isinstance(t, str | list)
    ]
    assert titles
    assert all("(" in t for t in titles), titles
    unit = {"us": ("32nds", "miles"), "metric": ("mm", "km")}[units]
    other = {"metric": ("32nds", "miles"), "us": ("(mm)", "(km)")}[units]
    if name in ("profiles", "depth", "dates", "changes"):
        assert any(u in t for t in titles for u in unit)
        assert not any(u in t for t in titles for u in other)
    drawn = vl_convert.vegalite_to_svg(spec)
    assert drawn.count("<path") > 3
    # Found: a screen reader was given "date_p10: May 2027"; what is spoken are words, no names of columns.
    spoken = re.findall(r'aria-label="([^"]*)"', drawn)
    assert not any("_" in words for words in spoken), [words for words in spoken if "_" in words][:3]


def values(spec):
    named = {data["name"]: data["values"] for data in every(spec, "data") if "values" in data}
    return [row for rows in (*spec.get("datasets", {}).values(), *named.values()) for row in rows]


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


def test_windows_are_a_named_set_on_a_calendar_from_just_before_today():
    spec = charts.replacement_windows(frames.windows(), frames.AS_OF).to_dict()
    (data,) = (d for d in every(spec, "data") if d.get("name") == "windows")
    assert data["values"][0]["date_p50"] == "2027-07-17T00:00:00"  # 290 days after 30 September 2026
    assert data["values"][4]["label"] == "The set"
    begin, end = (
        pd.Timestamp(day["year"], day["month"], day["date"])
        for day in (next(every(spec, name)) for name in ("domainMin", "domainMax"))
    )
    # A bar that begins today stands off the words beside it, by no more than would pass for a past.
    assert 0.01 < (frames.AS_OF - begin) / (end - begin) < 0.03
    assert end > frames.windows()["date_p90"].max()


def test_causes_sum_to_the_whole_or_are_refused():
    spec = charts.wear_causes(frames.causes()).to_dict()
    last = [row["to"] for row in values(spec) if row["cause"] == "Alignment"]
    assert last == pytest.approx([1, 1, 1, 1])  # of two labels, in bars and in numbers
    for label in ("Front", "Rear"):
        steps = [(row["from"], row["to"]) for row in values(spec) if row["label"] == label][:5]
        assert [start for start, _ in steps[1:]] == pytest.approx([end for _, end in steps[:-1]])
    with pytest.raises(InputError, match="two labels at the most"):
        charts.wear_causes(
            pd.concat([frames.causes(), frames.causes().query("label == 'Front'").assign(label="Spare")])
        )
    with pytest.raises(InputError, match="sum to 1"):
        charts.wear_causes(frames.causes().assign(share=0.3))


def test_pairs_hold_before_and_after_in_miles():
    rows = values(charts.change_pairs(frames.changes()).to_dict())
    assert rows[0]["before_mi"] == pytest.approx(18000 / 1.609344)
    assert rows[0]["after_mi"] == pytest.approx(19400 / 1.609344)
    assert rows[0]["said"] == "+900 miles, 1 month"


def test_the_path_draws_both_ranges_and_refuses_an_unknown_axis():
    spec = charts.depth_path(frames.readings(), frames.band(), 1.5875).to_dict()
    fields = json.dumps(spec)
    for level in ("p10", "p25", "p50", "p75", "p90"):
        assert f"depth_{level}_32nds" in fields
    assert "5 readings" in spec["description"]
    with pytest.raises(InputError, match="by must be"):
        charts.depth_path(frames.readings(), frames.band(), 1.5875, by="time")


def test_a_misspelt_column_is_refused_by_every_chart():
    def broken(frame, column):
        return frame.rename(columns={column: "misspelt"})

    for call in (
        lambda: charts.tread_profiles(broken(frames.depths(), "depth_mm"), 1.6),
        lambda: charts.replacement_windows(broken(frames.windows(), "date_p25"), frames.AS_OF),
        lambda: charts.wear_causes(broken(frames.causes(), "share")),
        lambda: charts.change_pairs(broken(frames.changes(), "after_km")),
        lambda: charts.depth_path(frames.readings(), broken(frames.band(), "depth_p90_mm"), 1.6),
    ):
        with pytest.raises(InputError, match="lacks"):
            call()


def test_a_name_with_markup_stays_text():
    windows = pd.DataFrame(frames.windows()).assign(label=["<b>1</b>", "b", "c", "d", "e"])
    assert "<b>1</b>" in charts.replacement_windows(windows, frames.AS_OF).to_dict()["description"]
