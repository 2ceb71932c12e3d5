"""Every chart as data: what is drawn, in which units, with which words."""

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
