"""Patterns laid to positions by the distances run there."""

import numpy as np
import pytest

from tirelife.tread.positions import MOULD_SD_MM, position_patterns

TOE = np.array([-1.5, -0.6, -0.15, 0.0, 0.0])


def level_free(pattern):
    return pattern - pattern.mean()


def test_one_visit_without_moves_is_the_reading_itself():
    depth = np.array([[5.0, 5.6, 6.0, 6.1, 6.2]])
    found = position_patterns(
        depth, np.full((1, 5), 0.04), np.array([[10_000.0, 0.0]]), np.array([0]), np.array([8.0])
    )
    assert level_free(found.depth_mm[0]) == pytest.approx(level_free(depth[0]), abs=0.06)
    contrast = np.array([1, 0, 0, 0, -1.0])
    variance = contrast @ found.covariance_mm2[0] @ contrast
    assert variance == pytest.approx(2 * (0.04 + MOULD_SD_MM**2), rel=0.03)
    assert found.wear_mm[0] == pytest.approx(8.0 - depth.mean())


def test_tires_that_go_round_part_the_axles():
    rng = np.random.default_rng(3)
    rate = np.array([0.8 - TOE, np.full(5, 0.5)])  # mm per 10,000 km in front and behind
    estimates = []
    for _ in range(200):
        depth, run, tire = [], [], []
        for i in range(2):
            at, gone = i, np.zeros(2)
            for _ in range(4):
                gone[at] += 10_000
                depth.append(9.0 - gone / 10_000 @ rate + rng.normal(0, 0.2, 5))
                run.append(gone.copy())
                tire.append(i)
                at = 1 - at
        found = position_patterns(
            np.array(depth), np.full((8, 5), 0.04), np.array(run), np.array(tire), np.array([9.0, 9.0])
        )
        estimates.append([level_free(found.depth_mm[0]), level_free(found.depth_mm[1])])
    mean = np.mean(estimates, axis=0)
    assert mean[0] == pytest.approx(level_free(4 * TOE), abs=0.25)  # two tires, 20,000 km each, in front
    assert mean[1] == pytest.approx(np.zeros(5), abs=0.25)
    assert found.wear_mm[0] > found.wear_mm[1]
    spread = np.std(estimates, axis=0)[0]
    contrast = np.array([1, 0, 0, 0, -1.0])
    stated = np.sqrt(contrast @ found.covariance_mm2[0] @ contrast)
    seen = np.std([e[0][0] - e[0][4] for e in estimates])
    assert 0.6 * stated < seen < 1.1 * stated
    assert spread.max() < 0.5


def test_a_tire_first_seen_worn_says_nothing_until_it_has_run_on():
    worn = np.array([[4.0, 5.0, 6.0, 6.0, 6.0]])
    args = np.full((1, 5), 0.04), np.array([[0.0, 0.0]]), np.array([0]), np.array([np.nan])
    found = position_patterns(worn, *args)
    assert abs(found.depth_mm).max() < 1e-9
    later = np.vstack([worn, worn - np.array([1.5, 1, 1, 1, 1])])
    found = position_patterns(
        later,
        np.full((2, 5), 0.01),
        np.array([[0.0, 0.0], [9000.0, 0.0]]),
        np.array([0, 0]),
        np.array([np.nan]),
    )
    assert found.depth_mm[0, 0] - found.depth_mm[0, 4] == pytest.approx(-0.5, abs=0.05)
    assert found.wear_mm[0] == pytest.approx(1.1)


def test_wear_is_not_known_without_a_new_depth_or_a_second_visit():
    depth = np.full((1, 5), 6.0)
    found = position_patterns(
        depth, np.full((1, 5), 0.04), np.array([[9000.0]]), np.array([0]), np.array([np.inf])
    )
    assert np.isnan(found.wear_mm).all()
    assert np.isfinite(found.depth_mm).all()


def test_grooves_that_were_not_read_do_not_bend_the_others():
    full = np.array([[5.0, 5.6, 6.0, 6.1, 6.2]])
    part = np.where([True, False, True, False, True], full, np.nan)
    args = np.array([[10_000.0]]), np.array([0]), np.array([8.0])
    found = position_patterns(part, np.where(np.isfinite(part), 0.01, np.nan), *args)
    assert found.depth_mm[0, 0] - found.depth_mm[0, 4] == pytest.approx(-1.2, abs=0.05)
    assert found.covariance_mm2[0][1, 1] > found.covariance_mm2[0][0, 0]
