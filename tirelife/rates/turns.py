"""Sets that take turns: tires that rest in store and come on again, by season or otherwise.

A set in store wears nothing and ages on. Which tires take turns is read from the mounts: tires that came off
and on again, or that are marked for a season while the other season's are on. The days of the year on which
sets change, and each set's share of the year's distance, are learned from the mounts too; where no change is
on record yet, winter tires run from 15 October to 15 April (common practice, no source; legal winter dates
and depths by place are in the table of removal depths). A forecast's days are days at the year's mean pace;
here they are laid to the days on which the set is on the car.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.errors import misused
from tirelife.logbook import kept
from tirelife.positions import ROAD
from tirelife.rates.wrong import Wrong

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = [
    "SET_COLUMNS",
    "TURN_COLUMNS",
    "TURN_SPREADS",
    "calendar_days",
    "drift_years",
    "of_winter",
    "sets_in_turn",
    "shares_typed",
    "told_shares",
    "turn_columns",
]

Floats = NDArray[np.float64]

SET_COLUMNS: Final = (
    "vehicle_id", "tire_id", "position", "on", "season", "from_day", "to_day", "share", "told", "learned",
    "next_change",
)  # fmt: skip
TURN_COLUMNS: Final = ("turn_on", "turn_first", "turn_mounted", "turn_pace")
"""What a state says of tires whose sets take turns: 1 on the car today, 0 in store; days until the set goes
off, or on; days of a year on which it is on; distance a day on it over the year's mean. Elsewhere NaN."""
TURN_SPREADS: Final = ("turn_sd", "turn_pace_sd")
"""How surely that is known: spread of the day on which the set goes off, or on [day]; of the log of its
pace."""
YEAR: Final = 365.25
CHANGE_SD: Final = 10.0
UNLEARNED_SD: Final = 20.0
"""Spread of the days of the year on which one owner changes sets, and of those on which owners do where no
change is on record [day]; our assumptions."""
SPELL_LOG_SD: Final = 0.12
"""Spread of the log of the distance a day between the times that one set is on; our assumption."""
_WORTH: Final = 4.0
"""Changes, or times on the car, that those spreads are worth beside a fleet's own."""
MIDWINTER: Final = 15.0
"""Day of the year by which the winter set is known, marked or not: 15 January."""
WINTER: Final = (288.0, 105.0)
"""Days of the year from and to which winter tires run where no change is on record: 15 October, 15 April;
common practice, no source."""


def sets_in_turn(book: Logbook) -> pd.DataFrame:
    """Tires of vehicles whose sets take turns, on the car and in store.

    Parameters
    ----------
    book : Logbook
        Its vehicles' ``winter_share``, where told, is the share of the year's distance on the set that is on
        the car in the middle of January; else the share is learned.

    Returns
    -------
    DataFrame
        :data:`SET_COLUMNS`, a row a tire: position (where it is, or was last), on (now on the car), season,
        from_day and to_day (days of the year between which the set is on the car), share (of the year's
        distance run on it), told (that share is told), learned (the days are from the mounts), next_change
        (the day on which it goes off, or on).
    """
    return _told_in(book)[list(SET_COLUMNS)]


def _told_in(book: Logbook) -> pd.DataFrame:
    found = _in_turn(book)
    told = found["vehicle_id"].map(_told(book)).astype(float)
    share = told.where(of_winter(found), 1 - told)
    return found.assign(share=share.fillna(found["share"]), told=told.notna())


def shares_typed(texts: Sequence[str]) -> dict[str, float]:
    """Shares of the year's distance, by vehicle, of texts ``VEHICLE=SHARE``.

    Raises
    ------
    InputError
        If one names no vehicle, or its share is not between 0 and 1.

    Examples
    --------
    >>> shares_typed(["V03=0.6"])
    {'V03': 0.6}
    """
    shares = {}
    for text in texts:
        vehicle, _, share = text.rpartition("=")
        try:
            shares[vehicle] = float(share)
        except ValueError:
            shares[vehicle] = 0.0
        if not vehicle or not 0 < shares[vehicle] < 1:
            raise misused(Wrong.SET_SHARE, text=text)
    return shares


def told_shares(book: Logbook, shares: Mapping[str, float]) -> Logbook:
    """The logbook with the share of the year's distance on the set now on told, by vehicle.

    Raises
    ------
    InputError
        If the sets of one of these vehicles do not take turns.
    """
    if not shares:
        return book
    found = _in_turn(book)
    if without := sorted(set(shares) - set(found["vehicle_id"])):
        raise misused(Wrong.NO_SETS, vehicles=", ".join(without))
    now = found[found["on"].astype(bool)].drop_duplicates("vehicle_id")
    is_winter = dict(zip(now["vehicle_id"], of_winter(now), strict=True))
    winter = _told(book) | {v: s if is_winter.get(v, True) else 1 - s for v, s in shares.items()}
    vehicles = book.vehicles.assign(winter_share=book.vehicles["vehicle_id"].map(winter).astype(float))
    return replace(book, tables={**book.tables, "vehicles": vehicles})


def _told(book: Logbook) -> dict[str, float]:
    """Share of the year's distance on the winter set, by vehicle, as the logbook tells it."""
    if "winter_share" not in book.vehicles:
        return {}
    told = book.vehicles.set_index("vehicle_id")["winter_share"].astype(float).dropna()
    return {str(vehicle): float(share) for vehicle, share in told.items()}


def of_winter(sets: pd.DataFrame) -> pd.Series:
    """Whether a set is on the car in the middle of January."""
    begin, end = sets["from_day"].astype(float), sets["to_day"].astype(float)
    return (MIDWINTER - begin) % YEAR < (end - begin) % YEAR


@kept
def _in_turn(book: Logbook) -> pd.DataFrame:
    season = _season(book)
    rows, off_days, off_paces = [], [np.empty(0)], [np.empty(0)]
    for vehicle, spells in _of_sets(_spells(_may_take_turns(book, season)), season).groupby("vehicle_id"):
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
        learned = days is not None
        label = next((season[str(t)] for t in stored if season.get(str(t), "")), "")
        if days is None:
            days = WINTER if label != "summer" else WINTER[::-1]
        share = _share(spells, stored, days)
        changes = np.unique(apart.loc[apart["spell"] > 1, "from_date"]) if learned else np.empty(0)
        off_days += [_off_mean(dates) for dates in _changes(apart)] if learned else []
        paces = _spell_paces(spells, stored)
        off_paces += [np.log(part) - np.log(part).mean() for part in paces if len(part)]
        parts = sum(1 / max(len(part), 1) for part in paces)
        for tire in (*on.index, *stored):
            here = tire in on.index
            begin, end = days[::-1] if here else days
            rows.append(
                (
                    vehicle, tire, last.loc[tire, "position"], here, season.get(str(tire), ""), begin, end,
                    1 - share if here else share, learned, _next(book.as_of, end if here else begin),
                    len(changes), parts,
                )
            )  # fmt: skip
    names = [name for name in SET_COLUMNS if name != "told"]
    out = pd.DataFrame(rows, columns=[*names, "changes", "parts"])
    # The day of a change ahead is one more like those on record, about a mean of so many of them.
    sd = _spread(off_days, CHANGE_SD) * np.sqrt(1 + 1 / out["changes"].clip(lower=1))
    out["change_sd"] = sd.where(out["learned"].astype(bool), UNLEARNED_SD)
    out["ratio_sd"] = _spread(off_paces, SPELL_LOG_SD) * np.sqrt(out["parts"].astype(float))
    return out.drop(columns=["changes", "parts"])


def _spread(parts: list[Floats], usual: float) -> float:
    """Spread about their own means of groups of values, with a usual one that counts for a few."""
    free = sum(max(len(part) - 1, 0) for part in parts)
    square = sum(float(np.square(part).sum()) for part in parts)
    return float(np.sqrt((square + _WORTH * usual**2) / (free + _WORTH)))


def turn_columns(book: Logbook, tire_ids: pd.Series) -> pd.DataFrame:
    """Give :data:`TURN_COLUMNS` and :data:`TURN_SPREADS` of some tires, in their order."""
    own = _told_in(book).drop_duplicates("tire_id").set_index("tire_id").reindex(tire_ids)
    mounted = (own["to_day"].astype(float) - own["from_day"].astype(float)) % YEAR
    out = {
        "turn_on": own["on"].astype(float),
        "turn_first": (pd.to_datetime(own["next_change"]) - book.as_of).dt.days.astype(float),
        "turn_mounted": mounted,
        "turn_pace": own["share"].astype(float) * YEAR / mounted,
        "turn_sd": own["change_sd"].astype(float),
        # Of the log of a share, for what the ratio of the sets' paces is known to; none where it is told.
        "turn_pace_sd": (own["ratio_sd"] * (1 - own["share"].astype(float))).where(own["told"] != True, 0.0),  # noqa: E712
    }
    return pd.DataFrame(out).reset_index(drop=True)


def calendar_days(
    use_days: ArrayLike, on: ArrayLike, first: ArrayLike, mounted: ArrayLike, pace: ArrayLike
) -> Floats:
    """Days from today until a set has been used for so many days of the year's mean pace.

    Parameters
    ----------
    use_days : array_like
        Days at the year's mean pace. [day]
    on : array_like
        Whether the set is on the car today (1 or 0).
    first : array_like
        Days until it goes off, or on. [day]
    mounted : array_like
        Days of a year on which it is on the car. [day]
    pace : array_like
        Distance a day on this set, over the year's mean a day.

    Returns
    -------
    ndarray, shape as the arguments broadcast [day]
        A day of use that ends with a season is its last day, not the first of the next.

    Examples
    --------
    Half of the year on the car, at the mean pace; today it goes on for 30 days more, so day 40 of use is the
    tenth after half a year in store.

    >>> calendar_days([20.0, 40.0], True, 30.0, 182.625, 1.0)
    array([ 20.   , 222.625])
    """
    use, here, until, each, speed = (
        np.asarray(value, dtype=float) for value in (use_days, on, first, mounted, pace)
    )
    left = use - here * until * speed  # beyond the season under way
    season = each * speed
    whole = np.maximum(np.ceil(left / season - 1e-9) - 1, 0.0)
    # A set that is off today goes on for the first time; one that is on has been in store once more.
    begins = until + whole * YEAR + here * (YEAR - each)
    with np.errstate(invalid="ignore"):  # use without end stays without end
        later = np.where(np.isposinf(left), np.inf, begins + (left - whole * season) / speed)
    return np.asarray(np.where(left > 0, later, use / np.where(here > 0, speed, 1.0)))


def drift_years(
    use_days: ArrayLike, on: ArrayLike, first: ArrayLike, mounted: ArrayLike, pace: ArrayLike
) -> Floats:
    """Variance of the mean pace on a set's own days, of a car whose pace drifts by 1 a year.

    Parameters
    ----------
    use_days, on, first, mounted, pace : array_like
        As :func:`calendar_days` takes them.

    Returns
    -------
    ndarray, shape as the arguments broadcast [year]
        A third of the time for a set that never goes off. The pace drifts on while the set is in store: what
        is run next year is run at next year's pace.

    Notes
    -----
    The mean of a random walk over some of the days ahead has as its variance the integral of G², G being what
    share of those days is still to come: it falls as a straight line while the set is on, and rests between.

    Examples
    --------
    Three months of use, on the car today; then those, with half a year in store after the first half of them.

    >>> drift_years([91.3125], True, 400.0, 182.625, 1.0).round(3)
    array([0.083])
    >>> drift_years([91.3125], True, 91.3125 / 2, 182.625, 1.0).round(3)
    array([0.208])
    """
    here, speed = np.asarray(on, dtype=float), np.asarray(pace, dtype=float)
    use, until, each = (np.asarray(days, dtype=float) / YEAR for days in (use_days, first, mounted))
    use = np.maximum(use / speed, 1e-9)
    now = here * np.minimum(until, use)
    rest, season = 1 - now / use, each / use
    whole = np.maximum(np.ceil(rest / season - 1e-9) - 1, 0.0)
    last = rest - whole * season
    shares = whole * rest - season * whole * (whole - 1) / 2
    squares = whole * rest**2 - rest * season * whole * (whole - 1)
    squares = squares + season**2 * whole * (whole - 1) * (2 * whole - 1) / 6
    begun = now * (1 + rest + rest**2) / 3
    stored = (here * (1 - each) + (1 - here) * until) * rest**2
    stored = stored + (1 - each) * (squares + last**2 - rest**2)
    run = each * (squares - season * shares + whole * season**2 / 3) + last**3 * use / 3
    return np.asarray(begun + stored + run)


def _may_take_turns(book: Logbook, season: Mapping[str, str]) -> pd.DataFrame:
    """Stretches on the road of vehicles of which a tire is off that has been on twice or is of a season."""
    path = book.stretches
    path = path[path["position"].isin(ROAD)].sort_values(["tire_id", "from_date", "from_km"])
    last = path.drop_duplicates("tire_id", keep="last")
    again = path["tire_id"].value_counts()
    may = ~last["open"].astype(bool) & ((last["tire_id"].map(again) > 1) | _of_season(last, season))
    return path[path["vehicle_id"].isin(last.loc[may, "vehicle_id"])]


def _of_sets(spells: pd.DataFrame, season: Mapping[str, str]) -> pd.DataFrame:
    """Those of vehicles of which a tire that is off has been on twice or is of a season."""
    off = ~spells["open"].astype(bool)
    turns = (spells["spell"] > 1) | (off & _of_season(spells, season))
    return spells[spells["vehicle_id"].isin(spells.loc[turns, "vehicle_id"])]


def _of_season(tires: pd.DataFrame, season: Mapping[str, str]) -> pd.Series:
    """Whether a tire is named as one for summer or for winter."""
    return tires["tire_id"].map(lambda t: season.get(str(t), "")).isin(["summer", "winter"])


def _spells(held: pd.DataFrame) -> pd.DataFrame:
    """Times on its car of each tire, moves between wheels joined: a row a vehicle, tire and spell."""
    both = ["vehicle_id", "tire_id"]
    gap = held.groupby(both)["to_date"].shift()
    new = gap.isna() | ((held["from_date"] - gap) > pd.Timedelta(days=7))
    number = new.groupby([held[name] for name in both]).cumsum()
    run = held["to_km"] - held["from_km"]
    out = held.assign(spell=number, run=run).groupby([*both, "spell"], as_index=False)
    return out.agg(
        from_date=("from_date", "min"), to_date=("to_date", "max"), open=("open", "last"),
        run_km=("run", "sum"), position=("position", "last"),
    )  # fmt: skip


def _season(book: Logbook) -> dict[str, str]:
    tires = book.tires
    if "season" not in tires:
        return {}
    return {str(t): str(s).strip().lower() for t, s in zip(tires["tire_id"], tires["season"], strict=True)}


def _changes(spells: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """Dates on which a set came on again, and on which it went off, each once."""
    begins = spells.loc[spells["spell"] > 1, "from_date"].drop_duplicates()
    return begins, spells.loc[~spells["open"], "to_date"].drop_duplicates()


def _off_mean(dates: pd.Series) -> Floats:
    """Days of the year less their mean [day]."""
    if dates.empty:
        return np.empty(0)
    off = dates.dt.day_of_year.to_numpy(float) - _mean_day(dates)
    return np.asarray((off + YEAR / 2) % YEAR - YEAR / 2)


def _spell_paces(spells: pd.DataFrame, stored: list[object]) -> tuple[Floats, Floats]:
    """Distance a day of each time on the car that has ended, of the set in store and of the other [km]."""
    done = spells[~spells["open"]].assign(stored=spells["tire_id"].isin(stored))
    days = (done["to_date"] - done["from_date"]).dt.days
    done = done.assign(pace=done["run_km"] / days.clip(lower=1))[(days >= 28) & (done["run_km"] > 0)]
    each = done.groupby(["stored", "from_date"])["pace"].mean()
    own = each.index.get_level_values(0).to_numpy(dtype=bool)
    paces = each.to_numpy(dtype=np.float64)
    return paces[own], paces[~own]


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
