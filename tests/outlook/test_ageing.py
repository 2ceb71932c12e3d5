"""When tires are too old, by the calendar."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tirelife.outlook.ageing import AGE_LIMIT_YEARS, age_ends

TODAY = pd.Timestamp("2026-06-01")


def book(codes, mounted=(), doubts=None):
    """Tires A, B, ... with date codes, and stretches (tire, day)."""
    tires = pd.DataFrame({"tire_id": list("ABCDEF")[: len(codes)], "made_week": codes})
    if doubts is not None:
        tires["codes"] = doubts
    path = pd.DataFrame(mounted, columns=["tire_id", "from_date"])
    path["from_date"] = pd.to_datetime(path["from_date"]).astype("datetime64[us]")
    return SimpleNamespace(tires=tires, stretches=path, as_of=TODAY)


def ends(book, tires="A", *years):
    return age_ends(book, pd.Series(list(tires)), *years)


def test_a_tire_is_too_old_ten_years_after_the_last_day_of_the_week_it_was_made_in():
    # Week 7 of 2018 begins on 12 February and is over on the 18th.
    found = ends(book(["0718"]))
    assert found["age_end"].tolist() == [pd.Timestamp("2028-02-18")]
    assert found["age_days"].tolist() == [(pd.Timestamp("2028-02-18") - TODAY).days]
    assert not found["age_assumed"].any()
    assert AGE_LIMIT_YEARS == 10


@pytest.mark.parametrize(
    ("years", "end"), [(6.0, "2024-02-18"), (7.5, "2025-08-20"), (6.5, "2024-08-19"), (12, "2030-02-18")]
)
def test_part_of_a_year_counts(years, end):
    # 7.5 was rounded to 8 and 6.5 to 6.
    assert ends(book(["0718"]), "A", years)["age_end"][0] == pd.Timestamp(end)


def test_a_tire_that_is_too_old_has_no_days_left():
    found = ends(book(["0710"]))
    assert found["age_end"][0] == pd.Timestamp("2020-02-18")
    assert found["age_days"].tolist() == [0.0]


def test_of_three_digits_the_latest_day_counts():
    assert ends(book(["317"]))["age_end"][0].year == 2007  # week 31 of 1997 or 1987


def test_without_a_code_it_is_counted_from_the_first_mount():
    some = book(["", None, "nonsense"], [("A", "2020-05-01"), ("A", "2019-03-02"), ("C", "2021-01-01")])
    found = ends(some, "CABD")
    assert found["age_assumed"].all()
    assert found["age_end"].tolist()[:2] == [pd.Timestamp("2031-01-01"), pd.Timestamp("2029-03-02")]
    assert found["age_end"].isna().tolist() == [False, False, True, True]
    assert np.isinf(found["age_days"][2:]).all()


def test_a_doubted_code_counts_as_none():
    some = book(
        ["0426", "0426"], [("A", "2026-02-01"), ("B", "2026-02-01")], ["made_week:no-date-code", "depth_mm:x"]
    )
    found = ends(some, "AB")
    assert found["age_assumed"].tolist() == [True, False]
    assert found["age_end"][0] == pd.Timestamp("2036-02-01")


def test_of_a_tire_written_twice_the_first_row_counts_and_a_log_without_codes_is_a_log():
    twice = book(["0718", "0720"])
    twice.tires["tire_id"] = "A"
    assert ends(twice)["age_end"][0].year == 2028
    bare = book([""], [("A", "2020-05-01")])
    bare.tires = bare.tires.drop(columns="made_week")
    assert ends(bare)["age_end"][0] == pd.Timestamp("2030-05-01")
    assert len(ends(bare, "")) == 0
