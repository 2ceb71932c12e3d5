"""Answers of the room ``inflation`` are what they were."""

import pytest

from tests.unmoved import cases, moved


@pytest.mark.parametrize("name", cases("inflation"))
def test_it_answers_as_before(name):
    assert moved("inflation", name) == []
