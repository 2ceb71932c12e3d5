"""What each change would buy: the order in which changes are shown."""

import pytest

from tests.sheet.answers import two_turns
from tirelife.sheet.changes import change_rows


@pytest.mark.parametrize("longer", [1 - 1e-12, 1 + 1e-12])
def test_of_two_rotations_that_give_the_same_the_first_offered_is_shown(longer):
    shown = change_rows(two_turns(longer))["change"].tolist()
    assert "Rotate every 6,000 miles" in shown
    assert "Rotate a hair later" not in shown


@pytest.mark.parametrize("longer", [1.00001, 1.1])  # by some 30 m, and by far more
def test_a_rotation_that_gives_more_is_the_one_shown(longer):
    shown = change_rows(two_turns(longer))["change"].tolist()
    assert "Rotate a hair later" in shown
    assert "Rotate every 6,000 miles" not in shown
