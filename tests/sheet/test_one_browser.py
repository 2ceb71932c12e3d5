"""Pages printed by one browser, told by a pipe: messages in pieces, refusals, a browser that stops."""

import base64
import json
import os
import re
import subprocess
from pathlib import Path

import pytest

from tirelife.errors import InputError
from tirelife.sheet import one_browser as module
from tirelife.sheet.one_browser import Printer, printer
from tirelife.sheet.printing import find_browser

BROWSER = pytest.mark.skipif(find_browser() is None, reason="needs a browser")


@BROWSER
def test_many_pages_are_printed_by_one_browser(monkeypatch):
    starts = []
    popen = subprocess.Popen
    monkeypatch.setattr(module.subprocess, "Popen", lambda *a, **k: starts.append(a) or popen(*a, **k))
    page = "<style>@page {{ size: A4 }}</style><script>document.title = 'x'</script><p>{}</p>"
    with printer() as one:
        made = [one.pdf(page.format(word) * 3) for word in ("first", "second", "third")]
    assert len(starts) == 1
    for pdf in made:
        assert pdf.startswith(b"%PDF")
        width, height = map(float, re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf).groups())
        assert (width, height) == pytest.approx((595, 842), abs=1)  # A4 in points (ISO 216)


def test_a_browser_that_stops_is_one_clear_error(monkeypatch, tmp_path):
    broken = tmp_path / "browser"
    broken.write_text("#!/bin/sh\nexit 3\n")
    broken.chmod(0o755)
    monkeypatch.setenv("TIRELIFE_BROWSER", str(broken))
    with pytest.raises(InputError, match="could not print the page"), printer() as one:
        one.pdf("<p>x</p>")
    assert Path(broken).exists()


class Browser:
    """A browser's end of the pipes: what it is to say is written before it is asked."""

    def __init__(self, folder):
        self.heard, out = os.pipe()
        back, self.said = os.pipe()
        self.one = Printer("browser", folder, out, back)
        self.open = {self.heard, self.said, out, back}

    def say(self, *messages, cut=None):
        data = b"".join(json.dumps(message).encode() + b"\0" for message in messages)
        os.write(self.said, data if cut is None else data[:cut])

    def asked(self):
        return [json.loads(part) for part in os.read(self.heard, 1 << 16).split(b"\0")[:-1]]

    def stop(self):
        os.close(self.said)
        self.open.discard(self.said)


@pytest.fixture
def browser(tmp_path):
    made = Browser(tmp_path)
    yield made
    for handle in made.open:
        os.close(handle)


ANSWERS = (
    {"id": 1, "result": {"targetId": "T"}}, {"method": "Target.created"}, {"id": 2, "result": {"sessionId": "S"}},
    {"id": 3}, {"id": 4}, {"method": "Page.loadEventFired"}, {"id": 5},
    {"id": 6, "result": {"data": base64.b64encode(b"%PDF").decode()}}, {"id": 7},
)  # fmt: skip


def test_a_page_is_opened_awaited_printed_on_its_own_paper_and_closed(browser, tmp_path):
    browser.say(*ANSWERS)
    assert browser.one.pdf("<p>é</p>") == b"%PDF"
    asked = browser.asked()
    assert [one["id"] for one in asked] == [1, 2, 3, 4, 5, 6, 7]
    assert [one.get("sessionId") for one in asked] == [None, None, "S", "S", "S", "S", None]
    assert asked[3]["params"]["url"] == (tmp_path / "page.html").as_uri()
    assert asked[5]["params"] == {"printBackground": True, "preferCSSPageSize": True}
    assert (asked[6]["method"], asked[6]["params"]) == ("Target.closeTarget", {"targetId": "T"})
    assert (tmp_path / "page.html").read_text(encoding="utf-8") == "<p>é</p>"


def test_what_the_browser_refuses_is_told_in_its_words(browser):
    browser.say({"id": 1, "error": {"message": "no such target"}})
    with pytest.raises(InputError, match=r"browser.*no such target"):
        browser.one.pdf("<p>x</p>")


def test_a_browser_that_ends_amid_a_message_has_stopped(browser):
    browser.say({"id": 1, "result": {}}, cut=5)
    browser.stop()
    with pytest.raises(InputError, match="it has stopped"):
        browser.one.pdf("<p>x</p>")


def test_a_browser_that_says_nothing_is_given_up(browser, monkeypatch):
    monkeypatch.setattr(module, "SECONDS", 0.05)
    with pytest.raises(InputError, match=r"no answer in 0\.05 s"):
        browser.one.pdf("<p>x</p>")


def test_where_a_pipe_cannot_be_handed_on_each_page_has_a_browser_of_its_own(monkeypatch):
    monkeypatch.setattr(module, "require_browser", lambda kind: "browser")
    monkeypatch.setattr(module, "print_page", lambda html, kind: f"{kind} of {html}".encode())
    monkeypatch.setattr(module.os, "name", "nt")
    with printer() as one:
        assert one.pdf("<p>") == b"pdf of <p>"
