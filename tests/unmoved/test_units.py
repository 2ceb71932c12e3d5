"""Answers of the room ``units`` are what they were."""

import pytest

from tests.unmoved import cases, moved


@pytest.mark.parametrize("name", cases("units"))
def test_it_answers_as_before(name):
    assert moved("units", name) == []
