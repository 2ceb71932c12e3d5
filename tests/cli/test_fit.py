"""``tirelife fit``: what it prints, what it returns, what it writes."""

import json

import pandas as pd
import pytest

from tests.depths import COLUMNS, names_of
from tests.fleets import Fleet, simulate
from tirelife.cli import main
from tirelife.rates import load_prior
from tirelife.wear import RECORDS

TABLES = ("estimates", "components", "tires", "vehicles", "visits", "checks")


@pytest.fixture(scope="module")
def logbook(tmp_path_factory):
    folder = tmp_path_factory.mktemp("fleet") / "logbook"
    simulate(folder, Fleet(vehicles=8, days=500), seed=3)
    return folder


def test_the_report_opens_with_trust(logbook, capsys):
    assert main(["fit", str(logbook)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("WearFit: ")
    assert "8 vehicles, REML" in lines[0]
    assert lines[1].startswith("Trust:   good; converged; ")
    assert "How fast tires wear" in lines
    assert any("Miles a 32nd" in line for line in lines)
    causes = lines[lines.index("What the log says of each cause") + 2 :][: len(RECORDS)]
    assert [line.split("  ")[0] for line in causes] == [cause.said for cause in RECORDS]


def test_save_and_lean_on_it(logbook, tmp_path, capsys):
    saved = tmp_path / "shop.json"
    assert main(["fit", str(logbook), "--save", str(saved)]) == 0
    assert load_prior(saved).source == "fit(visits=120, tires=32)"
    assert "what was learned is in" in capsys.readouterr().err
    assert main(["fit", str(logbook), "--prior", str(saved), "--json"]) == 0
    made = json.loads(capsys.readouterr().out)
    assert set(TABLES) < set(made)
    assert made["estimates"][0]["unit"] == "32nds per 1000 miles"
    assert made["checks"][0]["check"] == "converged"


def test_tables_in_the_units_of_the_logbook(logbook, tmp_path, capsys):
    out = tmp_path / "fitted"
    assert main(["fit", str(logbook), "--out", str(out)]) == 0
    assert sorted(p.name for p in out.iterdir()) == sorted(f"{name}.csv" for name in TABLES)
    tires = pd.read_csv(out / "tires.csv")
    assert {"fitted_mean_32nds", "wear_32nds_per_1000mi", "last_odometer_mi", "reason"} <= set(tires)
    assert not [name for name in tires if name.endswith(("_mm", "_km"))]
    # 45,000 miles for 8/32 is 0.18 of 1/32 a thousand miles; the fleet was made so, give or take its spreads
    assert tires["wear_32nds_per_1000mi"].median() == pytest.approx(0.2, rel=0.5)
    visits = pd.read_csv(out / "visits.csv")
    assert {"read_mean", "read_outer"} < names_of([*tires, *visits]) <= COLUMNS
    assert visits["read_mean_32nds"].between(0, 12).all()
    capsys.readouterr()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--prior", "nothing.json"], "nothing.json: cannot be read"),
        (["--save", "no/such/folder/x.json"], "cannot be written"),
    ],
)
def test_bad_input_is_one_line_and_writes_nothing(logbook, tmp_path, monkeypatch, capsys, words, says):
    monkeypatch.chdir(tmp_path)
    assert main(["fit", str(logbook), *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err
    assert err.startswith("tirelife fit: ")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there(tmp_path, capsys):
    assert main(["fit", str(tmp_path / "none")]) == 2
    assert capsys.readouterr().err.startswith("tirelife fit: ")
