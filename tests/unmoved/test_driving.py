"""Answers of the room ``driving`` are what they were."""

import pytest

from tests.unmoved import cases, moved


@pytest.mark.parametrize("name", cases("driving"))
def test_it_answers_as_before(name):
    assert moved("driving", name) == []
