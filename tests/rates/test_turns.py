"""Sets that take turns: days of use laid to the calendar, and the drift of the pace, beside day-by-day sums."""

import numpy as np
import pandas as pd
import pytest

from tirelife.rates.turns import MIDWINTER, YEAR, _spell_paces, calendar_days, drift_years, of_winter

STEP = 0.05  # [day]


def is_on(days, on, first, mounted):
    """Whether a set is on the car so many days from today."""
    since = days - first
    off = YEAR - mounted
    phase = since % YEAR
    later = (phase >= off) if on else (phase < mounted)
    return np.where(days < first, bool(on), later)


CASES = [
    (True, 30.0, 182.625, 1.0),
    (False, 30.0, 182.625, 1.0),
    (True, 100.0, 120.0, 1.4),
    (False, 250.0, 240.0, 0.8),
]


@pytest.mark.parametrize(("on", "first", "mounted", "pace"), CASES)
def test_days_of_use_against_a_walk_through_the_calendar(on, first, mounted, pace):
    days = np.arange(0, 6 * YEAR, STEP)
    used = np.cumsum(is_on(days + STEP / 2, on, first, mounted)) * STEP * pace
    for use in (5.0, 29.0, 95.0, 200.0, 333.0, 500.0):
        want = days[np.searchsorted(used, use - 1e-6)] + STEP
        assert calendar_days(use, on, first, mounted, pace) == pytest.approx(want, abs=2 * STEP)


def test_a_set_that_stays_on_runs_at_its_pace():
    assert calendar_days([10.0, 0.0], True, 400.0, 200.0, 2.0).tolist() == [5.0, 0.0]
    assert np.isposinf(calendar_days(np.inf, True, 10.0, 100.0, 1.0))


@pytest.mark.parametrize(("on", "first", "mounted", "pace"), CASES)
@pytest.mark.parametrize("use", [20.0, 150.0, 420.0])
def test_drift_against_its_integral(on, first, mounted, pace, use):
    # The mean of a walk over the days on has as its variance the integral of (share of them still to come)².
    days = np.arange(0, 6 * YEAR, STEP)
    here = is_on(days + STEP / 2, on, first, mounted)
    done = np.cumsum(here) * STEP * pace
    left = np.maximum(1 - done / use, 0.0)
    want = (left**2).sum() * STEP / YEAR
    assert drift_years(use, on, first, mounted, pace) == pytest.approx(want, abs=1e-3)


@pytest.mark.parametrize(
    ("begin", "end", "winter"),
    [(288.0, 105.0, True), (105.0, 288.0, False), (MIDWINTER, 100.0, True), (300.0, MIDWINTER, False),
     (10.0, 20.0, True), (20.0, 10.0, False)],
)  # fmt: skip
def test_the_set_of_mid_january_is_the_winters(begin, end, winter):
    assert of_winter(pd.DataFrame({"from_day": [begin], "to_day": [end]})).tolist() == [winter]


def test_four_weeks_on_the_car_tell_a_pace_and_less_do_not():
    spells = pd.DataFrame(
        {
            "tire_id": ["S", "W", "S", "W", "S"],
            "from_date": pd.to_datetime(
                ["2025-01-01", "2025-02-01", "2025-03-01", "2025-04-01", "2025-05-01"]
            ),
            "days": [28, 28, 27, 200, 60],
            "run_km": [1400.0, 840.0, 2700.0, 4000.0, 6000.0],
            "open": [False, False, False, False, True],
        }
    )
    spells["to_date"] = spells["from_date"] + pd.to_timedelta(spells["days"], unit="D")
    stored, other = _spell_paces(spells, ["W"])
    # 840 km in 28 days and 4,000 in 200; 1,400 km in 28 days. 27 days, and a time not over yet, tell nothing.
    assert stored.tolist() == [30.0, 20.0]
    assert other.tolist() == [50.0]
