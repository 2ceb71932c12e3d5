"""The profile of a tread, split into level, tilt, crown, second-rib dip, and variation round the tire.

With x from 1 at the outer groove to -1 at the inner, the depth of a groove is

    level + tilt x/2 + crown (1/2 - x²) + dip d(x),   d = 0.4 at the edges and the center, -0.6 between them

so that *level* is the mean of five grooves, *tilt* is outer less inner along the best straight line,
*crown* is center less edges, and *dip* is how far the grooves between lie below the curve through edges and
center.
This split is ours; it follows the ribs that the handbooks name (center, shoulders, one side, second rib).
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import misused
from tirelife.logbook import GROOVES
from tirelife.positions import ROAD
from tirelife.tread.visits import groove_states
from tirelife.tread.wrong import Wrong

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = [
    "BASIS",
    "COMPONENTS",
    "last_read",
    "latest_profiles",
    "pattern_components",
    "profile_components",
    "profiles_of",
    "spot_table",
    "tread_profiles",
]

COMPONENTS: Final = ("level", "tilt", "crown", "dip")
_X: Final = np.array([1.0, 0.5, 0.0, -0.5, -1.0])
BASIS: Final = np.column_stack([np.ones(5), _X / 2, 0.5 - _X**2, [0.4, -0.6, 0.4, -0.6, 0.4]])
"""Depth of each groove, outer to inner, for one mm of each component."""

_KEYS: Final = ["vehicle_id", "tire_id", "position", "date"]


class Lacks(StrEnum):
    """Why a component of a profile is not known."""

    TILT = "lacks-tilt"
    CROWN = "lacks-crown"
    DIP = "lacks-dip"
    SPOTS = "lacks-spots"


_NEEDS: Final = {"tilt": Lacks.TILT, "crown": Lacks.CROWN, "dip": Lacks.DIP}


def tread_profiles(book: Logbook, resolution_mm: float | Mapping[str, float] | None = None) -> pd.DataFrame:
    """Split every profile of a logbook into its components, each with its standard error from the gauge.

    Parameters
    ----------
    book : Logbook
    resolution_mm : float or mapping of str to float, optional
        Step of the gauges; inferred where it is not given. [mm]

    Returns
    -------
    DataFrame
        One row a tire and visit: vehicle_id, tire_id, position, date, odometer_km, tire_km, then level_mm,
        tilt_mm, crown_mm, dip_mm, around_mm, each followed by its standard error (level_se_mm, tilt_se_mm,
        crown_se_mm, dip_se_mm, around_se_mm), then
        spots, lowest_spot, lowest_spot_mm (how far that spot lies below the mean of the others),
        reading_sd_mm (spread of single readings), grooves, reason (what cannot be told from these
        readings, and why). Positive tilt: the outer edge is the deeper one. Positive crown: the center is
        deeper than the edges. Positive dip: the grooves next to the edges are worn below the curve.
        ``around_mm`` is the standard deviation of depth from spot to spot beyond what the gauge alone
        would show. What cannot be told is NaN.
    """
    return profiles_of(groove_states(book, resolution_mm), book.depths)


def profiles_of(states: pd.DataFrame, depths: pd.DataFrame) -> pd.DataFrame:
    """Do the same from groove states and the readings they were made of.

    Parameters
    ----------
    states : DataFrame
        From :func:`tirelife.tread.visits.groove_states`; all or some rows.
    depths : DataFrame
        vehicle_id, position, date, groove, spot, depth_mm.

    Returns
    -------
    DataFrame
        As :func:`tread_profiles`, in the order of ``states``.
    """
    out = states[[*_KEYS, "odometer_km", "tire_km"]].reset_index(drop=True)
    depth = states[[f"{g}_mm" for g in GROOVES]].to_numpy(float)
    variance = states[[f"var_{g}_mm2" for g in GROOVES]].to_numpy(float)
    value, error = profile_components(depth, variance)
    known = np.isfinite(depth)
    between = np.where(known, variance, 0.0).sum(axis=1) / np.maximum(known.sum(axis=1), 1) ** 2
    common = np.maximum(states["depth_se_mm"].to_numpy(float) ** 2 - between, 0.0)  # from the gauge's bias
    error[:, 0] = np.sqrt(error[:, 0] ** 2 + common)
    for j, name in enumerate(COMPONENTS):
        out[f"{name}_mm"], out[f"{name}_se_mm"] = value[:, j], error[:, j]
    around = _around(depths, states)
    for name in ("around_mm", "around_se_mm", "spots", "lowest_spot", "lowest_spot_mm", "reading_sd_mm"):
        out[name] = around[name].to_numpy()
    out["grooves"] = known.sum(axis=1)
    out["reason"] = _reasons(value, out["around_mm"].to_numpy(float))
    return out


def latest_profiles(book: Logbook, vehicle_id: str, *, as_read: bool = False) -> pd.DataFrame:
    """Depth of every groove at the last visit of each wheel of a vehicle: the mean of its spots.

    Parameters
    ----------
    book : Logbook
    vehicle_id : str
    as_read : bool
        Leave the gauge's bias in, as a chart of readings has it; taken off by default.

    Returns
    -------
    DataFrame
        vehicle_id, position, tire_id, date, groove, depth_mm, new_depth_mm (NaN where it is not known);
        grooves from outer to inner, those read.
    """
    states = groove_states(book)
    here = states[states["vehicle_id"] == vehicle_id].sort_values("date")
    last = here.drop_duplicates("position", keep="last").sort_values("position")
    new = book.tires.set_index("tire_id")["new_depth_mm"]
    columns = ["position", "tire_id", "date", "bias_mm", *(f"{g}_mm" for g in GROOVES)]
    rows = [
        (vehicle_id, position, tire, date, groove, depth + bias * as_read, float(new.get(tire, np.nan)))
        for position, tire, date, bias, *depths in last[columns].itertuples(index=False)
        for groove, depth in zip(GROOVES, depths, strict=True)
        if np.isfinite(depth)
    ]
    names = ["vehicle_id", "position", "tire_id", "date", "groove", "depth_mm", "new_depth_mm"]
    return pd.DataFrame(rows, columns=names)


def last_read(book: Logbook, vehicle_id: str, gauge_step_mm: float | None = None) -> pd.DataFrame:
    """Last state and profile read at each wheel of the road of a vehicle.

    Parameters
    ----------
    book : Logbook
    vehicle_id : str
    gauge_step_mm : float, optional
        Step of the depth gauge; from the readings by default. [mm]

    Returns
    -------
    DataFrame
        A row a wheel that was read, from the left front on, with the columns of
        :func:`tirelife.tread.groove_states` and :func:`profiles_of`.

    Raises
    ------
    InputError
        If none was read.
    """
    states = groove_states(book, gauge_step_mm)
    states = states[states["vehicle_id"] == vehicle_id].reset_index(drop=True)
    parts = profiles_of(states, book.depths)
    both = pd.concat([states, parts.drop(columns=[c for c in parts if c in states])], axis=1)
    last = both.sort_values("date").drop_duplicates("position", keep="last").set_index("position", drop=False)
    places = [p for p in ROAD if p in last.index]
    if not places:
        raise misused(Wrong.NOT_READ, vehicle=vehicle_id, day=f"{book.as_of:%Y-%m-%d}")
    return last.loc[places].reset_index(drop=True)


def profile_components(
    depth_mm: NDArray[np.float64], variance_mm2: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Weighted least squares of groove depths on level, tilt, crown and dip.

    Parameters
    ----------
    depth_mm, variance_mm2 : ndarray, shape (n, 5)
        Depth of each groove from outer to inner, and its error variance; NaN where it was not read.

    Returns
    -------
    value, error : ndarray, shape (n, 4)
        Components and their standard errors; NaN where the grooves read cannot tell. A component that
        cannot be told is taken to be 0 for the others: with three grooves the profile is a parabola.

    Examples
    --------
    >>> value, error = profile_components(np.array([[5.0, 5.5, 6, 6.5, 7]]), np.full((1, 5), 0.02))
    >>> np.abs(value.round(2)).tolist()
    [[6.0, 2.0, 0.0, 0.0]]
    """
    value = np.full((len(depth_mm), 4), np.nan)
    error = np.full((len(depth_mm), 4), np.nan)
    known = np.isfinite(depth_mm) & (variance_mm2 > 0)
    code = known @ (1 << np.arange(5))
    for pattern in np.unique(code):
        rows = np.flatnonzero(code == pattern)
        read = known[rows[0]]
        columns = _identifiable(read)
        if not columns:
            continue
        basis = BASIS[read][:, columns]
        weight = 1 / variance_mm2[rows][:, read]
        normal = np.einsum("ga,ng,gb->nab", basis, weight, basis)
        covariance = np.linalg.inv(normal)
        pulled = np.einsum("ga,ng,ng->na", basis, weight, depth_mm[rows][:, read])
        value[rows[:, None], columns] = np.einsum("nab,nb->na", covariance, pulled)
        error[rows[:, None], columns] = np.sqrt(np.einsum("naa->na", covariance))
    return value, error


def pattern_components(
    depth_mm: NDArray[np.float64], covariance_mm2: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Do the same for one profile whose grooves' errors go together.

    Parameters
    ----------
    depth_mm : ndarray, shape (5,)
        NaN where a groove was not read. [mm]
    covariance_mm2 : ndarray, shape (5, 5)

    Returns
    -------
    value, error : ndarray, shape (4,)
        Level, tilt, crown and dip, and their standard errors; NaN where the grooves read cannot tell.
    """
    value, error = np.full(4, np.nan), np.full(4, np.nan)
    read = np.isfinite(depth_mm) & (np.diag(covariance_mm2) > 0)
    columns = _identifiable(read)
    if columns:
        basis = BASIS[read][:, columns]
        weight = np.linalg.inv(covariance_mm2[read][:, read])
        covariance = np.linalg.inv(basis.T @ weight @ basis)
        value[columns] = covariance @ (basis.T @ weight @ depth_mm[read])
        error[columns] = np.sqrt(np.diag(covariance))
    return value, error


def spot_table(depths: pd.DataFrame) -> pd.DataFrame:
    """Depths of one tire on one day by spot round the tire and groove, where every groove was read.

    Parameters
    ----------
    depths : DataFrame
        groove, spot, depth_mm.

    Returns
    -------
    DataFrame
        Index spot, one column a groove, [mm]. Grooves that were read in fewer spots than the others are left
        out, then spots where a groove is missing; empty with fewer than two spots.
    """
    columns = (depths[name].to_numpy() for name in ("spot", "groove", "depth_mm"))
    return spots_of(*columns)


def spots_of(
    spot: NDArray[np.generic], groove: NDArray[np.generic], depth_mm: NDArray[np.generic]
) -> pd.DataFrame:
    """Do the same from the columns themselves."""
    depth = np.asarray(depth_mm, float)
    marked = ~pd.isna(spot) & np.isfinite(depth)
    places, row = np.unique(spot[marked], return_inverse=True)
    grooves, column = np.unique(np.asarray(groove[marked], str), return_inverse=True)
    shape = (len(places), len(grooves))
    count, total = np.zeros(shape), np.zeros(shape)
    np.add.at(count, (row, column), 1.0)
    np.add.at(total, (row, column), depth[marked])
    read = (count > 0).sum(axis=0)
    columns = np.flatnonzero(read == read.max(initial=0))
    rows = np.flatnonzero((count[:, columns] > 0).all(axis=1))
    rows = rows if len(rows) >= 2 else rows[:0]
    whole = np.ix_(rows, columns)
    return pd.DataFrame(
        total[whole] / count[whole],
        index=pd.Index(places[rows], name="spot"),
        columns=pd.Index(grooves[columns], name="groove"),
    )


def _identifiable(read: NDArray[np.bool_]) -> list[int]:
    """Columns of :data:`BASIS` that a set of grooves can tell apart."""
    edges, between, center = bool(read[0] and read[4]), bool(read[1] and read[3]), bool(read[2])
    columns = [0] if read.any() else []
    columns += [1] if edges or between else []
    columns += [2] if edges + between + center >= 2 else []
    columns += [3] if edges and between and center else []
    return columns


def _around(depths: pd.DataFrame, states: pd.DataFrame) -> pd.DataFrame:
    """Variation from spot to spot beyond the gauge's own, by row of states."""
    rows, at = np.arange(len(states)), ["vehicle_id", "position", "date"]
    place = states[at].assign(visit=rows)
    place = place[~place.duplicated(at, keep=False)]
    marked = depths.loc[depths["spot"].notna(), [*at, "groove", "spot", "depth_mm"]].merge(place, on=at)
    cell = marked.groupby(["visit", "groove", "spot"], as_index=False)["depth_mm"].mean()
    spots = cell.groupby(["visit", "groove"])["spot"].transform("size")
    cell = cell[spots == spots.groupby(cell["visit"]).transform("max")]
    grooves = cell.groupby("visit")["groove"].transform("nunique")
    here = cell.groupby(["visit", "spot"])["groove"].transform("size")
    cell = cell.assign(grooves=grooves)[here == grooves]
    spot = cell.groupby(["visit", "spot"], as_index=False).agg(
        depth=("depth_mm", "mean"), grooves=("grooves", "first")
    )
    by_visit = spot.groupby("visit")
    table = by_visit["depth"].agg(["size", "sum", "var", "min"]).assign(grooves=by_visit["grooves"].first())
    table = table[table["size"] >= 2]
    single = np.minimum(states["reading_var_mm2"].to_numpy(float), _single_variance(cell))
    noise = single[table.index] / table["grooves"]
    lowest = spot.loc[by_visit["depth"].idxmin(), ["visit", "spot"]].set_index("visit")["spot"]
    others = (table["sum"] - table["min"]) / (table["size"] - 1)
    out = pd.DataFrame(
        {
            "around_mm": np.sqrt(np.maximum(table["var"] - noise, 0.0)),
            "around_se_mm": np.sqrt(noise / (table["size"] - 1)),
            "spots": table["size"].astype(float),
            "lowest_spot": lowest.reindex(table.index),
            "lowest_spot_mm": others - table["min"],
        }
    )
    out = out.reindex(rows)
    out["spots"] = out["spots"].fillna(1.0).astype(int)
    out["reading_sd_mm"] = np.sqrt(single)
    return out


def _single_variance(cell: pd.DataFrame) -> float:
    """Variance of single readings with what grooves and spots have in common taken out [mm²].

    Cups and flat spots run across the tread, so what is left is the gauge; infinite with fewer than 20
    degrees of freedom, when the usual spread has to do.
    """
    depth, visit = cell["depth_mm"], cell["visit"]
    groove = depth.groupby([visit, cell["groove"]]).transform("mean")
    spot = depth.groupby([visit, cell["spot"]]).transform("mean")
    left = depth - groove - spot + depth.groupby(visit).transform("mean")
    count = cell.groupby("visit")[["groove", "spot"]].nunique() - 1
    free = float(count.prod(axis=1).sum())
    return max(float((left**2).sum()) / free, 0.02**2) if free >= 20 else float("inf")


def _reasons(value: NDArray[np.float64], around: NDArray[np.float64]) -> list[str]:
    missing = [np.isnan(value[:, COMPONENTS.index(name)]) for name in _NEEDS]
    codes = [*_NEEDS.values(), Lacks.SPOTS]
    table = np.column_stack([*missing, np.isnan(around)])
    patterns, which = np.unique(table, axis=0, return_inverse=True)
    texts = ["; ".join(code for code, m in zip(codes, row, strict=True) if m) for row in patterns]
    return [texts[i] for i in which]
