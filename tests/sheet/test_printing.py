"""A browser prints in its sandbox wherever it can; many pages need one start."""

import logging
import re
import subprocess
from pathlib import Path

import pytest

from tirelife.errors import InputError
from tirelife.sheet import one_browser as module
from tirelife.sheet.one_browser import printer
from tirelife.sheet.printing import browser_command, find_browser

BROWSER = pytest.mark.skipif(find_browser() is None, reason="needs a browser")


def test_the_sandbox_is_on_but_for_root_and_that_is_said(monkeypatch, tmp_path, caplog):
    monkeypatch.setattr("os.geteuid", lambda: 1000, raising=False)
    assert "--no-sandbox" not in browser_command("chromium", tmp_path)
    assert caplog.text == ""
    monkeypatch.setattr("os.geteuid", lambda: 0, raising=False)
    with caplog.at_level(logging.WARNING):
        assert "--no-sandbox" in browser_command("chromium", tmp_path)
    assert "without its sandbox, since it was started as root" in caplog.text


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
