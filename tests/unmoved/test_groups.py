"""Answers of the room ``groups`` are what they were."""

import pytest

from tests.unmoved import cases, moved


@pytest.mark.parametrize("name", cases("groups"))
def test_it_answers_as_before(name):
    assert moved("groups", name) == []
