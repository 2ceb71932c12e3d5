"""Replace what and when: one tire, a pair or the set, now or when the first is down, with what line.

What a way costs is all that is paid over a distance ahead, less what the rubber then on the car is worth,
plus what the rubber now on it is worth: per 1,000 km, over joint draws of depths and rates, so every way is
carried to the same odometer. Rubber is worth its price by the share of its usable depth that is left (a
straight line: our assumption), so a tire that comes off with tread left throws that away. Later replacements
follow the usual rule: a tire that is down goes, with the mate of its axle or all of an all-wheel drive where
a new one beside them would differ by too much.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.codes import Note, Severity
from tirelife.errors import misused
from tirelife.positions import ROAD
from tirelife.rotation.jointly import (
    Scope,
    together,
)
from tirelife.rotation.worth import RULES, Why
from tirelife.rotation.wrong import Wrong
from tirelife.units import SHOWN, convert

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rotation.book import SetNow

__all__ = ["COLUMNS", "Line", "Scope", "Stop", "bill", "line_typed", "vehicle_ways", "ways_to_replace"]

Floats = NDArray[np.float64]
AXLE: Final = (0, 0, 1, 1)
COLUMNS: Final = (
    "scope", "when", "line", "positions", "allowed", "note", "cost_per_1000km", "cost_per_1000km_p10",
    "cost_per_1000km_p90", "paid_now", "thrown_away", "tires", "chance_cheapest",
    "chance_dearer",
)  # fmt: skip


class Stop(StrEnum):
    """Why a way is not open."""

    MATCH_AXLE = "match-axle"
    """position, apart_mm: the other tire of the axle would differ too much from a new one."""
    MATCH_DRIVE = "match-drive"
    """position, apart_mm: all wheels are driven, and what stays would differ too much from new tires."""
    DUE_STAYS = "due-stays"
    """position: a tire at its limit would stay on."""


@dataclass(frozen=True)
class Line:
    """A tire that can be bought.

    Attributes
    ----------
    name : str
    price : float
        Of one tire.
    new_depth_mm : float
        That of the tires now on the vehicle, where it is not known.
    pace : float
        Its wear over that of the tires now on the vehicle.
    """

    name: str
    price: float
    new_depth_mm: float = math.nan
    pace: float = 1.0


def line_typed(text: str, units: str) -> Line:
    """A line of ``NAME=PRICE``, ``NAME=PRICE/NEW_DEPTH`` or ``NAME=PRICE/NEW_DEPTH/PACE``.

    Parameters
    ----------
    text : str
    units : {"us", "metric"}
        The depth is in.

    Raises
    ------
    InputError
        If it is none of these.

    Examples
    --------
    >>> line_typed("basic=95/10/0.8", "metric")
    Line(name='basic', price=95.0, new_depth_mm=10.0, pace=0.8)
    """
    name, _, rest = text.partition("=")
    try:
        price, *more = [float(part) for part in rest.split("/")]
        depth = float(convert(more[0], SHOWN[units]["depth"], "mm")) if more else math.nan
        return Line(name.strip(), price, depth, *more[1:2])
    except ValueError:
        raise misused(Wrong.LINE_TYPED, text=text) from None


def bill(
    depth_mm: ArrayLike, new_mm: ArrayLike, limit_mm: ArrayLike, price: ArrayLike, fitting: float = 0.0
) -> tuple[float, float]:
    """What replacing some tires like for like costs now, and what is thrown away of it.

    Parameters
    ----------
    depth_mm, new_mm, limit_mm : ndarray, shape (n,)
        Of each tire that comes off: depth left, depth when new, removal depth. [mm]
    price : ndarray, shape (n,)
        Of each new tire.
    fitting : float
        Mounting, balancing and disposal, a tire.

    Returns
    -------
    paid, thrown_away : float
        In the currency of the prices; NaN where a price, or a depth, is not known. Tread is worth its price
        by the share of its usable depth that is left (a straight line: our assumption).

    Examples
    --------
    One at its limit of 2 mm and its mate with a quarter of its 6 mm left, 100 each and 20 to fit:

    >>> bill(np.array([2.0, 3.5]), np.array([8.0, 8.0]), np.array([2.0, 2.0]), np.array([100.0, 100.0]), 20.0)
    (240.0, 25.0)
    """
    depth, new, limit, each = (
        np.asarray(value, dtype=float) for value in (depth_mm, new_mm, limit_mm, price)
    )
    left = np.clip((depth - limit) / (new - limit), 0.0, 1.0)
    return float((each + fitting).sum()), float((each * left).sum())


def vehicle_ways(
    book: Logbook,
    now: SetNow,
    limit_mm: float,
    lines: Sequence[Line] = (),
    *,
    over_km: float = 80_000.0,
    fitting: float = 0.0,
    rotation: float = 0.0,
    rotate_km: float = math.inf,
) -> pd.DataFrame:
    """Set the ways to replace the tires now on a vehicle side by side: :func:`ways_to_replace`.

    Parameters
    ----------
    book : Logbook
    now : SetNow
        From :func:`tirelife.rotation.vehicle_set`.
    limit_mm : float
        Removal depth. [mm]
    lines : sequence of Line
        What can be bought; by default the tires now on it, at the logbook's own price.
    over_km, fitting, rotation, rotate_km : float
        As there.

    Raises
    ------
    InputError
        If nothing is to be bought and the logbook has no price, or a line cannot be.
    """
    places = list(ROAD)
    tires = book.tires.set_index("tire_id").reindex(now.tires["tire_id"].loc[places])
    new = float(tires["new_depth_mm"].mean())
    price = float(tires["price"].astype(float).mean()) if "price" in tires else math.nan
    if not lines and not price > 0:
        raise misused(Wrong.NO_OWN_PRICE)
    offered = [
        replace(line, new_depth_mm=new) if math.isnan(line.new_depth_mm) else line
        for line in lines or [Line(str(tires["tire_line"].iloc[0]), price)]
    ]
    keep = [list(now.tires.index).index(place) for place in places]
    return ways_to_replace(
        now.drawn_depths[:, keep],
        np.stack([now.drawn_rates[:, i, i] for i in keep], axis=1),
        limit_mm,
        offered,
        over_km=over_km,
        fitting=fitting,
        rotation=rotation,
        rotate_km=rotate_km,
        drive=str(book.vehicles.set_index("vehicle_id").loc[now.vehicle_id, "drive"]),
        now_price=price if price == price else None,
        now_new_mm=new if new == new else None,
        usable_mm=now.left(limit_mm)[:, keep],
    )


def ways_to_replace(
    depth_mm: Floats,
    rates: Floats,
    limit_mm: float,
    lines: Sequence[Line],
    *,
    over_km: float = 80_000.0,
    fitting: float = 0.0,
    rotation: float = 0.0,
    rotate_km: float = float("inf"),
    drive: str = "",
    now_price: float | None = None,
    now_new_mm: float | None = None,
    match_axle_mm: float = RULES[Why.AXLE_APART].limit_mm,
    match_drive_mm: float = RULES[Why.DRIVE_APART].limit_mm,
    usable_mm: Floats | None = None,
) -> pd.DataFrame:
    """Set the ways to replace a vehicle's tires side by side.

    Parameters
    ----------
    depth_mm : ndarray, shape (draws, 4)
        At LF, RF, LR, RR. [mm]
    rates : ndarray, shape (draws, 4)
        Wear of what is at each place, in the same draws. [mm/km]
    limit_mm : float
        Removal depth. [mm]
    lines : sequence of Line
        What can be bought; the first is what later replacements of every way are made with only where that
        way bought it first.
    over_km : float
        Distance ahead that every way is carried to. [km]
    fitting, rotation : float
        Money for each tire fitted, and for each rotation.
    rotate_km : float
        Distance between rotations, which even out the wear of the places: each tire then wears at the mean
        of the places. Infinite for none. [km]
    drive : str
        ``all`` where all wheels are driven.
    now_price, now_new_mm : float, optional
        Price and new depth of the tires now on the vehicle; those of the first line by default.
    match_axle_mm, match_drive_mm : float
        How much tires of an axle, and of an all-wheel drive, may differ. [mm]
    usable_mm : ndarray, shape (draws, 4), optional
        What each tire may wear to the removal depth at these rates (:meth:`tirelife.rotation.SetNow.left`);
        depth above it by default. [mm]

    Returns
    -------
    DataFrame
        :data:`COLUMNS`, cheapest first, ways that are not open last. ``when`` is now or later (when the
        first tire is down); ``note`` is a code of :class:`Stop` or None; ``paid_now`` and ``thrown_away``
        (worth of the tread that comes off unused) are means for the first replacement; ``tires`` the mean
        number bought; ``chance_cheapest`` the chance that a way is the cheapest of those open;
        ``chance_dearer`` the chance that it is dearer than the one that is cheapest on average. Money in the
        currency of the prices.

    Raises
    ------
    InputError
        If there is no line, a price is not above 0, or a new tire has no usable depth.
    """
    if not lines:
        raise misused(Wrong.NO_LINE)
    for line in lines:
        if not (line.price > 0 and line.new_depth_mm > limit_mm and line.pace > 0):
            raise misused(Wrong.LINE, name=line.name)
    depth, pace = np.asarray(depth_mm, float), np.asarray(rates, float)
    room = np.maximum(depth - limit_mm, 0.0) if usable_mm is None else np.asarray(usable_mm, float)
    turns = rotate_km < np.inf
    if turns:
        pace = np.broadcast_to(pace.mean(axis=1, keepdims=True), pace.shape)
    old = Line("", now_price or lines[0].price, now_new_mm or lines[0].new_depth_mm)
    first = int(np.bincount(np.argmin(room / pace, axis=1), minlength=4).argmax())
    rows: list[tuple[object, ...]] = []
    costs = []
    for line in lines:
        for scope in Scope:
            places = _places(scope, first)
            for when in ("now", "later"):
                stop = _stop(
                    depth, room, pace, limit_mm, places, when, line, drive, match_axle_mm, match_drive_mm
                )
                if stop is not None:
                    rows.append((scope.value, when, line.name, _named(places), False, stop, *[np.nan] * 8))
                    continue
                run = [
                    _carry(
                        room[d], pace[d], limit_mm, places, when, line, old, over_km, fitting,
                        drive, match_axle_mm, match_drive_mm,
                    )
                    for d in range(len(room))
                ]  # fmt: skip
                out = np.array(run)
                out[:, 0] += rotation * np.floor(over_km / rotate_km) if turns else 0.0
                cost = 1000 * out[:, 0] / over_km
                low, high = np.quantile(cost, [0.1, 0.9])
                mean = out.mean(axis=0)
                rows.append(
                    (
                        scope.value,
                        when,
                        line.name,
                        _named(places),
                        True,
                        None,
                        cost.mean(),
                        low,
                        high,
                        *mean[1:],
                        np.nan,
                        np.nan,
                    )
                )
                costs.append((len(rows) - 1, cost))
    table = pd.DataFrame(rows, columns=list(COLUMNS))
    if costs:
        least = np.argmin(np.array([cost for _, cost in costs]), axis=0)
        for k, (row, _) in enumerate(costs):
            table.loc[row, "chance_cheapest"] = float((least == k).mean())
        best = min(costs, key=lambda one: float(one[1].mean()))[1]
        for row, cost in costs:
            table.loc[row, "chance_dearer"] = float((cost > best + 1e-9).mean())
    return table.sort_values("cost_per_1000km", kind="stable", na_position="last", ignore_index=True)


def _places(scope: Scope, first: int) -> tuple[int, ...]:
    if scope is Scope.ONE:
        return (first,)
    return tuple(p for p in range(4) if scope is Scope.SET or AXLE[p] == AXLE[first])


def _named(places: Sequence[int]) -> str:
    return " ".join(ROAD[p] for p in places)


def _stop(
    depth: Floats, room: Floats, pace: Floats, limit: float, places: Sequence[int], when: str, line: Line,
    drive: str, match_axle: float, match_drive: float,
) -> Note | None:  # fmt: skip
    """Why a way is not open, at the median draw on the day it is done."""
    left = np.median(depth, axis=0)
    wear = np.median(pace, axis=0)
    if when == "later":
        left = left - wear * float(np.min(np.median(room, axis=0) / wear))
    for p in range(4):
        if p not in places and when == "now" and left[p] <= limit + 1e-9:
            return Note(Stop.DUE_STAYS, Severity.URGENT, (("position", ROAD[p]),))
    apart = {ROAD[p]: line.new_depth_mm - float(left[p]) for p in range(4)}
    mates, worst = together([ROAD[p] for p in places], apart, drive, match_axle, match_drive)
    if mates:
        return Note(Stop.MATCH_AXLE, values=(("position", mates[0]), ("apart_mm", apart[mates[0]])))
    if worst is not None:
        return Note(Stop.MATCH_DRIVE, values=(("position", worst), ("apart_mm", apart[worst])))
    return None


def _carry(
    room: Floats, pace: Floats, limit: float, places: Sequence[int], when: str, line: Line, old: Line,
    over_km: float, fitting: float, drive: str, match_axle: float, match_drive: float,
) -> tuple[float, float, float, float]:  # fmt: skip
    """One draw: net cost of the distance, then paid and thrown away at the first replacement, and tires
    bought.
    """
    left, wear = room.copy(), pace.copy()
    worth = np.full(4, old.price / (old.new_depth_mm - limit))  # of each mm of tread
    new, each = line.new_depth_mm - limit, line.price / (line.new_depth_mm - limit)
    cost, at, bought = float(worth @ left), 0.0, 0
    paid = thrown = np.nan
    go = list(places) if when == "now" else []
    while True:
        if not go:
            step = float(np.min(left / wear))
            if at + step >= over_km * (1 - 1e-9):
                left = left - wear * (over_km - at)
                break
            left, at = np.maximum(left - wear * step, 0.0), at + step
            down = [p for p in range(4) if left[p] <= 1e-9]
            go = sorted({*down, *(places if np.isnan(paid) else ())})
            go = _join(go, left, new, drive, match_axle, match_drive)
        price = len(go) * (line.price + fitting)
        if np.isnan(paid):
            paid, thrown = price, float(worth[go] @ left[go])
        cost, bought = cost + price, bought + len(go)
        left[go], worth[go], wear[go] = new, each, pace[go] * line.pace
        go = []
    return cost - float(worth @ left), float(np.nan_to_num(paid)), float(np.nan_to_num(thrown)), float(bought)


def _join(
    go: list[int], left: Floats, new: float, drive: str, match_axle: float, match_drive: float
) -> list[int]:
    """Add what a new tire may not stand beside."""
    apart = {ROAD[q]: new - float(left[q]) for q in range(4)}
    mates, worst = together([ROAD[q] for q in go], apart, drive, match_axle, match_drive)
    return list(range(4)) if worst is not None else sorted({*go, *(ROAD.index(p) for p in mates)})
