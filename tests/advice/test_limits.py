"""How far it is to the next look at the usual service."""

import pandas as pd
import pytest

from tirelife.advice import Facts, Settings
from tirelife.advice.limits import look_km

DAY = pd.Timestamp("2026-06-01")


@pytest.mark.parametrize(
    ("km_per_day", "km"),
    [
        (100.0, 8_000.0),
        (50.0, 8_000.0),
        (40.0, 7_320.0),
        (1.0, 183.0),
        (0.0, 8_000.0),
        (float("nan"), 8_000.0),
    ],
)
def test_it_comes_after_the_usual_distance_or_half_a_year_whichever_is_first(km_per_day, km):
    facts = Facts("V1", "front", DAY, km_per_day, {}, {})
    assert look_km(facts, Settings(service_km=8_000.0, service_days=183.0)) == pytest.approx(km)


def test_the_usual_service_is_five_thousand_miles_or_half_a_year():
    facts = Facts("V1", "front", DAY, 1_000.0, {}, {})
    assert look_km(facts, Settings()) == pytest.approx(5_000 * 1.609344)
    assert look_km(Facts("V1", "front", DAY, 10.0, {}, {}), Settings()) == pytest.approx(1_830)
