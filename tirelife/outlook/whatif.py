"""What a change would buy: distance and months gained, with a range."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtr

from tirelife.errors import InputError
from tirelife.outlook.crossing import PROBABILITIES, crossing_quantiles
from tirelife.outlook.rotation_ahead import through_rotations
from tirelife.outlook.sets import GROUPS
from tirelife.outlook.state import REMOVAL_DEPTH_MM, present_states
from tirelife.tread import VERDICT_COLUMNS, Verdict, worst_of_vehicles
from tirelife.wear import Change, change_ratios

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["Otherwise", "compare_distances", "road_states", "what_if", "what_ifs"]

Floats = NDArray[np.float64]

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(11)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()
_LEVELS: Final = tuple(ndtr(_NODES).tolist())
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
        tire_id, position, verdict, read_mm, read_at, read_groove, read_date and chance_at_limit as things
        are (for the set: of its worst tire), change, km_gained_p10 … p90, months_gained_p10 … p90,
        wear_ratio (median). Gains can be negative; a tire that was read at its limit gains nothing.

    Raises
    ------
    InputError
        If a vehicle is not in the logbook or a value cannot be.

    Notes
    -----
    The same tire is compared with itself: its unknown depth and rate are the same before and after, so the
    range of the gain is that of the ratio of wear and of the distance that it acts on, not of two
    forecasts. The set's gain holds the tires' unknowns to move together. Months are at the vehicle's
    median pace.
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
    states = {
        name: (state, crossing_quantiles(state, _LEVELS))
        for name, state in road_states(book, fit, depths, vehicle_ids).items()
    }
    now = states["now"][0]
    out = []
    for i, asked in enumerate(every):
        log_ratio, log_sd = _ratios(book, now, asked.wear)
        wear = np.exp(log_ratio[:, None] + log_sd[:, None] * _NODES)
        then = states.get(f"then {i}", states["now"])
        table = _compared(states["now"], then, wear, _WEIGHTS, asked)
        ratio = pd.Series(np.exp(log_ratio), index=now["tire_id"])
        table["wear_ratio"] = ratio.reindex(table["tire_id"]).to_numpy()
        out.append(table)
    return pd.concat(out, ignore_index=True)


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
            raise InputError(f"vehicle {', '.join(unknown)}: not in the logbook. See its vehicles table.")
    out = {}
    for name, state in states.items():
        road = state["position"].isin(GROUPS["set"])
        if vehicle_ids is not None:
            road &= state["vehicle_id"].isin(vehicle_ids)
        out[name] = state[road].reset_index(drop=True)
    return out


def compare_distances(
    now: pd.DataFrame,
    then: pd.DataFrame,
    wear: Floats,
    weights: Floats,
    name: str,
    otherwise: Otherwise | None = None,
) -> pd.DataFrame:
    """Distance and months gained, tire by tire and for the set, where wear is a ratio of what it was.

    Parameters
    ----------
    now, then : DataFrame
        Rows of :func:`road_states`, in one order.
    wear : ndarray, shape (len(now), m)
        Ratio of wear after to before, at points of its distribution; tires move together from point to point.
    weights : ndarray, shape (m,)
        Of the points; sum 1.
    name : str
    otherwise : Otherwise, optional
        Whose rotation and distance a year count.

    Returns
    -------
    DataFrame
        As :func:`what_if`, with wear_ratio NaN.
    """
    known = now, crossing_quantiles(now, _LEVELS)
    after = known if then is now else (then, crossing_quantiles(then, _LEVELS))
    return _compared(known, after, wear, weights, otherwise or Otherwise(name))


def _compared(
    known: tuple[pd.DataFrame, Floats],
    changed: tuple[pd.DataFrame, Floats],
    wear: Floats,
    weights: Floats,
    asked: Otherwise,
) -> pd.DataFrame:
    """States now and then, each with its quantiles of distance; see :func:`compare_distances`."""
    (now, sure), (then, bare), name = known, changed, asked.name
    down, then_down = ((t["verdict"] == Verdict.AT_OR_UNDER).to_numpy(dtype=bool) for t in (now, then))
    before = np.where(down[:, None], 0.0, _along(now, sure, None, None))
    # Rows: tires; then points of the ratio, then nodes of the tire's own unknown.
    other = _other_side(now, np.log(wear))
    after = np.stack(
        [_along(then, bare / wear[:, [j]], asked.rotation_km, other[:, j]) for j in range(wear.shape[1])],
        axis=1,
    )
    after[then_down] = 0.0
    pace = now["km_per_day"].to_numpy(dtype=float)
    then_pace = pace if asked.km_per_year is None else np.full(len(pace), asked.km_per_year / 365.25)
    gained = after - before[:, None, :]
    months = (after / then_pace[:, None, None] - before[:, None, :] / pace[:, None, None]) / _MONTH
    out = now[["vehicle_id", "tire_id", "position", *VERDICT_COLUMNS]].copy()
    out = _with_ranges(out.assign(change=name), gained, months, weights)
    out["wear_ratio"] = np.nan
    sets = _sets(now, before, after, (pace, then_pace), name, weights)
    sets[VERDICT_COLUMNS] = worst_of_vehicles(now).loc[sets["vehicle_id"], VERDICT_COLUMNS].to_numpy(object)
    both_rows = pd.concat([out, sets.astype(out[VERDICT_COLUMNS].dtypes)], ignore_index=True)
    return both_rows.sort_values("vehicle_id", kind="stable", ignore_index=True)


def _check(asked: Otherwise) -> None:
    for name, value, low, high in (
        ("removal depth", asked.removal_depth_mm, 0.0, 25.0),
        ("distance a year", asked.km_per_year, 1.0, 500_000.0),
        ("rotation interval", asked.rotation_km, 0.0, 200_000.0),
    ):
        if value is not None and not low <= value <= high:
            raise InputError(f"{asked.name}: {name} {value:g} is outside {low:g} to {high:g}.")


def _ratios(book: Logbook, now: pd.DataFrame, wear: Change | None) -> tuple[Floats, Floats]:
    """Log ratio of wear and its sd for each tire."""
    count = len(now)
    if wear is None:
        return np.zeros(count), np.zeros(count)
    asked = now["vehicle_id"].unique()
    some = None if len(asked) == len(book.vehicles) else asked
    table = change_ratios(book, wear, some).set_index(["vehicle_id", "position"])
    rows = table.reindex(pd.MultiIndex.from_frame(now[["vehicle_id", "position"]]))
    return np.log(rows["ratio"].to_numpy(dtype=float)), rows["log_sd"].to_numpy(dtype=float)


def _other_side(now: pd.DataFrame, log_ratio: Floats) -> Floats:
    """Log ratio of wear on the vehicle's other axle (the mean of its tires there) over that here.

    ``log_ratio`` and what is returned have the shape (len(now), m).
    """
    front = now["position"].isin(["LF", "RF"]).to_numpy()
    vehicle, names = pd.factorize(now["vehicle_id"])
    axle, groups = 2 * vehicle + front, 2 * len(names)
    total = np.zeros((groups, log_ratio.shape[1]))
    np.add.at(total, axle, log_ratio)
    tires = np.bincount(axle, minlength=groups)[:, None]
    mean = np.divide(total, tires, out=np.full_like(total, np.nan), where=tires > 0)
    other = mean[2 * vehicle + ~front]
    return np.asarray(np.where(np.isfinite(other), other, log_ratio) - log_ratio)


def _along(state: pd.DataFrame, km: Floats, rotation_km: float | None, other: Floats | None) -> Floats:
    """Distance with rotations: as they are, or at another interval (0: none)."""
    due, every, ratio = (state[name].to_numpy(dtype=float) for name in ("due_km", "every_km", "other_ratio"))
    if rotation_km is not None:
        every = np.full(len(state), rotation_km if rotation_km > 0 else np.nan)
        due = every  # counted from today
    if other is not None:
        ratio = ratio * np.exp(other)
    return through_rotations(km, due, every, ratio)


def _quantiles(values: Floats, weights: Floats) -> Floats:
    """Weighted quantiles over the two grids of nodes: shape (n, m, k) to (n, 5)."""
    weight = (weights[:, None] * _WEIGHTS[None, :]).ravel()
    flat = values.reshape(len(values), -1)
    order = np.argsort(flat, axis=1)
    flat = np.take_along_axis(flat, order, axis=1)
    mass = np.cumsum(weight[order], axis=1) - weight[order] / 2
    out = np.empty((len(values), len(PROBABILITIES)))
    for i, level in enumerate(PROBABILITIES):  # linear in between, as np.interp does it row by row
        upper = np.clip((mass <= level).sum(axis=1), 1, mass.shape[1] - 1)[:, None]
        (x0, x1), (y0, y1) = (
            [np.take_along_axis(table, upper - back, axis=1)[:, 0] for back in (1, 0)]
            for table in (mass, flat)
        )
        out[:, i] = y0 + (y1 - y0) * np.clip((level - x0) / (x1 - x0), 0.0, 1.0)
    return out


def _with_ranges(out: pd.DataFrame, gained: Floats, months: Floats, weights: Floats) -> pd.DataFrame:
    for name, values in (("km_gained", gained), ("months_gained", months)):
        for percent, column in zip(_PERCENTS, _quantiles(values, weights).T, strict=True):
            out[f"{name}_{percent}"] = column
    return out


def _sets(
    now: pd.DataFrame, before: Floats, after: Floats, paces: tuple[Floats, Floats], name: str, weights: Floats
) -> pd.DataFrame:
    """The first tire due of each vehicle, before and after, at the same nodes."""
    code, names = pd.factorize(now["vehicle_id"])
    size, m, k = len(names), *after.shape[1:]
    first_before, first_after = np.full((size, k), np.inf), np.full((size, m, k), np.inf)
    known = np.isfinite(before).all(axis=1)
    np.minimum.at(first_before, code[known], before[known])
    np.minimum.at(first_after, code[known], after[known])
    bare = ~np.isfinite(first_before).all(axis=1)
    first_before[bare], first_after[bare] = np.nan, np.nan
    slow, fast = np.zeros(size), np.zeros(size)
    slow[code], fast[code] = paces
    gained = first_after - first_before[:, None, :]
    months = (first_after / fast[:, None, None] - first_before[:, None, :] / slow[:, None, None]) / _MONTH
    out = pd.DataFrame({"vehicle_id": names, "tire_id": "", "position": "set", "change": name})
    return _with_ranges(out, gained, months, weights).assign(wear_ratio=np.nan)
