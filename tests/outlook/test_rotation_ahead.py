import numpy as np
import pytest

from tests.outlook.folders import one_car
from tirelife.logbook import read_logbook
from tirelife.outlook.rotation_ahead import rotation_ahead, through_rotations

PLACES = ("LF", "RF", "LR", "RR")
CROSS = {"LF": "LR", "RF": "RR", "LR": "RF", "RR": "LF"}  # forward cross


def rotated(folder, odometers, last):
    place = {f"T{i}": p for i, p in enumerate(PLACES)}
    mounts = [("2024-01-01", 10_000, "V1", t, p) for t, p in place.items()]
    for i, miles in enumerate(odometers):
        place = {t: CROSS[p] for t, p in place.items()}
        mounts += [(f"2024-{2 + i:02d}-01", miles, "V1", t, p) for t, p in place.items()]
    return read_logbook(one_car(folder, [], mounts=mounts, odometer=[("2025-01-01", "V1", last)]))


def test_the_interval_is_what_the_log_shows(tmp_path):
    table = rotation_ahead(rotated(tmp_path, [15_000, 20_000, 25_000], 27_000))
    assert len(table) == 4
    assert (table["every_km"] / 1.609344).tolist() == pytest.approx([5000] * 4)
    assert (table["since_km"] / 1.609344).tolist() == pytest.approx([2000] * 4)
    assert (table["moves"] == 12).all()
    assert sorted(table["axle"]) == ["front", "front", "rear", "rear"]


def test_no_rotation_seen_none_expected(tmp_path):
    assert rotation_ahead(rotated(tmp_path, [], 27_000))["every_km"].isna().all()


def test_a_long_overdue_rotation_is_not_expected(tmp_path):
    assert rotation_ahead(rotated(tmp_path, [15_000], 60_000))["every_km"].isna().all()


def test_a_side_to_side_swap_is_no_change_of_axle(tmp_path):
    mounts = [("2024-01-01", 10_000, "V1", "T0", "LF"), ("2024-01-01", 10_000, "V1", "T1", "RF")]
    mounts += [("2024-05-01", 15_000, "V1", "T0", "RF"), ("2024-05-01", 15_000, "V1", "T1", "LF")]
    book = read_logbook(one_car(tmp_path, [], mounts=mounts, odometer=[("2025-01-01", "V1", 20_000)]))
    table = rotation_ahead(book)
    assert table["every_km"].isna().all()
    assert (table["since_km"] / 1.609344).tolist() == pytest.approx([10_000] * 2)


def test_distance_through_rotations_against_stepping_kilometre_by_kilometre():
    rng = np.random.default_rng(5)
    for _ in range(40):
        due, every, ratio = rng.uniform(10, 90), rng.uniform(20, 90), rng.uniform(0.3, 3)
        target = rng.uniform(5, 900)
        worn, x = 0.0, 0
        while worn < target:  # wear per km is 1 here, `ratio` on the other axle
            turn = -1 if x < due else int((x - due) // every)
            worn += 0.01 * (1.0 if turn % 2 else ratio)
            x += 0.01
        got = through_rotations(*(np.array(v) for v in ([[target]], [due], [every], [ratio])))
        assert got[0, 0] == pytest.approx(x, abs=0.2)


def test_equal_axles_change_nothing_and_no_interval_changes_nothing():
    km = np.array([[1.0, 1e3, 1e5]])
    same = through_rotations(km, np.array([500.0]), np.array([8000.0]), np.array([1.0]))
    np.testing.assert_allclose(same, km)
    none = through_rotations(km, np.array([np.nan]), np.array([np.nan]), np.array([0.5]))
    np.testing.assert_allclose(none, km)
