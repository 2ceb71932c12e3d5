"""Whether any two places or two ways of asking disagree: demo cars in a browser, simulated cars, walk-ins.

Every demo car's page is opened in a browser and read back as it begins and with each control at both ends; what
stands there is what the package says. The script's record is compared with the package's over a grid of controls
moved together. 500 simulated cars and a grid of walk-ins are asked for contradictions within their answers, and the
commands and pages for contradictions between them.
"""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

from tests.browser.conftest import CHROMIUM
from tests.browser.records import BARE, SCRIPT, by_package, ends, grid, unlike
from tests.browser.test_page import expected, read_back
from tests.commands import between
from tests.contradictions import contradictions
from tests.fleets import WELL, simulate, smaller
from tests.sheet.answers import Ready
from tests.test_contradictions import N32, WALKINS
from tirelife.advice import decide, fleet_decisions, walkin_facts
from tirelife.logbook import read_logbook
from tirelife.outlook import kept_fit, walk_in
from tirelife.outlook.pieces import Pieces
from tirelife.rates import fit_logbook
from tirelife.sheet.answer import answer_for
from tirelife.sheet.page import compose_page, plain_json

LOGS, CARS, EACH = 10, 50, 6
"""Simulated logbooks, cars of each, and cars of each of which every command is asked."""


def run():
    book = read_logbook("data_synthetic/logbook")
    fit = kept_fit(book, None, fresh=False)
    rows = [*_simulated(), _walkins(), _commands(book, fit)]
    return rows + (_browser(book, fit) if CHROMIUM else [_row("pages read back", None, "no Chromium here")])


def _row(name, figure, note):
    return {"name": name, "figure": figure, "unit": "disagreements", "against": "0", "note": note}


def _such(said):
    return f"; such as {said[0]}" if said else ""


def _simulated():
    within, across, cars = [], [], 0
    for log in range(LOGS):
        with tempfile.TemporaryDirectory() as folder:
            simulate(Path(folder), smaller(WELL, CARS), seed=23 + log)
            book = read_logbook(folder)
            fit = fit_logbook(book)
            found = fleet_decisions(book, fit)
            cars += len(found.decisions)
            within += [s for v, d in found.decisions.items() for s in contradictions(found.facts[v], d)]
            urgent = found.by_urgency()
            across += between(book, fit, urgent[:: max(len(urgent) // EACH, 1)][:EACH])
    note = f"{cars} simulated cars in {LOGS} logbooks"
    asked = f"{note}: forecast, whatif and fleet; {LOGS * EACH} of them: tread, rotate, replace and page too"
    return [
        _row("contradictions within an answer, simulated cars", len(within), note + _such(within)),
        _row("contradictions between commands, simulated cars", len(across), asked + _such(across)),
    ]


def _commands(book, fit):
    pieces = Pieces(book, fit, 3)
    said = [one for i in range(len(pieces)) for one in between(*pieces[i])]
    cars = book.vehicles["vehicle_id"].nunique()
    note = f"{cars} demo cars, three at a time: forecast, whatif, fleet, tread, rotate, replace, page"
    return _row("contradictions between commands, demo cars", len(said), note + _such(said))


def _walkins():
    said = []
    for lf, rf, rear in WALKINS:
        answer = walk_in([d * N32 for d in (lf, rf, rear, rear)], as_of="2026-11-01")
        facts = walkin_facts(answer, 2 * N32)
        said += contradictions(facts, decide(facts))
    return _row("contradictions within an answer, walk-ins", len(said), f"{len(WALKINS)} walk-ins")


def _browser(book, fit):
    from playwright.sync_api import sync_playwright

    records = pages = moves = settings = 0
    with sync_playwright() as run, tempfile.TemporaryDirectory() as folder:
        browser = run.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        bare, tab = browser.new_page(), browser.new_page()
        bare.set_content(BARE)
        for vehicle in book.vehicles["vehicle_id"]:
            answer = answer_for(book, vehicle, fit)
            sliders = answer.sliders
            asked = [*ends(sliders), *grid(sliders)]
            told = bare.evaluate(SCRIPT, [json.loads(plain_json(sliders)), asked])
            records += sum(
                bool(unlike(one, by_package(sliders, s))) for s, one in zip(asked, told, strict=True)
            )
            settings += len(asked)
            file = Path(folder) / f"{vehicle}.html"
            file.write_text(compose_page(answer, bundle=Ready()), encoding="utf-8")
            tab.goto(file.as_uri())
            tab.evaluate("tirelife.drawn.then(() => tirelife.settled()).then(() => 1)")
            pages += read_back(tab) != expected(sliders, {})
            tab.evaluate("document.querySelector('#try details').open = true")
            for answers in ends(sliders)[1:]:
                ((name, value),) = answers.items()
                field = tab.locator(f"#c-{name}")
                field.select_option(value) if isinstance(value, str) else field.fill(f"{value:g}")
                tab.evaluate("tirelife.settled().then(() => 1)")
                pages += read_back(tab) != expected(sliders, answers)
                moves += 1
                tab.locator("#reset").click()
        browser.close()
    return [
        _row("record by script against package", records, f"{settings} settings of the demo cars"),
        _row("page read back against package", pages, f"{moves} moves of a control, demo cars"),
    ]
