"""What a counter without Python needs of a shop's fit, and how a visit's depths are read through it.

The tables hold everything that was learned or assumed; what is left to do is one small conditioning
(:func:`counter_state`), which the counter's page does line by line, and the package's own draws ahead.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.driving import default_profile, profile_from_answers
from tirelife.errors import misused
from tirelife.normal import ndtr
from tirelife.outlook.ahead import Course
from tirelife.outlook.returning import FIELDS, car_columns, history_of, packed
from tirelife.outlook.walkin import (
    READING_SD_MM,
    ROTATION_KM,
    TOLD_LOG_SD,
    walk_in,
)
from tirelife.outlook.weighing import ROUNDS, STEP, weigh
from tirelife.outlook.wrong import Wrong
from tirelife.positions import ROAD
from tirelife.rates import (
    DEFAULT_KM_PER_DAY,
    DEFAULT_LOG_SD,
    DRIFT_LOG_SD,
    LEVEL,
    NOISE_LOG_SD,
    PUBLISHED,
    Q_COLUMNS,
    TURN_COLUMNS,
    UNKNOWN_SD_MM,
    WINTER,
    YEAR,
    Belief,
    Posterior,
    Prior,
    mileage,
    points,
)
from tirelife.tread import (
    MEASURED_COLUMNS,
    error_by_hand,
    judge,
    verdict_columns,
)
from tirelife.wear import Vehicle
from tirelife.wear import walk_in as conditions

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = [
    "DRIVING",
    "SETS",
    "CounterVisit",
    "axle_km",
    "counter_state",
    "counter_states",
    "counter_tables",
    "seems_rotated",
    "turn_of_set",
]

Floats = NDArray[np.float64]

DRIVES: Final = ("front", "rear", "all")
DRIVING: Final[dict[str, dict[str, tuple[float, ...]]]] = {
    "roads": {
        "town": (0.45, 0.35, 0.12, 0.06, 0.02),
        "highway": (0.08, 0.12, 0.20, 0.35, 0.25),
    },
    "stops": {"few": (0.4,), "many": (2.5,)},
    "turns": {"few": (0.4,), "many": (2.5,)},
}
"""What a plain answer about driving means beside the usual mix: shares of distance by speed, and how many
times the usual number of hard starts and stops, or of hard turns. Our choice, no source; ``usual`` is
:func:`tirelife.driving.default_profile`."""
SETS: Final[dict[str, tuple[bool, tuple[float, float]]]] = {
    "winter-on": (True, WINTER), "winter-stored": (False, WINTER),
    "summer-on": (True, WINTER[::-1]), "summer-stored": (False, WINTER[::-1]),
}  # fmt: skip
"""Whether the set that is read is on the car today, and the days of the year between which it is."""
SEEMED_CHANCE: Final = 0.9
"""Chance that tires go on taking turns whose depths look as if they had; our choice."""


@dataclass(frozen=True)
class CounterVisit:
    """What a counter was told; everything but the depths may be left out.

    Attributes
    ----------
    least_mm : mapping of str to float
        Least depth of each wheel that was read, the spare too. [mm]
    limit_mm : mapping of str to float
        Removal depth by position. [mm]
    distance_km, km_per_year, new_depth_mm : float, optional
    line : str
        A line of the tables; empty if not known.
    drive : str
        Empty if not known.
    roads, stops, turns : str
        Keys of :data:`DRIVING`, or ``usual``.
    rotated : bool, optional
    before_mm : mapping of str to float
        What every wheel that was read now had read at an earlier visit, where it still stands in the same
        place: ``distance_km`` is then what was run since. Empty if there was none. [mm]
    car : str
        A car of the tables, with what its odometer says: see :mod:`tirelife.outlook.returning`.
    odometer_km : float, optional
    mean_mm : mapping of str to float
        Mean of the grooves of each wheel, for such a car; the least where it is not given. [mm]
    grooves : mapping of str to int
        How many they were.
    set_now : str
        A key of :data:`SETS` where two sets take turns; empty for an only set.
    ahead : str
        The three answers about driving from today on, such as ``usual few usual``; as so far if empty.
    as_of : Timestamp
    """

    least_mm: Mapping[str, float]
    limit_mm: Mapping[str, float]
    as_of: pd.Timestamp
    distance_km: float | None = None
    km_per_year: float | None = None
    new_depth_mm: float | None = None
    line: str = ""
    drive: str = ""
    roads: str = "usual"
    stops: str = "usual"
    turns: str = "usual"
    rotated: bool | None = None
    ahead: str = ""
    before_mm: Mapping[str, float] = field(default_factory=dict)
    car: str = ""
    odometer_km: float | None = None
    mean_mm: Mapping[str, float] = field(default_factory=dict)
    grooves: Mapping[str, int] = field(default_factory=dict)
    set_now: str = ""


def counter_tables(
    prior: Prior | None = None, book: Logbook | None = None, cars: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    """Everything that a counter's answer rests on, as plain numbers and texts.

    Parameters
    ----------
    prior : Prior, optional
        What a fit learned (``fit.posterior``) or a saved fit; published figures if not given.
    book : Logbook, optional
        Where the new depths of its lines and the shop's mileage come from.
    cars : mapping, optional
        From :func:`tirelife.outlook.returning.car_tables`: what is known of the shop's own cars.

    Returns
    -------
    dict
        Inside units; ``drives`` (laws of wear by drive layout), ``severity`` (front and rear, by drive and
        answers about driving), ``lines``, ``starts``, ``pace``, ``draws`` (the fixed points of
        :func:`tirelife.rates.joint.points`). No plate, visit or customer's name is in it,
        unless ``cars`` are given: then ``car_law`` and ``cars``.
    """
    held = prior or PUBLISHED
    spread = {name: math.exp(law.mean) for name, law in held.spreads.items()}
    usual_line = held.lines.get("", Belief(0.0, spread["line"]))
    drives = {}
    for drive in DRIVES:
        state = walk_in([6.0] * 4, drive=drive, prior=prior).state
        row = state.iloc[0]
        level = Posterior.of_frame(state).on_axle(LEVEL)
        course = Course(state.assign(chance=1.0))
        due, between = course.turns()
        drives[drive] = {
            "rate_mean": float(level.mean[0, 1]) - usual_line.mean,
            "shared_var": float(row["shared_cov"]) - usual_line.sd**2,
            "own_var": spread["unit"] ** 2,
            "axle_mean": float(level.mean[0, 2]),
            "axle_var": float(level.cov[0, 2, 2]),
            "q_mean": float(level.mean[0, 3]),
            "q_var": float(level.cov[0, 3, 3]),
            "fit": str(row["fit"]),
            "q_law": {name: float(row[name]) for name in Q_COLUMNS},
            "wander": float(level.wander[0]),
            "scatter": float(level.scatter[0]),
            "walk_share": float(row["walk_share"]),
            "chance": float(row["chance"]),
            "interval": {
                n: float(row[n]) for n in ("since_km", "every_km", "every_log_sd", "interval_log_sd")
            },
            "points": {
                "q_points": packed(course.bend()[0]),
                "due": packed(due[0]),
                "between": packed(between[0]),
            },
        }
    lines: dict[str, dict[str, Any]]
    lines = {name: {"mean": law.mean, "sd": law.sd} for name, law in held.lines.items() if name}
    lines[""] = {"mean": usual_line.mean, "sd": usual_line.sd}
    for name, line in lines.items():
        start = held.starts.get(name)
        line["start_mean"], line["start_sd"] = (start.mean, start.sd) if start and name else (0.0, 0.15)
        line["new_depth_mm"] = _new_depth(book, name)
    shared, own = points()
    drawn = ("vehicle", "axle", "q", "level", "year", "walking", *(("every",) if cars else ()))
    known = {"car_law": cars["law"], "cars": cars["cars"], "car_fields": FIELDS} if cars else {}
    interval = {"interval": packed(ndtr(shared["interval"]))} if cars else {}
    return known | {
        "drives": drives,
        "severity": _severities(held),
        "lines": lines,
        "new_depth": {
            "mean": held.new_depth.mean,
            "sd": held.new_depth.sd,
            "own_sd": UNKNOWN_SD_MM,
            "start_sd": spread["start"],
        },
        "noise_sd": spread["noise"],
        "visit_sd": spread["visit"],
        "unread_var": READING_SD_MM**2 + 0.15**2 + spread["start"] ** 2,
        "pace": _pace(book),
        "rotation_km": ROTATION_KM,
        "seemed_chance": SEEMED_CHANCE,
        "sets": {name: [float(on), *days] for name, (on, days) in SETS.items()},
        "rounds": ROUNDS,
        "step": STEP,
        "draws": {
            "turns": packed(ndtr(shared["turns"])),
            **interval,
            "shared": {n: packed(shared[n]) for n in drawn},
            "own": {
                n: [packed(row) for row in own[n][: len(ROAD)]] for n in ("rate", "depth", "walking", "noise")
            },
        },
    }


def _new_depth(book: Logbook | None, line: str) -> float | None:
    if book is None or not line:
        return None
    stated = book.tires.loc[book.tires["tire_line"] == line, "new_depth_mm"].dropna()
    return float(stated.median()) if len(stated) else None


def _pace(book: Logbook | None) -> dict[str, float]:
    """Distance a day: of the shop's own vehicles where three or more tell it."""
    out = {
        "km_per_day": DEFAULT_KM_PER_DAY,
        "log_sd": DEFAULT_LOG_SD,
        "year_log_sd": NOISE_LOG_SD,
        "drift_log_sd": DRIFT_LOG_SD,
    }
    if book is not None:
        pace = mileage(book)
        own = np.log(pace.loc[pace["source"] == "own", "km_per_day"].to_numpy(dtype=float))
        if len(own) >= 3:
            between = (own.var(ddof=1) * (len(own) - 1) + 3 * DEFAULT_LOG_SD**2) / (len(own) + 2)
            out = {"km_per_day": float(np.exp(np.median(own))), "log_sd": float(np.sqrt(between))}
            out |= {name: float(pace[name].median()) for name in ("year_log_sd", "drift_log_sd")}
    return out | {"told_log_sd": TOLD_LOG_SD}


def _severities(held: Prior) -> dict[str, dict[str, list[float]]]:
    """Severity of a front and a rear wheel, by drive and the answers ``roads stops turns``."""
    usual = default_profile()
    bands = ("share_under_25mph", "share_25_40mph", "share_40_55mph", "share_55_70mph", "share_over_70mph")
    out: dict[str, dict[str, list[float]]] = {drive: {} for drive in DRIVES}
    for roads in ("usual", *DRIVING["roads"]):
        for stops in ("usual", *DRIVING["stops"]):
            for turns in ("usual", *DRIVING["turns"]):
                profile = usual
                if (roads, stops, turns) != ("usual",) * 3:
                    shares = DRIVING["roads"].get(roads, tuple(getattr(usual, band) for band in bands))
                    stop, turn = (
                        DRIVING[name].get(key, (1.0,))[0]
                        for name, key in (("stops", stops), ("turns", turns))
                    )
                    profile = profile_from_answers(
                        shares,
                        usual.hard_starts_per_100km * stop,
                        usual.hard_stops_per_100km * stop,
                        usual.hard_turns_per_100km * turn,
                    )
                for drive in DRIVES:
                    table = conditions(profile, Vehicle.of_drive(drive), factors=held.factors).severity()
                    at = table["severity"]
                    out[drive][f"{roads} {stops} {turns}"] = [float(at["LF"]), float(at["LR"])]
    return out


def axle_km(distance_km: float, turns: bool) -> tuple[float, float]:
    """Distance that a tire ran on the axle where it is now, and on the other one. [km]

    Examples
    --------
    >>> axle_km(24_000.0, True), axle_km(24_000.0, False)
    ((14000.0, 10000.0), (24000.0, 0.0))
    """
    moves = max(math.ceil(distance_km / ROTATION_KM) - 1, 0) if turns else 0
    other = ((moves + 1) // 2) * ROTATION_KM
    return distance_km - other, other


def seems_rotated(worn_mm: Mapping[str, float], distance_km: float, severity: tuple[float, ...]) -> bool:
    """Whether front and rear have worn more alike than staying in place would have worn them."""
    if distance_km < ROTATION_KM or set(worn_mm) != set(ROAD):
        return False
    front, rear = ((worn_mm[f"L{side}"] + worn_mm[f"R{side}"]) / 2 for side in "FR")
    stay = abs(math.log(severity[0] / severity[1]))
    return min(front, rear) > 0 and abs(math.log(front / rear)) < stay / 2


def turn_of_set(set_now: str, day: pd.Timestamp) -> tuple[float, float, float, float]:
    """:data:`tirelife.rates.turns.TURN_COLUMNS` of a set of :data:`SETS`; NaN for an only set.

    A set that is on out of its season goes off today, one that lies in store in its season goes on.

    Examples
    --------
    >>> turn_of_set("winter-stored", pd.Timestamp("2026-09-15"))
    (0.0, 30.0, 182.25, 1.0)
    """
    if not set_now:
        return (math.nan,) * 4
    on, (begins, ends) = SETS[set_now]
    mounted, into = (ends - begins) % YEAR, (day.day_of_year - begins) % YEAR
    until = max(mounted - into, 0.0) if on else YEAR - into if into >= mounted else 0.0
    return float(on), until, mounted, 1.0


def counter_state(tables: Mapping[str, Any], visit: CounterVisit) -> pd.DataFrame:
    """Rows to project, one a road wheel that was read, in the order of the wheels.

    Parameters
    ----------
    tables : mapping
        From :func:`counter_tables`.
    visit : CounterVisit

    Returns
    -------
    DataFrame
        What :func:`tirelife.outlook.project` and :func:`tirelife.advice.walkin_facts` read.

    Notes
    -----
    The least depth of a wheel is what is projected: the tread is taken to wear as its lowest groove does.
    Where the distance run is known, the depths speak for the rate: the level shared by the wheels, each
    tire's own, the ratio of the axles and the depth they started from are conditioned on what was read by a
    Gauss-Newton iteration of normal distributions, spreads held as the fit left them.
    :func:`tirelife.outlook.walk_in` fits those too; where the distance is not known the two are the same.
    """
    return counter_states(tables, [visit]).assign(vehicle_id="counter")


def counter_states(tables: Mapping[str, Any], visits: Sequence[CounterVisit]) -> pd.DataFrame:
    """Rows of :func:`counter_state` of many visits; ``vehicle_id`` is the number of the visit, six digits."""
    parts = []
    for i, visit in enumerate(visits):
        places = [p for p in ROAD if p in visit.least_mm]
        if not places:
            raise misused(Wrong.NO_WHEEL)
        used = history_of(tables, visit) == "used"
        columns = car_columns(tables, visit) if used else _walk_in_columns(tables, visit)
        least = np.array([visit.least_mm[p] for p in places], dtype=float)
        columns |= {
            "vehicle_id": f"{i:06d}", "tire_id": np.array(places, dtype=object),
            "error_mm": error_by_hand(least),
            "position": np.array(places, dtype=object), "as_of": visit.as_of.to_datetime64(),
            "last_date": visit.as_of.to_datetime64(), "least_mm": least,
            "axle": np.array(["front" if p in ROAD[:2] else "rear" for p in places], dtype=object),
        }  # fmt: skip
        columns |= dict(zip(TURN_COLUMNS, turn_of_set(visit.set_now, visit.as_of), strict=True))
        parts.append(
            {name: np.broadcast_to(np.asarray(value), len(places)) for name, value in columns.items()}
        )
    out = pd.DataFrame({name: np.concatenate([part[name] for part in parts]) for name in parts[0]})
    return _judged(out.drop(columns=["error_mm", "least_mm"]), out["least_mm"], out["error_mm"])


def _walk_in_columns(tables: Mapping[str, Any], visit: CounterVisit) -> dict[str, Any]:
    drive = visit.drive or "front"
    law, line = tables["drives"][drive], tables["lines"].get(visit.line, tables["lines"][""])
    severity = tuple(tables["severity"][drive][f"{visit.roads} {visit.stops} {visit.turns}"])
    places = [p for p in ROAD if p in visit.least_mm]
    start = begun = _start(tables, visit, line)
    read = np.array([visit.least_mm[p] for p in places], dtype=float)
    km = visit.distance_km
    turns, chance = visit.rotated, law["chance"]
    if visit.before_mm:
        turns, chance = False, law["chance"] if turns is None else float(turns)
        begun = {
            "mean": np.array([visit.before_mm[p] for p in places]),
            "shared_var": tables["visit_sd"] ** 2,
            "own_var": tables["noise_sd"] ** 2,
        }
    elif turns is None:
        worn = dict(zip(places, (start["mean"] - read).tolist(), strict=True))
        turns = km is not None and start["told"] and seems_rotated(worn, km, severity)
        chance = tables["seemed_chance"] if turns else chance
    else:
        chance = float(turns)
    if km is None:
        mean, cov, shared = _unread(tables, law, line, read)
    else:
        mean, cov, shared = _conditioned(tables, law, line, begun, read, places, severity, axle_km(km, turns))
    pace = tables["pace"]
    told = visit.km_per_year is not None
    front = np.array([p in ROAD[:2] for p in places])
    zero, count = np.zeros(len(places)), len(places)
    wide = Posterior(mean, cov, np.full(count, law["wander"]), np.full(count, law["scatter"]), zero)
    limit = np.array([visit.limit_mm[p] for p in places], dtype=float)
    onward = tables["severity"][drive][visit.ahead] if visit.ahead else severity
    here = np.where(front, onward[0], onward[1])
    return {
        **{str(name): values.to_numpy() for name, values in wide.to_frame().items()},
        "shared_cov": shared, "walk_share": law["walk_share"], "fit": law["fit"], **law["q_law"],
        "log_sd": pace["told_log_sd" if told else "log_sd"],
        "since_front_km": 0.0, "since_rear_km": 0.0, "unread_km": 0.0, "here": here,
        "there": np.where(front, onward[1], onward[0]), "spare_turns": False, "moves": 0,
        "chance": chance, **law["interval"],
        "odometer_km": np.nan if km is None else km,
        "km_per_day": visit.km_per_year / 365.25 if visit.km_per_year is not None else pace["km_per_day"],
        "year_log_sd": pace["year_log_sd"], "drift_log_sd": pace["drift_log_sd"],
        "new_depth_mm": start["mean"], "visits": 1,
        "reason": "", "q": law["q_mean"], "bend": 0.0, "bend_log_sd": 0.0, "fits": True, "age_years": np.nan,
        "mean_depth_mm": mean[:, 0], "log_wear": mean[:, 1], "mean_depth_sd_mm": wide.sds()[:, 0],
        "depth_now_mm": np.maximum(mean[:, 0], 0.0), "age_end": np.datetime64("NaT", "us"),
        "age_assumed": True,
        "age_days": np.inf, "groove": "tread", "removal_depth_mm": limit, "limit_mm": limit,
        "limit_sd_mm": 0.0,
    }  # fmt: skip


def _judged(out: pd.DataFrame, least_mm: pd.Series, error_mm: pd.Series) -> pd.DataFrame:
    """With what was measured, and how that stands to the limits."""
    label = pd.Series([f"{v} {p}" for v, p in zip(out["vehicle_id"], out["position"], strict=True)])
    read = pd.DataFrame({name: "" for name in MEASURED_COLUMNS}, index=out.index).assign(
        position=label, tire_id=label, read_at_position=out["position"], read_date=out["as_of"],
        read_odometer_km=np.nan, least_mm=least_mm, least_raw_mm=least_mm, error_mm=error_mm, moved=False,
    )  # fmt: skip
    judged = verdict_columns(judge(read, out["removal_depth_mm"].set_axis(label)))
    return pd.concat([out, judged.set_axis(out.index)], axis=1)


def _start(tables: Mapping[str, Any], visit: CounterVisit, line: Mapping[str, Any]) -> dict[str, Any]:
    """Depth that the tires started from: mean, variance that they share and that of each; whether told."""
    new = tables["new_depth"]
    stated = visit.new_depth_mm if visit.new_depth_mm is not None else line["new_depth_mm"]
    if stated is None:
        return {
            "mean": new["mean"],
            "shared_var": new["sd"] ** 2,
            "own_var": new["own_sd"] ** 2,
            "told": False,
        }
    mean = stated + line["start_mean"]
    return {"mean": mean, "shared_var": line["start_sd"] ** 2, "own_var": new["start_sd"] ** 2, "told": True}


def _unread(
    tables: Mapping[str, Any], law: Mapping[str, Any], line: Mapping[str, Any], read: Floats
) -> tuple[Floats, Floats, Floats]:
    """Depths as read beside what is held of the rates: nothing tells how fast this tread went."""
    count = len(read)
    rate = law["rate_mean"] + line["mean"]
    shared = law["shared_var"] + line["sd"] ** 2
    mean = np.column_stack([read, np.full((count, 3), [rate, law["axle_mean"], law["q_mean"]])])
    cov = np.zeros((count, 4, 4))
    cov[:] = np.diag([tables["unread_var"], shared + law["own_var"], law["axle_var"], law["q_var"]])
    return mean, cov, np.full(count, shared)


def _conditioned(
    tables: Mapping[str, Any],
    law: Mapping[str, Any],
    line: Mapping[str, Any],
    start: Mapping[str, Any],
    read: Floats,
    places: list[str],
    severity: tuple[float, ...],
    km: tuple[float, float],
) -> tuple[Floats, Floats, Floats]:
    """Condition on what was read: see :func:`tirelife.outlook.weighing.weigh`."""
    count = len(read)
    front = np.array([p in ROAD[:2] for p in places])
    run = np.where(front, *km) * severity[0], np.where(front, *km[::-1]) * severity[1]
    shared = law["shared_var"] + line["sd"] ** 2
    held = np.zeros(2 * count + 1)
    held[:count], held[count:-1], held[-1] = start["mean"], law["rate_mean"] + line["mean"], law["axle_mean"]
    cov = np.zeros((len(held), len(held)))
    cov[:count, :count] = start["shared_var"] + start["own_var"] * np.eye(count)
    cov[count:-1, count:-1] = shared + law["own_var"] * np.eye(count)
    cov[-1, -1] = law["axle_var"]
    error = tables["visit_sd"] ** 2 + tables["noise_sd"] ** 2 * np.eye(count)
    alone = {**law, "alone_share": shared / (shared + law["own_var"])}
    found = weigh(alone, held, cov, run, read, error, held[:count])
    return found.mean, found.cov, found.shared
