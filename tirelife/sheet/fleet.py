"""What the owner of a fleet is told: who is due when, what to buy, what it costs, what to measure next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.advice import Kind, Soon, fleet_decisions, limits_by_position
from tirelife.codes import Severity
from tirelife.errors import InputError, misused
from tirelife.groups import (
    Costs,
    compare_groups,
    cost_table,
    replacements_by_month,
    replacements_from,
    savings,
)
from tirelife.outlook import REMOVAL_DEPTH_MM, calibrated_fit, project, set_outlook, stored_state
from tirelife.positions import OFF, ROAD
from tirelife.rates import wear_by_vehicle
from tirelife.rotation import bill, scope_of
from tirelife.sheet.wrong import Wrong

if TYPE_CHECKING:
    from tirelife.advice import Decision, FleetDecisions
    from tirelife.groups import GroupComparison
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit
    from tirelife.wear import Factors

__all__ = ["FleetAnswer", "fleet_answer", "vehicles_due"]

MONTHS: Final = 12
LEVELS: Final = (10, 25, 50, 75, 90)


@dataclass(frozen=True, eq=False)
class FleetAnswer:
    """One fleet today; frames in inside units, most urgent or soonest first.

    Attributes
    ----------
    name : str
        What to call the fleet.
    units : str
    as_of : Timestamp
    vehicles : DataFrame
        A row a vehicle with tires on the road: vehicle_id, group, place (positions due first), read_raw_mm
        (least as read), read_date, km_left_p10 … p90, date_p10 … p90 of its first tire due, severity (0 to
        3), decision (row of ``decisions``).
    decisions : mapping of str to Decision
        By vehicle.
    hands : DataFrame
        vehicle_id and action (index into the decision's actions): what cannot wait.
    buy : DataFrame
        vehicle_id, action, positions, scope (one, pair, set), tire_line, count, cost (tires like for like and
        fitting), thrown_away (worth of the tread that comes off with them), by: tires to buy before each
        vehicle's next look; money NaN where no price is known.
    months : DataFrame
        Tires to buy in the coming months, as from :func:`tirelife.groups.replacements_by_month`; empty if no
        tire has a date.
    lines : DataFrame
        tire_line, expected, lower, upper: the same over the whole time, by tire line.
    wear : DataFrame
        vehicle_id, ratio, lower, upper (to the fleet's, 80 %), odd.
    comparison : GroupComparison, optional
    costs, savings : DataFrame
        As from :func:`tirelife.groups.cost_table` and :func:`tirelife.groups.savings`; empty without prices.
    measure : DataFrame
        vehicle_id, days (since it was read last; NaN if never), width (of the 80 % range over its middle).
    why_no_groups : str
        Why no groups are compared; empty if they are.
    stored : DataFrame
        vehicle_id, change (day on which the sets change), tires, date_p10 … p90 of the first tire due of the
        set in store: a row a vehicle whose sets take turns.
    """

    name: str
    units: str
    as_of: pd.Timestamp
    vehicles: pd.DataFrame
    decisions: Mapping[str, Decision]
    hands: pd.DataFrame
    buy: pd.DataFrame
    months: pd.DataFrame
    lines: pd.DataFrame
    wear: pd.DataFrame
    comparison: GroupComparison | None
    costs: pd.DataFrame
    savings: pd.DataFrame
    measure: pd.DataFrame
    why_no_groups: str = ""
    stored: pd.DataFrame = field(default_factory=pd.DataFrame)


def fleet_answer(
    book: Logbook,
    fit: WearFit | None = None,
    *,
    name: str = "",
    by: str = "driver_group",
    costs: Costs | None = None,
    removal_depth_mm: float | pd.Series | None = None,
) -> FleetAnswer:
    """Gather the answer for a whole logbook.

    Parameters
    ----------
    book : Logbook
    fit : WearFit, optional
        From ``outlook.calibrated_fit``, which is what it does by default.
    name : str
    by : str
        Column of the vehicles table that groups are compared by.
    costs : Costs, optional
        Fitting and rotation; nothing by default.
    removal_depth_mm : float or Series, optional
        For all, or by position; 2/32 in by default. [mm]

    Raises
    ------
    InputError
        If no vehicle has a tire on the road.
    """
    fit = calibrated_fit(book) if fit is None else fit
    removal = REMOVAL_DEPTH_MM if removal_depth_mm is None else removal_depth_mm
    found = fleet_decisions(book, fit, removal_depth_mm=removal)
    if not found.decisions:
        raise misused(Wrong.NO_TIRES)
    vehicles = vehicles_due(book, found, by)
    hands = [
        (vehicle, i)
        for vehicle, decision in found.decisions.items()
        for i, action in enumerate(decision.actions)
        if action.severity is Severity.URGENT or action.kind in (Kind.LEAK, Kind.READ_AGAIN)
    ]
    line_of = book.tires.drop_duplicates("tire_id").set_index("tire_id")["tire_line"].fillna("")
    placed = found.tires.assign(tire_line=found.tires["tire_id"].map(line_of).fillna(""))
    buy = []
    for vehicle, decision in found.decisions.items():
        for i, action in enumerate(decision.actions):
            if action.kind is Kind.REPLACE and action.soon is not Soon.PLAN:
                here = placed[(placed["vehicle_id"] == vehicle) & placed["position"].isin(action.positions)]
                kinds = " / ".join(dict.fromkeys(kind for kind in here["tire_line"] if kind))
                places = " ".join(action.positions)
                scope = scope_of(action.positions).value
                money = _bill(here, book, removal, costs or Costs())
                buy.append((vehicle, i, places, scope, kinds, len(action.positions), *money, action.by))
    columns = [
        "vehicle_id", "action", "positions", "scope", "tire_line", "count", "cost", "thrown_away", "by",
    ]  # fmt: skip
    rested, stored = _stored(book, fit, removal)
    ahead = pd.concat([found.tires, rested], ignore_index=True) if len(rested) else found.tires
    months, lines = _months(book, fit, ahead, line_of, removal)
    comparison, why = _compared(book, by, fit.factors)
    cost, saved = _money(book, comparison, costs or Costs())
    days = (book.as_of - vehicles["read_date"]).dt.days
    width = (vehicles["km_left_p90"] - vehicles["km_left_p10"]) / vehicles["km_left_p50"].clip(lower=1.0)
    measure = pd.DataFrame({"vehicle_id": vehicles["vehicle_id"], "days": days, "width": width})
    order = np.lexsort((-width.fillna(np.inf), -days.fillna(np.inf)))
    return FleetAnswer(
        name=name,
        units=book.units,
        as_of=book.as_of,
        vehicles=vehicles,
        decisions=found.decisions,
        hands=pd.DataFrame(hands, columns=["vehicle_id", "action"]),
        buy=pd.DataFrame(buy, columns=columns).sort_values("by", kind="stable", ignore_index=True),
        months=months,
        lines=lines,
        wear=wear_by_vehicle(fit),
        comparison=comparison,
        costs=cost,
        savings=saved,
        measure=measure.iloc[order].reset_index(drop=True),
        why_no_groups=why,
        stored=stored,
    )


def _bill(off: pd.DataFrame, book: Logbook, removal: float | pd.Series, costs: Costs) -> tuple[float, float]:
    """What replacing some tires like for like costs, and what is thrown away of it."""
    limit = off["position"].map(limits_by_position(off["position"], removal)).to_numpy(float)
    own = book.tires.drop_duplicates("tire_id").set_index("tire_id")
    price = own["price"].astype(float) if "price" in own else pd.Series(np.nan, own.index)
    price = price.fillna(own["tire_line"].map(price.groupby(own["tire_line"]).mean())).fillna(price.mean())
    told = own["tire_line"].map(dict(costs.price or {})).astype(float)
    here = told.fillna(price).reindex(off["tire_id"]).to_numpy(dtype=np.float64)
    new = own["new_depth_mm"].reindex(off["tire_id"]).to_numpy(dtype=np.float64)
    return bill(off["depth_now_mm"].to_numpy(float), new, limit, here, costs.fitting)


def _stored(book: Logbook, fit: WearFit, removal: float | pd.Series) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Forecast of the tires in store; and of each vehicle when its sets change and the other set is due."""
    state = stored_state(book, fit, removal)
    if state.empty:
        return pd.DataFrame(), pd.DataFrame()
    first = set_outlook(state).query("group == 'set'").drop(columns="group")
    day = state["as_of"] + pd.to_timedelta(state["turn_first"], unit="D")
    change = day.groupby(state["vehicle_id"]).min()
    first.insert(1, "change", first["vehicle_id"].map(change))
    return project(state).assign(position=OFF), first.sort_values("change", ignore_index=True)


def vehicles_due(book: Logbook, found: FleetDecisions, by: str = "driver_group") -> pd.DataFrame:
    """One row a vehicle, those that cannot wait above all, then the soonest: :attr:`FleetAnswer.vehicles`."""
    first, tires, decisions = found.first, found.tires, found.decisions
    names = [f"{w}_p{q}" for w in ("km_left", "date") for q in LEVELS]
    out = first[["vehicle_id", *names]].copy()
    told = book.vehicles.drop_duplicates("vehicle_id").set_index("vehicle_id")
    group = told[by].fillna("") if by in told else pd.Series("", index=told.index)
    out["group"] = out["vehicle_id"].map(group).fillna("").astype(str)
    read = tires.groupby("vehicle_id")
    out["read_raw_mm"] = out["vehicle_id"].map(read["read_raw_mm"].min()).to_numpy(float)
    out["read_date"] = pd.to_datetime(out["vehicle_id"].map(read["read_date"].max()))
    out["place"] = [" ".join(decisions[v].first) for v in out["vehicle_id"]]
    out["severity"] = [int(decisions[v].severity) for v in out["vehicle_id"]]
    return out.set_index("vehicle_id").loc[found.by_urgency()].reset_index()


def _months(
    book: Logbook, fit: WearFit, tires: pd.DataFrame, line_of: pd.Series, removal: float | pd.Series
) -> tuple[pd.DataFrame, pd.DataFrame]:
    deep = float(removal[list(ROAD)].max()) if isinstance(removal, pd.Series) else float(removal)
    try:
        months = replacements_by_month(
            book, fit, rng=np.random.default_rng(0), months=MONTHS, removal_depth_mm=deep, ahead=tires
        )
    except InputError:  # no tire has a date
        return pd.DataFrame(), pd.DataFrame(columns=["tire_line", "expected", "lower", "upper"])
    rows = []
    dated = tires[tires["date_p50"].notna()]
    for line, part in dated.groupby(dated["tire_id"].map(line_of).fillna("")):
        year = replacements_from(part, rng=np.random.default_rng(0), months=MONTHS).iloc[-1]
        so_far = (f"{which}_so_far" for which in ("expected", "lower", "upper"))
        rows.append((line, *(float(year[n]) for n in so_far)))
    lines = pd.DataFrame(rows, columns=["tire_line", "expected", "lower", "upper"])
    return months, lines.sort_values("expected", ascending=False, ignore_index=True)


def _compared(book: Logbook, by: str, factors: Factors) -> tuple[GroupComparison | None, str]:
    try:
        return compare_groups(book, by, factors=factors), ""
    except InputError as error:
        return None, str(error)


def _money(
    book: Logbook, comparison: GroupComparison | None, costs: Costs
) -> tuple[pd.DataFrame, pd.DataFrame]:
    none = pd.DataFrame(), pd.DataFrame()
    if comparison is None:
        return none
    cost = cost_table(comparison, costs)
    cost = cost[cost["cost_per_1000km"].notna()].reset_index(drop=True)
    if cost.empty:
        return none
    saved = savings(book, comparison, costs)
    return cost, saved[saved["saved_a_year"].notna()].reset_index(drop=True)
