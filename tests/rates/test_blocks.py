"""Who belongs to whom, padded; and the covariances of a block, entry by entry from their definitions."""

from dataclasses import replace

import numpy as np
import pytest

from tirelife.rates.blocks import (
    ENTRIES,
    VARIANCES,
    Blocks,
    Columns,
    common_of,
    design_of,
    kernels_of,
    noise_of,
    own_of,
    prior_of,
    split,
    wander_of,
)

P = 9  # fixed effects: 0 level, 1 and 2 lines, 3 axle, 4 and 5 starts, 6 curvature, 7 and 8 shared
VALUES = dict(zip(VARIANCES, (0.02, 0.015, 90.0, 4e-7, 0.01, 0.006, 0.05, 0.02, 8e-7), strict=True))


def made(units_of=(2, 1, 3), seed=0, shared=2):
    """Blocks of so many units of 0 to 4 rows each, in the order of rows of a log: unit by unit."""
    rng = np.random.default_rng(seed)
    unit_block = np.repeat(np.arange(len(units_of)), units_of)
    units = len(unit_block)
    row_unit = np.repeat(np.arange(units), rng.integers(0, 5, units))
    if seed == 0:
        row_unit = np.array([0, 0, 0, 1, 2, 2, 3, 3, 5, 5, 5, 5])  # unit 4 was never read
    occasion = 3 + np.arange(len(row_unit)) % 4 + 10 * unit_block[row_unit]
    fixed = np.full((units, ENTRIES), P)
    fixed[:, 0], fixed[:, 1] = 0, 1 + np.arange(units) % 2
    value = np.where(fixed < P, 1.0, 0.0)
    value[units - 1, 1] = 0.7
    start = np.where(np.arange(units) % 3 == 2, P, 4 + np.arange(units) % 2)
    blocks = Blocks(
        row_unit, occasion, unit_block, fixed, value, start, rng.uniform(0, 0.1, units),
        np.full(len(units_of), 3), rng.uniform(1e4, 5e4, len(units_of)), 6, P, np.array([7, 8][:shared], dtype=np.int64),
    )  # fmt: skip
    rows = len(row_unit) + 1  # one for padding

    def some():
        return np.append(rng.normal(size=rows - 1), 0.0)

    columns = Columns(
        some(), some(), some(), some(), some(), some(), np.append(np.sort(rng.uniform(0, 5e4, rows - 1)), 0.0),
        np.append(rng.uniform(0.5, 2, rows - 1), 1.0), np.zeros((3, rows)), np.stack([some(), some(), some()]),
        np.append(rng.uniform(0, 0.1, rows - 1), 0.0), np.array([some() for _ in range(shared)]).reshape(shared, rows),
    )  # fmt: skip
    return blocks, columns


def real(part, b):
    """Where a block has rows: unit and place in the part, and number of the row."""
    for k, w in np.argwhere(part.occasion[b] >= 0):
        yield k, w, part.rows[b, k, w]


MANY = tuple(np.random.default_rng(1).integers(1, 6, 300))


@pytest.mark.parametrize(("units_of", "seed"), [((2, 1, 3), 0), (MANY, 2), ((4,), 3)])
def test_every_block_unit_and_row_is_in_one_part_at_its_place(units_of, seed):
    blocks, _ = made(units_of, seed)
    parts = split(blocks)
    assert sorted(np.concatenate([part.block for part in parts])) == list(range(len(units_of)))
    seen = []
    for part in parts:
        for b, block in enumerate(part.block):
            own = np.flatnonzero(blocks.unit_block == block)
            assert part.units[b, : len(own)].tolist() == own.tolist()
            assert (part.units[b, len(own) :] == len(blocks.unit_block)).all()
            for k, unit in enumerate(part.units[b]):
                rows = np.flatnonzero(blocks.row_unit == unit)
                assert part.rows[b, k, : len(rows)].tolist() == rows.tolist()
                assert (part.rows[b, k, len(rows) :] == len(blocks.row_unit)).all()
                assert (part.occasion[b, k, len(rows) :] == -1).all()
                assert part.last[b, k] == len(rows) - 1
                seen += rows.tolist()
            # Occasions are numbered from 0 within the block.
            mine = [(blocks.row_occasion[row], part.occasion[b, k, w]) for k, w, row in real(part, b)]
            if mine:
                low = min(number for number, _ in mine)
                assert all(number - low == local < part.occasions for number, local in mine)
    assert sorted(seen) == list(range(len(blocks.row_unit)))


def test_a_fleet_without_a_reading_is_split_too():
    blocks, _ = made()
    bare = replace(blocks, row_unit=np.zeros(0, int), row_occasion=np.zeros(0, int))
    parts = split(bare)
    assert sorted(np.concatenate([part.block for part in parts])) == [0, 1, 2]
    assert all((part.occasion == -1).all() and (part.last == -1).all() for part in parts)


@pytest.mark.parametrize("shared", [0, 2])
def test_entries_say_which_fixed_effects_each_local_parameter_has(shared):
    blocks, _ = made(shared=shared)
    for part in split(blocks):
        k = part.units.shape[1]
        m = 2 * k + 1 + 3 + 1 + shared  # starts and rates, axle, walk, curvature, shared
        for b, block in enumerate(part.block):
            got = np.zeros((m, P + 1))
            np.add.at(got, (part.entry, part.fixed[b]), part.value[b])
            want = np.zeros((m, P + 1))
            for i, unit in enumerate(np.flatnonzero(blocks.unit_block == block)):
                want[2 * i, blocks.start_fixed[unit]] += blocks.start_fixed[unit] < P
                for term, value in zip(blocks.unit_fixed[unit], blocks.unit_value[unit], strict=True):
                    want[2 * i + 1, term] += value
            want[2 * k, 3] = want[m - 1 - shared, 6] = 1
            for j in range(shared):
                want[m - shared + j, 7 + j] = 1
            np.testing.assert_array_equal(got[:, :P], want[:, :P])
            assert not got[:, P].any()


def test_a_part_is_plain_where_effects_count_once():
    blocks, _ = made()
    assert not all(part.plain for part in split(blocks))
    once = replace(blocks, unit_value=(blocks.unit_fixed < P) * 1.0)
    assert all(part.plain for part in split(once))


def test_design_is_each_rows_own_start_and_rate_and_what_all_rows_have():
    blocks, columns = made()
    for part in split(blocks):
        common, design = common_of(part, columns), design_of(part, columns)
        k, seen = part.units.shape[1], part.occasions
        np.testing.assert_array_equal(design, common[..., seen:-1])
        want = np.zeros_like(common)
        for b in range(len(part.block)):
            for i, w, row in real(part, b):
                want[b, i, w, part.occasion[b, i, w]] = 1.0
                want[b, i, w, seen + 2 * i : seen + 2 * i + 2] = columns.start[row], columns.rate[row]
                want[b, i, w, seen + 2 * k :] = [
                    columns.axle[row], *columns.habit[:, row], columns.bend[row], *columns.shared[:, row], columns.response[row]
                ]  # fmt: skip
        np.testing.assert_array_equal(common, want)


@pytest.mark.parametrize("own", [False, True])
def test_the_law_of_local_parameters_is_that_of_units_blocks_axles_and_walks(own):
    blocks, columns = made()
    if own:  # rate, ratio and both, of three vehicles
        blocks = replace(blocks, own=np.array([[0.03, 0.05, 0.01], [0.02, 0.04, -0.01], [0.0, 0.0, 0.0]]))
    for part in split(blocks):
        prior, k = prior_of(blocks, part, columns, np.array(list(VALUES.values()))), part.units.shape[1]
        for b, block in enumerate(part.block):
            rate, ratio, both = (0.0, 0.0, 0.0) if blocks.own is None else blocks.own[block]
            want = np.zeros_like(prior[b])
            for i, unit in enumerate(part.units[b]):
                extra = blocks.start_extra[unit] if unit < len(blocks.unit_block) else 0.0
                want[2 * i, 2 * i] = VALUES["start"] + extra
                for j in range(k):
                    want[2 * i + 1, 2 * j + 1] = VALUES["block"] + rate + (i == j) * VALUES["unit"]
                want[2 * i + 1, 2 * k] = want[2 * k, 2 * i + 1] = both
            want[2 * k, 2 * k] = VALUES["axle"] + ratio
            for term in range(3):
                want[2 * k + 1 + term, 2 * k + 1 + term] = VALUES["habit"] * blocks.block_km[block]
            np.testing.assert_allclose(prior[b], want, atol=1e-15)


def test_noise_is_the_common_times_a_rows_own_and_what_is_doubted():
    blocks, columns = made()
    for part in split(blocks):
        noise = noise_of(part, columns, np.array(list(VALUES.values())))
        assert (noise[part.occasion < 0] == 1.0).all()
        for b in range(len(part.block)):
            for k, w, row in real(part, b):
                assert noise[b, k, w] == pytest.approx(0.02 * columns.noise_ratio[row] + columns.doubt[row])


def wander(s, t):
    """Covariances of a Wiener process, and of the integral of another, at clocks s and t."""
    s, t = min(s, t), max(s, t)
    return s, s**2 * (3 * t - s) / 6


def test_wandering_of_one_path_is_a_wiener_process_and_an_integrated_one():
    slope, clock = np.array([1.0, 2.0, -1.5]), np.array([100.0, 300.0, 300.0])
    got = wander_of(slope[None, None], clock[None, None], 2.0, 3e-4)[0, 0]
    for i in range(3):
        for j in range(3):
            one, other = wander(clock[i], clock[j])
            assert got[i, j] == pytest.approx(slope[i] * slope[j] * (2.0 * one + 3e-4 * other))
    # The integral of a walk of steps: its variance at the end goes with the cube.
    steps = np.random.default_rng(0).normal(size=(20_000, 50)) * np.sqrt(3e-4 * 6)
    path = (steps.cumsum(axis=1) * 6).sum(axis=1)
    assert got[1, 1] - 4 * 2.0 * 300 == pytest.approx(4 * path.var(), rel=0.06)


def test_kernels_are_of_each_kind_by_itself_and_rows_have_both_and_their_noise():
    blocks, columns = made()
    values = np.array(list(VALUES.values()))
    for part in split(blocks):
        slope, clock = columns.slope[part.rows], columns.clock[part.rows]
        scatter, drift = kernels_of(part, columns)
        np.testing.assert_allclose(scatter, wander_of(slope, clock, 1.0, 0.0), rtol=1e-12)
        np.testing.assert_allclose(drift, wander_of(slope, clock, 0.0, 1.0), rtol=1e-9, atol=1e-3)
        want = wander_of(slope, clock, values[2], values[3])
        want[..., np.arange(want.shape[2]), np.arange(want.shape[2])] += noise_of(part, columns, values)
        np.testing.assert_allclose(own_of(part, columns, values), want, rtol=1e-12)
        np.testing.assert_allclose(own_of(part, columns, values, (scatter, drift)), want, rtol=1e-9)
