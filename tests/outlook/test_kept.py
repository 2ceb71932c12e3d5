"""A fit is used again only if nothing that it rests on has changed, and only if this user kept it."""

import hashlib
import hmac
import json
import stat
from dataclasses import replace

import pandas as pd
import pytest

from tests.logbook.folders import folder, swap
from tirelife.logbook import read_logbook
from tirelife.outlook import calibrated_fit, forecast, kept
from tirelife.rates import PUBLISHED


@pytest.fixture
def book(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return read_logbook(folder(tmp_path / "book"))


@pytest.fixture
def made(monkeypatch):
    """How often a fit was made."""
    seen = []

    def count(book, prior=None):
        seen.append(1)
        return calibrated_fit(book, prior)

    monkeypatch.setattr(kept, "calibrated_fit", count)
    return seen


def place(tmp_path):
    (only,) = (tmp_path / "cache" / "tirelife" / "fits").glob("*.json")
    return only


def same(one, other):
    for name, frame in other.frames.items():
        pd.testing.assert_frame_equal(one.frames[name], frame, check_exact=True)
    assert (one.prior, one.posterior, one.q) == (other.prior, other.posterior, other.q)


def test_a_kept_fit_is_the_fit_and_gives_the_same_answers(book, made, tmp_path):
    first = kept.kept_fit(book)
    again = kept.kept_fit(book)
    assert len(made) == 1
    same(again, first)
    same(again, calibrated_fit(book))
    # Parts of a folder made with one are kept when the next run takes the other.
    assert repr((again.q, again.prior, again.posterior)) == repr((first.q, first.prior, first.posterior))
    pd.testing.assert_frame_equal(forecast(book, again), forecast(book), check_exact=True)
    kept.kept_fit(book, fresh=True)
    assert len(made) == 2
    for file in (place(tmp_path), place(tmp_path).parent / "key"):
        assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_a_stale_fit_is_not_used(book, made, tmp_path, monkeypatch):
    kept.kept_fit(book)
    other = read_logbook(folder(tmp_path / "other", depths=swap("depths", "8.5", "8.4", 1)))
    kept.kept_fit(other)
    kept.kept_fit(read_logbook(tmp_path / "book", as_of="2025-06-30"))

    kept.kept_fit(book, replace(PUBLISHED, source="another"))
    monkeypatch.setattr(kept, "__version__", "0.0.9")
    kept.kept_fit(book)
    assert len(made) == 5


@pytest.mark.parametrize(
    "how", ["cut", "a bit", "empty", "another's name", "planted", "no seal", "key swapped"]
)
def test_a_damaged_foreign_or_planted_fit_is_never_used(how, book, made, tmp_path):
    first = kept.kept_fit(book)
    file = place(tmp_path)
    data = file.read_bytes()
    planted = json.loads(data[64:])
    planted["WearFit"]["q"] = 0.9
    planted = json.dumps(planted).encode()
    if how == "cut":
        file.write_bytes(data[: len(data) // 2])
    elif how == "a bit":
        file.write_bytes(data[:5000] + bytes([data[5000] ^ 1]) + data[5001:])
    elif how == "empty":
        file.write_bytes(b"")
    elif how == "another's name":
        other = read_logbook(folder(tmp_path / "other", depths=swap("depths", "8.5", "8.4", 1)))
        kept.kept_fit(other, fresh=True)
        made.pop()
        (foreign,) = (f for f in file.parent.glob("*.json") if f != file)
        file.write_bytes(foreign.read_bytes())
    elif how == "planted":
        seal = hmac.new(b"x" * 32, file.stem.encode() + planted, "sha256").hexdigest().encode()
        file.write_bytes(seal + planted)
    elif how == "no seal":
        file.write_bytes(hashlib.sha256(planted).hexdigest().encode() + planted)
    else:
        (file.parent / "key").write_bytes(b"x" * 32)
        (file.parent / "key").chmod(0o666)
        seal = hmac.new(b"x" * 32, file.stem.encode() + planted, "sha256").hexdigest().encode()
        file.write_bytes(seal + planted)
    same(kept.kept_fit(book), first)
    assert len(made) == 2


def test_a_place_that_cannot_be_written_is_no_trouble(book, made, tmp_path, monkeypatch):
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    first = kept.kept_fit(book)
    same(kept.kept_fit(book), first)
    assert len(made) == 2
