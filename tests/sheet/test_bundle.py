"""The drawing code is fetched once, kept in the cache folder, and made anew when it is not there."""

from importlib.metadata import version

import pytest

from tirelife import FitError
from tirelife.sheet.bundle import finish_bundle, start_bundle


def test_it_is_kept_by_version_and_read_from_there(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    first = finish_bundle(start_bundle())
    kept = tmp_path / "tirelife" / f"drawing-{version('vl-convert-python')}.js"
    assert "vegaEmbed" in first
    assert "</script" not in first.lower()
    assert start_bundle() is None
    kept.write_text("var vegaEmbed = 'kept </script>';", "utf-8")
    assert finish_bundle() == "var vegaEmbed = 'kept \\x3c/script>';"


def test_a_cache_that_cannot_be_written_is_no_trouble(tmp_path, monkeypatch):
    (tmp_path / "tirelife").write_text("in the way")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert "vegaEmbed" in finish_bundle(start_bundle())


def test_a_spoilt_script_is_made_anew(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    kept = tmp_path / "tirelife" / f"drawing-{version('vl-convert-python')}.js"
    kept.parent.mkdir()
    kept.write_text("half", "utf-8")
    assert "vegaEmbed" in finish_bundle(start_bundle())
    assert "vegaEmbed" in kept.read_text("utf-8")


def test_what_cannot_be_fetched_is_said(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr("tirelife.sheet.bundle._CODE", "raise SystemExit('broken')")
    with pytest.raises(FitError, match="could not be fetched: broken"):
        finish_bundle(start_bundle())
