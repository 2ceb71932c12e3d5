"""``tirelife rotate``: a plan that these tires do not allow is refused, and what is told is handed on."""

from types import SimpleNamespace

import pytest

from tirelife.cli import main, rotate


@pytest.fixture
def made(monkeypatch):
    """The command with its rooms stood in for; what they were asked is kept."""
    asked = {}
    on = SimpleNamespace(
        book=SimpleNamespace(units="us"), fit=SimpleNamespace(verdict=None), removal=1.6, rule=""
    )
    chosen = {"allowed": True, "reason": "tires run one way only"}

    def advise(*given, **how):
        asked.update(how)
        return SimpleNamespace(plan=SimpleNamespace(name="cross"))

    monkeypatch.setattr(rotate, "asked", lambda args: on)
    monkeypatch.setattr(rotate, "advice", SimpleNamespace(advise_rotation=advise))
    said = SimpleNamespace(rotation_answer=lambda *_: {"chosen": chosen}, rotation_text=lambda answer: "said")
    monkeypatch.setattr(rotate, "terminal", said)
    return SimpleNamespace(asked=asked, chosen=chosen)


def test_a_plan_that_these_tires_do_not_allow_is_refused_with_its_reason(made, capsys):
    assert main(["rotate", "book", "--vehicle", "V1", "--plan", "cross"]) == 0
    assert capsys.readouterr().out == "said\n"
    made.chosen["allowed"] = False
    assert main(["rotate", "book", "--vehicle", "V1", "--plan", "cross"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "cross" in told.err
    assert "tires run one way only" in told.err


def test_what_is_told_is_handed_on_in_inside_units(made):
    main(["rotate", "book", "--vehicle", "V1"])
    assert (made.asked["interval_km"], made.asked["drive_apart_mm"], made.asked["aim"]) == (
        None,
        None,
        "life",
    )
    main(
        [
            "rotate",
            "book",
            "--vehicle",
            "V1",
            "--interval",
            "6000",
            "--match-drive",
            "2/32",
            "--aim",
            "cost",
            "--directional",
        ]
    )
    assert made.asked["interval_km"] == pytest.approx(6000 * 1.609344)
    assert made.asked["drive_apart_mm"] == pytest.approx(2 * 0.79375)
    assert (made.asked["aim"], made.asked["directional"], made.asked["temporary_spare"]) == (
        "cost",
        True,
        False,
    )
