"""What a change would do to wear, and what has caused the wear so far."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final, TypeVar

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.driving import DrivingProfile, gentler, profile_from_row, slower
from tirelife.errors import misused
from tirelife.logbook import Logbook
from tirelife.positions import MOUNTED, ROAD
from tirelife.wear.ahead import PRESSURES, TOES, book_about, conditions_table
from tirelife.wear.cause import CAUSES
from tirelife.wear.energy import causes_at_wheel
from tirelife.wear.factors import ASSUMED, Factors
from tirelife.wear.reference import stretch_severity
from tirelife.wear.severities import severity
from tirelife.wear.vehicle import Vehicle, vehicle_of
from tirelife.wear.wrong import Wrong

__all__ = [
    "Change",
    "Conditions",
    "causes",
    "change_ratio",
    "change_ratios",
    "conditions_ahead",
    "ratio_of",
    "walk_in",
]

Profiles = TypeVar("Profiles", DrivingProfile, pd.DataFrame)
_FRONT: Final = np.array([True, True, False, False])
_DRAWS: Final = 4000
_SEED: Final = 80


@dataclass(frozen=True)
class Change:
    """Something a driver or a shop could change; what is left out stays as it is.

    Attributes
    ----------
    name : str
        In plain words, for tables and charts.
    cap_mps : float or None
        No faster than this. [m/s]
    by_mps : float or None
        Slower by this wherever the speed is above 55 mph, but not below that. [m/s]
    starts, stops, turns : float
        Factor on the acceleration of every start, stop, turn; 0.8 is 20 % gentler.
    pressure_kept : bool
        Pressures kept at the placard.
    front_toe_mm, rear_toe_mm : float or None
        Total toe that the axle is set to. [mm]
    """

    name: str
    cap_mps: float | None = None
    by_mps: float | None = None
    starts: float = 1.0
    stops: float = 1.0
    turns: float = 1.0
    pressure_kept: bool = False
    front_toe_mm: float | None = None
    rear_toe_mm: float | None = None

    def profile(self, now: Profiles) -> Profiles:
        """Return the driving profile after the change; of a frame of them, all."""
        out = now
        if self.cap_mps is not None or self.by_mps is not None:
            out = slower(out, cap_mps=self.cap_mps, by_mps=self.by_mps)
        return gentler(out, starts=self.starts, stops=self.stops, turns=self.turns)


@dataclass(frozen=True, eq=False)
class Conditions:
    """What a vehicle's tires are taken to go on with if nothing changes.

    Attributes
    ----------
    profile : DrivingProfile
    vehicle : Vehicle
    pressure : ndarray, shape (4,)
        Wear over wear at placard pressure for LF, RF, LR, RR.
    front_toe_mm, rear_toe_mm : float
        Total toe. [mm]
    factors : Factors
        Of the causes, as assumed or as learned.
    """

    profile: DrivingProfile
    vehicle: Vehicle
    pressure: NDArray[np.float64]
    front_toe_mm: float = 0.0
    rear_toe_mm: float = 0.0
    factors: Factors = ASSUMED

    def severity(self) -> pd.DataFrame:
        """Severity by position and cause; see :func:`tirelife.wear.severity`."""
        return severity(
            self.profile,
            self.vehicle,
            pressure=self.pressure,
            front_toe_mm=self.front_toe_mm,
            rear_toe_mm=self.rear_toe_mm,
            factors=self.factors,
        )

    def after(self, change: Change) -> Conditions:
        """Return the conditions after a change."""
        return Conditions(
            change.profile(self.profile),
            self.vehicle,
            np.ones(4) if change.pressure_kept else self.pressure,
            self.front_toe_mm if change.front_toe_mm is None else change.front_toe_mm,
            self.rear_toe_mm if change.rear_toe_mm is None else change.rear_toe_mm,
            self.factors,
        )


def conditions_ahead(book: Logbook, vehicle_id: str, factors: Factors = ASSUMED) -> Conditions:
    """Conditions that a vehicle of a logbook is taken to go on with.

    Parameters
    ----------
    book : Logbook
    vehicle_id : str

    Returns
    -------
    Conditions
        The latest habits (the default profile if there are none), the pressures of its last 365 days,
        weighted by distance, for each place, and toe as last measured.

    Raises
    ------
    InputError
        If the vehicle is not in the logbook.
    """
    vehicle = vehicle_of(book, vehicle_id)
    table = conditions_table(book_about(book, [vehicle_id])).loc[[vehicle_id]]
    pressure, toe = (table[list(names)].to_numpy(float)[0] for names in (PRESSURES, TOES))
    profile = profile_from_row(factors.believed(table).iloc[0])
    return Conditions(profile, vehicle, pressure, float(toe[0]), float(toe[1]), factors)


def ratio_of(now: Conditions, changed: Conditions) -> pd.DataFrame:
    """Severity after a change over severity now, by position.

    Parameters
    ----------
    now, changed : Conditions
        Of a walk-in as well as of a vehicle with a logbook.

    Returns
    -------
    DataFrame
        ``position, severity_now, severity_changed, ratio, log_sd``. ``log_sd`` is the standard deviation of
        the logarithm of the ratio.

    Notes
    -----
    First order, with each cause's factor the same before and after, and what is recorded of each habit off by
    as much as the profile (:meth:`Factors.of_change`). A change that touches nothing has ratio 1
    and no uncertainty.
    """
    table = _ratio(now.severity(), changed.severity(), now.factors, now.profile.log_sd)
    table.insert(0, "position", list(ROAD))
    return table


def _ratio(
    before: pd.DataFrame, after: pd.DataFrame, factors: Factors, habits_log_sd: ArrayLike
) -> pd.DataFrame:
    """Ratio of severities, wheel by wheel, and the sd of its logarithm."""
    share_before = before[list(CAUSES)].div(before["severity"], axis=0)
    share_after = after[list(CAUSES)].div(after["severity"], axis=0)
    gap = (share_after - share_before).to_numpy(float)
    return pd.DataFrame(
        {
            "severity_now": before["severity"].to_numpy(),
            "severity_changed": after["severity"].to_numpy(),
            "ratio": (after["severity"] / before["severity"]).to_numpy(),
            "log_sd": factors.change_spread(gap, habits_log_sd),
        }
    )


def change_ratio(book: Logbook, vehicle_id: str, change: Change, factors: Factors = ASSUMED) -> pd.DataFrame:
    """What a change would do to the wear of a vehicle's tires from now on.

    Parameters
    ----------
    book : Logbook
    vehicle_id : str
    change : Change

    Returns
    -------
    DataFrame
        As :func:`ratio_of`.

    Raises
    ------
    InputError
        If the vehicle is not in the logbook.
    """
    now = conditions_ahead(book, vehicle_id, factors)
    return ratio_of(now, now.after(change))


def change_ratios(
    book: Logbook,
    change: Change,
    vehicle_ids: Collection[str] | None = None,
    factors: Factors = ASSUMED,
) -> pd.DataFrame:
    """What a change would do to the wear of the tires of many vehicles from now on, all at once.

    Parameters
    ----------
    book : Logbook
    change : Change
    vehicle_ids : collection of str, optional
        All vehicles if not given.
    factors : Factors
        Of the causes, as assumed or as learned.

    Returns
    -------
    DataFrame
        Four rows a vehicle, ``vehicle_id`` before the columns of :func:`change_ratio`, with its answers.
    """
    table = conditions_table(book if vehicle_ids is None else book_about(book, vehicle_ids))
    if vehicle_ids is not None:
        table = table[table.index.isin(vehicle_ids)]
    table = factors.believed(table)
    after = change.profile(table)
    if change.pressure_kept:
        after = after.assign(**dict.fromkeys(PRESSURES, 1.0))
    set_to = zip(TOES, (change.front_toe_mm, change.rear_toe_mm), strict=True)
    after = after.assign(**{name: toe for name, toe in set_to if toe is not None})
    habits = np.repeat(table["log_sd"].to_numpy(float), len(ROAD))
    out = _ratio(_wheels(table, factors), _wheels(after, factors), factors, habits)
    out.insert(0, "position", np.tile(ROAD, len(table)))
    out.insert(0, "vehicle_id", np.repeat(table.index.to_numpy(dtype=object), len(ROAD)))
    return out


def _wheels(table: pd.DataFrame, factors: Factors) -> pd.DataFrame:
    """Severity and causes at the four wheels of each row of :func:`conditions_table`."""
    wheels = len(ROAD)
    each = table.iloc[np.repeat(np.arange(len(table)), wheels)]
    front = np.tile(_FRONT, len(table))
    toe = np.where(front, *(each[name].to_numpy(float) for name in TOES))
    pressure = table[list(PRESSURES)].to_numpy(float).ravel()
    parts = pd.DataFrame(factors.weigh(causes_at_wheel(each, each, front, pressure, toe)))
    return parts.assign(severity=parts.sum(axis=1))


def causes(book: Logbook, vehicle_id: str, factors: Factors = ASSUMED) -> pd.DataFrame:
    """What has worn the tires now on a vehicle, over all the distance that each has run.

    Parameters
    ----------
    book : Logbook
    vehicle_id : str

    Returns
    -------
    DataFrame
        One row a tire and cause: ``tire_id, position, cause, reference_km, share, share_low, share_high``.
        The shares of a tire sum to 1; the range is 80 %. A tire that has run nothing has NaN.

    Raises
    ------
    InputError
        If the vehicle is not in the logbook.

    Notes
    -----
    A share is of the depth worn, by the model: it divides what was worn, whatever that was, and cannot
    find a cause that was not recorded.
    """
    vehicle_of(book, vehicle_id)
    own = book_about(book, [vehicle_id])
    mounted = own.stretches
    mounted = mounted[mounted["open"] & (mounted["vehicle_id"] == vehicle_id)]
    there = mounted.set_index("tire_id")["position"]
    parts = stretch_severity(own, factors)
    parts = parts[parts["tire_id"].isin(there.index)]
    km = (parts["to_km"] - parts["from_km"]).to_numpy(float)
    total = parts[list(CAUSES)].mul(km, axis=0).groupby(parts["tire_id"].to_numpy()).sum()
    order = [t for p in MOUNTED for t in there.index[there == p]]
    total = total.reindex(order)
    whole = total.sum(axis=1)
    share = total.div(whole.where(whole > 0), axis=0)
    low, high = _share_range(share.to_numpy(float), factors)
    count = len(CAUSES)
    return pd.DataFrame(
        {
            "tire_id": np.repeat(order, count),
            "position": np.repeat(there.reindex(order).to_numpy(), count),
            "cause": np.tile(CAUSES, len(order)),
            "reference_km": total.to_numpy(float).ravel(),
            "share": share.to_numpy(float).ravel(),
            "share_low": low.ravel(),
            "share_high": high.ravel(),
        }
    )


def _share_range(
    share: NDArray[np.float64], factors: Factors
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """80 % range of each share, for what is not known of the factors."""
    draws = np.random.default_rng(_SEED).standard_normal((_DRAWS, share.shape[1]))
    factor = np.exp(draws @ np.linalg.cholesky(factors.covariance + 1e-12 * np.eye(share.shape[1])).T)
    part = share[:, None, :] * factor[None]
    part = part / part.sum(axis=2, keepdims=True)
    low, high = np.quantile(part, [0.1, 0.9], axis=1)
    return low, high


def walk_in(
    profile: DrivingProfile,
    vehicle: Vehicle,
    *,
    pressure: ArrayLike = 1.0,
    front_toe_mm: float = 0.0,
    rear_toe_mm: float = 0.0,
    factors: Factors = ASSUMED,
) -> Conditions:
    """Conditions of a vehicle without a logbook, from plain answers.

    Parameters
    ----------
    profile : DrivingProfile
        From :func:`tirelife.driving.profile_from_answers`, or the default.
    vehicle : Vehicle
    pressure : float or array_like, shape (4,)
        Wear over wear at placard pressure; see :func:`tirelife.inflation.pressure_wear`.
    front_toe_mm, rear_toe_mm : float
        Total toe. [mm]
    factors : Factors
        Of the causes, as assumed or as a log taught them.

    Raises
    ------
    InputError
        If a pressure factor is not positive.
    """
    factor = np.array(np.broadcast_to(np.asarray(pressure, dtype=float), (4,)))
    if not (np.isfinite(factor) & (factor > 0)).all():
        raise misused(Wrong.PRESSURE_FACTORS, given=factor.tolist())
    return Conditions(profile, vehicle, factor, front_toe_mm, rear_toe_mm, factors)
