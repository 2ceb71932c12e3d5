"""What was once passed over, replayed on cars of the demo: the last visit of one read as it never should be."""

import json
from pathlib import Path

import pandas as pd
import pytest

from tests.commands import sharing
from tirelife.cli import main
from tirelife.logbook import check_logbook, read_logbook
from tirelife.rates import fit_logbook

CARS = ("V03", "V04")


def spoilt(folder, change, cars=CARS):
    """Cars of the demo, all with none named, the depths of V03's last visit changed."""
    folder.mkdir()
    for file in Path("data_synthetic/logbook").glob("*.csv"):
        table = pd.read_csv(file, dtype=str, keep_default_na=False)
        if cars and "vehicle_id" in table:
            table = table[table["vehicle_id"].isin(cars)]
        if file.stem == "depths":
            rows = table.index[(table["vehicle_id"] == "V03")]
            rows = rows[table.loc[rows, "date"] == table.loc[rows, "date"].max()]
            table.loc[rows, "depth_32nds"] = [f"{change(float(d)):g}" for d in table.loc[rows, "depth_32nds"]]
        table.to_csv(folder / file.name, index=False)
    return str(folder)


def said(capsys, *words):
    assert main([*words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("change", "verdict", "read"),
    [
        (lambda d: 2.5, "near", 2.5),  # all over: a fit outvoted it, and 5,000 to 9,000 miles were promised
    ],
)
def test_a_last_visit_at_or_near_the_limit_is_said_by_each_answer_and_no_tire_is_moved(
    tmp_path, capsys, change, verdict, read
):
    book = spoilt(tmp_path / "book", change)
    log = read_logbook(book)
    with sharing(log, fit_logbook(log)):
        ahead = said(capsys, "forecast", book)
        turned = said(capsys, "rotate", book, "--vehicle", "V03")
    tires = [row for row in ahead["tires"] if row["vehicle_id"] == "V03" and row["position"] != "SP"]
    assert [row["verdict"] for row in tires] == [verdict] * 4
    assert [row["read_32nds"] for row in tires] == pytest.approx([read] * 4, abs=0.2)
    assert "rotate" not in [one["do"] for one in ahead["decisions"]["V03"]]
    assert all(move["from_position"] == move["to_position"] for move in turned["moves"])


@pytest.mark.parametrize(
    ("change", "code"),
    [(lambda d: 2.5, "slip-all-alike"), (lambda d: 0.0, "slip-all-zero"),
     (lambda d: round(d * 25.4 / 32, 1), "slip-other-unit")],
)  # fmt: skip
def test_such_a_visit_is_asked_about_when_the_log_is_checked(tmp_path, change, code):
    problems = check_logbook(spoilt(tmp_path / "book", change, None))
    assert code in set(problems["code"])
