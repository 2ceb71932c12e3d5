"""The drawing code is fetched once, kept in the cache folder, and made anew when it is not there."""

import hashlib
from importlib.metadata import version

import pytest

from tirelife import FitError
from tirelife.sheet.bundle import DIGESTS, finish_bundle, start_bundle


def kept_in(folder):
    return folder / "tirelife" / f"drawing-{version('vl-convert-python')}.js"


def test_it_is_kept_by_version_and_read_from_there(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    first = finish_bundle(start_bundle())
    kept = kept_in(tmp_path)
    assert "vegaEmbed" in first
    assert hashlib.sha256(kept.read_bytes()).hexdigest() == DIGESTS[version("vl-convert-python")]
    assert kept.stat().st_mode & 0o077 == 0
    assert start_bundle() is None
    monkeypatch.setattr("tirelife.sheet.bundle._fetch", None)  # nothing is fetched
    assert finish_bundle() == first


@pytest.mark.parametrize(
    "also",
    [b"", *(pytest.param(one, marks=pytest.mark.long) for one in (b"var vegaEmbed = 'planted';", b"\n//"))],
)
def test_a_script_that_was_planted_is_never_used_and_made_anew(also, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    true = finish_bundle(start_bundle())
    kept = kept_in(tmp_path)
    data = kept.read_bytes()
    kept.write_bytes(data + also if also else b"var vegaEmbed = 'planted';" + data)
    started = start_bundle()
    assert started is not None
    assert finish_bundle(started) == true
    assert kept.read_bytes() == data
    kept.write_bytes(data + b"planted")
    assert finish_bundle() == true  # nor where nobody started early


def test_a_version_that_the_package_does_not_know_is_not_kept(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr("tirelife.sheet.bundle.DIGESTS", {})
    assert "vegaEmbed" in finish_bundle(start_bundle())
    assert not kept_in(tmp_path).exists()


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
