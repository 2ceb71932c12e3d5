"""Whatever else is known: a tire that was read at its limit is said by every command, and on the page."""

import json
import re
from dataclasses import replace

import pandas as pd
import pytest

from tirelife.cli import main
from tirelife.logbook import read_logbook
from tirelife.tread import Verdict, verdicts

DEMO = "data_synthetic/logbook"
N32 = 25.4 / 32


@pytest.mark.long
def test_one_reading_at_the_limit_on_any_tire_of_the_demo_is_that_tires_verdict():
    book = read_logbook(DEMO)
    before = verdicts(book).set_index("tire_id")
    seen = 0
    for tire, row in before[before["verdict"] != Verdict.NOT_READ].iterrows():
        depths = book.depths
        at = depths["vehicle_id"] == row["read_vehicle_id"]
        at &= (depths["position"] == row["read_at_position"]) & (depths["date"] == row["read_date"])
        depths.loc[depths.index[at][0], "depth_mm"] = 2 * N32
        found = verdicts(replace(book, tables={**book.tables, "depths": depths})).set_index("tire_id")
        assert found.loc[tire, "verdict"] == Verdict.AT_OR_UNDER, tire
        others = found.drop(tire)
        assert (others["verdict"] == before.drop(tire)["verdict"]).all()
        seen += 1
    assert seen > 80


@pytest.fixture(scope="module")
def worn(tmp_path_factory):
    """The demo with one groove of the last visit of V03's tire now at the left rear at 1/32 in."""
    import shutil

    folder = tmp_path_factory.mktemp("worn") / "logbook"
    shutil.copytree(DEMO, folder)
    depths = pd.read_csv(folder / "depths.csv")
    own = depths["vehicle_id"] == "V03"
    last = own & (depths["date"] == depths.loc[own, "date"].max()) & (depths["position"] == "LF")
    depths.loc[depths.index[last & (depths["groove"] == "center")], "depth_32nds"] = 1.0
    depths.to_csv(folder / "depths.csv", index=False)
    return str(folder)


@pytest.mark.parametrize(
    "words",
    [
        ["check"], ["tread", "--vehicle", "V03"], ["forecast"], ["rotate", "--vehicle", "V03"],
        ["whatif", "--vehicle", "V03", "--stops", "0.8"],
    ],
    ids=lambda words: words[0],
)  # fmt: skip
def test_every_command_says_it_before_anything_else(worn, capsys, words):
    assert main([words[0], worn, *words[1:]]) == 0
    out, err = capsys.readouterr()
    first = (err or out).splitlines()[1]
    assert "V03 left rear: read 1/32 inch" in first
    assert "when it was at the left front" in first
    assert "qualified person" in first


def test_a_walk_in_says_it_first(capsys):
    assert main(["walkin", "--depths", "6,6,2", "6", "6", "6", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert next(iter(told)) == "urgent"
    assert [row["position"] for row in told["urgent"]] == ["LF"]
    assert [row["verdict"] for row in told["forecast"]] == ["at-or-under", "over", "over", "over"]


def test_rotation_moves_no_such_tire_and_no_range_stands_above_it(worn, capsys):
    assert main(["rotate", worn, "--vehicle", "V03", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert next(move for move in told["moves"] if move["from_position"] == "LR")["to_position"] == "LR"
    refused = [plan for plan in told["plans"] if not plan["allowed"]]
    assert refused
    assert all("at-limit" in plan["codes"] for plan in refused)
    assert main(["forecast", worn, "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["tires"]
    row = next(r for r in rows if (r["vehicle_id"], r["position"]) == ("V03", "LR"))
    assert (row["verdict"], row["read_at"], row["miles_left_p90"]) == ("at-or-under", "LF", 0)
    assert "read-at-limit" in row["codes"]


def test_the_page_has_it_in_the_box_above_and_shows_what_was_read(worn, tmp_path):
    page = tmp_path / "page.html"
    assert main(["sheet", worn, "--vehicle", "V03", "--out", str(page)]) == 0
    html = page.read_text(encoding="utf-8")
    box = re.search(r'role="alert">(.*?)</div>', html, re.S).group(1)
    assert "left rear" in box.lower()
    assert re.search(r'id="read-LR">1\.0 at left front<', html)
