"""Answers of the room ``advice`` are what they were."""

import pytest

from tests.unmoved import cases, moved


@pytest.mark.parametrize("name", cases("advice"))
def test_it_answers_as_before(name):
    assert moved("advice", name) == []
