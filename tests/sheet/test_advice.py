import pandas as pd

from tests.sheet.answers import state
from tests.sheet.reading import grade
from tirelife.sheet.advice import STEPS, pressure_step, reading_step

DAY = pd.Timestamp("2026-09-30")


def reading(narrower, km=5000.0, days=61):
    return pd.Series({"ahead_km": km, "date": DAY + pd.Timedelta(days=days), "narrower": narrower})


def test_the_next_reading_says_when_where_and_how_much():
    said = reading_step(reading(0.26), DAY, 40_000.0, "metric")
    assert (
        said
        == "Measure again in about 2 months, near 45,000 km. That should narrow the window by about a quarter."
    )
    assert "would hardly narrow" in reading_step(reading(0.02), DAY, 40_000.0, "us")
    assert "near" not in reading_step(reading(0.26), DAY, float("nan"), "us")
    none = pd.Series({"ahead_km": float("nan"), "date": pd.NaT, "narrower": float("nan")})
    assert reading_step(none, DAY, 1.0, "us") == "Measure again at every visit from now on."


def test_low_pressure_is_named_with_how_low_and_never_a_word_about_letting_air_out():
    s = state()
    assert pressure_step(s, "us") == "Set the pressures cold, to the placard: they ran about 2 psi low."
    next(c for c in s["controls"] if c["id"] == "pressure")["value"] = -0.5
    assert pressure_step(s, "us") == ""
    next(c for c in s["controls"] if c["id"] == "pressure")["value"] = 3
    assert pressure_step(s, "us") == ""


def test_every_step_reads_at_grade_eight_or_lower():
    assert grade("\n".join(step.format(where="the left front") for step in STEPS.values())) <= 8
