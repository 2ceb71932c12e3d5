"""``tirelife tread``: depths that options give, and which of them is wrong."""

from types import SimpleNamespace

import pytest

from tirelife.cli import main, tread


@pytest.fixture
def made(monkeypatch):
    """The command with its rooms stood in for; what they were asked is kept."""
    asked = {}
    monkeypatch.setattr(tread, "read", lambda args: asked.update(as_of=args.as_of) or "book")
    monkeypatch.setattr(tread, "outlook", SimpleNamespace(kept_fit=lambda book: "fit"))
    read = SimpleNamespace(read_tread=lambda *given, **how: asked.update(how, given=given))
    monkeypatch.setattr(tread, "advice", read)
    monkeypatch.setattr(
        tread, "terminal", SimpleNamespace(tread_answer=lambda *_: {}, tread_text=lambda answer: "said")
    )
    return asked


def test_depths_are_read_with_their_units_and_have_their_usual_values(made, capsys):
    assert main(["tread", "book", "--vehicle", "V1"]) == 0
    assert capsys.readouterr().out == "said\n"
    assert made["across_tread_mm"] == pytest.approx(2 * 0.79375)
    assert (made["gauge_step_mm"], made["roads"], made["place"], made["as_of"]) == (None, "", "US", None)
    words = [
        "--gauge-step",
        "0.1mm",
        "--across-tread",
        "2mm",
        "--finding",
        "LR:cups",
        "--as-of",
        "2026-03-14",
    ]
    assert main(["tread", "book", "--vehicle", "V1", *words]) == 0
    assert (made["gauge_step_mm"], made["across_tread_mm"]) == (0.1, 2.0)
    assert made["as_of"] == "2026-03-14"
    assert len(made["given"][3]) == 1


@pytest.mark.parametrize("option", ["--gauge-step", "--across-tread"])
def test_a_depth_that_is_none_names_its_option(made, option, capsys):
    assert main(["tread", "book", "--vehicle", "V1", option, "deep"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert option in told.err
    assert "deep" in told.err
