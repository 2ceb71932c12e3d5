"""Facts of every vehicle of a logbook, and the decision on each."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from tirelife.advice.deciding import decide
from tirelife.advice.facts import CheckFirst, Facts, RotationFacts, Settings, TireFacts
from tirelife.advice.record import Decision, Reason
from tirelife.codes import Note, Severity
from tirelife.inflation import INSPECT_KPA_PER_MONTH, leaks, pressure_path
from tirelife.logbook import is_assumed
from tirelife.outlook import first_chances, present_state, project, rotation_worth, set_outlook
from tirelife.positions import AXLES, ROAD
from tirelife.rotation import Refusal, directional_vehicles, none_allowed, since_moved
from tirelife.tread import (
    REMOVAL_DEPTH_MM,
    Step,
    Verdict,
    judge,
    measured_toe,
    next_steps,
    unclaimed,
    weigh_causes,
    wheel_histories,
)

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.outlook import Otherwise
    from tirelife.rates import WearFit
    from tirelife.tread import WheelHistory

__all__ = [
    "FleetDecisions",
    "chances_by_vehicle",
    "checks_first",
    "checks_of",
    "facts_of",
    "first_of_sets",
    "fleet_decisions",
    "limits_by_position",
    "tire_facts",
    "windows_by_vehicle",
    "worth_numbers",
]

RECENT: Final = pd.Timedelta(days=365)
"""A loss of air, or a low pressure, that is older than this is no news; our choice."""
CHECKS: Final = (Step.INSPECT, Step.ANGLES, Step.WHEEL)
"""Steps of the tread that come before tires are moved."""
_AXLES: Final = {f"{axle} axle": pair for axle, pair in AXLES.items()}


@dataclass(frozen=True, eq=False)
class FleetDecisions:
    """Decisions on vehicles, and the frames that they rest on.

    Attributes
    ----------
    decisions : dict of str to Decision
        By vehicle, in the order of the forecast.
    facts : dict of str to Facts
    tires : DataFrame
        The forecast's rows of tires on the road.
    first : DataFrame
        The first tire due of each vehicle: vehicle_id, km_left_p10 … p90, date_p10 … p90.
    """

    decisions: dict[str, Decision]
    facts: dict[str, Facts]
    tires: pd.DataFrame
    first: pd.DataFrame

    def by_urgency(self) -> list[str]:
        """Vehicles, those that cannot wait above all, then by the middle of the day that they are due."""
        due = dict(zip(self.first["vehicle_id"], self.first["date_p50"], strict=True))

        def key(vehicle: str) -> tuple[int, pd.Timestamp, str]:
            day, severity = due.get(vehicle, pd.NaT), self.decisions[vehicle].severity
            grave = int(severity) if severity >= Severity.WARNING else 0
            return -grave, pd.Timestamp.max if pd.isna(day) else day, vehicle

        return sorted(self.decisions, key=key)


def fleet_decisions(
    book: Logbook,
    fit: WearFit,
    vehicle_ids: Sequence[str] | None = None,
    *,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    settings: Settings | None = None,
    histories: Mapping[str, Mapping[str, WheelHistory]] | None = None,
    checks: Mapping[str, Sequence[CheckFirst]] | None = None,
) -> FleetDecisions:
    """Decide for every vehicle with tires on the road.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of this logbook, from :func:`tirelife.outlook.calibrated_fit`.
    vehicle_ids : sequence of str, optional
        All by default.
    removal_depth_mm : float or Series
        For all, or by position. [mm]
    settings : Settings, optional
    histories : mapping, optional
        From :func:`tirelife.tread.wheel_histories`, if at hand.
    checks : mapping, optional
        By vehicle, what the tread's pattern asks for, in place of what the readings alone give: see
        :func:`checks_of`.

    Returns
    -------
    FleetDecisions
    """
    state = present_state(book, fit, removal_depth_mm)
    wanted = set(state["vehicle_id"]) if vehicle_ids is None else set(vehicle_ids)
    road = state["vehicle_id"].isin(wanted) & state["position"].isin(ROAD)
    state = state[road].reset_index(drop=True)
    rows = project(state)
    first = first_of_sets(state)
    facts = facts_of(
        book, fit, state, rows, removal_depth_mm=removal_depth_mm, settings=settings, histories=histories,
        first=first, checks=checks,
    )  # fmt: skip
    return FleetDecisions(
        {name: decide(known, settings) for name, known in facts.items()}, facts, rows, first
    )


def facts_of(
    book: Logbook,
    fit: WearFit,
    state: pd.DataFrame,
    rows: pd.DataFrame,
    *,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    settings: Settings | None = None,
    histories: Mapping[str, Mapping[str, WheelHistory]] | None = None,
    first: pd.DataFrame | None = None,
    checks: Mapping[str, Sequence[CheckFirst]] | None = None,
    assumed: Otherwise | None = None,
) -> dict[str, Facts]:
    """Facts of each vehicle; see :func:`fleet_decisions`.

    ``state`` and ``rows`` are of the same tires, those on the road, in the same order: from
    :func:`tirelife.outlook.present_state` and of the forecast. ``assumed``: what a what-if takes for granted
    of the time ahead, in ``state`` already.
    """
    settings = settings or Settings()
    names = list(dict.fromkeys(rows["vehicle_id"]))
    histories = wheel_histories(book, names) if histories is None else histories
    checks = checks_first(book, names, histories) if checks is None else checks
    bare = _no_tire_known(book, names, removal_depth_mm)
    new_depth = fit.tires.drop_duplicates("tire_id").set_index("tire_id")["new_depth_mm"]
    loss, low = _air(book)
    stated = _placard_stated(book)
    pace = state.drop_duplicates("vehicle_id").set_index("vehicle_id")["km_per_day"]
    drive = book.vehicles.drop_duplicates("vehicle_id").set_index("vehicle_id")["drive"]
    turns = _rotations(book, state, names, settings, None if assumed is None else assumed.rotation_km)
    kept = assumed is not None and assumed.wear is not None and assumed.wear.pressure_kept
    chance = chances_by_vehicle(state)
    windows = windows_by_vehicle(first_of_sets(state) if first is None else first)
    facts = {}
    for vehicle, part in rows.groupby("vehicle_id", sort=False):
        name = str(vehicle)
        own = part.assign(new_depth_mm=part["tire_id"].map(new_depth), loss=part["tire_id"].map(loss))
        facts[name] = Facts(
            vehicle_id=name,
            drive=str(drive.get(name, "")),
            as_of=book.as_of,
            km_per_day=float(pace.get(name, np.nan)),
            limit_mm=limits_by_position(part["position"], removal_depth_mm),
            tires={str(row["position"]): tire_facts(row) for row in own.to_dict("records")},
            first_chance=chance.get(name, {}),
            checks=(*bare.get(name, ()), *checks.get(name, ())),
            low_kpa=0.0 if kept else float(low.get(name, 0.0)),
            low_assumed=kept,
            placard_stated=name in stated,
            rotation=turns.get(name, RotationFacts()),
            window=windows.get(name),
        )
    return facts


def tire_facts(row: Mapping[object, object]) -> TireFacts:
    """One tire's row of a forecast, with ``new_depth_mm`` and ``loss`` [kPa a month], as facts."""

    def number(name: str) -> float:
        value = row.get(name)
        return float(str(value)) if value is not None and value == value else float("nan")

    def day(name: str) -> pd.Timestamp | None:
        value = row.get(name)
        return pd.Timestamp(str(value)) if value is not None and value == value else None

    loss = number("loss")
    return TireFacts(
        read_mm=number("read_mm"),
        at_limit=row.get("verdict") == Verdict.AT_OR_UNDER.value,
        near_limit=row.get("verdict") == Verdict.NEAR.value,
        fits=bool(row.get("fits", True)),
        depth_mm=number("depth_now_mm"),
        new_depth_mm=number("new_depth_mm"),
        km_p10=number("km_left_p10"),
        km_p50=number("km_left_p50"),
        km_p90=number("km_left_p90"),
        date_p10=day("date_p10"),
        date_p50=day("date_p50"),
        date_p90=day("date_p90"),
        by_age=row.get("limited_by") == "age",
        loss_kpa_per_month=0.0 if np.isnan(loss) else loss,
        read_raw_mm=number("read_raw_mm"),
    )


def checks_first(
    book: Logbook, vehicle_ids: Iterable[str], histories: Mapping[str, Mapping[str, WheelHistory]]
) -> dict[str, list[CheckFirst]]:
    """Checks that the tread's pattern asks for before tires are moved, by vehicle."""
    names = [name for name in vehicle_ids if name in histories]
    causes = weigh_causes(book, names, histories=histories, with_evidence=False)
    drive = book.vehicles.drop_duplicates("vehicle_id").set_index("vehicle_id")["drive"]
    out: dict[str, list[CheckFirst]] = {}
    toe = measured_toe(book)
    for name, mine in causes.groupby("vehicle_id", sort=False):
        key = str(name)
        steps = next_steps(mine, str(drive[key]), histories=histories[key], toe_mm=toe.get(key))
        out[key] = checks_of(steps)
    return out


def _no_tire_known(
    book: Logbook, vehicle_ids: Sequence[str], removal_depth_mm: float | pd.Series
) -> dict[str, tuple[CheckFirst, ...]]:
    """Wheels read at or under the limit where the log knows of no tire: inspected now, by vehicle."""
    read = unclaimed(book, vehicle_ids)
    if read.empty:
        return {}
    found = judge(read, removal_depth_mm)
    down = found[found["verdict"] == Verdict.AT_OR_UNDER.value]
    return {
        str(name): (CheckFirst(Step.INSPECT, tuple(part["position"]), urgent=True),)
        for name, part in down.groupby("vehicle_id")
    }


def checks_of(steps: pd.DataFrame) -> list[CheckFirst]:
    """Steps of :func:`tirelife.tread.next_steps` that come before tires are moved."""
    return [
        CheckFirst(str(step), _places(str(where)), urgent=step == Step.INSPECT)
        for step, where in zip(steps["step"], steps["where"], strict=True)
        if step in CHECKS
    ]


def _places(where: str) -> tuple[str, ...]:
    parts = [part.strip() for part in where.split(",")]
    found = [p for part in parts for p in _AXLES.get(part, (part,))]
    return tuple(p for p in ROAD if p in found)


def limits_by_position(positions: pd.Series, removal_depth_mm: float | pd.Series) -> dict[str, float]:
    """Removal depth at each position, given for all or by position. [mm]"""
    if isinstance(removal_depth_mm, pd.Series):
        return {str(p): float(removal_depth_mm[p]) for p in positions}
    return {str(p): float(removal_depth_mm) for p in positions}


def _air(book: Logbook) -> tuple[pd.Series, pd.Series]:
    """Air lost a month beyond the gauge's error, by tire, and how far below the placard, by vehicle."""
    table = leaks(book)
    table = table[table["to_date"] >= book.as_of - RECENT]
    last = table.sort_values("to_date").drop_duplicates("tire_id", keep="last").set_index("tire_id")
    loss, error = last["loss_kpa_per_month"], last["loss_se_kpa_per_month"]
    fast = (loss > INSPECT_KPA_PER_MONTH) & (loss > 2 * error)
    path = pressure_path(book)
    path = path[path["placard_kpa"].notna() & path["cold_kpa"].notna() & (path["to_km"] > path["from_km"])]
    path = path[pd.to_datetime(path["to_date"]) >= book.as_of - RECENT]
    run = (path["to_km"] - path["from_km"]).to_numpy(float)
    low = (path["placard_kpa"] - path["cold_kpa"]).to_numpy(float) * run
    sums = pd.DataFrame({"vehicle_id": path["vehicle_id"].to_numpy(), "low": low, "run": run})
    by = sums.groupby("vehicle_id").sum()
    return loss[fast], (by["low"] / by["run"]).clip(lower=0.0)


def _placard_stated(book: Logbook) -> set[str]:
    """Vehicles whose placard pressures the log states, on both axles."""
    lacks = is_assumed(book.vehicles, "placard_front") | is_assumed(book.vehicles, "placard_rear")
    return set(book.vehicles.loc[~lacks, "vehicle_id"].astype(str))


def chances_by_vehicle(state: pd.DataFrame) -> dict[str, dict[str, float]]:
    """Chance of each position to be due first, by vehicle."""
    out: dict[str, dict[str, float]] = {}
    for vehicle, position, chance in first_chances(state).itertuples(index=False):
        out.setdefault(str(vehicle), {})[str(position)] = float(chance)
    return out


def first_of_sets(state: pd.DataFrame) -> pd.DataFrame:
    """First tire due of each vehicle: vehicle_id, km_left_p10 … p90, date_p10 … p90."""
    first = set_outlook(state)
    return first[first["group"] == "set"].drop(columns=["group"]).reset_index(drop=True)


def windows_by_vehicle(first: pd.DataFrame) -> dict[str, tuple[pd.Timestamp, pd.Timestamp]]:
    """80 % range of the day on which each vehicle's first tire is down, where it has dates."""
    known = first[first["date_p10"].notna() & first["date_p90"].notna()]
    ends = zip(known["vehicle_id"], known["date_p10"], known["date_p90"], strict=True)
    return {str(v): (pd.Timestamp(low), pd.Timestamp(high)) for v, low, high in ends}


def worth_numbers(row: Mapping[Hashable, object]) -> dict[str, Any]:
    """One row of :func:`tirelife.outlook.rotation_worth` as the numbers of :class:`RotationFacts`."""
    return {str(name): float(str(value)) for name, value in row.items() if name != "vehicle_id"}


def _rotations(
    book: Logbook,
    state: pd.DataFrame,
    names: Sequence[str],
    settings: Settings,
    assumed_km: float | None = None,
) -> dict[str, RotationFacts]:
    """What rotating as usual gives each set, against leaving it, and what stands against it.

    ``assumed_km``: the interval that a what-if takes for granted, 0 for none.
    """
    since = since_moved(book)
    assumed = "" if assumed_km is None else "every" if assumed_km > 0 else "none"
    every = assumed_km if assumed_km else settings.service_km
    worth = rotation_worth(state, every, state["vehicle_id"].map(since).to_numpy(float))
    known = {str(row["vehicle_id"]): worth_numbers(row) for row in worth.to_dict("records")}
    size = book.tires.drop_duplicates("tire_id").set_index("tire_id")["size"].fillna("")
    out = {}
    sized: dict[str, dict[str, str]] = {}
    columns = (state["vehicle_id"], state["position"], state["tire_id"].map(size).fillna(""))
    for vehicle, position, one in zip(*columns, strict=True):
        sized.setdefault(str(vehicle), {})[str(position)] = str(one)
    one_way = directional_vehicles(book)
    for name in names:
        against = none_allowed(sized.get(name, {}), name in one_way)
        refused = None
        if against is not None:
            both = against is Refusal.DIRECTIONAL
            refused = Note(Reason.SIZES_AND_DIRECTION if both else Reason.SIZES_DIFFER)
        out[name] = RotationFacts(
            since.get(name, float("nan")), every, **known.get(name, {}), refused=refused, assumed=assumed
        )
    return out
