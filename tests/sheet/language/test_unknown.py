"""What is assumed for want of a record, and in which order telling it is worth while."""

import pandas as pd
import pytest

from tirelife.language import LANGUAGES
from tirelife.outlook import Fact
from tirelife.sheet.language.unknown import LEAST_KM, fact_words

MI, N32, PSI = 1.609344, 0.79375, 6.894757293168


def facts(**narrows):
    rows = {
        Fact.NEW_DEPTH: {"assumed_mm": 10 * N32, "low_mm": 9 * N32, "high_mm": 11 * N32},
        Fact.PLACARDS: {"assumed_kpa": 33 * PSI, "low_kpa": 30 * PSI, "high_kpa": 36 * PSI},
        Fact.DRIVE: {"assumed": "front"},
    }
    names = {"depth": Fact.NEW_DEPTH, "placards": Fact.PLACARDS, "drive": Fact.DRIVE}
    return pd.DataFrame(
        [{"fact": names[name], "narrows_km": km, **rows[names[name]]} for name, km in narrows.items()]
    )


def test_what_is_assumed_is_said_with_its_range_in_the_order_given():
    held, worth = fact_words(facts(placards=2000 * MI, depth=1000 * MI), "us")
    assert held.startswith(
        "Assumed, neither measured nor learned: a placard of about 33 psi (30 psi to 36 psi, 8 chances in 10)"
    )
    assert "; a depth when new of about 10/32 inch, " in held
    assert "(9/32 inch to 11/32 inch, 8 chances in 10)" in held
    assert worth == (
        "Worth telling us: the placard pressures would narrow the distance left by about 2,000 miles; the depth when new would "
        "narrow the distance left by about 1,000 miles."
    )


def test_what_would_narrow_by_less_than_fifty_miles_is_idle():
    said = fact_words(facts(drive=LEAST_KM - 0.1, depth=LEAST_KM), "metric")
    assert said[0].startswith("Assumed, neither measured nor learned: front-wheel drive; ")
    assert said[1] == "Worth telling us: the depth when new would narrow the distance left by about 100 km."
    assert said[2] == "It would hardly change for the drive."
    both = fact_words(facts(drive=0.0, placards=-5.0), "us")
    assert len(both) == 2
    assert both[1] == "It would hardly change for the drive and the placard pressures."


@pytest.mark.parametrize("language", LANGUAGES)
def test_where_all_is_recorded_nothing_is_said_and_every_fact_has_words(language):
    assert fact_words(facts(), "us", language) == ()
    assert len(fact_words(facts(depth=500.0, placards=500.0, drive=1.0), "us", language)) == 3
    assert len(facts(depth=1, placards=1, drive=1)) == len(Fact)
