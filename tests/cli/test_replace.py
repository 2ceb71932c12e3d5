"""``tirelife replace``: how far ahead and how often rotated, in the units of the logbook."""

import math
from types import SimpleNamespace

import pandas as pd
import pytest

from tirelife.cli import main, replace

MI = 1.609344


@pytest.fixture
def made(monkeypatch):
    """The command with its rooms stood in for; what they were asked is kept."""
    asked = {}
    book = SimpleNamespace(units="us")
    limits = pd.Series({"LF": 3.2, "RF": 3.2, "LR": 1.6, "RR": 1.6, "SP": 3.2})
    on = SimpleNamespace(book=book, fit="fit", removal=limits)
    rooms = SimpleNamespace(
        vehicle_set=lambda *given: "set", line_typed=lambda text, units: (text, units),
        vehicle_ways=lambda book, now, limit, lines, **how: asked.update(how, limit=limit, lines=lines),
    )  # fmt: skip
    monkeypatch.setattr(replace, "asked", lambda args: on)
    monkeypatch.setattr(replace, "rotation", rooms)
    found = SimpleNamespace(decisions={"V1": "decision"})
    monkeypatch.setattr(replace, "advice", SimpleNamespace(fleet_decisions=lambda *_, **__: found))
    said = SimpleNamespace(
        replace_answer=lambda ways, now, decision, over, book: asked.update(decision=decision, over=over),
        replace_text=lambda answer: "said",
    )
    monkeypatch.setattr(replace, "terminal", said)
    return SimpleNamespace(asked=asked, book=book)


def test_costs_are_over_50_000_miles_or_80_000_km_or_as_told(made):
    def over(*words):
        assert main(["replace", "book", "--vehicle", "V1", *words]) == 0
        assert made.asked["over"] == made.asked["over_km"]
        return made.asked["over"]

    assert over() == pytest.approx(50_000 * MI)
    assert over("--over", "20000") == pytest.approx(20_000 * MI)
    made.book.units = "metric"
    assert over() == 80_000


def test_tires_are_not_rotated_unless_it_is_said_how_often(made):
    main(["replace", "book", "--vehicle", "V1"])
    assert made.asked["rotate_km"] == math.inf
    main(["replace", "book", "--vehicle", "V1", "--rotate-every", "6000"])
    assert made.asked["rotate_km"] == pytest.approx(6000 * MI)


def test_lines_are_read_in_the_units_and_the_stricter_axle_counts(made, capsys):
    main(
        [
            "replace",
            "book",
            "--vehicle",
            "V1",
            "--line",
            "A",
            "--line",
            "B",
            "--fitting",
            "20",
            "--rotation",
            "25",
        ]
    )
    assert made.asked["lines"] == [("A", "us"), ("B", "us")]
    assert (made.asked["fitting"], made.asked["rotation"], made.asked["limit"]) == (20, 25, 3.2)
    assert made.asked["decision"] == "decision"
    main(["replace", "book", "--vehicle", "V2"])
    assert made.asked["decision"] is None
    assert capsys.readouterr().out == "said\nsaid\n"
