"""Ways to replace in lines and for a program: which stand in the table, which are not open, which tie."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tirelife.codes import Note, Severity
from tirelife.rotation import SURE
from tirelife.rotation.replace import Stop
from tirelife.terminal.replace import _WHY_NOT, replace_answer, replace_text
from tirelife.tread import Verdict


def way(**changes):
    return {
        "positions": "LF RF", "when": "now", "line": "", "allowed": True, "why_not": None, "cost_per_1000mi": 12.0,
        "cost_per_1000mi_p10": 10.0, "cost_per_1000mi_p90": 15.0, "paid_now": 1234.4, "thrown_away": 55.5,
        "chance_dearer": SURE, "chance_cheapest": 0.456,
    } | changes  # fmt: skip


def answer(*ways, **changes):
    return {
        "vehicle_id": "V1", "as_of": "2026-09-30", "over": {"distance": 50_000.0, "unit": "mi"}, "at_limit": [],
        "decision": [{"words": "Replace both front tires now."}], "ways": list(ways or [way()]),
    } | changes  # fmt: skip


def cells(text):
    return [
        part.strip()
        for part in next(x for x in text.splitlines() if x.startswith("both front")).split("  ")
        if part
    ]


def test_a_way_is_told_with_its_cost_rounded_by_its_range_and_its_chance():
    # A range of 5: steps of 0.5, so one decimal.
    text = replace_text(answer())
    assert cells(text) == [
        "both front tires",
        "now",
        "as on the car",
        "12.0",
        "10.0 to 15.0",
        "1,234",
        "56",
        "46",
    ]
    assert "V1, September 30, 2026: cost a 1,000 miles over the next 50,000" in text
    assert text.splitlines()[:2] == ["What to do", "  Replace both front tires now."]
    assert cells(replace_text(answer(way(line="Fellside"))))[2] == "Fellside"


@pytest.mark.parametrize(
    ("dearer", "tie"), [(0.0, False), (0.01, True), (SURE - 0.01, True), (SURE, False), (1.0, False)]
)
def test_a_way_ties_with_the_cheapest_unless_it_is_it_or_surely_dearer(dearer, tie):
    assert ("not told from the cheapest" in replace_text(answer(way(chance_dearer=dearer)))) is tie


def test_a_way_that_is_not_open_stands_below_with_its_reason():
    closed = way(positions="LF", allowed=False, why_not="match-axle", when="at 3/32")
    text = replace_text(answer(way(), closed))
    assert "Not open: left front, at 3/32: the other tire of the axle would differ too much." in text
    assert text.count("left front") == 1
    assert "Not open" not in replace_text(answer())


def test_every_reason_against_a_way_has_its_words():
    assert {code.value for code in Stop} == set(_WHY_NOT)


def test_tires_at_their_limit_are_to_be_seen_to():
    text = replace_text(answer(at_limit=["LF", "RR"]))
    assert "Read at or under the removal depth: left front, right rear. Have it seen to now." in text
    assert "at or under" not in replace_text(answer())


def test_kilometres_have_the_day_first():
    far = {name.replace("1000mi", "1000km"): value for name, value in way().items()}
    text = replace_text(answer(far, over={"distance": 80_000.0, "unit": "km"}))
    assert "V1, 30 September 2026: cost a 1,000 km over the next 80,000" in text


def test_for_a_program_money_is_a_1000_of_the_logbook_s_distance_and_reasons_are_codes():
    note = Note(next(iter(Stop)), Severity.NOTE)
    ways = pd.DataFrame({"allowed": [True, False], "note": [np.nan, note], "cost_per_1000km": [10.0, 20.0]})
    now = SimpleNamespace(vehicle_id="V1", verdicts={"LF": Verdict.AT_OR_UNDER, "RF": Verdict.NEAR})
    book = SimpleNamespace(units="us", as_of=pd.Timestamp("2026-09-30"))
    told = replace_answer(ways, now, None, 1609.344, book)
    assert told["over"] == {"distance": 1000.0, "unit": "mi"}
    assert told["at_limit"] == ["LF"]
    assert told["decision"] == []
    assert [row["why_not"] for row in told["ways"]] == [None, note.code.value]
    assert list(told["ways"][0])[:2] == ["allowed", "why_not"]
    assert told["ways"][0]["cost_per_1000mi"] == pytest.approx(16.09344)
