"""Of many positions, which are on the front axle."""

import numpy as np
import pytest

from tirelife.axles import is_front


@pytest.mark.parametrize("kind", [list, np.array, lambda values: np.array(values, dtype=object)])
def test_front_is_told_of_many_positions_at_once(kind):
    assert is_front(kind(["LF", "LR", "SP", "RF", "OFF"])).tolist() == [True, False, False, True, False]
    assert is_front(np.array([["RR"], ["RF"]])).tolist() == [[False], [True]]


def test_one_position_none_and_what_is_no_position():
    assert is_front("LF").tolist() is True
    assert is_front([]).shape == (0,)
    assert is_front(["lf", "LF ", "", None, np.nan, 3]).tolist() == [False] * 6
