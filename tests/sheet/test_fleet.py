"""The owner's page: what it lists is what the decisions and forecasts say."""

import html
import re

import numpy as np
import pandas as pd
import pytest

from tests.depths import COLUMNS, names_of
from tirelife import InputError, read_logbook
from tirelife.advice import Kind, Soon, fleet_decisions
from tirelife.cli import main
from tirelife.codes import Severity
from tirelife.groups import Costs, replacements_by_month
from tirelife.outlook import calibrated_fit
from tirelife.outlook.pieces import Pieces
from tirelife.sheet.due import due_next
from tirelife.sheet.fleet import fleet_answer
from tirelife.sheet.fleet_page import compose_fleet, fleet_lists
from tirelife.sheet.fleet_tables import HEADS, fleet_table
from tirelife.sheet.language.decisions import action_words
from tirelife.sheet.notebook import show_table

DEMO = "data_synthetic/logbook"


@pytest.fixture(scope="module")
def book():
    return read_logbook(DEMO)


@pytest.fixture(scope="module")
def fit(book):
    return calibrated_fit(book)


@pytest.fixture(scope="module")
def answer(book, fit):
    return fleet_answer(book, fit, costs=Costs(20, 25))


@pytest.fixture(scope="module")
def page(answer):
    return compose_fleet(answer)


def test_depths_in_its_lists_go_by_the_names_of_every_command(answer):
    found = names_of(c for table in fleet_lists(answer).values() for c in table)
    assert "read_raw" in found
    assert found <= COLUMNS


def test_every_vehicle_stands_there_once_with_the_first_tire_s_window(book, fit, answer):
    found = fleet_decisions(book, fit)
    assert sorted(answer.vehicles["vehicle_id"]) == sorted(found.decisions)
    want = found.first.set_index("vehicle_id").loc[answer.vehicles["vehicle_id"]]
    assert answer.vehicles["km_left_p50"].to_numpy() == pytest.approx(want["km_left_p50"].to_numpy())
    assert (answer.vehicles["date_p90"].to_numpy() == want["date_p90"].to_numpy()).all()


def test_what_cannot_wait_comes_first_then_the_soonest(answer):
    level = answer.vehicles["severity"].where(answer.vehicles["severity"] > 1, 0)
    assert level.is_monotonic_decreasing
    rest = answer.vehicles[level == 0]
    assert rest["date_p50"].dropna().is_monotonic_increasing


def test_the_list_to_buy_is_every_replacement_before_the_next_visit(answer):
    want = {
        (v, " ".join(a.positions))
        for v, d in answer.decisions.items()
        for a in d.of(Kind.REPLACE)
        if a.soon is not Soon.PLAN
    }
    assert set(zip(answer.buy["vehicle_id"], answer.buy["positions"], strict=True)) == want
    assert (answer.buy["count"] == answer.buy["positions"].str.split().str.len()).all()


def test_the_months_list_says_its_scope_and_its_bill(book, fit, answer, page):
    # By hand: each tire at the mean price of what the logbook paid for its line (or its own), 20 to fit; what comes off
    # is worth the share of its usable depth that is left.
    found = fleet_decisions(book, fit)
    tires = book.tires.drop_duplicates("tire_id").set_index("tire_id")
    row = answer.buy.iloc[0]
    own = (
        found.tires[found.tires["vehicle_id"] == row["vehicle_id"]]
        .set_index("position")
        .loc[row["positions"].split()]
    )
    paid = thrown = 0.0
    for tire in own.itertuples():
        price, new = tires.loc[tire.tire_id, "price"], tires.loc[tire.tire_id, "new_depth_mm"]
        paid += price + 20
        thrown += price * min(max((tire.depth_now_mm - 1.5875) / (new - 1.5875), 0), 1)
    assert row["cost"] == pytest.approx(paid)
    assert row["thrown_away"] == pytest.approx(thrown)
    assert set(answer.buy["scope"]) <= {"one", "pair", "set"}
    assert (answer.buy.loc[answer.buy["scope"] == "one", "count"] == 1).all()
    soon = answer.buy[answer.buy["by"].isna() | (answer.buy["by"] <= answer.as_of + pd.Timedelta(days=31))]
    said = re.search(r"In the coming month (\d+) tires: ([^.]+)\. Bill[^:]*: ([\d,]+)", page)
    assert said
    assert int(said[1]) == soon["count"].sum()
    # Only what is on the list is named: no "0 sets".
    named = dict(
        (s.rstrip("s"), 1 if n == "one" else int(n)) for n, s in re.findall(r"(one|\d+) (\w+)", said[2])
    )
    assert named == {{"one": "single"}.get(s, s): n for s, n in soon["scope"].value_counts().items()}
    assert int(said[3].replace(",", "")) == pytest.approx(soon["cost"].sum(), abs=1)


def test_the_least_reading_is_the_least_of_the_vehicle_s_tires(book, answer):
    from tirelife.tread import measured

    least = measured(book).query("position != 'SP'").groupby("vehicle_id")["least_raw_mm"].min()
    got = answer.vehicles.set_index("vehicle_id")["read_raw_mm"]
    assert np.allclose(got, least.reindex(got.index), equal_nan=True)


def test_the_page_opens_with_no_network_and_says_each_vehicle(page, answer):
    assert not re.search(r"https?://(?!www\.w3\.org)", page)
    assert "default-src 'none'" in html.unescape(page)
    assert "unsafe-eval" not in page
    for vehicle in answer.vehicles["vehicle_id"]:
        assert f'<th scope="row">{vehicle}' in page
    assert "nan" not in re.sub(r"<[^>]*>", " ", page).lower().split()
    assert len(page) < 1_000_000


def test_what_people_typed_is_text_on_the_page(tmp_path, book, fit):
    from dataclasses import replace

    odd = "<script>alert(1)</script>"
    tables = {
        name: t.assign(vehicle_id=t["vehicle_id"].replace({"V09": odd})) if "vehicle_id" in t else t
        for name, t in book.tables.items()
    }
    other = replace(book, tables=tables)
    made = compose_fleet(fleet_answer(other, calibrated_fit(other), name='"><b>'))
    assert "<script>alert" not in made
    assert html.escape(odd) in made
    assert '"><b>' not in made


def test_lists_come_in_shown_units_and_hold_every_action(answer):
    lists = fleet_lists(answer)
    assert lists["vehicles"]["mi_left_p50"].to_numpy() == pytest.approx(
        answer.vehicles["km_left_p50"].to_numpy() / 1.609344
    )
    assert len(lists["to_do"]) == sum(len(d.actions) for d in answer.decisions.values())
    assert lists["months"]["expected"].sum() == pytest.approx(answer.months["expected"].sum())


def test_the_months_are_those_of_the_vehicles_own_forecast_by_axle(book, fit):
    part, known = Pieces(book, fit, 4)[0]
    limits = pd.Series({"LF": 4.0, "RF": 4.0, "LR": 1.6, "RR": 1.6, "SP": 1.6})
    made = fleet_answer(part, known, removal_depth_mm=limits)
    tires = fleet_decisions(part, known, removal_depth_mm=limits).tires
    how = {"rng": np.random.default_rng(0), "months": 12, "removal_depth_mm": 4.0}
    want = replacements_by_month(part, known, ahead=tires, **how)
    assert made.months["expected"].tolist() == pytest.approx(want["expected"].tolist())
    stricter = replacements_by_month(part, known, **(how | {"rng": np.random.default_rng(0)}))
    assert want["expected"].sum() < stricter["expected"].sum()


def test_a_car_read_at_its_limit_heads_the_page(tmp_path, book):
    from dataclasses import replace

    depths = book.depths
    last = depths.loc[depths["vehicle_id"] == "V05", "date"].max()
    depths.loc[(depths["vehicle_id"] == "V05") & (depths["date"] == last), "depth_mm"] = 1.5
    worn = replace(book, tables={**book.tables, "depths": depths})
    found = fleet_answer(worn, calibrated_fit(worn))
    urgent = found.vehicles[found.vehicles["severity"] == Severity.URGENT]
    assert "V05" in set(urgent["vehicle_id"].head(2))
    assert urgent.index.tolist() == list(range(len(urgent)))
    text = html.unescape(compose_fleet(found))
    assert text.index(f"Vehicles that cannot wait: {len(urgent)}") < text.index("Needs hands now")
    assert "V05" in set(found.hands["vehicle_id"])


def test_the_command_writes_page_and_lists(tmp_path, capsys):
    out, lists = tmp_path / "fleet.html", tmp_path / "lists"
    assert main(["fleet", DEMO, "--out", str(out), "--lists", str(lists)]) == 0
    assert out.read_text("utf-8").startswith("<!doctype html>")
    assert sorted(f.name for f in lists.iterdir()) == [
        "months.csv",
        "to_buy.csv",
        "to_do.csv",
        "vehicles.csv",
    ]
    assert len(pd.read_csv(lists / "vehicles.csv")) == 24
    capsys.readouterr()
    assert main(["fleet", DEMO]) == 2
    assert "where to?" in capsys.readouterr().err
    assert main(["fleet", DEMO, "--out", str(tmp_path / "x.txt")]) == 2
    assert "must end in .html" in capsys.readouterr().err


def test_a_logbook_with_no_tire_on_the_road_is_refused(book):
    from dataclasses import replace

    bare = replace(
        book, tables={**book.tables, "mounts": book.mounts.iloc[:0], "depths": book.depths.iloc[:0]}
    )
    with pytest.raises(InputError):
        fleet_answer(bare)


def test_the_notebook_s_tables_say_what_the_page_says(page, answer):
    plain = html.unescape(page)
    for name in HEADS:
        table = fleet_table(answer, name)
        assert table.shape[1] <= 8
        assert not [head for head in table.columns if "_" in head]
        for cell in table.to_numpy().ravel():
            assert cell in plain or cell.removesuffix(" now").removesuffix(" soon") in plain


def test_the_counter_s_list_of_cars_due_next_is_the_owner_s(book, fit, answer):
    due = due_next(book, fit, 5)
    assert list(due.index) == list(answer.vehicles["vehicle_id"][:5])
    windows = fleet_table(answer, "windows", most=5)
    assert (due["Replace, 8 in 10"].to_numpy() == windows["Replace, 8 in 10"].to_numpy()).all()
    first = [answer.decisions[v].actions[0] for v in due.index]
    assert list(due["What to do"]) == [action_words(a, "us", brief=True) for a in first]


def test_a_table_for_a_notebook_is_markup_and_nothing_in_it_is():
    table = pd.DataFrame({"Vehicle": ["<b>V1</b>", "V2"], "Left": ["1,200", np.nan]})
    shown = show_table(table).data
    assert "&lt;b&gt;V1" in shown
    assert "<b>V1" not in shown
    assert "nan" not in shown
    assert shown.count("text-align:right") == 3  # one column of numbers: its heading and two cells
    assert show_table(table[:0], "None <yet>").data == "<p>None &lt;yet&gt;</p>"
