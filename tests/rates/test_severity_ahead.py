"""Severity ahead, by wheel and axle, summed up by hand."""

import numpy as np
import pandas as pd
import pytest

from tirelife.rates.severity_ahead import RECENT_KM, recent_lengths, severity_ahead


def parts(*rows):
    """Stretches: vehicle, position, from and to where the vehicle stood, severity."""
    return pd.DataFrame(rows, columns=["vehicle_id", "position", "from_km", "to_km", "severity"])


def mounted(*rows):
    return pd.DataFrame(rows, columns=["vehicle_id", "position", "axle"])


TWO = parts(
    ("V1", "LF", 0.0, 6_000.0, 2.0), ("V1", "LF", 6_000.0, 10_000.0, 1.0), ("V1", "RF", 0.0, 10_000.0, 1.2),
    ("V1", "LR", 0.0, 10_000.0, 0.8), ("V1", "RR", 5_000.0, 10_000.0, 0.5), ("V1", "SP", 0.0, 10_000.0, 9.0),
)  # fmt: skip


def test_a_wheel_goes_on_as_it_was_and_the_other_axle_as_its_wheels_were():
    here, there = severity_ahead(
        TWO, mounted(("V1", "LF", "front"), ("V1", "RF", "front"), ("V1", "LR", "rear"))
    )
    # By distance: 6,000 km at 2 and 4,000 at 1; the rear axle 10,000 km at 0.8 and 5,000 at 0.5.
    np.testing.assert_allclose(here, [1.6, 1.2, 0.8])
    rear = (10_000 * 0.8 + 5_000 * 0.5) / 15_000
    np.testing.assert_allclose(there, [rear, rear, (16_000 + 12_000) / 20_000])


def test_a_spare_would_go_on_as_both_axles_do_and_what_it_lay_counts_for_nothing():
    here, there = severity_ahead(TWO, mounted(("V1", "SP", "spare")))
    both = ((10_000 * 0.8 + 5_000 * 0.5) / 15_000 + 28_000 / 20_000) / 2
    assert here == there == pytest.approx([both])


def test_a_wheel_or_a_car_of_which_nothing_is_known_is_the_reference():
    here, there = severity_ahead(
        parts(("V1", "LF", 0.0, 5_000.0, 1.4)), mounted(("V1", "RR", "rear"), ("V2", "LF", "front"))
    )
    assert here.tolist() == [1.0, 1.0]
    np.testing.assert_allclose(there, [1.4, 1.0])
    nothing, _ = severity_ahead(parts(("V1", "LF", 0.0, 5_000.0, 0.0)), mounted(("V1", "LF", "front")))
    assert nothing.tolist() == [1.0]
    none, other = severity_ahead(TWO.iloc[:0], mounted())
    assert len(none) == len(other) == 0


def test_a_wheel_that_ran_nothing_yet_has_the_severity_of_its_mount():
    here, _ = severity_ahead(parts(("V1", "LF", 5_000.0, 5_000.0, 1.3)), mounted(("V1", "LF", "front")))
    np.testing.assert_allclose(here, [1.3])


def test_only_the_last_of_a_vehicles_distance_counts():
    assert RECENT_KM == 16_000
    rows = parts(
        ("V1", "LF", 0.0, 10_000.0, 3.0),
        ("V1", "LF", 10_000.0, 30_000.0, 1.0),
        ("V2", "LF", 0.0, 10_000.0, 2.0),
    )
    # V1 stands at 30,000 km: what lies before 14,000 is long ago. V2 stands at 10,000.
    assert recent_lengths(rows).tolist() == [0.0, 16_000.0, 10_000.0]
    assert recent_lengths(rows, 25_000.0).tolist() == [5_000.0, 20_000.0, 10_000.0]
    here, _ = severity_ahead(rows, mounted(("V1", "LF", "front"), ("V2", "LF", "front")))
    np.testing.assert_allclose(here, [1.0, 2.0])
