"""Answers of the room ``rotation`` are what they were."""

import pytest

from tests.unmoved import cases, moved


@pytest.mark.parametrize("name", cases("rotation"))
def test_it_answers_as_before(name):
    assert moved("rotation", name) == []
