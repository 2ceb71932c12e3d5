import pandas as pd
import pytest

from tests.advice.cars import CARS
from tests.sheet.answers import answer
from tests.sheet.reading import grade, syllables
from tirelife.advice import decide
from tirelife.errors import InputError
from tirelife.sheet import days, words
from tirelife.sheet.cautions import cautions
from tirelife.sheet.language import texts
from tirelife.sheet.language.decisions import lead_words

day = pd.Timestamp


def test_the_grade_formula_on_a_sentence_counted_by_hand():
    # 6 words, 1 sentence, 6 syllables: 0.39 * 6 + 11.8 * 1 - 15.59.
    assert grade("The cat sat on the mat.") == pytest.approx(-1.45)
    # The rule errs upwards ("miles" counts 2), which makes the grade it gives the stricter one.
    assert [syllables(w) for w in ("pressure", "estimate", "tire", "needed", "miles")] == [2, 3, 1, 2, 2]


def test_cautions_and_every_sentence_of_an_answer_read_at_grade_eight_or_lower():
    spoken = [*cautions("us"), texts()["page-look-now"]]
    assert grade("\n".join(spoken)) <= 8
    one = answer()
    for low, high in (
        ("2027-03-25", "2027-06-14"),
        ("2027-03-25", "2028-06-14"),
        ("2027-03-25", "2031-10-14"),
    ):
        said = lead_words(one.decision, (day(low), day(high)), (9000, 14000), "us")
        assert grade(said) <= 8, said
    assert grade(" ".join([*one.said.steps, *one.how, one.assumed])) <= 8


def test_a_hard_sentence_would_fail_the_reading_test():
    assert (
        grade(
            "Asymmetric deterioration necessitates immediate professional evaluation of suspension geometry."
        )
        > 14
    )


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        ("2027-03-01", "2027-03-09", "early March 2027"),
        ("2027-03-25", "2027-06-14", "late March to mid June 2027"),
        ("2026-11-25", "2027-02-03", "late November 2026 to early February 2027"),
        ("2027-01-15", "2027-10-15", "January to October 2027"),
        ("2027-01-15", "2028-12-31", "January 2027 to December 2028"),
        ("2027-05-15", "2029-06-30", "mid 2027 to mid 2029"),
    ],
)
def test_ranges_of_dates_get_coarser_as_they_get_wider(low, high, said):
    assert words.date_range(day(low), day(high)) == said


def test_a_range_is_said_once_when_both_ends_are_the_same_words():
    assert words.window(day("2027-03-01"), day("2027-03-09"), day("2026-09-30")) == "around early March 2027"


def test_nothing_is_promised_or_invented():
    assert words.date_range(pd.NaT, day("2027-01-01")) == "not known"
    assert words.distance(float("nan"), "us") == "not known"
    assert words.distance_range(float("nan"), 1, "us") == "not known"
    said = lead_words(answer().decision, (pd.NaT, pd.NaT), (float("nan"), float("nan")), "us")
    assert said == "There is not enough to give you a date yet. Measure again in a month or two."
    said = lead_words(answer().decision, (day("2027-01-01"), day("2027-03-01")), (5000, 9000), "us")
    for text in (said, *cautions("us")):
        assert not any(word in text.lower() for word in ("guarantee", "promise", "will last", "safe to"))


def test_tires_at_their_depth_are_due_now_and_no_others():
    car = next(c for c in CARS if c.name == "one tire at the bars")
    now = day("2026-09-30")
    said = lead_words(decide(car.facts()), (now, now), (0.0, 0.0), "us")
    assert said == "Due now: left front. Plan for new tires before you drive far."


@pytest.mark.parametrize(
    ("km", "units", "spread_km", "step"),
    [
        (1609.344, "us", 160.9344, 10),  # 100 miles wide, a fifth is 20
        (17_812, "us", 6000, 500),  # 3,728 miles wide, a fifth is 746
        (17_812, "us", 1000, 100),  # 621 miles wide, a fifth is 124
        (17_812, "metric", 40_000, 5000),
    ],
)
def test_distances_are_rounded_to_what_their_spread_supports(km, units, spread_km, step):
    number = float(words.distance(km, units, spread_km).split()[0].replace(",", ""))
    assert number % step == 0
    assert abs(number - km / (1.609344 if units == "us" else 1)) <= step / 2


def test_what_a_change_buys_is_said_with_its_sign():
    assert words.difference(1450, 45, "us") == "+900 miles, about 6 weeks"
    assert words.difference(-1450, -45, "metric") == "−1,500 km, about 6 weeks less"
    assert words.difference(10, 0, "us") == "little or nothing"
    assert words.difference(float("nan"), 3, "us") == "not known"


def test_the_readers_date_order():
    date = day("2026-03-04")
    assert [words.full_date(date, order) for order in days.DATE_ORDERS] == [
        "March 4, 2026",
        "4 March 2026",
        "2026 March 4",
    ]
    with pytest.raises(InputError, match="unknown date order 'ydm'"):
        words.full_date(date, "ydm")
    assert days.in_order("us") == "mdy"
    assert days.in_order("metric") == "dmy"
