"""Answers of the room ``rates`` are what they were."""

import pytest

from tests.unmoved import cases, moved


@pytest.mark.parametrize("name", cases("rates"))
def test_it_answers_as_before(name):
    assert moved("rates", name) == []
