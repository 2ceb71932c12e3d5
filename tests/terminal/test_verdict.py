"""What every command says first: which tires go under urgent and which under near, and how many are named."""

import pandas as pd

from tests.tread.books import EVEN, POSITIONS, make_book, read_depths
from tirelife.logbook import GROOVES
from tirelife.terminal.verdict import MOST, first_lines, told_verdicts, verdict_lines


def told(tmp_path, **depths):
    """Verdicts at 2 mm of a car whose tires are even but for those named."""
    parts = [
        read_depths(dict(zip(GROOVES, depths.get(place, EVEN), strict=True)), position=place)
        for place in POSITIONS
    ]
    return told_verdicts(make_book(tmp_path / "book", pd.concat(parts)), 2.0)


def test_deep_tread_asks_for_nothing(tmp_path):
    found = told(tmp_path)
    assert found == {"urgent": [], "near": []}
    assert verdict_lines(found) == []
    assert first_lines(found) == []


def test_at_the_limit_is_urgent_and_a_tenth_over_it_is_near(tmp_path):
    # 2.0 mm is at 2.0 mm; 2.1 is nearer than 1.5/32 in (1.19 mm); 3.5 is beyond it by 0.3.
    found = told(tmp_path, LF=(5, 5, 5, 5, 2.0), RR=(5, 5, 5, 5, 2.1), LR=(5, 5, 5, 5, 3.5))
    assert [row["position"] for row in found["urgent"]] == ["LF"]
    assert [row["position"] for row in found["near"]] == ["RR"]
    assert found["urgent"][0]["verdict"] == "at-or-under"
    assert found["near"][0]["verdict"] == "near"


def test_urgent_stands_above_near_and_each_part_ends_with_a_blank(tmp_path):
    found = told(tmp_path, LF=(5, 5, 5, 5, 1.0), RR=(5, 5, 5, 5, 2.1))
    lines = verdict_lines(found)
    urgent, near = found["urgent"][0]["words"], found["near"][0]["words"]
    assert lines[1:3] == [f"  {urgent}", ""]
    assert lines[4:] == [f"  {near}", ""]
    assert lines[0]
    assert lines[3]
    assert lines[0] != lines[3]


def test_beside_a_long_table_twelve_are_named_and_the_rest_counted():
    rows = [{"words": f"tire {i}"} for i in range(MOST + 3)]
    lines = first_lines({"urgent": rows, "near": rows[:MOST]})
    assert sum(line.startswith("  tire ") for line in lines) == 2 * MOST
    assert [line for line in lines if "more" in line] == [
        "  … and 3 more at or under the limit: see the column verdict"
    ]
