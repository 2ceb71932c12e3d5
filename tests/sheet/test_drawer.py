"""What helps to draw a page is started with it and ends with it, whatever happens between."""

import sys

import pytest

from tirelife.sheet import drawer
from tirelife.sheet.drawer import page_helpers, start_drawing


class Helper:
    """A process that tells what was done to it."""

    def __init__(self):
        self.done = []

    def kill(self):
        self.done.append("killed")

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.done.append("waited for")


@pytest.fixture
def helper(monkeypatch):
    one = Helper()
    monkeypatch.setattr(drawer, "start_drawing", lambda: one)
    monkeypatch.setattr(drawer.bundle, "start_bundle", lambda: None)  # the code was kept
    return one


def test_they_are_given_by_name_and_end_with_the_block(helper):
    with page_helpers() as helpers:
        assert helpers == {"drawing": helper, "bundle": None}
        assert helper.done == []
    assert helper.done == ["killed", "waited for"]


def test_they_end_where_the_page_cannot_be_made(helper):
    with pytest.raises(KeyError), page_helpers():
        raise KeyError
    assert helper.done == ["killed", "waited for"]


def test_the_drawing_is_done_by_this_python_over_pipes(monkeypatch):
    asked = []
    monkeypatch.setattr(drawer.subprocess, "Popen", lambda command, **how: asked.append((command, how)))
    start_drawing()
    ((command, how),) = asked
    assert command == [sys.executable, "-m", "tirelife.sheet.drawing"]
    assert set(how) == {"stdin", "stdout", "stderr"}
