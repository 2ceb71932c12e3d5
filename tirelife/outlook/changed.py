"""Whether a vehicle wears its tires otherwise now than over their life: changed habits, loads, roads."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import boxcox

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["recent_change"]

Floats = NDArray[np.float64]

SPREADS: Final = np.array([0.0, 0.02, 0.04, 0.06, 0.09, 0.12, 0.16, 0.22, 0.3, 0.4])
"""Log-sd of a vehicle's wear rate after 10,000 km that are tried; 0 first."""
STEADY: Final = 0.25
"""Probability, before the data, of a fleet whose vehicles do not change; an assumption."""
FREEDOM: Final = 10.0
"""Degrees of freedom of a set's Student law: one odd car does not make a habit of the fleet."""
VISIT_SHARES: Final = np.array([0.15, 0.4, 0.7, 1.0])
"""Shares of the fit's visit variance that are tried: a changed habit passes for visits that lean."""
SAMPLE: Final = 600
"""Sets of tires that the spread is found from, where there are more."""
_FAR: Final = 1e9  # variance [km²] of a reading that is not there: over any real one, and still solvable


class _Sets(NamedTuple):
    """Sets of tires fitted to a vehicle together: one row a set, one column a visit (0: the day fitted)."""

    x: Floats  # effective distance [km]
    u: Floats  # wear over the fitted rate, so a distance too [km]
    visit: Floats  # variance by visits [km²]
    noise: Floats  # all other variance [km²]
    drift: Floats  # wandering that the tires have each for itself, over their number [1/km]
    scatter: Floats  # [km]


def recent_change(book: Logbook, visits: pd.DataFrame, fit: WearFit, mounted: pd.DataFrame) -> pd.DataFrame:
    """How far each mounted tire's present wear rate is from its mean so far, as its vehicle's sets show.

    Parameters
    ----------
    book : Logbook
    visits : DataFrame
        Tire-visits with reference distances, from :func:`tirelife.wear.add_reference`.
    fit : WearFit
        Of this logbook.
    mounted : DataFrame
        tire_id, vehicle_id of n tires.

    Returns
    -------
    DataFrame, n rows
        shift (of the log rate), shift_sd, and ahead_per_km (variance that it gains per km of effective
        distance); zeros where nothing changes in this fleet.

    Notes
    -----
    The fit lets each tire's rate wander by itself. Habits change for a whole car: its tires then bend
    together, which the fit takes for visits that lean alike. Here the tires of a set are averaged at
    each visit. Their common path, less a straight line, is a random walk of the log rate, integrated; its
    spread is found over the fleet by restricted likelihood on a grid, beside the visit variance, a quarter
    of the prior being for none. The shift is the walk at the last visit less the slope of the line (best
    linear prediction). Reading errors, and the tires' own wandering as fitted, are allowed for.
    """
    none = pd.DataFrame({"shift": 0.0, "shift_sd": 0.0, "ahead_per_km": 0.0}, index=range(len(mounted)))
    sets, member = _sets(book, visits, fit, mounted)
    if not len(sets.x):
        return none
    spread, share = _spread(sets)
    if spread <= 0:
        return none
    per_km = spread**2 / 1e4
    shift, sd = _predict(sets, per_km, share)
    known = member >= 0
    out = none
    out["shift"] = np.where(known, shift[member], 0.0)
    out["shift_sd"] = np.where(known, sd[member], np.sqrt(per_km * 2e4 / 3))
    out["ahead_per_km"] = per_km
    return out


def _sets(
    book: Logbook, visits: pd.DataFrame, fit: WearFit, mounted: pd.DataFrame
) -> tuple[_Sets, NDArray[np.intp]]:
    """Average the tires of each set at each visit; and the set of every mounted tire (-1: none)."""
    tires = fit.tires.set_index("tire_id").reindex(mounted["tire_id"])
    get = {name: tires[name].to_numpy(dtype=float) for name in tires.select_dtypes("number")}
    side = np.where(tires["position"].isin(["LF", "RF"]), get["log_axle_front"], get["log_axle_rear"])
    q = np.nan_to_num(get["q"])
    deep = np.maximum(get["new_depth_mm"], 1.0)
    bend = (np.clip(get["depth_mm"], 0.3, None) / deep) ** q
    rate = np.exp(get["log_wear"] - side) / bend  # at new depth, per effective km
    table = visits[visits["tire_id"].isin(mounted["tire_id"])].dropna(subset=["depth_mm", "tire_km"])
    table = table.merge(fit.visits[["tire_id", "date", "weight"]], on=["tire_id", "date"], how="left")
    place = pd.Index(mounted["tire_id"]).get_indexer(table["tire_id"])
    reference = [table[f"reference_{axle}_km"].to_numpy(dtype=float) for axle in ("front", "rear")]
    x = (
        reference[0] * np.exp(get["log_axle_front"])[place]
        + reference[1] * np.exp(get["log_axle_rear"])[place]
    )
    power = 1 - q[place]
    depth = np.clip(table["depth_mm"].to_numpy(dtype=float), 0.1, None)
    stated = book.tires.drop_duplicates("tire_id").set_index("tire_id")["new_depth_mm"]
    new = stated.reindex(mounted["tire_id"]).to_numpy(dtype=float)
    start = np.where(np.isfinite(new), new, deep)[place]
    worn = deep[place] ** q[place] * (boxcox(np.maximum(start, 0.1), power) - boxcox(depth, power))
    steep = (deep[place] / depth) ** q[place]
    at = pd.DataFrame(
        {"place": place, "x": x, "u": worn / rate[place], "steep": steep, "date": table["date"]}
    )
    at["rate"] = rate[place]
    at["weight"] = table["weight"].fillna(1.0).clip(0.01, 1.0).to_numpy()
    # Tires fitted together: the odometer, less what the tire has run, is the same to 200 km.
    fitted = table["odometer_km"].to_numpy(dtype=float) - table["tire_km"].to_numpy(dtype=float)
    begun = pd.Series(np.round(fitted / 200)).groupby(place).transform("first")
    at["set"] = table["vehicle_id"].astype(str).to_numpy() + "\x1f" + begun.astype(str).to_numpy()
    at = at[np.isfinite(at[["x", "u", "rate"]].to_numpy(dtype=float)).all(axis=1)]
    code, names = pd.factorize(at["set"], sort=True)
    at["set"] = code
    member = np.full(len(mounted), -1)
    member[at["place"].to_numpy()] = code
    spread = fit.components.set_index("term")["estimate"]
    lean, one = float(spread["visit, shared by its readings"]), float(spread["one reading"])
    first = float(spread["new depth, tire to tire"])
    values = ["x", "u", "steep", "rate"]
    at[values] = at[values].mul(at["weight"], axis=0)
    mean: pd.DataFrame = at.groupby(["set", "date"], sort=True).sum(numeric_only=True)
    mean[values] = mean[values].div(mean["weight"], axis=0)
    number = mean.groupby("set").cumcount().to_numpy() + 1
    sets, width = len(names), int(number.max(initial=0)) + 1
    row = mean.index.get_level_values("set").to_numpy()
    blank = np.zeros((sets, width))
    out = _Sets(
        blank, blank.copy(), blank.copy(), np.full((sets, width), _FAR), np.zeros(sets), np.zeros(sets)
    )
    scale = (mean["steep"] / mean["rate"]).to_numpy()
    out.x[row, number], out.u[row, number] = mean["x"], mean["u"]
    out.visit[row, number] = (lean * scale) ** 2
    out.noise[row, number] = (one * scale) ** 2 / mean["weight"].to_numpy()
    each = {"known": np.isfinite(new), "rate": rate, "drift": get["wander_var_per_km"]}
    each["scatter"] = get["scatter_km"]
    grouped = pd.DataFrame(each)[member >= 0].groupby(member[member >= 0])
    by = grouped.mean().assign(count=grouped.size()).reindex(range(sets)).ffill()
    sd = np.where(by["known"] > 0.5, np.hypot(first, 0.05), 1.0)
    out.noise[:, 0] = (sd / by["rate"]) ** 2 / by["count"] + (0.05 / by["rate"]) ** 2
    out.drift[:], out.scatter[:] = by["drift"] / by["count"], by["scatter"] / by["count"]
    return out, member


def _kernel(x: Floats) -> Floats:
    """Covariance of a random walk's integral, per unit of its variance: s² (3 t - s) / 6 for s <= t."""
    early, late = np.minimum(x[:, :, None], x[:, None, :]), np.maximum(x[:, :, None], x[:, None, :])
    return np.asarray(early**2 * (3 * late - early) / 6)


def _projected(sets: _Sets, kernel: Floats, per_km: float, share: float) -> tuple[Floats, Floats]:
    """Inverse covariance with a line projected out, and -2 log restricted likelihood of each set."""
    early = np.minimum(sets.x[:, :, None], sets.x[:, None, :])
    total = (per_km + sets.drift)[:, None, None] * kernel + sets.scatter[:, None, None] * early
    spot = np.arange(sets.x.shape[1])
    total[:, spot, spot] += sets.noise + share * sets.visit
    inverse = np.linalg.inv(total)
    line = np.stack([np.ones_like(sets.x), sets.x / 1e4], axis=2)
    there = inverse @ line
    inner = line.transpose(0, 2, 1) @ there + 1e-9 * np.eye(2)
    project = np.asarray(inverse - there @ np.linalg.solve(inner, there.transpose(0, 2, 1)), dtype=float)
    square = np.einsum("bi,bij,bj->b", sets.u, project, sets.u)
    free = np.maximum((sets.noise < _FAR / 2).sum(axis=1) - 2, 0)
    robust = (free + FREEDOM) * np.log1p(square / FREEDOM)
    size = np.linalg.slogdet(total)[1] + np.linalg.slogdet(inner)[1]
    return project, np.asarray(size + robust)


def _spread(sets: _Sets) -> tuple[float, float]:
    """Log-sd over 10,000 km, and the share of the visit variance: posterior means over the grid."""
    told = np.flatnonzero((sets.noise < _FAR / 2).sum(axis=1) > 3)
    if len(told) < 3:
        return 0.0, 1.0
    if len(told) > SAMPLE:
        told = np.sort(np.random.default_rng(411).choice(told, SAMPLE, replace=False))
    some = _Sets(*(part[told] for part in sets))
    kernel = _kernel(some.x)
    score = np.array(
        [[_projected(some, kernel, s**2 / 1e4, v)[1].sum() for v in VISIT_SHARES] for s in SPREADS]
    )
    weight = np.exp((score.min() - score) / 2)
    weight[0] *= STEADY
    weight[1:] *= (1 - STEADY) / (len(SPREADS) - 1)
    weight = weight / weight.sum()
    return float(weight.sum(axis=1) @ SPREADS), float(weight.sum(axis=0) @ VISIT_SHARES)


def _predict(sets: _Sets, per_km: float, share: float) -> tuple[Floats, Floats]:
    """Best linear prediction of the walk at the last visit less the line's slope, and its sd."""
    shift, sd = np.zeros(len(sets.x)), np.zeros(len(sets.x))
    for start in range(0, len(sets.x), 5000):
        some = _Sets(*(part[start : start + 5000] for part in sets))
        kernel = per_km * _kernel(some.x)
        project, _ = _projected(some, kernel / per_km, per_km, share)
        weight = 1 / (some.noise + some.visit)
        center = (weight * some.x).sum(axis=1) / weight.sum(axis=1)
        away = weight * (some.x - center[:, None])
        slope = away / np.maximum((away * some.x).sum(axis=1), 1e-12)[:, None]
        end = some.x.max(axis=1)
        with_end = per_km * some.x**2 / 2  # of the walk at the end with its integral so far
        cov = with_end - (kernel @ slope[..., None])[..., 0]
        prior = (
            per_km * end
            - 2 * (slope * with_end).sum(axis=1)
            + np.einsum("bi,bij,bj->b", slope, kernel, slope)
        )
        solved = (project @ cov[..., None])[..., 0]
        shift[start : start + 5000] = (solved * some.u).sum(axis=1)
        left = prior - (solved * cov).sum(axis=1)
        sd[start : start + 5000] = np.sqrt(np.maximum(left, 0.0))
    return shift, sd
