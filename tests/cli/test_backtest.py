"""``tirelife backtest``: how many days it forecasts from, and where its answer goes."""

import json
from contextlib import nullcontext
from types import SimpleNamespace

import pandas as pd
import pytest

from tirelife.cli import backtest, main


@pytest.fixture
def made(monkeypatch):
    """The command with its rooms stood in for; what they were asked is kept."""
    asked = {"steps": []}
    result = SimpleNamespace(predictions=pd.DataFrame({"tire_id": ["T1"] * 1234}))

    def test(book, origins, prior):
        asked["origins"] = origins
        return result

    monkeypatch.setattr(backtest, "read", lambda args: SimpleNamespace(units="us"))
    monkeypatch.setattr(backtest.outlook, "backtest", test)
    monkeypatch.setattr(backtest.outlook, "calibration", lambda book, prior: None)
    said = SimpleNamespace(
        progress=lambda name: nullcontext(lambda done, of: asked["steps"].append((done, of))),
        backtest_answer=lambda *_: {"in": "json"}, backtest_scores=lambda *_: pd.DataFrame({"score": [1.5]}),
        backtest_text=lambda *_, parts: f"in lines, {'all' if parts else 'few'}",
    )  # fmt: skip
    monkeypatch.setattr(backtest, "terminal", said)
    return asked


def test_it_forecasts_from_three_days_or_as_many_or_those_told(made, capsys):
    for words, origins in (
        ([], 3),
        (["--origins", "5"], 5),
        (["--origin", "2026-01-01", "--origins", "5"], ["2026-01-01"]),
    ):
        assert main(["backtest", "book", *words]) == 0
        assert made["origins"] == origins
    assert made["steps"][:3] == [(0, 3), (1, 3), (2, 3)]
    assert capsys.readouterr().out == "in lines, few\n" * 3


def test_the_answer_is_lines_json_or_csv_and_forecasts_go_to_a_file(made, tmp_path, capsys):
    assert main(["backtest", "book", "--all"]) == 0
    assert capsys.readouterr().out == "in lines, all\n"
    out = tmp_path / "all.csv"
    assert main(["backtest", "book", "--out", str(out)]) == 0
    assert capsys.readouterr().out == f"1,234 forecast quantiles written to {out}\n"
    assert len(pd.read_csv(out)) == 1234
    assert main(["backtest", "book", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"in": "json"}
    assert main(["backtest", "book", "--csv"]) == 0
    assert capsys.readouterr().out == "score\n1.5\n"
    assert main(["backtest", "book", "--out", str(tmp_path / "all.txt")]) == 2
