"""A browser prints in its sandbox wherever it can."""

import logging

from tirelife.sheet.printing import browser_command


def test_the_sandbox_is_on_but_for_root_and_that_is_said(monkeypatch, tmp_path, caplog):
    monkeypatch.setattr("os.geteuid", lambda: 1000, raising=False)
    assert "--no-sandbox" not in browser_command("chromium", tmp_path)
    assert caplog.text == ""
    monkeypatch.setattr("os.geteuid", lambda: 0, raising=False)
    with caplog.at_level(logging.WARNING):
        assert "--no-sandbox" in browser_command("chromium", tmp_path)
    assert "without its sandbox, since it was started as root" in caplog.text
