"""What is asked beside the public functions: logs of many kinds, sheets, slips, trips and treads, all made up."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache, partial
from typing import Any

import numpy as np
import pandas as pd

from tests.driving.engines import awkward_frames
from tests.driving.recordings import published_trips
from tests.fleets import BENT, PLAIN, Fleet, simulate, smaller
from tests.groups.simulate import Groups, write_fleet
from tests.logbook.sheets import fresh_styles, held_styles, more_styles
from tests.logbook.sheets.styles import STYLES, Log, make_log
from tests.logbook.sheets.test_styles import METRIC, NOTED, SILENT
from tests.outlook import test_seasons
from tests.slipped import FLEETS, SLIPS, clean, slip
from tests.smalllogs import small_log
from tests.tread import by_hand, handbook, test_handbook
from tests.unmoved import top
from tirelife import advice, driving, groups, inflation, outlook, rates, rotation, tread, wear
from tirelife.logbook import Logbook, check_logbook, import_sheet, read_logbook
from tirelife.logbook.sheets import Settings
from tirelife.rates import WearFit

KINDS = {**PLAIN, **BENT}
SHEETS = {**STYLES, **more_styles.MORE, **held_styles.HELD, **fresh_styles.FRESH}
IN_METRIC = METRIC | set(more_styles.METRIC) | set(held_styles.METRIC) | set(fresh_styles.METRIC)
WALKS: dict[str, dict[str, Any]] = {
    "one depth a wheel": {"depths_mm": (5.0, 4.8, 5.5, 5.4), "drive": "front", "distance_km": 30_000.0},
    "grooves": {
        "depths_mm": ((5.0, 4.8, 4.1), (4.9, 4.9, 4.0), 5.5, 5.4),
        "drive": "rear",
        "distance_km": 20_000.0,
    },
    "no distance": {"depths_mm": (3.0, 2.8, 4.5, 4.4), "drive": "all"},
    "worn": {"depths_mm": (1.5, 2.8, 3.5, 3.4), "drive": "front", "distance_km": 50_000.0},
}


@cache
def fleet(kind: str) -> tuple[Logbook, WearFit]:
    """A small simulated fleet and its fit."""
    folder = top() / f"fleet {kind}"
    if kind == "two sets":
        book = test_seasons.log(folder / "book")[0]
    elif kind == "small log":
        folder.mkdir()
        small_log(folder, np.random.default_rng(4))
        book = read_logbook(folder)
    elif kind == "new depth unknown":
        simulate(folder, smaller(FLEETS[kind][0], 8), 11)
        book = read_logbook(folder)
    else:
        simulate(folder, smaller(KINDS[kind], 8), 11)
        book = read_logbook(folder)
    return book, rates.fit_logbook(book)


CHANGES = (
    wear.Change("slower", by_mps=4.0), wear.Change("capped", cap_mps=27.0), wear.Change("starts", starts=0.5),
    wear.Change("stops", stops=0.5), wear.Change("turns", turns=0.5), wear.Change("air", pressure_kept=True),
    wear.Change("toe", front_toe_mm=2.0, rear_toe_mm=-1.0),
)  # fmt: skip
FLEET_KINDS = (*KINDS, "two sets", "small log", "new depth unknown")


def _fit(kind: str) -> Any:
    book, fit = fleet(kind)
    return fit, rates.mileage(book)


def _ahead(kind: str) -> Any:
    book, fit = fleet(kind)
    state = outlook.present_state(book, fit)
    return (
        state, outlook.project(state), outlook.set_outlook(state), outlook.first_chances(state),
        outlook.what_if(book, fit, wear.Change("gentler", stops=0.7)),
    )  # fmt: skip


def _decided(kind: str) -> Any:
    book, fit = fleet(kind)
    return advice.fleet_decisions(book, fit)


def _treads(kind: str) -> Any:
    book, _ = fleet(kind)
    return tread.tire_visits(book), tread.verdicts(book, 2.4), tread.weigh_causes(book)


@cache
def _clean(kind: str) -> Any:
    made, grooves = FLEETS[kind]
    return clean(top() / f"clean {kind}", smaller(made, 8), grooves, 5)


def _slipped(fleet_kind: str, kind: str) -> pd.DataFrame:
    target = top() / f"slip {fleet_kind} {kind}".replace(":", "")
    slip(_clean(fleet_kind), target, kind, 3, share=0.4)
    return check_logbook(target)


@cache
def _log(units: str, noted: bool) -> Log:
    made: Fleet = replace(smaller(NOTED if noted else SILENT, 4), units=units)
    return make_log(top() / f"sheets {units} {noted}", made, 5, noted)


def _sheet(name: str, noted: bool) -> Any:
    folder = top() / f"sheet {name} {noted}"
    folder.mkdir()
    log = _log("metric" if name in IN_METRIC else "us", noted)
    path, _, told = SHEETS[name](log, folder)
    done = import_sheet(path, folder / "book", Settings(**told))
    return done.rows, done.moves, dict(read_logbook(folder / "book").tables)


def _trips(name: str) -> Any:
    frame = published_trips()[0] if name == "published" else awkward_frames()[name]
    reduced = driving.reduce_trips(frame)
    return reduced.trips, reduced.vehicles, reduced.problems


def _by_hand() -> pd.DataFrame:
    rows: list[Any] = []
    for number, case in enumerate(by_hand.read_cases()):
        causes, first = by_hand.weigh(case)
        rows += [(number, cause, chance, str(first)) for cause, chance in causes.items()]
    return pd.DataFrame(rows, columns=["case", "cause", "probability", "first"])


def _handbook(car: handbook.Car) -> Any:
    read, ratio = handbook.draw(car, np.random.default_rng(2))
    causes, first = test_handbook.weigh(car, read, ratio)
    return causes, {position: str(step) for position, step in first.items()}


def _rotated(kind: str, aim: str) -> Any:
    book, fit = fleet(kind)
    return rotation.advise_set(
        rotation.vehicle_set(book, str(book.vehicles["vehicle_id"].iloc[0]), fit), 1.6, "front", aim=aim
    )


def _pressures(kind: str) -> Any:
    book = read_logbook(_clean(kind))
    return (
        inflation.pressure_path(book), inflation.pressure_summary(book), inflation.leaks(book),
        inflation.cold_pressures(book), inflation.tire_readings(book),
    )  # fmt: skip


def _worn(kind: str) -> Any:
    book, fit = fleet(kind)
    vehicle = str(book.vehicles["vehicle_id"].iloc[0])
    return (
        wear.stretch_severity(book, fit.factors), wear.causes(book, vehicle, fit.factors),
        [wear.change_ratios(book, change) for change in CHANGES],
    )  # fmt: skip


@cache
def _grouped() -> Logbook:
    return read_logbook(write_fleet(top() / "grouped", np.random.default_rng(8), Groups()))


ASKED: dict[str, dict[str, Callable[[], Any]]] = {
    "logbook": {
        **{
            f"slip: {kind}, {one}": partial(_slipped, one, kind)
            for kind in SLIPS
            for one in ("well", "0.1 mm")
        },
        **{f"sheet: {name}": partial(_sheet, name, True) for name in SHEETS},
        **{f"sheet, nothing noted: {name}": partial(_sheet, name, False) for name in list(STYLES)[:6]},
    },
    "driving": {f"trips: {name}": partial(_trips, name) for name in (*awkward_frames(), "published")},
    "tread": {
        **{f"fleet: {kind}": partial(_treads, kind) for kind in FLEET_KINDS},
        "by hand": _by_hand,
        **{f"handbook {i}": partial(_handbook, car) for i, car in enumerate(handbook.CARS)},
    },
    "rates": {f"fleet: {kind}": partial(_fit, kind) for kind in FLEET_KINDS},
    "outlook": {
        **{f"fleet: {kind}": partial(_ahead, kind) for kind in FLEET_KINDS},
        **{
            f"walk-in: {name}": partial(outlook.walk_in, as_of="2026-10-01", **given)
            for name, given in WALKS.items()
        },
    },
    "advice": {
        f"fleet: {kind}": partial(_decided, kind) for kind in ("well", "grooves", "two sets", "small log")
    },
    "inflation": {f"fleet: {kind}": partial(_pressures, kind) for kind in ("well", "0.1 mm", "one car")},
    "wear": {f"fleet: {kind}": partial(_worn, kind) for kind in ("well", "metric", "two sets")},
    "groups": {"drivers": lambda: groups.compare_groups(_grouped())},
    "rotation": {
        f"set: {kind}, {aim}": partial(_rotated, kind, aim)
        for kind in ("well", "metric", "grooves")
        for aim in ("life", "together")
    },
}
"""By room and name."""
