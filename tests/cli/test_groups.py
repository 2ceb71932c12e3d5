"""``tirelife groups``: what is refused, which defaults go with the units, and what is printed or written."""

import re
from types import SimpleNamespace

import pandas as pd
import pytest

from tirelife.cli import groups, main


def test_groups_are_compared_in_spanish(capsys):
    assert main(["groups", "data_synthetic/logbook", "--fitting", "20", "--language", "es"]) == 0
    said = capsys.readouterr().out
    assert "No use solo estas cifras para premiar" in said
    assert re.search(r"(gasta las llantas|ninguna diferencia entre|no se distinguen)", said)
    english = r"\b(Range|range|wears|over|Told apart|Checks|adjusted|Group|Vehicles|What to do|drove|yes)\b"
    assert not re.search(english, said), re.search(english, said)


def test_what_cannot_be_compared_is_said_in_spanish(capsys):
    assert main(["groups", "data_synthetic/logbook", "--by", "colour", "--language", "es"]) == 2
    assert "no se puede agrupar por 'colour'" in capsys.readouterr().err


@pytest.fixture
def compared(monkeypatch):
    """The command with its rooms stood in for; what they were asked is kept."""
    asked = {}

    def costs(*given):
        asked["costs"] = given

    book = SimpleNamespace(units="us")
    monkeypatch.setattr(groups, "read", lambda args: book)
    monkeypatch.setattr(
        groups.outlook, "kept_fit", lambda book: SimpleNamespace(factors="factors"), raising=False
    )
    rooms = SimpleNamespace(
        compare_groups=lambda *given, **how: asked.update(compared=given, **how), Costs=costs,
        comparison_tables=lambda *given, **how: asked.update(how) or {"pairs": pd.DataFrame({"group": ["A"]})},
    )  # fmt: skip
    monkeypatch.setattr(groups, "groups", rooms)
    said = SimpleNamespace(
        group_data=lambda tables, *_: tables,
        group_text=lambda *_: "in lines",
        group_answer=lambda *_: {"in": "json"},
    )
    monkeypatch.setattr(groups, "terminal", said)
    return SimpleNamespace(asked=asked, book=book)


def test_rotations_cost_at_the_usual_interval_of_the_units_or_the_one_given(compared):
    def every(*words):
        assert main(["groups", "book", "--fitting", "20", "--rotation", "25", *words]) == 0
        return compared.asked["costs"]

    assert every() == (20, 25, pytest.approx(5000 * 1.609344))
    assert every("--interval", "6000") == (20, 25, pytest.approx(6000 * 1.609344))
    compared.book.units = "metric"
    assert every()[2] == 8000
    assert compared.asked["factors"] == "factors"


def test_it_is_said_in_lines_or_as_json_or_the_pairs_are_written(compared, tmp_path, capsys):
    assert main(["groups", "book", "--budget"]) == 0
    assert capsys.readouterr().out == "in lines\n"
    assert compared.asked["budget"] is True
    out = tmp_path / "pairs.csv"
    assert main(["groups", "book", "--out", str(out)]) == 0
    told = capsys.readouterr()
    assert (told.out, told.err) == ("", f"1 pairs written to {out}\n")
    assert main(["groups", "book", "--out", str(out), "--json"]) == 0
    assert "json" in capsys.readouterr().out
    assert pd.read_csv(out)["group"].tolist() == ["A"]
    assert main(["groups", "book", "--out", str(tmp_path / "pairs.txt")]) == 2
