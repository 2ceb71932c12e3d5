"""How every public function is called once, from one logbook: what ``tests/test_contract.py`` holds them all to.

The functions are those that the rooms list in ``__all__``; an argument is taken by its name from a :class:`Kit`, unless
``CALLS`` says otherwise. A new function whose arguments are not known here makes the test fail until it is told how it
is called.
"""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil
import tempfile
import warnings
from collections.abc import Callable, Iterator, Mapping, Sequence
from enum import Enum
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

import tirelife
from tests.charts import frames
from tests.charts import test_fitted as drawn
from tirelife import advice, outlook, rates, tread, wear
from tirelife.codes import Note
from tirelife.driving import Thresholds, default_profile, sum_trips
from tirelife.errors import FitError, InputError
from tirelife.groups import Costs, compare_groups
from tirelife.logbook import Logbook, Visit, convert_logbook, read_logbook
from tirelife.rotation import SetNow, pattern, vehicle_set
from tirelife.wear import Change, Measured, Vehicle

DEMO = Path(__file__).parents[1] / "data_synthetic"
VEHICLES = ("V03", "V07", "V09", "V12", "V14", "V16")
GROUPS = "day rounds", "on call"


def demo(
    place: Path,
    rng: np.random.Generator | None = None,
    metric: bool = False,
    rows: int | None = None,
    vehicles: Sequence[str] = VEHICLES,
) -> Path:
    """Some vehicles of the demo as a folder; rows shuffled, in metric units, or only the first rows of each table."""
    place.mkdir(parents=True, exist_ok=True)
    mounts = pd.read_csv(DEMO / "logbook" / "mounts.csv", dtype="str")
    tires = set(mounts.loc[mounts["vehicle_id"].isin(vehicles), "tire_id"])
    for file in sorted((DEMO / "logbook").glob("*.csv")):
        table = pd.read_csv(file, dtype="str", keep_default_na=False)
        if "vehicle_id" in table:
            table = table[table["vehicle_id"].isin(vehicles)]
        elif "tire_id" in table:
            table = table[table["tire_id"].isin(tires)]
        if file.stem == "vehicles":
            table = table.assign(driver_group=[GROUPS[i % 2] for i in range(len(table))])
        if rows is not None:
            table = table.head(rows)
        if rng is not None and file.stem in (
            "vehicles",
            "tires",
            "depths",
            "odometer",
            "pressures",
            "habits",
        ):
            table = table.iloc[rng.permutation(len(table))]
        (_in_metric(table) if metric else table).to_csv(place / file.name, index=False)
    return place


FACTORS = {"32nds": ("mm", 0.79375), "mi": ("km", 1.609344), "psi": ("kpa", 6.894757293168361), "f": ("c", 0.0),
           "per_100mi": ("per_100km", 1 / 1.609344)}  # fmt: skip


def _in_metric(table: pd.DataFrame) -> pd.DataFrame:
    out = table.copy()
    for column in table:
        name, unit = next(((column[: -len(u) - 1], u) for u in FACTORS if column.endswith(f"_{u}")), ("", ""))
        if not unit or name.startswith("share_"):
            continue
        to, factor = FACTORS[unit]
        told = [float(v) if v else None for v in table[column]]
        inside = [((v - 32) / 1.8 if unit == "f" else v * factor) if v is not None else "" for v in told]
        out[column] = [repr(v) if v != "" else "" for v in inside]
        out = out.rename(columns={column: f"{name}_{to}"})
    if "unit" in out:  # gauge studies keep the unit of the comparison
        return out
    return out


class Kit:
    """Arguments by their names, all from one logbook."""

    def __init__(self, place: Path) -> None:
        self.path = place
        self.book: Logbook = read_logbook(place, as_of="2026-06-30")

    vehicle_id = "V03"
    vehicle_ids = vehicles_asked = ("V03", "V07")
    removal_depth_mm = removal_mm = limit_mm = limit = 1.5875
    units = "us"
    change = Change("gentler", stops=0.8)
    changes = (change, Change("pressure kept", pressure_kept=True))
    costs = Costs(25.0, 20.0)
    thresholds = Thresholds()
    drive = "front"
    depths_mm = ((5.0, 4.8, 5.1), 4.9, 5.5, 5.4)
    findings = (tread.parse_finding("LF:cups"),)
    vehicle = Vehicle()
    interval_km = every_km = 8000.0
    since_km = 3000.0
    months = 6

    @property
    def out(self) -> Path:
        """A new place to write to."""
        return Path(tempfile.mkdtemp(dir=self.path.parent)) / "made"

    @property
    def store(self) -> Path:
        place = self.out.with_name("book.sqlite")
        convert_logbook(self.path, place)
        return place

    @property
    def rng(self) -> np.random.Generator:
        return np.random.default_rng(5)

    @cached_property
    def fit(self) -> rates.WearFit:
        return rates.fit_logbook(self.book)

    @cached_property
    def state(self) -> pd.DataFrame:
        return outlook.present_state(self.book, self.fit)

    @cached_property
    def visits(self) -> pd.DataFrame:
        return wear.add_reference(self.book, tread.tire_visits(self.book))

    @cached_property
    def parts(self) -> pd.DataFrame:
        return wear.stretch_severity(self.book)

    @cached_property
    def histories(self) -> dict[str, dict[str, tread.WheelHistory]]:
        return tread.wheel_histories(self.book)

    @cached_property
    def causes(self) -> pd.DataFrame:
        return tread.weigh_causes(self.book, histories=self.histories)

    @cached_property
    def causes_of_one(self) -> pd.DataFrame:
        return self.causes[self.causes["vehicle_id"] == "V03"].reset_index(drop=True)

    @cached_property
    def ratios(self) -> pd.DataFrame:
        return outlook.correction_ratios(self.book, histories=self.histories, causes=self.causes)

    @cached_property
    def back(self) -> Any:
        return outlook.backtest(self.book, 1)

    @cached_property
    def comparison(self) -> Any:
        return compare_groups(self.book)

    @cached_property
    def now(self) -> SetNow:
        return vehicle_set(self.book, "V03", self.fit)

    @cached_property
    def table(self) -> pd.DataFrame:
        return tread.verdicts(self.book)

    @cached_property
    def wheels(self) -> dict[str, tread.Wheel]:
        return {name: one.wheel for name, one in self.histories["V03"].items()}

    @cached_property
    def profile(self) -> Any:
        return default_profile()

    @cached_property
    def sums(self) -> pd.DataFrame:
        return sum_trips(DEMO / "trips.csv")

    @property
    def tires(self) -> pd.DataFrame:
        return self.book.tires

    @property
    def vehicles(self) -> pd.DataFrame:
        return self.book.vehicles

    @property
    def odometer(self) -> pd.DataFrame:
        return self.book.odometer

    @property
    def mounts(self) -> pd.DataFrame:
        return self.book.mounts

    @property
    def depths(self) -> pd.DataFrame:
        return self.book.depths

    @cached_property
    def readings(self) -> pd.DataFrame:
        return frames.readings()

    @cached_property
    def walk(self) -> outlook.WalkIn:
        return outlook.walk_in([6.0, 6.1, 5.0, 5.2], distance_km=30000.0, as_of="2026-03-01")

    @cached_property
    def facts(self) -> Any:
        return advice.fleet_decisions(self.book, self.fit).facts["V03"]

    @cached_property
    def moments(self) -> dict[str, float]:
        return dataclasses.asdict(self.profile)

    @cached_property
    def small(self) -> pd.DataFrame:
        n = 24
        x = np.arange(n)
        wear_mm = 1.0 + 0.1 * (x % 3) + 0.05 * (x % 4) + 0.02 * np.sin(x)
        return pd.DataFrame({"wear": wear_mm, "brand": (x % 3).astype(str), "car": (x % 4).astype(str)})

    @cached_property
    def path_frame(self) -> pd.DataFrame:
        unit, time = np.repeat(np.arange(6), 5), np.tile(np.arange(1.0, 6.0), 6)
        noise = 0.05 * np.sin(np.arange(30) * 2.3)
        return pd.DataFrame(
            {"unit": unit.astype(str), "time": time, "y": 8 - (0.5 + 0.05 * unit) * time + noise}
        )


class Without(Kit):
    """The same with no row in any table, and the fit of those that have one."""

    def __init__(self, kit: Kit) -> None:
        self.path = kit.path
        self.fit, self.facts = kit.fit, kit.facts
        self.book = dataclasses.replace(
            kit.book, tables={name: t.iloc[:0] for name, t in kit.book.tables.items()}
        )

    @cached_property
    def wheels(self) -> dict[str, tread.Wheel]:
        return {}


def _written(kit: Kit) -> str:
    place = kit.out.with_name("x.csv")
    importlib.import_module("tirelife.logbook").write_csv(kit.tires, place)
    return place.read_text()


def _saved(kit: Kit) -> str:
    place = kit.out.with_name("x.json")
    rates.save_prior(kit.fit, place)
    return place.read_text()


def _loaded(kit: Kit) -> rates.Prior:
    place = kit.out.with_name("x.json")
    rates.save_prior(kit.fit, place)
    return rates.load_prior(place)


def _parts_of(folder: Path) -> list[pd.DataFrame]:
    return [pd.read_parquet(p) for p in sorted(folder.glob("*.parquet"))]


def _logbook(name: str, kit: Kit, *args: Any, **more: Any) -> Any:
    return getattr(importlib.import_module("tirelife.logbook"), name)(
        kit.store, *args, accept_doubts=True, **more
    )


def _fleet(name: str, kit: Kit, *args: Any) -> list[pd.DataFrame]:
    place = kit.out
    getattr(outlook, name)(kit.book, kit.fit, *args, place)
    return _parts_of(place)


VISIT = Visit("V03", "2026-07-10", "140000", depths=[("LF", "center", "5", "")])
CALLS: dict[str, Callable[[Kit], Any] | dict[str, Any]] = {
    "positions.axle_of": {"position": "RF"},
    "axles.is_front": {"positions": ["LF", "SP"]},
    "units.convert": {"value": 3.0, "unit": "32nds", "to": "mm"},
    "units.kind_of": {"unit": "psi"},
    "units.split_unit": {"column": "depth_mm"},
    "codes.worst": lambda k: __import__("tirelife.codes", fromlist=["worst"]).worst(k.fit.verdict.notes if hasattr(k.fit.verdict, "notes") else ()),
    "normal.ndtr": {"x": 1.0},
    "rotation.none_allowed": lambda k: (_of("rotation.none_allowed")(
        {"LF": "225/45R18", "RF": "225/45R18", "LR": "255/40R18", "RR": "255/40R18"}, directional=True),),
    "normal.ndtri": {"p": 0.9},
    "errors.misused": lambda k: str(_of("errors.misused")("units-unit", unit="ell", known="mm, km")),
    "errors.unfit": lambda k: str(_of("errors.unfit")("rates-curved")),
    "errors.refusal": lambda k: str(_of("errors.refusal")("old.sqlite", "store-unusable", why="no such device")),
    "errors.said_by_system": {"error": OSError(28, "No space left on device")},
    "doors.door": lambda k: _of("doors.door")("tirelife.tread", tread.__file__)[2],
    "doors.listing": lambda k: dict(_of("doors.listing")("tirelife.tread", Path(tread.__file__).with_suffix(".pyi")).users),
    "language.check_words": {"check": "own-kind: drive"},
    "language.code_words": {"code": "fit-bends-slows", "values": {"about": "0.31"}},
    "language.codes_words": {"codes": "lacks-dip; lacks-spots"},
    "language.doubt_words": {"doubts": "depth_mm: depth-grows"},
    "language.fault_words": {"code": "left-out-mph"},
    "language.line_words": {"file": "depths.csv", "row": 7, "column": "depth_mm", "value": "x", "said": ("is blank", "Fill it in.")},
    "language.problem_words": {"code": "key-twice", "values": (("row", 2),)},
    "language.title_of": {"code": "key-twice"},
    "language.worded": lambda k: _of("language.worded")(k.book.problems),
    "logbook.asked_once": lambda k: _of("logbook.asked_once")(k.book.problems),
    "logbook.convert_logbook": lambda k: len(_of("logbook.convert_logbook")(k.path, k.out.with_name("b.sqlite"))),
    "logbook.corrected": lambda k: _of("logbook.corrected")(k.depths, _of("logbook.gauge_study")(k.book)),
    "logbook.create_logbook": lambda k: _of("logbook.create_logbook")(k.out.with_name("b.sqlite"), "us"),
    "logbook.csv_text": lambda k: _of("logbook.csv_text")(k.tires),
    "logbook.cut_stretches": lambda k: _of("logbook.cut_stretches")(k.book.stretches, k.odometer.iloc[::3], "vehicle_id", k.odometer),
    "logbook.doubted": lambda k: _of("logbook.doubted")(k.depths, "depth_mm"),
    "logbook.folder_for": lambda k: _entered(_of("logbook.folder_for")(k.out)),
    "logbook.import_sheet": lambda k: _of("logbook.import_sheet")(DEMO / "shop.csv"),
    "logbook.kept": lambda k: _of("logbook.kept")(tread.tire_visits)(k.book),
    "logbook.with_usable_odometers": lambda k: _of("logbook.with_usable_odometers")(k.depths, np.arange(len(k.depths)) % 2 == 0, k.odometer),
    "logbook.odometer_at": lambda k: _of("logbook.odometer_at")(k.odometer, k.depths["vehicle_id"], k.depths["date"]),
    "logbook.record_at": lambda k: _of("logbook.record_at")(k.depths["vehicle_id"], k.depths["date"], k.odometer["vehicle_id"], k.odometer["date"]),
    "logbook.record_visit": lambda k: _of("logbook.record_visit")(k.store, VISIT, trial=True),
    "logbook.safe_cell": {"text": "=1+1"},
    "logbook.to_problems": lambda k: _of("logbook.to_problems")(k.book.problems),
    "logbook.whole_file": lambda k: _entered(_of("logbook.whole_file")(k.out.with_name("x")), touch=True),
    "logbook.write_csv": _written,
    "driving.coast_down": {"speed_mps": np.array([10.0, 30.0])},
    "driving.parking_weight": {"speed_mps": [1.0, 3.0]},
    "driving.speed_shares": lambda k: _of("driving.speed_shares")(k.book.habits, "V03"),
    "driving.combine": lambda k: _of("driving.combine")([k.profile, k.profile], [1.0, 2.0]),
    "driving.profile_from_answers": {"shares": (0.1, 0.3, 0.3, 0.2, 0.1), "hard_starts_per_100km": 2.0, "hard_stops_per_100km": 2.0, "hard_turns_per_100km": 2.0},
    "driving.profile_from_row": lambda k: _of("driving.profile_from_row")(_of("driving.profiles_to_frame")([k.profile]).iloc[0]),
    "driving.profiles_to_frame": lambda k: _of("driving.profiles_to_frame")([k.profile]),
    "driving.reduce_trips": {"source": DEMO / "trips.csv"},
    "driving.sum_trips": {"source": DEMO / "trips.csv"},
    "driving.slower": lambda k: _of("driving.slower")(k.profile, cap_mps=29.0),
    "driving.trip_statistics": {"time_s": np.arange(60.0), "speed_mps": 10 + np.sin(np.arange(60.0) / 9)},
    "inflation.beyond_published": {"cold_kpa": [200.0, 150.0], "placard_kpa": 230.0},
    "inflation.cold_from_warm": {"gauge_kpa": [250.0], "state": ["city"], "ambient_c": [20.0]},
    "inflation.hot_target": {"placard_kpa": [230.0]},
    "inflation.life_share": {"cold_kpa": [200.0], "placard_kpa": 230.0},
    "inflation.placard_at": lambda k: _of("inflation.placard_at")(k.vehicles, k.depths["vehicle_id"], k.depths["position"]),
    "inflation.stated_placard": lambda k: _of("inflation.stated_placard")(k.vehicles, k.depths["vehicle_id"], k.depths["position"]),
    "inflation.pressure_at": {"gauge_kpa": [230.0], "from_c": [20.0], "to_c": [0.0]},
    "inflation.pressure_wear": {"cold_kpa": [200.0], "placard_kpa": 230.0},
    "tread.age_advice": {"code": "2324", "on": "2026-06-30"},
    "tread.correction_factors": {"drive": dict.fromkeys(VEHICLES, "front")},
    "tread.judge": lambda k: tread.judge(tread.measured(k.book)),
    "tread.measured_by_hand": {"depths_mm": {"LF": [5.0, 5.1]}, "on": pd.Timestamp("2026-06-30")},
    "tread.next_steps": lambda k: tread.next_steps(k.causes_of_one, "front"),
    "tread.parse_finding": {"text": "LF:cups"},
    "tread.profiles_of": lambda k: tread.profiles_of(tread.groove_states(k.book), k.depths),
    "tread.read_date_code": {"code": "2324"},
    "tread.reduce_readings": lambda k: tread.reduce_readings(k.depths).sort_values(["vehicle_id", "position", "date", "gauge_id"], ignore_index=True),
    "tread.remaining_ratios": lambda k: tread.remaining_ratios(tread.correction_factors(k.causes, k.histories, dict.fromkeys(VEHICLES, "front")), k.histories, k.depths, 1.5875),
    "tread.spot_table": lambda k: tread.spot_table(k.depths[(k.depths["vehicle_id"] == "V03") & (k.depths["position"] == "LF")].head(3)),
    "wear.camber_without_runout": {"reading_deg": 0.5, "turned_deg": 0.3},
    "wear.cause_distance": {},
    "wear.causes_at_wheel": lambda k: wear.causes_at_wheel(k.moments, dataclasses.asdict(k.vehicle), np.array([True, True, False, False])),
    "wear.change_ratios": {},
    "wear.compare_with_specification": lambda k: wear.compare_with_specification({"toe_mm": 1.0}, {"toe_mm": wear.Range(0.0, 2.0)}),
    "wear.ratio_of": lambda k: wear.ratio_of(wear.conditions_ahead(k.book, "V03"), dataclasses.replace(wear.conditions_ahead(k.book, "V03"), front_toe_mm=1.0)),
    "wear.severity_log_sd": lambda k: wear.severity_log_sd(wear.causes_at_wheel(k.moments, dataclasses.asdict(k.vehicle), np.array([True, False]))),
    "wear.sideways_slip": {"toe_mm": 2.0, "diameter_mm": 660.0, "distance": 1000.0},
    "wear.tangential_energy": {"circumferential_n": [100.0], "lateral_n": [50.0], "load_n": [4000.0]},
    "wear.toe_angle_deg": {"toe_mm": 2.0, "diameter_mm": 660.0},
    "wear.toe_wear": {"toe_mm": 2.0, "axle": "front", "profile": None, "vehicle": None},
    "wear.total_toe": {"front_mm": 1498.0, "rear_mm": 1503.0},
    "wear.tread_wear": {"energy_j_per_m": [10.0]},
    "wear.vehicle_log_sd": lambda k: wear.vehicle_log_sd(k.moments, dataclasses.asdict(k.vehicle), np.array([True, True, False, False]), np.zeros(4), {"mass_kg": True}),
    "wear.wheel_energy": lambda k: wear.wheel_energy(k.moments, dataclasses.asdict(k.vehicle), np.array([True, False])),
    "wear.worksheet": lambda k: wear.worksheet(Measured(1498.0, 1503.0), "front"),
    "rates.fit_lmm": lambda k: rates.fit_lmm(k.small["wear"], np.ones((24, 1)), np.ones((24, 1)), k.small["car"].astype("int64")),
    "rates.fit_paths": lambda k: rates.fit_paths(k.path_frame, "y", "time", "unit"),
    "rates.load_prior": _loaded,
    "rates.save_prior": _saved,
    "rates.path_depth": {"start_mm": [8.0], "wear_mm": [2.0], "q": 0.3},
    "rotation.after": lambda k: _of("rotation.after")(pattern(_patterns()[0]), dict.fromkeys(("LF", "RF", "LR", "RR"), "T")),
    "rotation.all_plans": {"wheels": 4},
    "rotation.bounds": {"usable": np.full(4, 4.0), "rates": np.tile(np.array([1e-4, 1e-4, 6e-5, 6e-5]), (4, 1))},
    "rotation.legality": lambda k: _of("rotation.legality")(pattern(_patterns()[0])),
    "rotation.moves": lambda k: _of("rotation.moves")(pattern(_patterns()[0])),
    "rotation.parse_plan": {"text": "forward cross"},
    "rotation.pattern": lambda k: pattern(_patterns()[0]),
    "rotation.set_lives": lambda k: _of("rotation.set_lives")(np.full((2, 4), 4.0), np.full((2, 4, 4), 0.0001), pattern(_patterns()[0]), [8000.0, 12000.0]),
    "rotation.simulate": lambda k: _of("rotation.simulate")(dict.fromkeys(("LF", "RF", "LR", "RR"), 6.0), {"LF": 1e-4, "RF": 1e-4, "LR": 6e-5, "RR": 6e-5}, pattern(_patterns()[0]), 1.6),
    "outlook.calibrate": lambda k: outlook.calibrate(k.fit, outlook.calibration(k.book)),
    "captions.time_locale": {"say": {**{f"month-{i}": f"Month {i}" for i in range(1, 13)}, "point-us": ".", "group-us": ","}},
    "rates.told_shares": lambda k: rates.told_shares(k.book, {}),
    "outlook.codes_of": {"notes": ()},
    "outlook.forecast": lambda k: outlook.forecast(k.book, k.fit),
    "outlook.forecast_fleet": lambda k: _fleet("forecast_fleet", k),
    "outlook.gain_factors": {"points": np.array([0.1, 0.5, 0.9])},
    "outlook.present_states": {"removal_depths_mm": {"all": 1.6, "more": 3.0}},
    "outlook.walk_in": {"as_of": "2026-03-01"},
    "outlook.what_if_fleet": lambda k: _fleet("what_if_fleet", k, k.changes),
    "advice.facts_of": lambda k: advice.facts_of(k.book, k.fit, k.state, outlook.project(k.state)),
    "advice.checks_of": lambda k: advice.checks_of(tread.next_steps(k.causes_of_one, "front")),
    "advice.decisions_otherwise": lambda k: advice.decisions_otherwise(k.book, k.fit, outlook.Otherwise("gentler", k.change), ["V03", "V07"]),
    "outlook.backtest": {"origins": 1},
    "advice.limits_by_position": lambda k: advice.limits_by_position(k.depths["position"], 1.6),
    "advice.tire_facts": lambda k: advice.tire_facts(outlook.project(k.state).reset_index(drop=True).reindex([0]).iloc[0].to_dict()),
    "advice.walkin_facts": lambda k: advice.walkin_facts(k.walk, 1.6),
    "groups.adjusted_anova": lambda k: _of("groups.adjusted_anova")(k.small, "wear", ["brand", "car"]),
    "groups.break_even": lambda k: _of("groups.break_even")(compare_groups(k.book, "tire_line"), Costs(25.0, 20.0, price=dict.fromkeys(k.tires["tire_line"], 120.0))),
    "groups.compare_rates": lambda k: _of("groups.compare_rates")(_of("groups.tire_rates")(k.book), "driver_group"),
    "groups.cost_per_1000km": {"life_km": 50000.0, "price": 120.0},
    "groups.cost_table": lambda k: _of("groups.cost_table")(k.comparison, Costs(25.0, 20.0, price=dict.fromkeys(k.tires["tire_line"], 120.0))),
    "groups.comparison_tables": lambda k: _of("groups.comparison_tables")(k.book, k.comparison, k.costs),
    "units.shown": lambda k: _of("units.shown")(k.visits, "us"),
    "units.shown_as": {"name": "depth_mm"},
    "advice.read_tread": lambda k: dataclasses.replace(advice.read_tread(k.book, "V03", k.fit), decision=None),
    "advice.advise_rotation": lambda k: advice.advise_rotation(k.book, "V03", k.fit, interval_km=8000.0).chosen,
    "groups.plan_trial": {"vehicle_log_sd": 0.2, "tire_log_sd": 0.1, "wear_mm_per_1000km": 0.1, "distances_km": (8000.0, 16000.0)},
    "groups.rate_log_se": {"wear_mm": 2.0, "reading_sd_mm": 0.2, "visits": 4},
    "groups.replacements_by_month": {"draws": 200},
    "groups.replacements_from": lambda k: _of("groups.replacements_from")(outlook.forecast(k.book, k.fit), rng=k.rng, draws=200),
    "charts.change_pairs": lambda k: _of("charts.change_pairs")(frames.changes()),
    "charts.depth_path": lambda k: _of("charts.depth_path")(frames.readings(), frames.band(), 1.6),
    "charts.finish": lambda k: _of("charts.finish")(_of("charts.wear_causes")(frames.causes()), "words"),
    "charts.fitted_paths": lambda k: _of("charts.fitted_paths")(drawn.VISITS, "us"),
    "charts.group_parts": lambda k: _of("charts.group_parts")(pd.DataFrame({"group": "a", "other": "b", "part": ["x", "y"], "ratio": [1.1, 0.9], "lower": [1.0, 0.8], "upper": [1.2, 1.0]})),
    "charts.group_ratios": lambda k: _of("charts.group_ratios")(k.comparison.pairs),
    "charts.miles_by_speed": lambda k: _of("charts.miles_by_speed")(drawn.SPEEDS),
    "charts.rotation_effect": lambda k: _of("charts.rotation_effect")(drawn.TURNED, "us"),
    "charts.monthly_budget": lambda k: _of("charts.monthly_budget")(pd.DataFrame({"from_date": pd.to_datetime(["2026-07-01", "2026-08-01"]), "expected": [1.0, 2.0], "lower": [0.0, 1.0], "upper": [2.0, 3.0]})),
    "charts.pressure_history": lambda k: _of("charts.pressure_history")(drawn.PRESSURES, "us"),
    "charts.replacement_windows": lambda k: _of("charts.replacement_windows")(frames.windows(), frames.AS_OF),
    "charts.require_columns": lambda k: _of("charts.require_columns")(frames.causes(), ["label"], "causes"),
    "charts.residuals": lambda k: _of("charts.residuals")(drawn.VISITS, "odometer_km", "us"),
    "charts.shown": lambda k: _of("charts.shown")(drawn.VISITS, "us"),
    "charts.term_ranges": lambda k: _of("charts.term_ranges")(k.fit.estimates[k.fit.estimates["unit"] == k.fit.estimates["unit"].iloc[0]]),
    "charts.tread_profiles": lambda k: _of("charts.tread_profiles")(frames.depths(), 1.6),
    "charts.vehicles_in_order": lambda k: _of("charts.vehicles_in_order")(drawn.WEAR),
    "charts.wear_causes": lambda k: _of("charts.wear_causes")(frames.causes()),
    "sheet.walkin_answer": lambda k: _of("sheet.walkin_answer")(k.depths_mm, as_of="2026-03-01"),
    "charts.distance_lives": lambda k: _of("charts.distance_lives")(pd.DataFrame({"tire_id": ["A", "A"], "removal_mm": 1.6, "km_left_p10": [9e3, 4e3], "km_left_p50": [1e4, 5e3], "km_left_p90": [1.2e4, 6e3], "true_km": [1e4, 5e3]}), "us"),
    "charts.reliability_curves": lambda k: _of("charts.reliability_curves")(_one_method(outlook.reliability(k.back.predictions))),
    "logbook.of_vehicles": lambda k: _of("logbook.of_vehicles")(k.book, ["V03", "V07"]),
    "logbook.known_on": {"day": "2026-01-01"},
    "outlook.held": lambda k: outlook.held(k.back.scores),
    "outlook.reliability": lambda k: outlook.reliability(k.back.predictions),
    "outlook.chance_longer": lambda k: outlook.chance_longer(np.array([2.0, 1.0]), np.array([1.0, 1.0])),
    "outlook.rotation_by_tire": lambda k: outlook.rotation_by_tire(k.state, 8000.0),
    "outlook.rotation_worth": lambda k: outlook.rotation_worth(k.state, 8000.0, np.full(len(k.state), 3000.0)),
    "outlook.score_predictions": lambda k: outlook.score_predictions(k.back.predictions),
    "tread.worst_of_vehicles": lambda k: tread.worst_of_vehicles(outlook.forecast(k.book, k.fit)),
    "sheet.answer_for": lambda k: _of("sheet.answer_for")(k.book, "V03", k.fit),
}  # fmt: skip
"""Calls, or arguments that are not the kit's own."""
CALLS["logbook.correct_record"] = lambda k: _logbook("correct_record", k, "tires", 2, {"tire_line": "Other"})
CALLS["logbook.withdraw_record"] = lambda k: _logbook("withdraw_record", k, "depths", 5)

APART = {
    "cli.main": "every command is held to the contract on its own",
    "charts.in_notebook": "sets how a notebook shows charts; tests/sheet/test_interactive.py",
    "sheet.print_page": "starts a browser; tests/sheet/test_printing.py",
    "sheet.start_bundle": "starts a process; tests/sheet/test_bundle.py",
    "sheet.compose_page": "a page's text; tests/sheet/test_page.py, and commands here",
    "sheet.customer_page": "a page's text; tests/sheet/test_page.py, and commands here",
    "sheet.walkin_page": "a page's text; tests/sheet/test_walkin.py, and commands here",
    "sheet.customer_talk": "widgets; tests/sheet/test_interactive.py",
    "sheet.visit_form": "widgets; tests/sheet/test_recording.py",
}
"""What is held elsewhere, and where."""


def _one_method(table: pd.DataFrame) -> pd.DataFrame:
    return table[table["method"] == table["method"].iloc[0]]


def _patterns() -> list[str]:
    from tirelife.rotation import PATTERNS

    return list(PATTERNS)


def _of(name: str) -> Any:
    room, _, function = name.rpartition(".")
    return getattr(importlib.import_module(f"tirelife.{room}"), function)


def _entered(manager: Any, touch: bool = False) -> None:
    with manager as made:
        if touch:
            made.write_text("x")


def public() -> list[str]:
    """Every public function of every room, as room.name."""
    out = []
    for module in pkgutil.iter_modules(tirelife.__path__):
        if module.name == "__main__":
            continue
        room = importlib.import_module(f"tirelife.{module.name}")
        out += [
            f"{module.name}.{n}" for n in getattr(room, "__all__", ()) if inspect.isfunction(getattr(room, n))
        ]
    return out


def unknown(name: str) -> list[str]:
    """Arguments of a public function that nothing here says what to be."""
    how = CALLS.get(name, {})
    if callable(how):
        return []
    parameters = inspect.signature(_of(name)).parameters.values()
    needed = [
        p.name for p in parameters if p.default is p.empty and p.kind not in (p.VAR_POSITIONAL, p.VAR_KEYWORD)
    ]
    return [n for n in needed if n not in how and not hasattr(Kit, n) and n not in ("book", "path")]


def call(name: str, kit: Kit) -> Any:
    """Call a public function; LookupError if nothing says with what."""
    how = CALLS.get(name, {})
    if callable(how):
        return how(kit)
    function = _of(name)
    given = dict(how)
    for parameter in inspect.signature(function).parameters.values():
        if parameter.default is parameter.empty and parameter.name not in given:
            if not hasattr(type(kit), parameter.name) and not hasattr(kit, parameter.name):
                raise LookupError(f"{name}: say in tests/contract.py what {parameter.name} is")
            given[parameter.name] = getattr(kit, parameter.name)
    positional = [p for p in inspect.signature(function).parameters.values() if p.kind is p.POSITIONAL_ONLY]
    return function(*(given.pop(p.name) for p in positional), **given)


def answer(name: str, kit: Kit) -> Any:
    """What a function gives, or ``Refused`` where it says that it cannot; warnings are errors."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            return call(name, kit)
        except (InputError, FitError):
            return "refused"


def leaves(made: Any, at: str = "", deep: int = 0) -> Iterator[tuple[str, Any]]:
    """Every number and text of an answer, with its place; frames sorted by their texts and days."""
    if deep > 9 or made is None or callable(made):
        return
    if isinstance(made, pd.DataFrame):
        yield from _frame_leaves(made, at)
    elif isinstance(made, pd.Series):
        yield f"{at}", np.asarray(made)
    elif isinstance(made, np.ndarray | str | int | float | bool | bytes | Enum):
        yield at, made
    elif isinstance(made, Mapping):
        for key in sorted(made, key=str):
            yield from leaves(made[key], f"{at}[{key}]", deep + 1)
    elif isinstance(made, list | tuple):
        for i, one in enumerate(made):
            yield from leaves(one, f"{at}[{i}]", deep + 1)
    elif isinstance(made, set | frozenset):
        yield at, str(sorted(map(str, made)))
    elif isinstance(made, Logbook):
        yield from leaves(dict(made.tables), f"{at}.tables", deep + 1)
    elif dataclasses.is_dataclass(made):
        for field in dataclasses.fields(made):
            yield from leaves(getattr(made, field.name), f"{at}.{field.name}", deep + 1)
    elif hasattr(made, "to_dict") and not isinstance(made, Note):
        yield at, repr(made.to_dict())


def _frame_leaves(made: pd.DataFrame, at: str) -> Iterator[tuple[str, Any]]:
    if not isinstance(made.index, pd.RangeIndex):
        made = made.reset_index()
    # Rows and doubts speak of texts as written: a digit slips in one unit only.
    as_written = ("row", "doubt", "codes") if "doubt" in made else ("row",)
    made = made.loc[:, [c for c in made if c not in as_written]]
    keys = [c for c in made if made[c].dtype.kind not in "fc" and all(map(_simple, made[c]))]
    if len(made) > 1 and keys:
        made = made.loc[made[keys].astype("str").sort_values(keys, kind="stable").index]
    for column in made:
        if all(map(_simple, made[column])):
            yield f"{at}.{column}", made[column].to_numpy()
        else:
            for i, one in enumerate(made[column]):
                yield from leaves(one, f"{at}.{column}[{i}]", 5)


def _simple(value: Any) -> bool:
    return (
        value is None
        or isinstance(value, str | int | float | bool | np.generic | pd.Timestamp | pd.Timedelta | Enum)
        or value is pd.NaT
        or value is pd.NA
    )


def held_leaves(made: Any) -> list[tuple[str, Any]]:
    """Leaves that stay as they are, whatever happens to the answer."""
    return [(at, np.array(one) if isinstance(one, np.ndarray) else one) for at, one in leaves(made)]


def spoil(made: Any, deep: int = 0) -> None:
    """Write over every frame and array that an answer hands out; of a logbook and a fit, by their properties."""
    if deep > 6:
        return
    if isinstance(made, Logbook | rates.WearFit):
        for name in dir(type(made)):
            if not name.startswith("_") and isinstance(getattr(type(made), name), property | cached_property):
                spoil(getattr(made, name), deep + 1)
        return
    if isinstance(made, pd.DataFrame):
        for column in list(made):
            made[column] = None
    elif isinstance(made, np.ndarray) and made.flags.writeable and made.dtype.kind in "fiu":
        made[...] = 0
    elif isinstance(made, dict | list | tuple):
        for one in list(made.values()) if isinstance(made, dict) else made:
            spoil(one, deep + 1)
    elif dataclasses.is_dataclass(made) and not isinstance(made, type):
        for field in dataclasses.fields(made):
            spoil(getattr(made, field.name), deep + 1)
