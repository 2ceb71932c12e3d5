"""Answers of the room ``wear`` are what they were."""

import pytest

from tests.unmoved import cases, moved


@pytest.mark.parametrize("name", cases("wear"))
def test_it_answers_as_before(name):
    assert moved("wear", name) == []
