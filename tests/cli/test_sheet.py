"""``tirelife sheet``: what is refused before anything is read, what a shop's words go before, what is written."""

from contextlib import nullcontext
from datetime import date
from types import SimpleNamespace

import pytest

from tirelife.cli import main, sheet
from tirelife.sheet import Shop


@pytest.mark.parametrize(
    "words",
    [
        ["--vehicle", "V1"],
        ["--all"],
        ["--all", "--out", "pages", "--vehicle", "V1"],
        ["--all", "--out", "pages", "--pdf", "a.pdf"],
        ["--all", "--out", "pages", "--png", "a.png"],
        ["--vehicle", "V1", "--out", "page.txt"],
        ["--vehicle", "V1", "--pdf", "page.html"],
        ["--vehicle", "V1", "--png", "page.pdf"],
        ["--vehicle", "V1", "--out", "page.html", "--as-of", "soon"],
        ["--vehicle", "V1", "--out", "page.html", "--next-date", "soon"],
        ["--vehicle", "V1", "--out", "page.html", "--removal-depth", "deep"],
    ],
)
def test_what_cannot_be_is_one_line_before_the_logbook_is_looked_for(words, capsys):
    assert main(["sheet", "nowhere", *words]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert "nowhere" not in told.err


@pytest.fixture
def made(monkeypatch):
    """The command with the pages stood in for; what they were asked is kept."""
    asked = {}
    on = SimpleNamespace(book="book", fit="fit", limit=1.6, removal="removal", rule="rule", prior=None)
    done = SimpleNamespace(kept=1, made=0, without={"V9": "no tire"})

    def pages(book, out, fit, removal, **how):
        asked.update(how, out=out, fit=fit())
        return done

    rooms = SimpleNamespace(
        Shop=Shop, read_shop=lambda path: Shop(name="File", telephone="1", note="n"), page_helpers=lambda: nullcontext({}),
        check_vehicle=lambda *_: None, customer_page=lambda *given, **how: asked.update(how, given=given) or "<page>",
        print_page=lambda page, kind: f"{kind} of {page}".encode(), write_pages=pages,
    )  # fmt: skip
    monkeypatch.setattr(sheet, "sheet", rooms)
    monkeypatch.setattr(sheet, "asked", lambda args: on)
    return SimpleNamespace(asked=asked, done=done)


def test_a_page_is_written_in_every_form_asked_for_and_each_is_told_of(made, tmp_path, capsys):
    files = {kind: tmp_path / f"page.{kind}" for kind in ("html", "pdf", "png")}
    words = ["--out", str(files["html"]), "--pdf", str(files["pdf"]), "--png", str(files["png"])]
    assert main(["sheet", "book", "--vehicle", "V1", *words]) == 0
    assert [path.read_text() for path in files.values()] == ["<page>", "pdf of <page>", "png of <page>"]
    assert capsys.readouterr().err.splitlines() == [f"V1: page written to {path}" for path in files.values()]
    assert made.asked["given"] == ("book", "V1", "fit")
    assert (made.asked["removal_mm"], made.asked["stored_mm"]) == (1.6, "removal")


def test_an_option_goes_before_the_shop_s_file(made, tmp_path):
    words = ["sheet", "book", "--vehicle", "V1", "--out", str(tmp_path / "a.html")]
    assert main([*words, "--shop", "shop.toml", "--shop-name", "Told", "--next-date", "2027-01-15"]) == 0
    shop = made.asked["shop"]
    assert (shop.name, shop.telephone, shop.note, shop.next_date) == ("Told", "1", "n", date(2027, 1, 15))
    assert main([*words, "--note", ""]) == 0
    assert made.asked["shop"] == Shop(note="")


def test_pages_of_all_say_whom_they_leave_out_and_none_at_all_is_a_failure(made, tmp_path, capsys):
    assert main(["sheet", "book", "--all", "--out", "pages", "--pdfs"]) == 0
    assert "V9: no page: no tire\npages: 1 vehicles' pages kept, 0 made.\n" in capsys.readouterr().err
    assert (made.asked["out"], made.asked["fit"], made.asked["pdfs"]) == ("pages", "fit", True)
    made.done.kept = 0
    assert main(["sheet", "book", "--all", "--out", "pages"]) == 2
    made.done.made = 1
    assert main(["sheet", "book", "--all", "--out", "pages"]) == 0
