"""Answers of the room ``tread`` are what they were."""

import pytest

from tests.unmoved import cases, moved


@pytest.mark.parametrize("name", cases("tread"))
def test_it_answers_as_before(name):
    assert moved("tread", name) == []
