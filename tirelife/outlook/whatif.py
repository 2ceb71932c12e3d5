"""What a change would buy: distance and months gained, with a range."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import misused
from tirelife.normal import ndtr
from tirelife.outlook.ahead import PROBABILITIES, Course, by_vehicle, first_of
from tirelife.outlook.sets import GROUPS
from tirelife.outlook.state import REMOVAL_DEPTH_MM, present_states
from tirelife.outlook.wrong import Wrong
from tirelife.rates import Draws, points, quantiles, scores
from tirelife.tread import VERDICT_COLUMNS, worst_of_vehicles
from tirelife.wear import Change, Factors, change_ratios

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["Otherwise", "Wear", "compare_distances", "otherwise_states", "road_states", "what_if", "what_ifs"]

Floats = NDArray[np.float64]

_MONTH: Final = 365.25 / 12
_PERCENTS: Final = tuple(f"p{round(100 * p)}" for p in PROBABILITIES)


@dataclass(frozen=True)
class Otherwise:
    """What could be otherwise from now on; what is left out stays as it is.

    Attributes
    ----------
    name : str
        In plain words.
    wear : Change, optional
        Driving, pressure or alignment: see :class:`tirelife.wear.Change`.
    removal_depth_mm : float, optional [mm]
    km_per_year : float, optional [km]
    rotation_km : float, optional
        Interval of rotations that change axles; 0 for none. [km]
    """

    name: str
    wear: Change | None = None
    removal_depth_mm: float | None = None
    km_per_year: float | None = None
    rotation_km: float | None = None


def what_if(
    book: Logbook,
    fit: WearFit,
    change: Otherwise | Change,
    vehicle_ids: Sequence[str] | None = None,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
) -> pd.DataFrame:
    """Distance and months gained by a change, per tire and for the set.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of this logbook.
    change : Otherwise or Change
    vehicle_ids : sequence of str, optional
        All vehicles if not given.
    removal_depth_mm : float or Series
        As things are; for all, or by position. [mm]

    Returns
    -------
    DataFrame
        A row a tire on the road, and one a vehicle with position ``set`` (its first tire due): vehicle_id,
        tire_id, position, verdict, read_mm, read_raw_mm, read_at, read_groove, read_date and chance_at_limit
        as things are (for the set: of its worst tire), change, km_gained_p10 … p90, months_gained_p10 … p90,
        wear_ratio (median). Gains can be negative; a tire that was read at its limit gains nothing.

    Raises
    ------
    InputError
        If a vehicle is not in the logbook or a value cannot be.

    Notes
    -----
    Each draw of the forecast is compared with itself: depth, rate, rotations and pace are the same before
    and after, so the range of the gain is that of the ratio of wear and of the distance that it acts on, not
    of two forecasts. The set's gain is that of its first tire due, draw by draw.
    """
    return what_ifs(book, fit, [change], vehicle_ids, removal_depth_mm)


def what_ifs(
    book: Logbook,
    fit: WearFit,
    changes: Sequence[Otherwise | Change],
    vehicle_ids: Sequence[str] | None = None,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
) -> pd.DataFrame:
    """Give :func:`what_if` for several changes, one after another; what they share is worked out once."""
    every = [c if isinstance(c, Otherwise) else Otherwise(c.name, wear=c) for c in changes]
    depths: dict[str, float | pd.Series] = {"now": removal_depth_mm}
    for i, asked in enumerate(every):
        _check(asked)
        if asked.removal_depth_mm is not None:
            depths[f"then {i}"] = asked.removal_depth_mm
    states = road_states(book, fit, depths, vehicle_ids)
    out = []
    for i, asked in enumerate(every):
        log_ratio, log_sd = _ratios(book, states["now"], asked.wear, fit.factors)
        wear = Wear(log_ratio[:, None], log_sd[:, None])
        then = states.get(f"then {i}", states["now"])
        table = compare_distances(states["now"], then, wear, asked)
        ratio = pd.Series(np.exp(log_ratio), index=states["now"]["tire_id"])
        table["wear_ratio"] = ratio.reindex(table["tire_id"]).to_numpy()
        out.append(table)
    return pd.concat(out, ignore_index=True)


def otherwise_states(
    book: Logbook,
    fit: WearFit,
    change: Otherwise | Change,
    vehicle_ids: Sequence[str] | None = None,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
) -> pd.DataFrame:
    """Tires on the road as they are today, with the time ahead otherwise.

    Returns
    -------
    DataFrame
        Rows as of :func:`tirelife.outlook.present_state`, from which :func:`tirelife.outlook.project`,
        ``set_outlook``, ``first_chances`` and ``rotation_worth`` answer as they do as things are, with
        :data:`~tirelife.outlook.ahead.AHEAD_RATIOS`. The middle of how wear answers is taken.

    Raises
    ------
    InputError
        If a vehicle is not in the logbook or a value cannot be.
    """
    asked = change if isinstance(change, Otherwise) else Otherwise(change.name, wear=change)
    _check(asked)
    limit = removal_depth_mm if asked.removal_depth_mm is None else asked.removal_depth_mm
    state = road_states(book, fit, {"then": limit}, vehicle_ids)["then"]
    log_ratio, _ = _ratios(book, state, asked.wear, fit.factors)
    there = _other_side(Course(state), log_ratio[:, None])[:, 0]
    out = state.assign(wear_here=np.exp(log_ratio), wear_there=np.exp(there))
    if asked.km_per_year is not None:
        out["km_per_day"] = asked.km_per_year / 365.25
    if asked.rotation_km is not None:
        every = asked.rotation_km
        out["chance"] = 1.0 if every > 0 else 0.0
        if every > 0:  # the first of them today
            out = out.assign(since_km=every, every_km=every, every_log_sd=0.0, interval_log_sd=1e-9)
    return out


def road_states(
    book: Logbook,
    fit: WearFit,
    removal_depths_mm: Mapping[str, float | pd.Series],
    vehicle_ids: Sequence[str] | None,
) -> dict[str, pd.DataFrame]:
    """Give :func:`tirelife.outlook.present_states` of the tires on the road, of all vehicles or some."""
    states = present_states(book, fit, removal_depths_mm)
    if vehicle_ids is not None:
        unknown = sorted(set(vehicle_ids) - set(book.vehicles["vehicle_id"]))
        if unknown:
            raise misused(Wrong.NO_VEHICLE, unknown=", ".join(unknown))
    out = {}
    for name, state in states.items():
        road = state["position"].isin(GROUPS["set"])
        if vehicle_ids is not None:
            road &= state["vehicle_id"].isin(vehicle_ids)
        out[name] = state[road].reset_index(drop=True)
    return out


@dataclass(frozen=True, eq=False)
class Wear:
    """Ratio of wear per distance after a change to before, at each tire: it moves together over all of them.

    Attributes
    ----------
    log : ndarray, shape (n, 1) or (n, COUNT)
        Log of the ratio: its middle, or draw by draw.
    log_sd : ndarray, shape (n, 1)
        How surely it is known.
    """

    log: Floats
    log_sd: Floats

    @classmethod
    def of_points(cls, wear: Floats) -> Wear:
        """From ratios at evenly likely points of their distribution, shape (n, m), m of them from low to
        high.
        """
        at = np.floor(ndtr(points()[0]["answer"]) * wear.shape[1]).astype(int)
        return cls(np.log(wear[:, np.clip(at, 0, wear.shape[1] - 1)]), np.zeros((len(wear), 1)))

    def drawn(self, rows: slice) -> Draws:
        """Log ratio draw by draw, shape (rows, COUNT)."""
        log, sd = (values[rows].astype(np.float32) for values in (self.log, self.log_sd))
        return np.asarray(log + sd * scores()[0]["answer"])


def compare_distances(now: pd.DataFrame, then: pd.DataFrame, wear: Wear, asked: Otherwise) -> pd.DataFrame:
    """Distance and months gained, tire by tire and for the set.

    Parameters
    ----------
    now, then : DataFrame
        Rows of :func:`road_states`, in one order: as things are, and with another removal depth.
    wear : Wear
    asked : Otherwise
        Whose rotation and distance a year count.

    Returns
    -------
    DataFrame
        As :func:`what_if`, with wear_ratio NaN.
    """
    later = Course(then)

    def work(course: Course, rows: slice) -> tuple[Draws, Draws]:
        log_wear = wear.drawn(rows)
        here, there = np.exp(log_wear), np.exp(_other_side(course, log_wear))
        after = later.rows(rows)
        turns = course.turns()
        before_km = course.distance(course.stays(), turns)
        new = after.turns(asked.rotation_km) if asked.rotation_km is not None else turns
        after_km = after.distance(after.stays(), new, here, there)
        pace = None if asked.km_per_year is None else np.asarray(asked.km_per_year / 365.25)
        before_days, after_days = course.days(before_km), after.days(after_km, pace)
        first = [
            first_of(values, course.vehicle) for values in (before_km, after_km, before_days, after_days)
        ]
        return _ranges(before_km, after_km, before_days, after_days), _ranges(*first)

    parts = by_vehicle(now, work)
    names = [f"{what}_gained_{percent}" for what in ("km", "months") for percent in _PERCENTS]
    out = now[["vehicle_id", "tire_id", "position", *VERDICT_COLUMNS]].assign(change=asked.name)
    out[names] = np.vstack([np.empty((0, len(names))), *(tires for tires, _ in parts)])
    vehicles = pd.factorize(now["vehicle_id"])[1]
    sets = pd.DataFrame({"vehicle_id": vehicles, "tire_id": "", "position": "set", "change": asked.name})
    sets[names] = np.vstack([np.empty((0, len(names))), *(found for _, found in parts)])
    sets[VERDICT_COLUMNS] = worst_of_vehicles(now).loc[sets["vehicle_id"], VERDICT_COLUMNS].to_numpy(object)
    both = pd.concat([out, sets.astype(out[VERDICT_COLUMNS].dtypes)], ignore_index=True)
    both["wear_ratio"] = np.nan
    return both.sort_values("vehicle_id", kind="stable", ignore_index=True)


def _ranges(before_km: Draws, after_km: Draws, before_days: Draws, after_days: Draws) -> Floats:
    """Quantiles of what is gained, draw by draw: five of the distance and five of the months."""
    months = (after_days - before_days) / _MONTH
    return np.hstack([quantiles(values, PROBABILITIES) for values in (after_km - before_km, months)])


def _check(asked: Otherwise) -> None:
    for code, value, low, high in (
        (Wrong.REMOVAL_OUTSIDE, asked.removal_depth_mm, 0.0, 25.0),
        (Wrong.YEARLY_OUTSIDE, asked.km_per_year, 1.0, 500_000.0),
        (Wrong.ROTATION_OUTSIDE, asked.rotation_km, 0.0, 200_000.0),
    ):
        if value is not None and not low <= value <= high:
            raise misused(code, name=asked.name, value=f"{value:g}", low=f"{low:g}", high=f"{high:g}")


def _ratios(book: Logbook, now: pd.DataFrame, wear: Change | None, factors: Factors) -> tuple[Floats, Floats]:
    """Log ratio of wear and its sd for each tire."""
    count = len(now)
    if wear is None:
        return np.zeros(count), np.zeros(count)
    asked = now["vehicle_id"].unique()
    some = None if len(asked) == len(book.vehicles) else asked
    table = change_ratios(book, wear, some, factors).set_index(["vehicle_id", "position"])
    rows = table.reindex(pd.MultiIndex.from_frame(now[["vehicle_id", "position"]]))
    return np.log(rows["ratio"].to_numpy(dtype=float)), rows["log_sd"].to_numpy(dtype=float)


def _other_side(course: Course, log_wear: Draws) -> Draws:
    """Log ratio of wear on the vehicle's other axle, the mean of its tires there; as here if it has none."""
    front = (course.front[:, 0] > 0).astype(int)
    axle = 2 * course.vehicle + front
    groups = 2 * (int(course.vehicle.max(initial=-1)) + 1)
    total = np.zeros((groups, log_wear.shape[1]), dtype=log_wear.dtype)
    np.add.at(total, axle, log_wear)
    tires = np.bincount(axle, minlength=groups)[:, None].astype(log_wear.dtype)
    mean = np.divide(total, tires, out=np.full_like(total, np.nan), where=tires > 0)
    other = mean[2 * course.vehicle + 1 - front]
    return np.asarray(np.where(np.isfinite(other), other, log_wear))
