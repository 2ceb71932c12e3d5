"""Every answer says how far the fit behind it is to be trusted."""

import json

import pandas as pd
import pytest

from tests.logbook.folders import folder
from tirelife.cli import main
from tirelife.codes import Note, Severity
from tirelife.language import LANGUAGES
from tirelife.rates import FitReason, FitVerdict, Trust, fit_logbook
from tirelife.sheet.language import say
from tirelife.terminal.trust import told_trust, trust_lines

FINE = FitVerdict((Note(FitReason.BENDS),))
ROUGH = FitVerdict((Note(FitReason.FAR_READINGS, Severity.DOUBT, (("value", 0.034), ("limit", 0.01))),))


def nonsense(path):
    """A logbook whose depths rise by a tenth of an inch between visits; refused by any fit."""
    rows = [
        f"2025-0{3 + 2 * k}-10,{4000 + 3000 * k},{v},{p},{g},{5 + 4 * k}"
        for k in range(3)
        for v in ("V1", "V2")
        for p in ("LF", "RF", "LR", "RR")
        for g in ("outer", "center", "inner")
    ]
    head = "date,odometer_mi,vehicle_id,position,groove,depth_32nds\n"
    return folder(path, depths=head + "\n".join(rows) + "\n")


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("code", [*FitReason, *Trust])
def test_every_code_has_words(code, language):
    words = say(Note(code, Severity.DOUBT, (("value", 0.21), ("limit", 0.2))), "us", language)
    assert words.endswith(".")
    assert "{" not in words


def test_a_fit_that_holds_needs_no_words():
    assert trust_lines(told_trust(FINE)) == []
    assert told_trust(FINE)["reasons"][0]["code"] == "bends"


def test_a_rough_fit_says_why():
    assert trust_lines(told_trust(ROUGH)) == [
        "The fit behind these numbers is rough: take their ranges for a guess.",
        "  3% of the readings are far off; they count less.",
        "",
    ]


@pytest.fixture(scope="module")
def refused(tmp_path_factory):
    from tirelife.logbook import read_logbook

    path = nonsense(tmp_path_factory.mktemp("refused"))
    assert fit_logbook(read_logbook(path)).verdict.refused
    return str(path)


def test_forecast_says_so_and_stands_between_the_last_readings_and_those_before(refused, capsys):
    assert main(["forecast", refused, "--json"]) == 0
    out, err = capsys.readouterr()
    rows = pd.DataFrame(json.loads(out)["tires"])
    assert (rows["fit"] == "refused").all()
    assert "The fit behind these numbers was refused" in err
    # Read at 13/32 last, where the readings before leave 8 at most: neither is outvoted.
    assert rows["depth_now_32nds"].between(8, 13.1).all()
    # 11/32 at 8/32 over 45,000 miles (NHTSA) is 62,000 miles on an average wheel
    assert 30_000 < rows["miles_left_p50"].median() < 130_000


def test_what_ifs_and_rotations_say_so(refused, capsys):
    assert main(["whatif", refused, "--stops", "0.8", "--json"]) == 0
    out, err = capsys.readouterr()
    assert {row["fit"] for row in json.loads(out)["rows"]} == {"refused"}
    assert "was refused" in err
    assert main(["rotate", refused, "--vehicle", "V1", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["fit"]["trust"] == "refused"
    assert main(["rotate", refused, "--vehicle", "V1"]) == 0
    assert "was refused" in capsys.readouterr().out


def test_the_customers_page_says_so(refused, tmp_path, capsys):
    page = tmp_path / "page.html"
    assert main(["sheet", refused, "--vehicle", "V1", "--out", str(page)]) == 0
    assert "was refused" in page.read_text(encoding="utf-8")


def test_a_walk_in_has_a_verdict_too(capsys):
    assert main(["walkin", "--depths", "7", "7", "6", "6", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["fit"]["trust"] == "good"
