"""The counter's script against the package, over a thousand random visits, in a real browser."""

import json
import re

import numpy as np
import pandas as pd
import pytest

from tirelife.advice import Facts, RotationFacts, Settings, decide
from tirelife.advice.gather import (
    chances_by_vehicle,
    tire_facts,
    windows_by_vehicle,
    worth_numbers,
)
from tirelife.advice.record import Reason
from tirelife.codes import Note
from tirelife.outlook import project, rotation_worth, set_outlook
from tirelife.outlook.counter import DRIVING, SETS, CounterVisit, counter_states
from tirelife.outlook.returning import history_of, known_cars, unpacked
from tirelife.sheet.counter import counter_page
from tirelife.sheet.language.decisions import action_words, lead_words

COUNT = 1000
SPANISH = 100
DAY = pd.Timestamp("2027-03-14")
ROAD = ("LF", "RF", "LR", "RR")
PERCENTS = ("p10", "p25", "p50", "p75", "p90")


def random_visits(tables, count=COUNT):
    """Ordinary visits and extreme ones: bald and new, one wheel, no distance run and half a million kilometres.

    Every fourth is that of a car of the shop, some with depths or an odometer that do not fit its history.
    """
    rng = np.random.default_rng(1919)
    visits = []
    for i in range(count):
        wild = i % 3 == 0
        places = [p for p in ROAD if rng.random() < (0.6 if wild else 0.97)] or ["LF"]
        mean = rng.uniform(0, 12) if wild else rng.uniform(2, 9)
        depth = {
            p: float(np.clip(round((mean + rng.normal(0, 1.5 if wild else 0.5)) * 2) / 2, 0, 25))
            for p in places
        }
        if i % 2:
            depth = {p: round(d * 25.4 / 32 * 1.26 * 4) / 4 for p, d in depth.items()}
        limit = float(rng.choice([1.5875, 1.6, 3.0, 3.175, 4.0]))
        told = rng.random(8) < 0.5
        km = (
            float(np.exp(rng.uniform(0, 13.1)))
            if wild
            else float(rng.choice([0.0, 10_000.0, 20_000.0, 30_000.0, 47_312.5]))
        )
        returns = bool(told[0]) and i % 5 == 0
        known = {}
        if i % 4 == 3:
            name = str(rng.choice(sorted(tables["cars"])))
            car = unpacked(tables["cars"][name]["numbers"])
            gone = float(
                rng.choice(
                    [-500.0, 0.0, 800.0, 4000.0, 12_000.0, 30_000.0, 200_000.0], p=[0.05] + [0.15] * 5 + [0.2]
                )
            )
            half = np.exp(car["mean"][8] / 2)
            worn = np.exp(car["mean"][4:8]) * (
                car["front"] * half
                + car["rear"] / half
                + car["onward"] * gone * [half, half, 1 / half, 1 / half]
            )
            fits = dict(zip(ROAD, car["mean"][:4] - worn, strict=True))
            off = 1.5 if rng.random() < 0.1 else 0.15
            mean_mm = {p: float(np.clip(fits[p] + rng.normal(0, off), 0, 25)) for p in places}
            depth = {p: max(d - float(rng.uniform(0, 0.8)), 0.0) for p, d in mean_mm.items()}
            known = {
                "car": name, "odometer_km": float(car["at"][0]) + gone, "mean_mm": mean_mm,
                "grooves": {p: int(rng.integers(1, 6)) for p in places},
            }  # fmt: skip
        pick = [
            str(rng.choice(["usual", *DRIVING[name]])) if told[i] else "usual"
            for i, name in enumerate(DRIVING, 3)
        ]
        visits.append(
            CounterVisit(
                depth,
                dict.fromkeys(ROAD, limit),
                DAY,
                distance_km=km if told[0] else None,
                km_per_year=float(rng.choice([1.0, 4000.0, 16_000.0, 120_000.0])) if told[1] else None,
                new_depth_mm=max(float(rng.uniform(6, 12)), max(depth.values()) - 1.0) if told[2] else None,
                line=str(rng.choice(list(tables["lines"]))),
                drive=str(rng.choice(["", "front", "rear", "all"])),
                roads=pick[0], stops=pick[1], turns=pick[2],
                before_mm={p: d + float(rng.uniform(-0.4, 3)) for p, d in depth.items()} if returns else {},
                rotated=[None, True, False][int(rng.integers(3))],
                ahead=str(rng.choice(["", "usual few usual", "highway many few"])),
                set_now=str(rng.choice(["", *SETS], p=[0.6, 0.1, 0.1, 0.1, 0.1])),
                **known,
            )
        )  # fmt: skip
    return visits


def by_package(tables, visits):
    """Numbers, verdicts and sentences of each visit, all of them worked through the package at once."""
    state = counter_states(tables, visits)
    rows = project(state)
    sets = set_outlook(state)
    first = sets[sets["group"] == "set"]
    sets = {row["vehicle_id"]: row for row in first.to_dict("records")}
    chance, window = chances_by_vehicle(state), windows_by_vehicle(first)
    every = Settings().service_km
    past = [history_of(tables, v) for v in visits]
    since = [
        unpacked(tables["cars"][v.car]["numbers"]) if h == "used" else None
        for v, h in zip(visits, past, strict=True)
    ]
    since = [
        np.nan if car is None else car["since_moved"][0] + v.odometer_km - car["at"][0]
        for v, car in zip(visits, since, strict=True)
    ]
    worth = rotation_worth(state, every, np.array(since)[state["vehicle_id"].astype(int)])
    worth = {row["vehicle_id"]: worth_numbers(row) for row in worth.to_dict("records")}
    tires = {}
    for row in rows.assign(new_depth_mm=state["new_depth_mm"]).to_dict("records"):
        tires.setdefault(row["vehicle_id"], []).append(row)
    pace = dict(zip(state["vehicle_id"], state["km_per_day"], strict=True))
    out = []
    for i, visit in enumerate(visits):
        name = f"{i:06d}"
        car = tables["cars"][visit.car] if past[i] == "used" else None
        mine, least = tires[name], sets[name]
        facts = Facts(
            vehicle_id=name, drive=car["drive"] if car else visit.drive, as_of=DAY, km_per_day=float(pace[name]),
            limit_mm=dict(visit.limit_mm), tires={row["position"]: tire_facts(row) for row in mine},
            first_chance=chance.get(name, {}), window=window.get(name), pressure_known=False,
            rotation=RotationFacts(
                since[i], every, **worth[name],
                refused=Note(Reason.NOT_ALLOWED) if car and car["refused"] else None,
            ),
        )  # fmt: skip
        decision = decide(facts)
        ends = [[least[f"{what}_{p}"] for p in ("p10", "p90")] for what in ("date", "km_left")]
        said = {
            language: [
                *(action_words(a, "us", language) for a in decision.actions),
                lead_words(decision, ends[0], ends[1], "us", language),
            ]
            for language in ("en", "es")[: 1 + (i < SPANISH)]
        }
        out.append(
            {
                "km": {row["position"]: [row[f"km_left_{p}"] for p in PERCENTS] for row in mine},
                "days": {row["position"]: [(row[f"date_{p}"] - DAY).days for p in PERCENTS] for row in mine},
                "verdict": {row["position"]: row["verdict"] for row in mine},
                "actions": [a.kind.value for a in decision.actions],
                "past": past[i],
                "said": said,
            }
        )
    return out


ASK = """visits => visits.map(v => {
  const said = tirelife.answerFor(v), pick = (what) => Object.fromEntries(
    Object.entries(said.found.tires).map(([p, t]) => [p, what(t)]));
  return { km: pick(t => t.km), days: pick(t => t.dates.map(d => d === null ? null : d - v.as_of)),
    past: said.found.history, verdict: pick(t => t.verdict), actions: said.decision.actions.map(a => a.kind),
    said: [...said.actions, said.lead] };
})"""


def told(visit):
    out = {name: getattr(visit, name) for name in CounterVisit.__dataclass_fields__}
    out["as_of"] = (DAY - pd.Timestamp("1970-01-01")).days
    return out | {
        "mean_mm": dict(visit.mean_mm) or None,
        "grooves": dict(visit.grooves),
        "ahead": visit.ahead or None,
        "before_mm": dict(visit.before_mm) or None,
        "least_mm": dict(visit.least_mm),
        "limit_mm": dict(visit.limit_mm),
    }


@pytest.fixture(scope="module")
def page():
    from tirelife.logbook import read_logbook
    from tirelife.outlook import kept_fit

    book = read_logbook("data_synthetic/logbook")
    fit = kept_fit(book)
    return counter_page(fit.posterior, book, fit.verdict, cars=known_cars(book, fit))


@pytest.fixture
def tab(browser, tmp_path, page):
    """The page open on the day of the visits, so that both sides speak of the same days."""
    file = tmp_path / "counter.html"
    file.write_text(page, encoding="utf-8")
    context = browser.new_context(offline=True)
    tab = context.new_page()
    tab.clock.set_fixed_time("2027-03-14T12:00:00")
    tab.goto(file.as_uri())
    yield tab
    context.close()


def near(ours, theirs, least):
    """Within half a percent, or a kilometre or a day where that is less."""
    a = np.array([np.nan if v is None else v for v in ours], dtype=float)
    b = np.array(theirs, dtype=float)
    return bool(np.all((np.isnan(a) & np.isnan(b)) | (np.abs(a - b) <= np.maximum(0.005 * np.abs(b), least))))


def test_quantiles_verdicts_and_words_are_the_packages_own(tab, page):
    tables = json.loads(re.search(r'id="tables">(.*?)</script>', page, re.S)[1])
    visits = random_visits(tables)
    ours = tab.evaluate(ASK, [told(v) for v in visits])
    theirs = by_package(tables, visits)
    tab.select_option("#language", "es")
    spanish = [one["said"] for one in tab.evaluate(ASK, [told(v) for v in visits[:SPANISH]])]
    assert spanish == [one["said"]["es"] for one in theirs[:SPANISH]]
    worded = 0
    for i, (a, b) in enumerate(zip(ours, theirs, strict=True)):
        assert set(a["km"]) == set(b["km"]), i
        for p in b["km"]:
            assert near(a["km"][p], b["km"][p], 1.0), (i, p, visits[i], a["km"][p], b["km"][p])
            assert near(a["days"][p], b["days"][p], 1.0), (i, p, visits[i], a["days"][p], b["days"][p])
        assert a["past"] == b["past"], (i, visits[i])
        assert a["verdict"] == b["verdict"], (i, visits[i])
        assert a["actions"] == b["actions"], (i, visits[i], a["said"], b["said"])
        assert a["said"] == b["said"]["en"], (i, visits[i])
        worded += len(b["said"]["en"]) - 1
    assert worded > 2 * COUNT
    assert {b["past"] for b in theirs} == {"none", "back", "moved", "unfit", "used"}
    assert sum(b["past"] == "used" for b in theirs) > COUNT / 10
    kinds = {kind for b in theirs for kind in b["actions"]}
    assert {"inspect-now", "replace", "rotate", "leave-in-place", "next-look"} <= kinds
    assert {v for b in theirs for v in b["verdict"].values()} == {"at-or-under", "near", "over"}
