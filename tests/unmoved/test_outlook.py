"""Answers of the room ``outlook`` are what they were."""

import pytest

from tests.unmoved import cases, moved


@pytest.mark.parametrize("name", cases("outlook"))
def test_it_answers_as_before(name):
    assert moved("outlook", name) == []
