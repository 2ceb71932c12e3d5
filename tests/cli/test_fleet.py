"""``tirelife fleet``: where its page and lists go, and that one of them is asked for."""

from types import SimpleNamespace

import pandas as pd
import pytest

from tirelife.cli import fleet, main


@pytest.fixture
def made(monkeypatch):
    """The command with its rooms stood in for; what they were asked is kept."""
    asked = {"composed": 0}
    on = SimpleNamespace(book="book", prior=None, removal=1.6)

    def compose(answer, language):
        asked["composed"] += 1
        return f"<page {language}>"

    rooms = SimpleNamespace(
        fleet_answer=lambda *given, **how: asked.update(how), compose_fleet=compose,
        print_page=lambda page, kind: f"{kind} of {page}".encode(),
        fleet_lists=lambda answer, language: {"months": pd.DataFrame({"name": ["=1+1"]})},
    )  # fmt: skip
    monkeypatch.setattr(fleet, "asked", lambda args: on)
    monkeypatch.setattr(fleet, "sheet", rooms)
    monkeypatch.setattr(fleet.outlook, "calibrated_fit", lambda book, prior: "fit")
    return asked


def test_page_pdf_and_lists_are_written_where_they_are_asked_for(made, tmp_path, capsys):
    page, pdf, lists = tmp_path / "a.html", tmp_path / "a.pdf", tmp_path / "lists"
    words = [
        "fleet",
        "book",
        "--out",
        str(page),
        "--pdf",
        str(pdf),
        "--lists",
        str(lists),
        "--language",
        "es",
    ]
    assert main([*words, "--fitting", "20", "--rotation", "25", "--by", "site", "--for-spreadsheet"]) == 0
    assert page.read_text() == "<page es>"
    assert pdf.read_text() == "pdf of <page es>"
    assert (lists / "months.csv").read_text().splitlines() == ["name", "'=1+1"]
    assert capsys.readouterr().err.splitlines() == [
        f"written to {p}" for p in (page, pdf, lists / "months.csv")
    ]
    assert (made["costs"].fitting, made["costs"].rotation, made["by"], made["name"]) == (20, 25, "site", "")


def test_lists_alone_need_no_page_and_a_pdf_alone_one(made, tmp_path):
    assert main(["fleet", "book", "--lists", str(tmp_path / "lists")]) == 0
    assert made["composed"] == 0
    assert main(["fleet", "book", "--pdf", str(tmp_path / "a.pdf")]) == 0
    assert made["composed"] == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.pdf", "lists"]


@pytest.mark.parametrize("words", [[], ["--out", "a.htm"], ["--pdf", "a.html"], ["--out", "none/a.html"]])
def test_no_place_or_another_ending_is_refused(made, words, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["fleet", "book", *words]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert "costs" not in made
