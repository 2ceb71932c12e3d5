"""What is not recorded is assumed, said so, and worth what the answer done again with it known says."""

import dataclasses
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy.optimize import brentq
from scipy.stats import norm

import tirelife
from tirelife.outlook import Fact, worth_of_facts
from tirelife.outlook.unknown import _NORMAL, UNKNOWN_COLUMNS, _drive, _new_depth, _of_mixture, worth_in_fleet
from tirelife.sheet.answer import answer_for
from tirelife.sheet.language.unknown import fact_words


@pytest.fixture(scope="module")
def car():
    """One vehicle of the demo without its new depths, drive and placards."""
    book = tirelife.read_logbook("data_synthetic/logbook", as_of="2026-06-30")
    book = tirelife.logbook.of_vehicles(book, ["V03", "V04"])
    fit = tirelife.fit_logbook(book)
    tires, vehicles = book.tires, book.vehicles
    tires["new_depth_mm"] = np.nan
    vehicles["assumed"] = "drive, placard_front, placard_rear"
    bare = dataclasses.replace(book, tables={**book.tables, "tires": tires, "vehicles": vehicles})
    return book, fit, bare


def test_nothing_is_asked_where_all_is_recorded(car):
    book, fit, _ = car
    unknown = worth_of_facts(book, fit, "V03")
    assert unknown.empty
    assert fact_words(unknown, "us") == ()


def test_facts_come_in_the_order_of_what_the_answer_done_again_says(car):
    _, _, bare = car
    fit = tirelife.fit_logbook(bare)
    unknown = worth_of_facts(bare, fit, "V03")
    assert set(unknown["fact"]) == {fact.value for fact in Fact}
    assert (unknown["narrows_km"] >= 0).all()
    assert unknown["narrows_km"].is_monotonic_decreasing
    new = unknown.set_index("fact").loc["new-depth"]
    assert new["low_mm"] < new["assumed_mm"] < new["high_mm"]
    assert new["narrows_km"] > 0
    # By hand: the same vehicle alone, after what the fleet taught, with the depths when new filled in.
    alone = tirelife.logbook.of_vehicles(bare, ["V03"])
    tires = alone.tires
    tires["new_depth_mm"] = (
        fit.tires.set_index("tire_id")["new_depth_mm"].reindex(tires["tire_id"]).to_numpy()
    )
    on = alone.stretches[alone.stretches["open"]]["tire_id"]
    tires.loc[~tires["tire_id"].isin(on), "new_depth_mm"] = np.nan
    told = dataclasses.replace(alone, tables={**alone.tables, "tires": tires})
    wide = [
        (table["km_left_p90"] - table["km_left_p10"])[table["position"] != "SP"].mean()
        for table in (
            tirelife.forecast(one, tirelife.fit_logbook(one, fit.posterior)) for one in (alone, told)
        )
    ]
    assert [new["range_km"], new["known_km"]] == pytest.approx(wide, rel=1e-9)
    said = fact_words(unknown, "us")
    assert said[0].startswith("Assumed, neither measured nor learned: ")
    assert said[0].count(";") == 2
    assert "front-wheel drive" in said[0]
    assert "8 chances in 10" in said[0]


def test_the_range_of_a_mixture_is_that_of_its_laws_together():
    near, far = (np.array([m + _NORMAL * 1000.0]) for m in (20_000.0, 24_000.0))
    law = [brentq(lambda x, p=p: 0.75 * norm.cdf(x, 20_000, 1000) + 0.25 * norm.cdf(x, 24_000, 1000) - p, 0, 5e4)
           for p in (0.1, 0.9)]  # fmt: skip
    found = _of_mixture([near, far], np.array([0.75, 0.25]))
    assert found == pytest.approx(law[1] - law[0], rel=0.01)  # straight lines between five quantiles
    assert _of_mixture([near, near], np.array([0.75, 0.25])) == pytest.approx(
        _of_mixture([near], np.ones(1)), rel=1e-3
    )


def test_what_hardly_narrows_is_not_asked_for():
    rows = [
        {"fact": "new-depth", "assumed_mm": 8.0, "low_mm": 7.0, "high_mm": 9.0, "narrows_km": 1609.344},
        {"fact": "drive", "assumed": "rear", "narrows_km": 10.0},
    ]
    assert fact_words(pd.DataFrame(rows), "us")[1:] == (
        "Worth telling us: the depth when new would narrow the distance left by about 1,000 miles.",
        "It would hardly change for the drive.",
    )


def test_the_page_names_what_is_assumed_in_its_own_language(car, monkeypatch):
    book, fit, _ = car
    rows = [
        {"fact": "new-depth", "assumed_mm": 8.0, "low_mm": 7.0, "high_mm": 9.0, "narrows_km": 1609.344},
        {"fact": "drive", "assumed": "front", "narrows_km": 10.0},
        {"fact": "placards", "assumed_kpa": 230.0, "low_kpa": 204.0, "high_kpa": 256.0, "narrows_km": 0.0},
    ]
    monkeypatch.setattr("tirelife.sheet.answer.worth_of_facts", lambda *_: pd.DataFrame(rows))
    for language, named in {
        "en": (
            "Assumed, neither",
            "depth when new of",
            "front-wheel drive",
            "placard of",
            "Worth telling us",
        ),
        "es": ("Supuesto, ni", "profundidad de nuevas de", "tracción delantera", "placa de", "Vale la pena"),
    }.items():
        said = " ".join(answer_for(book, "V03", fit, language=language).how)
        assert [name for name in named if name not in said] == []


def test_a_drive_is_as_likely_as_usual_cars_and_the_fleets_own_have_it():
    # 3 cars' worth of 0.6 front, 0.15 rear, 0.25 all, and one of the fleet that says front: 2.8, 0.45, 0.75 of 4.
    vehicles = pd.DataFrame({"drive": ["front", "front"], "assumed": ["", "drive"]})
    widths = {"front": 1000.0, "rear": 2000.0, "all": 4000.0}

    def answer(change):
        tables = {"vehicles": pd.DataFrame({"drive": [""]})}
        change(tables)
        return made(widths[tables["vehicles"]["drive"].iloc[0]])

    def made(width):
        return 30_000.0 + width * np.array([[-0.5, -0.25, 0.0, 0.25, 0.5]])

    told = _drive(SimpleNamespace(vehicles=vehicles), "front", made(1000.0), answer)
    assert told["known_km"] == pytest.approx((2.8 * 1000 + 0.45 * 2000 + 0.75 * 4000) / 4)


def test_a_depth_when_new_may_be_off_by_its_error_and_by_what_its_tires_differ():
    # Errors of 0.3 mm, and 0.4 mm between the two: 0.5 mm together; 8 in 10 lie within 1.2816 of that.
    mine = SimpleNamespace(tires=pd.DataFrame({"tire_id": ["A", "B", "C"]}))
    found = {"tire_id": ["C", "A", "B"], "new_depth_mm": [5.0, 7.6, 8.4], "new_depth_sd_mm": [0.0, 0.3, 0.3]}
    fit = SimpleNamespace(tires=pd.DataFrame(found))
    filled = pd.DataFrame({"new_depth_mm": [np.nan, np.nan, 5.5]})

    def answer(change):
        change({"tires": filled})
        return base / 2

    base = np.array([[0.0, 250.0, 500.0, 750.0, 1000.0]])
    told = _new_depth(mine, fit, pd.Series([True, True, False]), base, answer)
    assert [told["low_mm"], told["assumed_mm"], told["high_mm"]] == pytest.approx(
        [8.0 - 0.6408, 8.0, 8.0 + 0.6408], abs=1e-4
    )
    assert filled["new_depth_mm"].tolist() == [7.6, 8.4, 5.5]
    assert (told["range_km"], told["known_km"]) == (1000.0, 500.0)


def test_a_fleet_is_measured_on_the_three_vehicles_read_most_often(monkeypatch):
    # Its answers are done again for each vehicle asked: three stand for all.
    book = tirelife.read_logbook("data_synthetic/logbook", as_of="2026-06-30")
    widths = {"V03": 1000.0, "V15": 2000.0, "V21": 6000.0}  # read on ten days each, all others on fewer

    def worth(some, fit, name):
        told = {"vehicle_id": name, "fact": "drive", "assumed": "rear", "narrows_km": widths.get(name, 0.0)}
        return pd.DataFrame([told]).reindex(columns=list(UNKNOWN_COLUMNS))

    monkeypatch.setattr("tirelife.outlook.unknown.fit_logbook", lambda _: None)
    monkeypatch.setattr("tirelife.outlook.unknown.worth_of_facts", worth)
    unknown, measured = worth_in_fleet(book)
    assert measured == 3
    assert unknown[["vehicle_id", "fact", "assumed", "narrows_km"]].to_numpy().tolist() == [
        ["", "drive", "rear", 3000.0]
    ]


def test_a_fleets_fit_is_of_the_twelve_vehicles_read_most_often(monkeypatch):
    book = tirelife.read_logbook("data_synthetic/logbook", as_of="2026-06-30")
    fitted = []
    monkeypatch.setattr("tirelife.outlook.unknown.fit_logbook", lambda some: fitted.append(some))
    monkeypatch.setattr("tirelife.outlook.unknown.worth_of_facts", lambda *_: pd.DataFrame())
    assert worth_in_fleet(book)[1] == 0
    days = book.depths.groupby("vehicle_id")["date"].nunique()
    chosen = fitted[0].vehicles["vehicle_id"]
    assert len(days) > len(chosen) == 12
    assert days[chosen].min() >= days.drop(chosen).max()
