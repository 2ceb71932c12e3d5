"""Codes of positions: one table, from which axles, orders and neighbours follow."""

import re
from pathlib import Path

from tirelife import positions as p

TOP = Path(__file__).parent.parent / "tirelife"


def test_axles_neighbours_and_orders_are_of_the_same_codes():
    assert p.POSITIONS == ("LF", "RF", "LR", "RR", "SP", "OFF")
    assert [p.axle_of(one) for one in p.POSITIONS] == ["front", "front", "rear", "rear", "spare", ""]
    assert p.axle_of("") == p.axle_of("RF ") == ""
    assert {one: p.BESIDE[one] for one in p.ROAD} == {"LF": "RF", "RF": "LF", "LR": "RR", "RR": "LR"}


def test_no_module_decides_anew_which_wheels_are_in_front():
    pair = re.compile(r"[(\[{]['\"](LF|LR)['\"], ['\"](RF|RR)['\"]")
    shown = re.compile(r"^ *(>>>|\(\[?['(]|\[['(])")  # what an example of a docstring types or answers
    found = [
        f"{path.relative_to(TOP)}:{number}"
        for path in TOP.rglob("*.py")
        if path.name != "positions.py"
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if pair.search(line) and not shown.match(line)
    ]
    assert found == []
