"""What options say of a logbook: limits, days, files, intervals; and what they cannot say."""

from types import SimpleNamespace

import pandas as pd
import pytest

from tests.logbook.folders import folder
from tirelife import InputError
from tirelife.cli import asked as room
from tirelife.cli.asked import Asked, asked, day, depth_of, file_name, interval_km, prior_of

N32 = 0.79375


def args(**told):
    base = {
        "logbook": "", "as_of": None, "removal_depth": None, "place": None, "rules_for": "car", "limits": None, "set_share": [],
        "interval": None,
    }  # fmt: skip
    return SimpleNamespace(**base | told)


def test_a_depth_given_outright_is_read_with_its_unit_and_none_is_none():
    assert depth_of(args(removal_depth="4/32")) == pytest.approx(4 * N32)
    assert depth_of(args(removal_depth="1.6mm")) == 1.6
    assert depth_of(args()) is None
    assert depth_of(args(removal_depth="")) is None


def test_an_interval_is_in_the_logbook_s_unit_and_within_reason():
    assert interval_km(args(interval=6000.0), "us") == pytest.approx(6000 * 1.609344)
    assert interval_km(args(interval=6000.0), "metric") == 6000.0
    assert interval_km(args(), "us") is None
    assert interval_km(args(interval=999_999.0), "metric") == 999_999.0
    for odd in (0.0, -1.0, 1e6, float("inf"), float("nan")):
        with pytest.raises(InputError, match="interval"):
            interval_km(args(interval=odd), "us")


def test_a_day_is_iso_and_another_word_names_its_option():
    assert day("2026-03-14", "--as-of") == "2026-03-14"
    assert day(None, "--as-of") is None
    for odd in ("soon", "14/03/2026", "2026-02-30", ""):
        with pytest.raises(InputError, match="--since"):
            day(odd, "--since")


def test_a_file_to_be_written_has_its_ending_and_a_folder_that_is_there(tmp_path):
    file_name(None, ".html")
    file_name(str(tmp_path / "page.HTM"), ".html", ".htm")
    with pytest.raises(InputError, match=r"must end in \.html"):
        file_name(str(tmp_path / "page.txt"), ".html", ".htm")
    with pytest.raises(InputError, match="page"):
        file_name(str(tmp_path / "none" / "page.html"), ".html")


def test_a_prior_is_a_saved_fit_or_published_lives_and_never_both(monkeypatch):
    monkeypatch.setattr(
        room, "rates", SimpleNamespace(load_prior=lambda n: ("fit", n), lives_prior=lambda n: ("lives", n))
    )
    assert prior_of(args()) is None
    assert prior_of(args(prior="a.json", lives=None)) == ("fit", "a.json")
    assert prior_of(args(prior=None, lives="a.csv")) == ("lives", "a.csv")
    with pytest.raises(InputError):
        prior_of(args(prior="a.json", lives="a.csv"))


def test_a_logbook_is_read_to_its_day_with_the_limit_asked_for(tmp_path):
    path = str(folder(tmp_path / "book"))
    on = asked(args(logbook=path, removal_depth="4/32", as_of="2025-07-09"))
    assert on.book.as_of == pd.Timestamp("2025-07-09")
    assert on.removal[["LF", "RF", "LR", "RR"]].tolist() == pytest.approx([4 * N32] * 4)
    assert on.limit == pytest.approx(4 * N32)
    assert (on.prior, on.fresh) == (None, False)
    assert asked(args(logbook=path, fresh=True)).fresh is True


def test_a_depth_that_cannot_be_is_told_before_anything_is_read():
    with pytest.raises(InputError) as refused:
        asked(args(logbook="nowhere", removal_depth="deep"))
    assert "nowhere" not in str(refused.value)


def test_the_stricter_axle_counts_for_all_and_the_fit_is_made_once(monkeypatch):
    made = []
    monkeypatch.setattr(
        room, "outlook", SimpleNamespace(kept_fit=lambda book, prior, fresh: made.append(fresh) or "fit")
    )
    limits = pd.Series({"LF": 3.2, "RF": 3.2, "LR": 1.6, "RR": 1.6, "SP": 3.2})
    on = Asked(None, None, limits, "", True)
    assert on.limit == 3.2
    assert (on.fit, on.fit) == ("fit", "fit")
    assert made == [True]
