import numpy as np
import pandas as pd

from tirelife.outlook.dates import HORIZON_YEARS, dates_after

TODAY = pd.Series([pd.Timestamp("2026-03-01")])


def test_nothing_left_is_today():
    assert all(date[0] == TODAY[0] for date in dates_after(TODAY, np.zeros((1, 5))))


def test_days_become_whole_dates_and_what_is_not_known_or_too_far_is_left_out():
    far = HORIZON_YEARS * 365.25 + 1
    soon, unknown, last, beyond = (d[0] for d in dates_after(TODAY, np.array([[60.9, np.nan, far - 2, far]])))
    assert soon == TODAY[0] + pd.Timedelta(days=60)
    assert pd.isna(unknown)
    assert pd.notna(last)
    assert pd.isna(beyond)
