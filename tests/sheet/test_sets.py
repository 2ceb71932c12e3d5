"""Sets in store and pressures on the pages of customers and owners."""

import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tests.outlook.test_seasons import ROAD, log
from tirelife import read_logbook
from tirelife.outlook import calibrated_fit, forecast
from tirelife.rates import fit_logbook
from tirelife.sheet import words
from tirelife.sheet.answer import answer_for
from tirelife.sheet.fleet import fleet_answer
from tirelife.sheet.fleet_page import compose_fleet
from tirelife.sheet.interactive import recompute
from tirelife.sheet.language import texts
from tirelife.sheet.page import compose_page, customer_page


def words_of(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


@pytest.fixture(scope="module")
def two_sets(tmp_path_factory):
    book = log(tmp_path_factory.mktemp("sets") / "book")[0]
    fit = fit_logbook(book)
    return book, fit, answer_for(book, "V1", fit)


@pytest.fixture(scope="module")
def demo():
    book = read_logbook("data_synthetic/logbook")
    return book, calibrated_fit(book)


def test_the_customer_s_page_shows_both_sets_and_the_change(two_sets):
    book, fit, answer = two_sets
    rows = forecast(book, fit)
    stored = rows[rows["position"] == "OFF"].reset_index(drop=True)
    assert answer.stored["label"].tolist() == ["Left front", "Right front", "Left rear", "Right rear"]
    assert answer.stored["date_p50"].tolist() == stored["date_p50"].tolist()
    assert answer.tires["date_p50"].tolist() == rows.loc[rows["position"] != "OFF", "date_p50"].tolist()
    said = words_of(compose_page(answer))
    assert "Your other set, in store" in said
    assert re.search(r"The sets change about (30|31|1|2|3) (October|November) 2025", said)
    assert re.search(r"About 45% of the year\S+s distance is run on it, by the days", said)
    told = replace(answer, stored=answer.stored.assign(share=0.3, told=True))
    assert re.search(
        r"About 30% of the year\S+s distance is run on it, as told", words_of(compose_page(told))
    )


def test_the_controls_lay_dates_to_the_seasons(two_sets):
    answer = two_sets[2]
    found = recompute(answer.sliders, {})
    for place in ROAD:
        gap = found["tires"][place]["dates"][2] - answer.tires.set_index("position").loc[place, "date_p50"]
        assert abs(gap) <= pd.Timedelta(days=3)  # the distance a year is rounded to what the control shows
    assert all(answer.sliders["tires"][p]["turn"] is not None for p in ROAD)


def test_the_owner_s_page_lists_change_overs_and_counts_both_sets(two_sets):
    book, fit, _ = two_sets
    found = fleet_answer(book, fit)
    assert found.stored["vehicle_id"].tolist() == ["V1"]
    assert abs(found.stored["change"].iloc[0] - pd.Timestamp("2025-11-01")) <= pd.Timedelta(days=3)
    assert found.stored["date_p10"].iloc[0] <= found.stored["date_p90"].iloc[0]
    said = words_of(compose_fleet(found))
    assert "Sets in store" in said
    assert words.full_date(found.stored["change"].iloc[0], "dmy") in said
    assert words.full_date(found.stored["change"].iloc[0], "mdy") in words_of(
        compose_fleet(found, order="mdy")
    )


@pytest.mark.parametrize("language", ["en", "es"])
def test_no_page_writes_a_day_as_a_file_would(two_sets, language):
    book, fit, _ = two_sets
    answer = answer_for(book, "V1", fit, order="ymd", language=language)
    pages = compose_page(answer), compose_fleet(fleet_answer(book, fit), language=language)
    assert answer.notes
    for html in pages:
        shown = re.sub(r"<(script|style).*?</\1>", "", html, flags=re.S)
        assert not re.search(r"\b\d{4}-\d{2}-\d{2}\b", words_of(shown))
    day = words.full_date(answer.stored["change"].iloc[0], "ymd", texts(language))
    assert day in words_of(pages[0])
    assert day in " ".join(answer.notes)


def test_pages_of_one_set_say_nothing_of_sets(demo):
    book, fit = demo
    answer = answer_for(book, "V01", fit)
    assert answer.stored.empty
    assert "h-stored" not in compose_page(answer)


def test_pressures_stand_on_a_page_where_there_is_something_to_say(demo):
    book, fit = demo
    said = words_of(customer_page(book, "V10", fit))  # all four leak
    for part in (
        "If set hot",
        "Days over 10 % low",
        "a month: have the tire",
        "Never let air out of a hot tire",
    ):
        assert part in said
    assert "h-pressures" not in customer_page(book, "V01", fit)
    assert np.isfinite(answer_for(book, "V10", fit).pressures["hot_target_kpa"]).all()
