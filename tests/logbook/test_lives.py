"""Which tire was where, from depths and notes: histories made by hand, whose courses are known."""

import numpy as np
import pytest

from tirelife.logbook.lives import PATTERNS, Seen, _course, _first_shares, _learned_new, infer_lives
from tirelife.logbook.work import work_of


def _seen(notes, depths_32nds, miles):
    depth = np.array(depths_32nds, dtype=float) * 25.4 / 32
    km = np.array(miles, dtype=float) * 1.609344
    return Seen(km, depth, [work_of(note) for note in notes])


# Two vans, read on arrival and rotated afterwards; new tires are read once they are on.
VANS = [
    _seen(
        ["new set", "", "rotated front to rear", "", "4 new", ""],
        [[10, 10, 10, 10], [8, 8, 9, 9], [6, 6, 8, 8], [6, 6, 5, 5], [10, 10, 10, 10], [8, 8, 9, 9]],
        [1_000, 7_000, 13_000, 19_000, 25_000, 31_000],
    ),
    _seen(
        ["", "rotated front to rear", "", "4 new", ""],
        [[8, 8, 9, 9], [6, 6, 8, 8], [6, 6, 5, 5], [10, 10, 10, 10], [8, 8, 9, 9]],
        [40_000, 46_000, 52_000, 58_000, 64_000],
    ),
]


def test_new_tires_are_read_as_put_on_where_moves_come_after_the_reading():
    first, second = infer_lives(VANS, new_mm=10 * 25.4 / 32)
    assert first.pattern == ["stay", "stay", "stay", "front-to-rear", "four-new", "stay"]
    assert second.pattern == ["stay", "stay", "front-to-rear", "four-new", "stay"]
    assert list(first.before_reading[[3, 4]]) == [False, True]


def test_a_note_of_new_tires_at_the_first_visit_is_of_those_read_there():
    first, _ = infer_lives(VANS, new_mm=10 * 25.4 / 32)
    assert first.pattern[1] == "stay"
    assert first.share[1, list(PATTERNS).index("four-new")] < 0.01


def test_a_pattern_and_the_others_share_one():
    for life in infer_lives(VANS):
        for visit in range(1, len(life.pattern)):
            told = life.chance(visit) + sum(share for _, share in life.others[visit])
            assert 0.8 < told <= 1 + 1e-9


def test_a_sheet_that_notes_one_kind_of_work_is_read_one_way_for_all():
    moved = [
        _seen(
            ["", "rotated front to rear", "", ""],
            [[8, 8, 9, 9], [6, 6, 8, 8], [6, 6, 5, 5], [4, 4, 4, 4]],
            [40_000, 46_000, 52_000, 58_000],
        )
    ]
    (life,) = infer_lives(moved)
    assert not life.before_reading[1:].any()
    assert life.pattern[2] == "front-to-rear"


def test_a_note_of_two_new_tires_tells_of_two_where_no_depth_is_read():
    seen = _seen(["", "2 new tires"], [[5, 5, 5, 5], [np.nan] * 4], [40_000, 46_000])
    (life,) = infer_lives([seen])
    renewed = np.array([sum(source < 0 for source in sources) for sources in PATTERNS.values()])
    # Our shares: an axle in 28 of 1,000 visits, all four in 30 and one in 12; what was not noted counts 3 %.
    # Moves and the tires that stay are another 150 of 1,000, or 3 % of 28.
    two, four, one = (life.share[1, renewed == count].sum() for count in (2, 4, 1))
    assert two > 0.7
    assert four / two == pytest.approx(0.03 * 30 / 28)
    assert one / two == pytest.approx(0.03 * 12 / 28)


def test_the_depth_of_new_tires_is_learned_from_those_read_beside_two_that_are_supposed():
    lives = infer_lives(VANS, new_mm=10 * 25.4 / 32)
    mean, spread = _learned_new(VANS, lives, (9.0, 1.0))
    # Eight tires were put on at 10/32, 7.9375 mm, and read at once; two more are as deep as is supposed.
    assert mean == pytest.approx((8 * 7.9375 + 2 * 9.0) / 10)
    assert spread == 0.35  # however alike they are


@pytest.mark.parametrize("note", ["", "2 new tires", "4 new", "rotated", "rotated front to rear"])
def test_the_chances_of_all_depths_that_a_wheel_can_show_sum_to_one(note):
    # A tire of 4 mm that may have stayed, or been renewed at 4 mm; a slip shows anything from 0 to 8 mm.
    depths = np.linspace(0, 8, 81)
    chances = []
    for depth in depths:
        seen = Seen(np.zeros(2), np.array([[4.0] * 4, [depth, *[np.nan] * 3]]), [work_of(""), work_of(note)])
        works = [(work_of(""), True), (work_of(note), True)]
        chances.append(
            np.exp(_course(seen, works, _first_shares(False), (4.0, 0.3), np.zeros(4), 0.5, 0.3)[0])
        )
    assert np.trapezoid(chances, depths) == pytest.approx(1, abs=1e-4)
