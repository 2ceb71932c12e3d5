"""Windows of replacement on a calendar, as data."""

import pandas as pd
import pytest

from tests.charts import frames
from tests.charts.test_drawings import every
from tirelife import charts
from tirelife.errors import InputError


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


def test_the_calendar_ends_a_little_after_the_latest_date_or_where_it_is_told_to():
    data = frames.windows()
    whole = data["date_p90"].max() - frames.AS_OF

    def end(**told):
        day = next(every(charts.replacement_windows(data, frames.AS_OF, **told).to_dict(), "domainMax"))
        return pd.Timestamp(day["year"], day["month"], day["date"])

    assert end() == (data["date_p90"].max() + whole * 0.08).normalize()
    assert end(until=pd.Timestamp("2030-05-01")) == pd.Timestamp("2030-05-01")


@pytest.mark.parametrize(
    ("years", "form", "ticks"),
    [(1.5, "%b %Y", {"interval": "month", "step": 3}), (1.7, "%b %Y", {"interval": "month", "step": 6}),
     (3.9, "%b %Y", {"interval": "month", "step": 6}), (4.1, "%Y", "year")],
)  # fmt: skip
def test_ticks_are_months_or_years_as_there_is_room(years, form, ticks):
    until = frames.AS_OF + pd.Timedelta(days=years * 365.25)
    spec = charts.replacement_windows(frames.windows(), frames.AS_OF, until).to_dict()
    axis = next(axis for axis in every(spec, "axis") if isinstance(axis, dict) and "format" in axis)
    assert (axis["format"], axis["tickCount"]) == (form, ticks)


def test_a_day_that_is_not_known_is_a_blank_and_words_stand_beside_or_above():
    data = frames.windows()
    data.loc[0, "date_p90"] = pd.NaT
    spec = charts.replacement_windows(data, frames.AS_OF).to_dict()
    (named,) = (d for d in every(spec, "data") if d.get("name") == "windows")
    assert named["values"][0]["date_p90"] is None
    texts = [layer for layer in spec["layer"] if layer["mark"]["type"] == "text"]
    assert [layer["encoding"]["text"]["field"] for layer in texts] == ["said"]
    above = charts.replacement_windows(data, frames.AS_OF, above=True).to_dict()
    texts = [layer for layer in above["layer"] if layer["mark"]["type"] == "text"]
    assert [layer["encoding"]["text"]["field"] for layer in texts] == ["label", "said"]
    bars = [
        layer["encoding"]["x"]["field"] + " " + layer["encoding"]["x2"]["field"]
        for layer in spec["layer"][:2]
    ]
    assert bars == ["date_p10 date_p90", "date_p25 date_p75"]


def test_without_a_date_there_is_no_calendar_but_where_it_is_told_to_end():
    # Its ends were no numbers, which is no drawing at all.
    dates = [name for name in frames.windows() if name.startswith("date_")]
    bare = frames.windows().assign(**dict.fromkeys(dates, pd.NaT))
    for none in (bare, frames.windows().iloc[:0]):
        with pytest.raises(InputError, match="none of them has a forecast"):
            charts.replacement_windows(none, frames.AS_OF)
    assert "NaN" not in charts.replacement_windows(bare, frames.AS_OF, pd.Timestamp("2028-01-01")).to_json()
