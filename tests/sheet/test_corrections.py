"""A pattern's cause put right, on the page and among what to do next."""

import pytest

from tests.tread.books import EVEN, two_visits
from tirelife import tread
from tirelife.advice import Kind
from tirelife.outlook import correct_causes
from tirelife.rates import fit_logbook
from tirelife.sheet.answer import answer_for


def test_toe_put_right_is_among_what_each_change_would_buy(tmp_path):
    book = two_visits(tmp_path / "book", (4.3, 5.4, 5.9, 6.0, 6.0))
    fit = fit_logbook(book)
    answer = answer_for(book, "V1", fit)
    row = answer.changes.set_index("change").loc["Toe put right"]
    assert row["after_low_km"] < row["after_km"] < row["after_high_km"]
    assert row["days"] > 0
    gain = correct_causes(book, fit).query("position == 'set'").iloc[0]
    # The page's set leans its tires together otherwise than what-if does, so not to the last kilometer.
    assert row["after_km"] - row["before_km"] == pytest.approx(gain["km_gained_p50"], rel=0.15)
    assert any("alignment" in step for step in answer.said.steps)


def test_an_even_tread_is_offered_no_correction(tmp_path):
    book = two_visits(tmp_path / "book", EVEN)
    answer = answer_for(book, "V1", fit_logbook(book))
    assert not answer.changes["change"].str.contains("put right").any()
    assert not answer.decision.of(Kind.CORRECT)


def test_edges_two_thirty_seconds_apart_call_for_angles(tmp_path, monkeypatch):
    # Common practice, no source: 2/32 in across the tread. Causes are made silent; the trigger is alone.
    weigh = tread.weigh_causes
    for room in ("outlook.correction", "advice.gather"):
        monkeypatch.setattr(
            f"tirelife.{room}.weigh_causes", lambda *a, **k: weigh(*a, **k).assign(probability=0.01)
        )
    apart = two_visits(tmp_path / "apart", (4.0, 4.5, 5.0, 5.5, 6.0))
    assert any("alignment" in s for s in answer_for(apart, "V1", fit_logbook(apart)).said.steps)
    even = two_visits(tmp_path / "even", EVEN)
    assert not any("alignment" in s for s in answer_for(even, "V1", fit_logbook(even)).said.steps)
