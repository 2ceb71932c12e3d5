"""What the page's script is given is plain, and all of it is what decides here."""

import json

import pytest

from tirelife.advice import Kind, Settings, Soon
from tirelife.advice.limits import LOOK_SHARE, LOW_KPA, NEAR_LOOK_DAYS, NEAR_LOOK_KM
from tirelife.advice.script_rules import rules
from tirelife.inflation import INSPECT_KPA_PER_MONTH
from tirelife.tread import NEAR_MM


def test_rules_are_plain_data():
    told = rules()
    assert json.loads(json.dumps(told, allow_nan=False)) == told


def test_a_shops_settings_are_in_them_and_the_usual_ones_where_none_are_told():
    assert rules(Settings(service_km=12_000.0, sure=0.9))["service_km"] == 12_000
    assert rules(Settings(sure=0.9))["sure"] == 0.9
    assert rules()["service_km"] == pytest.approx(8_046.72)


def test_limits_and_orders_are_those_of_the_decision():
    told = rules()
    assert [told[name] for name in ("look_share", "low_kpa", "near_look_days", "near_look_km")] == [
        LOOK_SHARE, LOW_KPA, NEAR_LOOK_DAYS, NEAR_LOOK_KM
    ]  # fmt: skip
    assert (LOOK_SHARE, LOW_KPA, NEAR_LOOK_DAYS, NEAR_LOOK_KM) == (0.5, 10.0, 30.0, 1_600.0)
    assert told["kinds"] == list(Kind)
    assert told["soon"] == ["now", "before-next-look", "plan"] == list(Soon)
    assert told["road"] == ["LF", "RF", "LR", "RR"]
    assert told["near_mm"] == NEAR_MM
    assert told["inspect_kpa_per_month"] == INSPECT_KPA_PER_MONTH
