"""Answers of the room ``logbook`` are what they were."""

import pytest

from tests.unmoved import cases, moved


@pytest.mark.parametrize("name", cases("logbook"))
def test_it_answers_as_before(name):
    assert moved("logbook", name) == []
