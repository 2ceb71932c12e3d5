"""``tirelife sheet``, from the words typed to the file written."""

import re
import shutil
import subprocess
import sys

import pytest

from tests.sheet.answers import Ready
from tirelife.cli import main
from tirelife.logbook import read_logbook
from tirelife.sheet.answer import answer_for
from tirelife.sheet.page import compose_page, lead

LOGBOOK = "data_synthetic/logbook"


@pytest.fixture(scope="module")
def us(tmp_path_factory):
    folder = tmp_path_factory.mktemp("us")
    assert main(["sheet", LOGBOOK, "--vehicle", "V03", "--out", str(folder / "page.html")]) == 0
    assert [path.name for path in folder.iterdir()] == ["page.html"]
    return (folder / "page.html").read_text(encoding="utf-8")


def test_it_writes_one_page_that_tells_the_answer(us):
    assert "<title>How long your tires should last: V03</title>" in us
    for told in ("Plan for new tires", "8 chances in 10", "Measure again", "We fitted how fast tires wear"):
        assert told in us


def test_what_is_asked_for_is_heeded_and_nothing_later_is_used(tmp_path, capsys):
    out = tmp_path / "page.html"
    words = ["--removal-depth", "4/32", "--paper", "a4", "--date-order", "dmy", "--as-of", "2026-03-31"]
    assert main(["sheet", LOGBOOK, "--vehicle", "V03", "--out", str(out), *words]) == 0
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err == f"V03: page written to {out}\n"
    html = out.read_text(encoding="utf-8")
    assert "New tires at 4/32 inch." in html
    assert "size: A4 portrait" in html
    assert "31 March 2026" in html
    assert not re.search(r'"date":"2026-(0[4-9]|1)', html)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "where to? Give --out FILE.html"),
        (["--out", "page.txt"], "page.txt: the name must end in .html."),
        (["--pdf", "page.html"], "page.html: the name must end in .pdf."),
        (["--out", "OUT"], "which vehicle? Give --vehicle with one of: V01, V02, V03,"),
        (["--out", "OUT", "--vehicle", "V99"], "there is no vehicle 'V99' in this logbook."),
        (["--out", "OUT", "--vehicle", "V03", "--removal-depth", "2"], "removal depth '2' is not a depth."),
        (
            ["--out", "OUT", "--vehicle", "V03", "--as-of", "31/03/2026"],
            "--as-of '31/03/2026' is not a date.",
        ),
        (["--out", "NOWHERE", "--vehicle", "V03"], "there is no such folder to write to"),
    ],
)
def test_what_cannot_be_used_is_told_and_nothing_is_written(tmp_path, capsys, words, told):
    place = {"OUT": str(tmp_path / "page.html"), "NOWHERE": str(tmp_path / "no" / "page.html")}
    assert main(["sheet", LOGBOOK, *(place.get(word, word) for word in words)]) == 2
    said = capsys.readouterr()
    assert told in said.err
    assert "Traceback" not in said.err
    assert list(tmp_path.iterdir()) == []


def test_an_old_page_is_left_alone_when_the_input_is_bad(tmp_path):
    out = tmp_path / "page.html"
    out.write_text("old")
    assert main(["sheet", LOGBOOK, "--vehicle", "V99", "--out", str(out)]) == 2
    assert out.read_text() == "old"


def test_a_metric_logbook_gets_a_metric_answer_with_the_same_window(us, tmp_path):
    import pandas as pd

    book = tmp_path / "book"
    shutil.copytree(LOGBOOK, book)
    for file in book.glob("*.csv"):
        table = pd.read_csv(file, dtype=str, keep_default_na=False)
        for column in list(table):
            for old, new, factor in (
                ("_32nds", "_mm", 0.79375),
                ("_mi", "_km", 1.609344),
                ("_psi", "_kpa", 6.894757),
            ):
                if column.endswith(old):
                    number = pd.to_numeric(table[column], errors="coerce") * factor
                    table[column] = number.round(3).astype(str).replace("nan", "")
                    table = table.rename(columns={column: column.removesuffix(old) + new})
        table.to_csv(file, index=False)
    answer = answer_for(read_logbook(book), "V03")
    assert answer.units == "metric"
    # Found: pages of metric logbooks offered "5 mph slower".
    assert "8 km/h slower on fast roads" in set(answer.changes["change"])
    html = re.sub(r"<script\b.*?</script>", "", compose_page(answer, bundle=Ready()), flags=re.S)
    assert not re.search(r"(?<![a-z0-9_])(mph|psi|mi|miles|32nds)(?![a-z])", html)
    assert "km a year" in answer.assumed
    assert "1.6 mm" in answer.assumed
    assert lead(answer).split(",")[0] in us


def test_no_browser_is_told_with_what_to_do(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(shutil, "which", lambda name: None)
    monkeypatch.delenv("TIRELIFE_BROWSER", raising=False)
    assert main(["sheet", LOGBOOK, "--vehicle", "V03", "--pdf", str(tmp_path / "page.pdf")]) == 2
    assert "no browser found to make a PDF. Install Chromium" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_help_shows_examples_and_imports_nothing_heavy():
    code = (
        "import sys\nfrom tirelife.cli import main\n"
        "try:\n    main(['sheet', '--help'])\nexcept SystemExit:\n    pass\n"
        "print(sorted({'pandas', 'altair', 'numpy', 'scipy'} & set(sys.modules)))"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert "tirelife sheet data_synthetic/logbook --vehicle V03 --out page.html" in said
    assert said.splitlines()[-1] == "[]"
