"""A reading that may belong to another tire counts for less."""

import dataclasses

import numpy as np
import pandas as pd
import pytest

import tirelife
from tirelife.tread import verdicts
from tirelife.tread.inferred import variance_of_doubt

VISITS = pd.DataFrame(
    {
        "vehicle_id": "V1",
        "tire_id": ["A", "B", "A", "B"],
        "position": ["LF", "LR", "LR", "LF"],
        "date": pd.to_datetime(["2025-01-01", "2025-01-01", "2025-06-01", "2025-06-01"]),
        "odometer_km": [1000.0, 1000.0, 9000.0, 9000.0],
        "depth_mm": [7.0, 5.0, 6.0, 4.0],
    }
)


def mounts(probability):
    return pd.DataFrame(
        {
            "tire_id": ["A", "B", "A", "B"],
            "date": pd.to_datetime(["2025-01-01"] * 2 + ["2025-03-01"] * 2),
            "odometer_km": [1000.0, 1000.0, 4000.0, 4000.0],
            "position": ["LF", "LR", "LR", "LF"],
            "probability": [1.0, 1.0, probability, probability],
        }
    )


def depths(*probability):
    return VISITS[["vehicle_id", "position", "date"]].assign(probability=list(probability))


NONE = depths(*[np.nan] * 4)


def test_readings_before_a_doubtful_move_are_widened_and_those_after_it_not():
    # By hand: 2 mm apart with a chance of a quarter: 0.25 × 2².
    assert variance_of_doubt(VISITS, mounts(0.75), NONE).tolist() == pytest.approx([1.0, 1.0, 0.0, 0.0])


def test_what_is_written_beside_a_reading_goes_before_its_moves():
    told = depths(0.9, np.nan, np.nan, 1.0)
    assert variance_of_doubt(VISITS, mounts(0.75), told).tolist() == pytest.approx([0.4, 0.0, 0.0, 0.0])
    alone = VISITS.assign(date=pd.to_datetime(["2025-01-01", "2025-02-01", "2025-06-01", "2025-07-01"]))
    told = alone[["vehicle_id", "position", "date"]].assign(probability=[0.9, np.nan, np.nan, 1.0])
    # Nothing else was read that day: 1 mm, our assumption.
    assert variance_of_doubt(alone, mounts(1.0), told).tolist() == pytest.approx([0.1, 0.0, 0.0, 0.0])


def test_how_far_another_tire_was_off_is_taken_where_it_is_told():
    told = depths(0.9, 0.9, np.nan, 1.0).assign(apart_mm=[3.0, 0.1, np.nan, np.nan])
    # By hand: 0.1 × 3², and 0.1 × 0.1².
    assert variance_of_doubt(VISITS, mounts(0.75), told).tolist() == pytest.approx([0.9, 0.001, 0.0, 0.0])


def test_readings_that_are_wrong_together_tell_no_more_than_one():
    told = depths(0.9, 0.9, 0.9, 0.9).assign(apart_mm=[1.0, 1.0, 1.0, 2.0])
    # By hand: A twice 0.1 × 1², so twice that; B 0.1 and 0.4: (0.5)² / (0.01 + 0.16) = 1.4706 times.
    expected = [0.2, 0.1 * 0.25 / 0.17, 0.2, 0.4 * 0.25 / 0.17]
    assert variance_of_doubt(VISITS, mounts(1.0), told).tolist() == pytest.approx(expected)


@pytest.mark.parametrize("sure", [1.0, float("nan")])
def test_recorded_moves_change_nothing(sure):
    assert variance_of_doubt(VISITS, mounts(sure), depths(*[sure] * 4)).tolist() == [0.0] * 4


@pytest.fixture(scope="module")
def answers():
    """The demo, where what one vehicle's visits before its last read may be other tires', by chance."""
    book = tirelife.read_logbook("data_synthetic/logbook", as_of="2026-06-30")
    read = book.tables["depths"]
    doubted = (read["vehicle_id"] == "V01") & (
        read["date"] < read.groupby("vehicle_id")["date"].transform("max")
    )
    out = {}
    for chance in (np.nan, 1.0, 0.6):
        readings = read.assign(probability=np.where(doubted, chance, np.nan))
        one = dataclasses.replace(book, tables={**book.tables, "depths": readings})
        fit = tirelife.fit_logbook(one)
        out[chance] = (fit, tirelife.forecast(one, fit).set_index("tire_id"), verdicts(one, 1.6))
    return out


def test_doubtful_readings_weigh_less_and_the_range_is_wider(answers):
    (sure, known, seen), (doubtful, open_, seen_too) = answers[1.0], answers[0.6]
    mine = known.index[known["vehicle_id"] == "V01"]
    before, after = (fit.tires.set_index("tire_id")["log_wear_sd"][mine] for fit in (sure, doubtful))
    assert (after > 1.1 * before).all()
    wide = [np.log(table["km_left_p90"] / table["km_left_p10"])[mine].mean() for table in (known, open_)]
    assert wide[1] > 1.05 * wide[0]
    # The gauge outranks all that: what was measured and its verdict stay.
    pd.testing.assert_frame_equal(seen, seen_too)
    pd.testing.assert_series_equal(known["read_mm"], open_["read_mm"])


def test_what_is_sure_or_recorded_leaves_every_number_as_it_was(answers):
    (blank, known, seen), (sure, known_too, seen_too) = answers[np.nan], answers[1.0]
    pd.testing.assert_frame_equal(known, known_too, check_exact=True)
    pd.testing.assert_frame_equal(seen, seen_too, check_exact=True)
    for name in ("estimates", "components", "tires", "vehicles", "visits"):
        pd.testing.assert_frame_equal(blank.frames[name], sure.frames[name], check_exact=True)
