"""Sets that take turns: tires that rest in store and come on again, by season or otherwise.

A set in store wears nothing and ages on. Which tires take turns is read from the mounts: tires that came off
and on again, or that are marked for a season while the other season's are on. The days of the year on which
sets change, and each set's share of the year's distance, are learned from the mounts too; where no change is
on record yet, winter tires run from 15 October to 15 April (common practice, no source; legal winter dates
and depths by place are in the table of removal depths). A forecast's days are days at the year's mean pace;
here they are laid to the days on which the set is on the car.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.codes import Note
from tirelife.logbook import ROAD_POSITIONS
from tirelife.outlook.dates import dates_after
from tirelife.outlook.forecast import COLUMNS, project
from tirelife.outlook.notes import NoteCode, limits_and_notes
from tirelife.outlook.state import REMOVAL_DEPTH_MM, present_state

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["SET_COLUMNS", "calendar_days", "forecast_sets", "sets_in_turn"]

Floats = NDArray[np.float64]

SET_COLUMNS: Final = (
    "vehicle_id", "tire_id", "position", "on", "season", "from_day", "to_day", "share", "learned",
    "next_change",
)  # fmt: skip
YEAR: Final = 365.25
WINTER: Final = (288.0, 105.0)
"""Days of the year from and to which winter tires run where no change is on record: 15 October, 15 April;
common practice, no source."""
_AHEAD: Final = 60
"""Years ahead that days are laid out for."""
_DATES: Final = ("date_p10", "date_p25", "date_p50", "date_p75", "date_p90")


def sets_in_turn(book: Logbook, shares: Mapping[str, float] | None = None) -> pd.DataFrame:
    """Tires of vehicles whose sets take turns, on the car and in store.

    Parameters
    ----------
    book : Logbook
    shares : mapping of str to float, optional
        Share of the year's distance that the set now on runs, by vehicle, as told; else it is learned.

    Returns
    -------
    DataFrame
        :data:`SET_COLUMNS`, a row a tire: position (where it is, or was last), on (now on the car), season,
        from_day and to_day (days of the year between which the set is on the car), share (of the year's
        distance run on it), learned (the days are from the mounts), next_change (the day on which it goes
        off, or on).
    """
    path = book.stretches
    path = path[path["position"].isin(ROAD_POSITIONS)].sort_values(["tire_id", "from_date", "from_km"])
    season = _season(book)
    rows = []
    for vehicle, held in path.groupby("vehicle_id"):
        spells = _spells(held)
        last = spells.drop_duplicates("tire_id", keep="last").set_index("tire_id")
        turns = spells.groupby("tire_id").size()
        on = last[last["open"]]
        off = last[~last["open"] & last["to_date"].le(book.as_of)]
        seasons_on = {season.get(str(t), "") for t in on.index} - {""}
        stored = [
            t
            for t in off.index
            if turns[t] > 1
            or (season.get(str(t), "") in ("summer", "winter") and seasons_on - {season[str(t)]})
        ]
        stored = [t for t in stored if off.loc[t, "to_date"] >= on["from_date"].min() - pd.Timedelta(days=31)]
        if not stored or on.empty:
            continue
        apart = spells[spells["tire_id"].isin(stored)]
        days = _days_of_year(apart)
        label = next((season[str(t)] for t in stored if season.get(str(t), "")), "")
        learned = days is not None
        if days is None:
            days = WINTER if label != "summer" else WINTER[::-1]
        share = (
            1 - (shares or {})[str(vehicle)]
            if str(vehicle) in (shares or {})
            else _share(spells, stored, days)
        )
        for tire in (*on.index, *stored):
            here = tire in on.index
            begin, end = days[::-1] if here else days
            rows.append(
                (
                    vehicle, tire, last.loc[tire, "position"], here, season.get(str(tire), ""), begin, end,
                    1 - share if here else share, learned, _next(book.as_of, end if here else begin),
                )
            )  # fmt: skip
    return pd.DataFrame(rows, columns=list(SET_COLUMNS))


def forecast_sets(
    book: Logbook,
    fit: WearFit,
    table: pd.DataFrame,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    *,
    shares: Mapping[str, float] | None = None,
    age_limit_years: float = 10.0,
) -> pd.DataFrame:
    """Lay a forecast to the seasons of sets that take turns, and add the sets in store.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
    table : DataFrame
        From :func:`tirelife.outlook.forecast`, of the same logbook and fit.
    removal_depth_mm : float or Series
        [mm]
    shares : mapping of str to float, optional
        As for :func:`sets_in_turn`.
    age_limit_years : float

    Returns
    -------
    DataFrame
        As ``table``, with a row of position OFF for each tire in store: its ``km_left`` is distance on that
        set. Dates of both sets count only the days on which the set is on the car. Age goes on in store, and
        limits a tire that it ends first. Vehicles without sets in turn are as they were.
    """
    sets = sets_in_turn(book, shares)
    if sets.empty:
        return table
    swapped = _swapped(book, sets)
    there = present_state(swapped, fit, removal_depth_mm, age_limit_years)
    there = there[there["tire_id"].isin(sets.loc[~sets["on"], "tire_id"])].reset_index(drop=True)
    state = present_state(book, fit, removal_depth_mm, age_limit_years).reset_index(drop=True)
    state = state[state["tire_id"].isin(sets.loc[sets["on"], "tire_id"])].reset_index(drop=True)
    parts = []
    for held, position in ((state, None), (there, "OFF")):
        out = project(held)
        own = sets.set_index("tire_id").reindex(out["tire_id"])
        _lay_dates(out, own, book.as_of)
        for name in (c for c in COLUMNS if c.startswith("date_")):  # age goes on in store
            late = held["age_end"].notna() & (out[name] > held["age_end"])
            out[name] = out[name].mask(late, held["age_end"])
        out["limited_by"], notes = limits_and_notes(held, out)
        code = NoteCode.IN_STORE if position else NoteCode.COMES_OFF
        turn = [Note(code, values=(("on_date", day),)) for day in own["next_change"]]
        both = [(*said, mine) for said, mine in zip(notes, turn, strict=True)]
        out["notes"] = pd.Series(both, index=out.index, dtype=object)
        if position:
            out["position"] = position
        parts.append(out)
    rest = table[~table["tire_id"].isin(sets["tire_id"])]
    whole = pd.concat([rest, *(p for p in parts if len(p))], ignore_index=True)
    order = [*ROAD_POSITIONS, "SP", "OFF"]
    rank = whole["position"].map({p: i for i, p in enumerate(order)})
    at = np.lexsort((rank.to_numpy(), whole["vehicle_id"].astype(str).to_numpy()))
    return whole.iloc[at].reset_index(drop=True)[list(COLUMNS)]


def calendar_days(use_days: Floats, on: bool, first: float, mounted: float, pace: float) -> Floats:
    """Days from today until a set has been used for so many days of the year's mean pace.

    Parameters
    ----------
    use_days : ndarray
        Days at the year's mean pace. [day]
    on : bool
        Whether the set is on the car today.
    first : float
        Days until it goes off, or on. [day]
    mounted : float
        Days of a year on which it is on the car. [day]
    pace : float
        Distance a day on this set, over the year's mean a day.

    Returns
    -------
    ndarray, the shape of ``use_days`` [day]

    Examples
    --------
    Half of the year on the car, at the mean pace; today it goes on for 30 days more, so day 40 of use is the
    tenth after half a year in store.

    >>> calendar_days(np.array([20.0, 40.0]), True, 30.0, 182.625, 1.0)
    array([ 20.   , 222.625])
    """
    stored = YEAR - mounted
    edges, used = [0.0], [0.0]
    now = on
    step = first
    for _ in range(2 * _AHEAD):
        edges.append(edges[-1] + step)
        used.append(used[-1] + (step * pace if now else 0.0))
        now = not now
        step = mounted if now else stored
    # A day of use that ends with a season is its last day, not the first of the next.
    grow = np.array(used) + np.arange(len(used)) * 1e-9
    found = np.interp(use_days, grow, np.array(edges))
    return np.where(np.asarray(use_days, float) > used[-1], np.nan, found)


def _lay_dates(out: pd.DataFrame, own: pd.DataFrame, as_of: pd.Timestamp) -> None:
    """Put the dates of a forecast where the set is on the car, in place."""
    use = np.stack([(out[c] - as_of).dt.days.to_numpy(float) for c in _DATES], axis=1)
    days = np.full(use.shape, np.nan)
    for i, row in enumerate(own.to_dict("records")):
        mounted = (float(row["to_day"]) - float(row["from_day"])) % YEAR
        first = float((row["next_change"] - as_of).days)
        pace = float(row["share"]) * YEAR / mounted
        days[i] = calendar_days(use[i], bool(row["on"]), first, mounted, pace)
    for name, column in zip(_DATES, dates_after(out["as_of"], days), strict=True):
        out[name] = column.to_numpy()


def _spells(held: pd.DataFrame) -> pd.DataFrame:
    """Times on the car of each tire, moves between wheels joined: a row a spell."""
    gap = held.groupby("tire_id")["to_date"].shift()
    new = gap.isna() | ((held["from_date"] - gap) > pd.Timedelta(days=7))
    number = new.groupby(held["tire_id"]).cumsum()
    run = held["to_km"] - held["from_km"]
    out = held.assign(spell=number, run=run).groupby(["tire_id", "spell"], as_index=False)
    return out.agg(
        from_date=("from_date", "min"), to_date=("to_date", "max"), open=("open", "last"),
        run_km=("run", "sum"), position=("position", "last"),
    )  # fmt: skip


def _season(book: Logbook) -> dict[str, str]:
    tires = book.tires
    if "season" not in tires:
        return {}
    return {str(t): str(s).strip().lower() for t, s in zip(tires["tire_id"], tires["season"], strict=True)}


def _days_of_year(spells: pd.DataFrame) -> tuple[float, float] | None:
    """Mean days of the year on which a set came on and went off; None where it never did both but once."""
    begins = spells.loc[spells["spell"] > 1, "from_date"]
    ends = spells.loc[~spells["open"], "to_date"]
    if begins.empty and len(set(ends)) < 1:
        return None
    begins = begins if len(begins) else spells["from_date"]
    return _mean_day(begins), _mean_day(ends)


def _mean_day(dates: pd.Series) -> float:
    angle = 2 * np.pi * dates.dt.day_of_year.to_numpy(float) / YEAR
    return float(np.angle(np.exp(1j * angle).mean()) % (2 * np.pi) * YEAR / (2 * np.pi))


def _share(spells: pd.DataFrame, stored: list[object], days: tuple[float, float]) -> float:
    """Share of the year's distance on the set in store: its pace on the car over both sets', by days of the
    year.
    """
    mounted = (days[1] - days[0]) % YEAR

    def pace(part: pd.DataFrame) -> float:
        run = part.groupby("tire_id")["run_km"].sum()
        time = (part["to_date"] - part["from_date"]).dt.days.groupby(part["tire_id"]).sum()
        return float(run.sum() / max(float(time.sum()), 1.0))

    is_stored = spells["tire_id"].isin(stored)
    own, other = pace(spells[is_stored]), pace(spells[~is_stored])
    total = own * mounted + other * (YEAR - mounted)
    return float(np.clip(own * mounted / total if total > 0 else mounted / YEAR, 0.02, 0.98))


def _next(as_of: pd.Timestamp, day: float) -> pd.Timestamp:
    """Next date after today with a day of the year."""
    ahead = (day - float(as_of.day_of_year)) % YEAR
    return as_of + pd.Timedelta(days=int(max(round(ahead), 1)))


def _swapped(book: Logbook, sets: pd.DataFrame) -> Logbook:
    """The logbook as it would be with the sets changed today."""
    mounts = book.mounts
    odometer = book.odometer.groupby("vehicle_id")["odometer_km"].max()
    off, on = sets[sets["on"]], sets[~sets["on"]]
    rows = pd.concat(
        [off.assign(position="OFF"), on], ignore_index=True
    )[["vehicle_id", "tire_id", "position"]]  # fmt: skip
    rows["date"] = book.as_of
    rows["odometer_km"] = rows["vehicle_id"].map(odometer)
    rows["row"], rows["doubt"], rows["codes"] = 0, "", ""
    made = pd.concat([mounts, rows.reindex(columns=mounts.columns)], ignore_index=True)
    for name in {"doubt", "codes"} & set(made):
        made[name] = made[name].fillna("")
    return replace(book, tables={**book.tables, "mounts": made})
