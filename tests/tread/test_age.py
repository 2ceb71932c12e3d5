"""Date codes and age advice. Sources: the facts behind each number are named beside it."""

import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.tread import age_advice, read_date_code


@pytest.mark.parametrize(
    ("code", "week", "years"),
    [
        ("0712", 7, (2012,)),  # reference.com, "locate tire's manufactured date": week 7 of 2012
        ("2501", 25, (2001,)),  # linhelps.com, content 840: week 25 of 2001
        ("317", 31, (1997, 1987)),  # same page: week 31 of 1997; three digits leave the decade open
        ("DOT U2LL LMLR 2501", 25, (2001,)),
        ("dot 4b08-4dhr 0712", 7, (2012,)),
        ("U2LLLMLR317", 31, (1997, 1987)),
        ("5309", 53, (2009,)),
    ],
)
def test_codes_are_read(code, week, years):
    read = read_date_code(code)
    assert (read.week, read.years) == (week, years)
    assert read.made_from <= read.made_to
    assert (read.note == "age-open-decade") == (len(years) == 2)


@pytest.mark.parametrize("code", ["0012", "5412", "0017", "9901", "12", "", "71234", "0x12", "week 7", "nan"])
def test_what_is_no_code_is_refused(code):
    with pytest.raises(InputError):
        read_date_code(code)


def test_the_message_says_what_to_do():
    with pytest.raises(InputError) as error:
        read_date_code("5412")
    assert str(error.value) == (
        "date code '5412': week 54 does not exist. The first two digits are the week, 01 to 53."
    )


def test_week_seven_is_in_february():
    read = read_date_code("0712")
    assert read.made_from == pd.Timestamp("2012-02-12")
    assert read.made_to == pd.Timestamp("2012-02-18")


@pytest.mark.parametrize(
    ("code", "on", "words"),
    [
        # Six years (several car makers) and ten (several tire makers, European industry): from memory.
        ("4820", "2026-11-20", ""),
        ("4820", "2026-12-10", "age-six-years"),
        ("4816", "2026-11-20", "age-six-years"),
        ("4816", "2026-12-10", "age-ten-years"),
        ("317", "2026-11-20", "age-ten-years"),
    ],
)
def test_advice_comes_at_six_and_ten_years(code, on, words):
    advice = age_advice(code, on).advice
    assert advice == words


def test_age_is_a_range_where_the_decade_is_open():
    read = age_advice("317", "2026-07-30")
    assert read.youngest_years == pytest.approx(29, abs=0.05)
    assert read.oldest_years == pytest.approx(39, abs=0.05)


def test_a_tire_is_not_made_after_the_day():
    with pytest.raises(InputError, match="after 2026-11-25"):
        age_advice("5199", "2026-11-25")
    assert age_advice("4726", "2026-11-25").youngest_years == 0
