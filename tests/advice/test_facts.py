"""What a decision rests on, and what a shop may set."""

import math

import pandas as pd
import pytest

from tirelife.advice import Facts, RotationFacts, Settings, TireFacts


def test_settings_are_those_of_the_trade():
    usual = Settings()
    assert usual.service_km == pytest.approx(8_046.72)  # 5,000 miles
    assert usual.match_axle_mm == usual.match_drive_mm == pytest.approx(3 * 25.4 / 32)
    assert usual.leak_kpa_per_month == pytest.approx(3 * 6.894757, rel=1e-6)
    assert (usual.service_days, usual.better, usual.sure) == (183.0, 0.05, 0.6)


def test_tires_are_found_by_a_test_in_their_order():
    tires = {
        "LF": TireFacts(2.0, near_limit=True),
        "RF": TireFacts(5.0),
        "SP": TireFacts(1.0, near_limit=True),
    }
    facts = Facts("V1", "front", pd.Timestamp("2026-06-01"), 50.0, {}, tires)
    assert facts.where(lambda tire: tire.near_limit) == ("LF", "SP")
    assert facts.where(lambda tire: tire.read_mm > 9) == ()


def test_what_is_not_told_is_not_known_and_is_no_reason():
    tire, rotation = TireFacts(4.0), RotationFacts()
    assert math.isnan(tire.km_p50)
    assert math.isnan(tire.new_depth_mm)
    assert math.isnan(rotation.since_km)
    assert tire.fits
    assert not tire.by_age
    assert tire.loss_kpa_per_month == 0
    assert rotation.refused is None
