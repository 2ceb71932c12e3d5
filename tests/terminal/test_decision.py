"""No two commands disagree on what to do: each says the decision, and none makes advice of its own."""

import io
import json

import pandas as pd
import pytest

from tests.outlook.folders import COLUMNS, one_car
from tirelife.advice import Kind, decisions_otherwise, fleet_decisions
from tirelife.cli import main
from tirelife.logbook import read_logbook
from tirelife.outlook import Otherwise, kept_fit, project
from tirelife.outlook.whatif import otherwise_states
from tirelife.positions import ROAD
from tirelife.terminal.decision import DECISION_COLUMNS, decision_rows, headline_lines
from tirelife.wear import Change

DEMO = "data_synthetic/logbook"


@pytest.fixture(scope="module")
def book():
    return read_logbook(DEMO)


@pytest.fixture(scope="module")
def fit(book):
    return kept_fit(book, None, fresh=False)


@pytest.fixture(scope="module")
def found(book, fit):
    return fleet_decisions(book, fit)


def rows_of(decision, units):
    """Rows of a decision as they come out of JSON."""
    return json.loads(json.dumps(decision_rows(decision, units)))


def said_by(capsys, *words):
    assert main(list(words)) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("vehicle", ["V15"])
def test_tread_rotate_and_page_say_the_decision(capsys, book, found, vehicle):
    told = rows_of(found.decisions[vehicle], book.units)
    tread = json.loads(said_by(capsys, "tread", DEMO, "--vehicle", vehicle, "--json"))
    assert tread["next"] == [{"order": i + 1, **row} for i, row in enumerate(told)]
    rotate = json.loads(said_by(capsys, "rotate", DEMO, "--vehicle", vehicle, "--json"))
    assert rotate["decision"] == told
    text = said_by(capsys, "tread", DEMO, "--vehicle", vehicle)
    assert text.index("What to do next") < text.index(told[0]["words"])
    assert text.count("What would change it: ") == len(told)
    assert "usual rotation" not in text or found.decisions[vehicle].of(Kind.ROTATE)


def test_a_finding_goes_into_the_decision_that_tread_says(capsys):
    answer = json.loads(said_by(capsys, "tread", DEMO, "--vehicle", "V05", "--finding", "LF:cords", "--json"))
    assert answer["next"][0]["do"] == "inspect-now"
    assert "left front" in answer["next"][0]["words"]


def test_the_forecast_says_what_to_do_first_and_keeps_the_order_of_the_fleet(capsys, book, found):
    lines = said_by(capsys, "forecast", DEMO).splitlines()
    heads = headline_lines(found, book.units)
    assert lines[: len(heads) + 1] == ["What to do first", *heads]
    rows = [
        line.split()[0] for line in lines if line[:1] == "V" and any(p in line for p in (" front ", " rear "))
    ]
    rows = [row for row in rows if row in found.decisions]
    assert list(dict.fromkeys(rows)) == found.by_urgency()


@pytest.fixture(scope="module")
def worn(tmp_path_factory):
    """One car whose left front was read at the limit."""
    last = {"LF": 2.0, "RF": 4.0, "LR": 7.0, "RR": 7.0}
    days = (("2024-01-02", 10_010, 0.0), ("2024-09-01", 18_000, 0.5), ("2025-06-01", 27_000, 1.0))
    depths = [
        (day, miles, "V1", place, groove, round(10 - (10 - depth) * part, 1))
        for day, miles, part in days
        for place, depth in last.items()
        for groove in ("outer", "center", "inner")
    ]
    return str(one_car(tmp_path_factory.mktemp("worn") / "book", [], depths=depths_table(depths)))


def depths_table(rows):
    return pd.DataFrame(rows, columns=COLUMNS["depths"])


def test_the_forecast_s_data_hold_the_decision(capsys, worn, tmp_path):
    book = read_logbook(worn)
    found = fleet_decisions(book, kept_fit(book, None, fresh=False))
    answer = json.loads(said_by(capsys, "forecast", worn, "--json"))
    assert answer["decisions"] == {"V1": rows_of(found.decisions["V1"], book.units)}
    assert len(answer["tires"]) == 4
    for how in ("csv", "parquet", "folder"):
        out = tmp_path / ("t." + how if how != "folder" else "parts/")
        more = ["--decisions", "yes"] if how == "folder" else []
        said_by(capsys, "forecast", worn, "--out", f"{out}/" if how == "folder" else str(out), *more)
        table = pd.read_csv(out) if how == "csv" else pd.read_parquet(out)
        for position, codes, severity, words in table[["position", *DECISION_COLUMNS]].itertuples(
            index=False
        ):
            rows = [r for r in answer["decisions"]["V1"] if not r["positions"] or position in r["positions"]]
            assert codes.split() == [r["do"] for r in rows]
            assert severity == rows[0]["severity"]
            assert words == " ".join(r["words"] for r in rows)
        said = dict(zip(table["position"], table["do"].str.split(), strict=True))
        assert said["LF"][:2] == ["inspect-now", "replace"]
        assert said["RF"][0] == "replace"
        assert "replace" not in said["RR"]


def test_a_row_of_a_decision_has_its_evidence_in_the_logbook_s_units(book, found):
    rows = {row["do"]: row for row in decision_rows(found.decisions["V09"], book.units)}
    why = next(n for n in rows["replace"]["why"] if n["code"] == "near-limit")
    assert why["read_32nds"] == pytest.approx(
        found.facts["V09"].tires[why["position"]].read_mm / 0.79375, abs=1e-3
    )
    assert "km_p50" not in why
    assert all(n["words"] for row in rows.values() for n in row["would_change"])
    assert [n["code"] for n in rows["leave-in-place"]["would_change"]] == ["new-tires"]


def test_the_what_if_s_data_hold_the_decision_as_it_is_and_would_be(capsys, worn):
    words = ("whatif", worn, "--off-at", "1/32", "--pressures-kept")
    answer = json.loads(said_by(capsys, *words, "--json"))
    assert answer["decisions"]["V1"][0]["do"] == "inspect-now"
    assert answer["decisions_then"]["removal at 1/32"]["V1"][0]["do"] == "replace"
    table = pd.read_csv(io.StringIO(said_by(capsys, *words, "--csv")))
    for change, part in table[table["position"] == "set"].groupby("change"):
        assert part["do"].iloc[0].split() == [r["do"] for r in answer["decisions_then"][change]["V1"]]
        assert part["do_now"].iloc[0].split() == [r["do"] for r in answer["decisions"]["V1"]]


def test_a_gain_that_cannot_be_told_from_none_is_said_so(capsys):
    words = ("whatif", DEMO, "--vehicle", "V09", "--stops", "0.8", "--off-at", "4/32", "--decisions", "no")
    rows = pd.DataFrame(json.loads(said_by(capsys, *words, "--json"))["rows"])
    across = (rows["miles_gained_p10"] <= 0) & (rows["miles_gained_p90"] >= 0)
    assert rows["told_apart"].tolist() == (~across).tolist()
    assert 0 < across.sum() < len(rows)
    lines = [line for line in said_by(capsys, *words).splitlines() if line.startswith("V09  ")]
    assert ["too small to tell" in line for line in lines] == across.tolist()


def test_a_what_if_says_what_it_would_alter_of_what_to_do(capsys):
    text = said_by(capsys, "whatif", DEMO, "--vehicle", "V03", "--off-at", "4/32", "--stops", "0.8")
    assert "V03: Set the pressures cold" in text
    assert "removal at 4/32: Have a qualified person look at the tread now" in text
    assert "stops at 0.8 of the acceleration: " not in text


def test_a_walk_in_is_told_the_decision(capsys):
    text = said_by(capsys, "walkin", "--depths", "3", "3", "2", "3", "--as-of", "2026-11-01")
    assert "Replace all four tires now." in text
    assert "What would change it: a reading of the right rear over 2/32 inch" not in text
    assert "What would change it: a reading of the left rear over 2/32 inch" in text
    answer = json.loads(said_by(capsys, "walkin", "--depths", "3", "3", "2", "3", "--json"))
    assert [row["do"] for row in answer["decision"]][:2] == ["inspect-now", "replace"]


def test_nothing_otherwise_is_as_things_are(book, fit, found):
    same = decisions_otherwise(book, fit, Otherwise("nothing", wear=Change("nothing")))
    assert {v: (d.actions, d.first) for v, d in same.decisions.items()} == {
        v: (d.actions, d.first) for v, d in found.decisions.items()
    }
    pressure = decisions_otherwise(book, fit, Otherwise("kept", wear=Change("kept", pressure_kept=True)))
    assert not any(d.of(Kind.PRESSURE) for d in pressure.decisions.values())
    assert any(d.of(Kind.PRESSURE) for d in found.decisions.values())


def test_a_what_if_of_a_fleet_is_that_of_its_gains(book, fit):
    from tirelife.outlook import what_if

    change = Otherwise("gentler", wear=Change("gentler", stops=0.5), rotation_km=0.0, km_per_year=9_000.0)
    before = otherwise_states(book, fit, Otherwise("as now"), ["V01", "V08"])
    after = otherwise_states(book, fit, change, ["V01", "V08"])
    apart = project(after)["km_left_p50"].to_numpy() - project(before)["km_left_p50"].to_numpy()
    gains = what_if(book, fit, change, ["V01", "V08"])
    gains = gains[gains["position"].isin(ROAD)].set_index(["vehicle_id", "position"])
    told = gains.loc[list(zip(after["vehicle_id"], after["position"], strict=True)), "km_gained_p50"]
    assert apart == pytest.approx(told.to_numpy(float), rel=0.1, abs=150)
