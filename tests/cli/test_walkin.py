"""``tirelife walkin --out``: the walk-in's page, written whole or not at all."""

import pytest

from tirelife.cli import main
from tirelife.sheet import walkin_page
from tirelife.units import convert

WORDS = ["walkin", "--depths", "6,6,5", "6", "7", "7", "--miles-on", "21000", "--as-of", "2026-10-01"]


@pytest.mark.long
def test_the_page_is_the_walk_in_s_own(tmp_path, capsys):
    out = tmp_path / "page.html"
    words = [*WORDS, "--new-depth", "10", "--drive", "rear", "--rotated", "no", "--removal-depth", "4/32"]
    assert main([*words, "--out", str(out)]) == 0
    said = capsys.readouterr()
    assert (said.out, said.err) == ("", f"page written to {out}\n")
    html = out.read_text(encoding="utf-8")
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"]
    mm = [[float(convert(d, "32nds", "mm")) for d in wheel] for wheel in ([6, 6, 5], [6], [7], [7])]
    assert html == walkin_page(
        mm,
        units="us",
        removal_mm=float(convert(4, "32nds", "mm")),
        distance_km=float(convert(21_000, "mi", "km")),
        new_depth_mm=float(convert(10, "32nds", "mm")),
        drive="rear",
        rotated=False,
        as_of="2026-10-01",
    )
    assert "This comes from one visit" in html
    assert "New tires at 4/32 inch." in html


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--out", "page.txt"], "page.txt: the name must end in .html."),
        (["--out", "page.html", "--json"], "--out and --json: give one of them."),
        (["--out", "nowhere/page.html"], "there is no such folder to write to"),
        (["--out", "page.html", "--new-depth", "90"], "tirelife walkin: "),
        (["--out", "page.html", "--new-depth", "4"], "tirelife walkin: "),
    ],
)
def test_nothing_is_written_when_input_is_bad(words, told, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main([*WORDS, *words]) == 2
    assert told in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_spare_that_the_page_leaves_out_is_told(tmp_path, capsys):
    assert main(["walkin", "--depths", "6", "6", "7", "7", "8", "--out", str(tmp_path / "page.html")]) == 0
    assert capsys.readouterr().err.endswith("; it leaves out the spare\n")
