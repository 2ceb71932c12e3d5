"""What putting right the cause of a tread's pattern would buy: distance and months, with a range."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.normal import ndtri
from tirelife.outlook.ahead import PROBABILITIES
from tirelife.outlook.state import REMOVAL_DEPTH_MM
from tirelife.outlook.whatif import Otherwise, Wear, compare_distances, road_states
from tirelife.tread import (
    MEASURE_FROM,
    VERDICT_COLUMNS,
    correction_factors,
    latest_profiles,
    remaining_ratios,
    weigh_causes,
)
from tirelife.tread import wheel_histories as histories_of

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit
    from tirelife.tread import WheelHistory

__all__ = ["CORRECTIONS", "correct_causes", "correction_ratios", "gain_factors"]

Floats = NDArray[np.float64]

CORRECTIONS: Final[Mapping[str, tuple[str, ...]]] = {
    "Pressure put right": ("low_pressure", "high_pressure"),
    "Toe put right": ("toe_in", "toe_out"),
    "Camber put right": ("camber",),
}
"""What a garage can put right, and the causes that it ends."""
OFFERED_FROM: Final = 0.5
"""A correction is offered where its cause is likelier than not at a wheel at least; our choice."""
HARDLY: Final = 1.01
"""Ratio of distances under which a correction is not worth a word; our choice."""
RATIO_COLUMNS: Final = (
    "vehicle_id", "position", "change", "cause", "probability", "groove_now", "ratio", "ratio_low",
    "ratio_high",
)  # fmt: skip
_POINTS: Final = (np.arange(40) + 0.5) / 40


def correction_ratios(
    book: Logbook,
    vehicle_ids: Sequence[str] | None = None,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    *,
    histories: Mapping[str, Mapping[str, WheelHistory]] | None = None,
    causes: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """How much further tires would go with the probable cause of their pattern put right.

    Parameters
    ----------
    book : Logbook
    vehicle_ids : sequence of str, optional
        All vehicles if not given.
    removal_depth_mm : float or Series
        For all, or by position. [mm]
    histories, causes : optional
        From :func:`tirelife.tread.wheel_histories` and :func:`tirelife.tread.weigh_causes`, if at hand.

    Returns
    -------
    DataFrame
        A row a wheel that gains, of the corrections that are offered: vehicle_id, position, change (of
        :data:`CORRECTIONS`), cause (the likelier one there), probability, groove_now (first to the limit as
        things are), ratio (distance left then over now, if the cause is at work), ratio_low and ratio_high
        (one standard error of the pattern's depth less and more). Empty where the tread is even, or where no
        cause that can be put right is likelier than not.

    Raises
    ------
    InputError
        If a vehicle is not in the logbook.
    """
    wanted = list(dict.fromkeys(book.vehicles["vehicle_id"] if vehicle_ids is None else vehicle_ids))
    if causes is None:
        if not set(wanted) <= set(book.vehicles["vehicle_id"]):
            weigh_causes(book, wanted)  # says which is not there
        histories = histories_of(book, wanted) if histories is None else histories
        causes = weigh_causes(book, wanted, histories=histories)
    elif histories is None:
        histories = histories_of(book, wanted)
    found = _likely(causes)
    if found.empty:
        return pd.DataFrame(columns=list(RATIO_COLUMNS))
    drive = dict(zip(book.vehicles["vehicle_id"], book.vehicles["drive"], strict=True))
    latest = pd.concat([latest_profiles(book, vehicle) for vehicle in found["vehicle_id"].unique()])
    keys = ["vehicle_id", "position", "cause", "side"]
    out = found
    for name, errors in (("ratio", 0.0), ("ratio_low", -1.0), ("ratio_high", 1.0)):
        factors = correction_factors(found, histories, drive, standard_errors=errors)
        ratios = remaining_ratios(factors, histories, latest, removal_depth_mm).rename(
            columns={"ratio": name}
        )
        taken = [*keys, name, *(["groove_now"] if name == "ratio" else [])]
        out = out.merge(ratios[taken], on=keys, how="left")
    out = out[out["ratio"] > HARDLY]
    offered = out.groupby(["vehicle_id", "change"])["probability"].transform("max") >= OFFERED_FROM
    return out.loc[offered, list(RATIO_COLUMNS)].reset_index(drop=True)


def _likely(causes: pd.DataFrame) -> pd.DataFrame:
    """Likelier cause that each correction would end, at each wheel, where it is worth a check."""
    change = {cause: name for name, ends in CORRECTIONS.items() for cause in ends}
    named = causes.assign(change=causes["cause"].map(change))
    named = named[named["change"].notna() & (named["probability"] >= MEASURE_FROM)]
    named = named.sort_values("probability", ascending=False, kind="stable")
    return named.drop_duplicates(["vehicle_id", "position", "change"]).reset_index(drop=True)


def gain_factors(ratios: pd.DataFrame, points: Floats) -> Floats:
    """Ratio of distances at points of its distribution: 1 where the cause is not at work.

    Parameters
    ----------
    ratios : DataFrame
        Rows of :func:`correction_ratios`.
    points : ndarray, shape (m,)
        Probabilities, rising.

    Returns
    -------
    ndarray, shape (len(ratios), m)

    Examples
    --------
    >>> row = pd.DataFrame({"probability": [0.6], "ratio": [1.5], "ratio_low": [1.5], "ratio_high": [1.5]})
    >>> gain_factors(row, np.array([0.1, 0.5, 0.9]))
    array([[1. , 1.5, 1.5]])
    """
    get = {name: ratios[name].to_numpy(dtype=float) for name in ("probability", "ratio")}
    low, high = (ratios[name].to_numpy(dtype=float) for name in ("ratio_low", "ratio_high"))
    sd = np.log(np.maximum(high, get["ratio"]) / np.clip(low, 1.0, get["ratio"])) / 2
    chance = get["probability"][:, None]
    at = (points[None, :] - (1 - chance)) / np.maximum(chance, 1e-9)
    factor = get["ratio"][:, None] * np.exp(sd[:, None] * ndtri(np.clip(at, 1e-6, 1 - 1e-6)))
    return np.where(at > 0, np.maximum(factor, 1.0), 1.0)


def correct_causes(
    book: Logbook,
    fit: WearFit,
    vehicle_ids: Sequence[str] | None = None,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    *,
    ratios: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """Distance and months gained by putting right what the tread's pattern shows, per tire and for the set.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of this logbook.
    vehicle_ids : sequence of str, optional
        All vehicles if not given.
    removal_depth_mm : float or Series
        For all, or by position. [mm]
    ratios : DataFrame, optional
        From :func:`correction_ratios`, if at hand.

    Returns
    -------
    DataFrame
        As :func:`tirelife.outlook.what_if`, a row a tire that gains and one for its set, for each correction
        that is offered, with ``cause`` and ``probability`` (empty and NaN for a set). No row where nothing
        is offered: even wear, or no probable cause that can be put right.

    Notes
    -----
    The distance left is multiplied by the ratio of :func:`tirelife.tread.remaining_ratios` with the
    probability of the cause, and by 1 with the rest: a gain may so be 0 at its lower quantiles, or at its
    median. Within the ratio, the range is that of the depth that the pattern has taken. Tires of a vehicle
    gain together. Months are at the vehicle's median pace. That the tire keeps to this place, but for
    rotations taken to go on as before, is our assumption.
    """
    if ratios is None:
        ratios = correction_ratios(book, vehicle_ids, removal_depth_mm)
    parts = []
    for change, rows in ratios.groupby("change", sort=False):
        now = road_states(book, fit, {"now": removal_depth_mm}, list(rows["vehicle_id"].unique()))["now"]
        place = pd.MultiIndex.from_frame(now[["vehicle_id", "position"]])
        at = pd.MultiIndex.from_frame(rows[["vehicle_id", "position"]])
        factor = np.ones((len(now), len(_POINTS)))
        index = at.get_indexer(place)
        factor[index >= 0] = gain_factors(rows, _POINTS)[index[index >= 0]]
        table = compare_distances(now, now, Wear.of_points(1 / factor), Otherwise(str(change)))
        known = rows.set_index(at)[["cause", "probability"]]
        spot = pd.MultiIndex.from_frame(table[["vehicle_id", "position"]])
        table["cause"] = known["cause"].reindex(spot).fillna("").to_numpy()
        table["probability"] = known["probability"].reindex(spot).to_numpy(dtype=float)
        parts.append(table[(table["cause"] != "") | (table["position"] == "set")])
    if parts:
        return pd.concat(parts, ignore_index=True)
    gains = [f"{w}_gained_p{round(100 * p)}" for w in ("km", "months") for p in PROBABILITIES]
    return pd.DataFrame(
        columns=[
            *("vehicle_id", "tire_id", "position"),
            *VERDICT_COLUMNS,
            "change",
            *gains,
            *("wear_ratio", "cause", "probability"),
        ]
    )
