"""The set now on a vehicle, from its logbook: usable depth, and wear in every position with its range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.codes import Note
from tirelife.errors import misused
from tirelife.inflation import stated_placard
from tirelife.logbook import known_vehicles
from tirelife.positions import AXLES, MOUNTED, ROAD, SPARE
from tirelife.rates import (
    LEAST_MM,
    SIDES,
    Standing,
    Way,
    fit_logbook,
    groove_wear,
    mean_depth_limit,
    mounted_now,
    own_bend,
    tires_now,
    today,
)
from tirelife.rotation.plan import PATTERNS, Plan, all_plans, legality, stay
from tirelife.rotation.simulation import bounds, set_lives, simulate
from tirelife.rotation.worth import USUAL_INTERVALS_KM, Advice, Aim, advise
from tirelife.rotation.wrong import Wrong
from tirelife.tread import (
    REMOVAL_DEPTH_MM,
    VERDICT_COLUMNS,
    Verdict,
    judge,
    measured,
    verdict_columns,
)

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["SetNow", "advise_set", "compare_plans", "directional_vehicles", "vehicle_set"]

Floats = NDArray[np.float64]

BOUND_DRAWS: Final = 60
"""Draws for which the bound, a linear program each, is worked out."""


@dataclass(frozen=True, eq=False)
class Ahead:
    """Tires of a set on the forecast's way to a removal depth.

    Attributes
    ----------
    now : DataFrame
        As :class:`tirelife.rates.way.Way` reads them, but for the limit.
    new_mm, ratio, ratio_sd : ndarray, shape (tires,)
        Depth when new; wear of the groove down first over the mean, and its spread.
    pace : ndarray, shape (draws, tires)
        Wear of that groove today, on an axle of mean wear at a severity of 1. [mm/km]
    down : ndarray of bool, shape (tires,)
        Read at the limit.
    """

    now: pd.DataFrame
    new_mm: Floats
    ratio: Floats
    ratio_sd: Floats
    pace: Floats
    down: NDArray[np.bool_]

    def left(self, limit_mm: float) -> Floats:
        """See :meth:`SetNow.left`."""
        limit, sd = mean_depth_limit(self.new_mm, np.full(len(self.now), limit_mm), self.ratio, self.ratio_sd)
        km, _ = Way(self.now.assign(limit_mm=limit, limit_sd_mm=sd)).level_distance()
        return np.where(self.down, 0.0, km.T.astype(float) * self.pace)


@dataclass(frozen=True, eq=False)
class SetNow:
    """The tires now on a vehicle.

    Attributes
    ----------
    vehicle_id : str
    tires : DataFrame
        One row a tire, indexed by position: tire_id, tire_line, size, depth_mm (in its shallowest groove),
        usable_mm (the same, and no more than its removal depth for a tire that was read there),
        depth_sd_mm, wear_mm_per_1000km (of that groove) and wear_log_sd (where it is), placard_kpa, note; and
        what was measured, as :data:`tirelife.tread.VERDICT_COLUMNS`.
    rates : DataFrame
        Wear of the shallowest groove of the tire now at each position (rows) in every position (columns).
        [mm/km]
    drawn_depths : ndarray, shape (draws, tires)
        Depth in the shallowest groove, as uncertain as it is: the forecast's own draws; none of more than
        the removal depth for a tire that was read there. [mm]
    drawn_rates : ndarray, shape (draws, tires, tires)
        Wear of each tire today in every position, draw by draw. [mm/km]
    ahead : Ahead
        The forecast's way ahead: see :meth:`left`.
    """

    vehicle_id: str
    tires: pd.DataFrame
    rates: pd.DataFrame
    drawn_depths: Floats
    drawn_rates: Floats
    ahead: Ahead

    def left(self, limit_mm: float) -> Floats:
        """What each tire may wear to a removal depth, at its wear of today, draw by draw.

        Parameters
        ----------
        limit_mm : float
            [mm]

        Returns
        -------
        ndarray, shape (draws, tires)
            Over :attr:`drawn_rates` where a tire is, it is the forecast's distance left there: rates that
            walk and treads that bend are in it. 0 for a tire that was read at its limit. [mm]
        """
        return self.ahead.left(limit_mm)

    @property
    def depths(self) -> pd.Series:
        """Depth in the shallowest groove that a plan may count on, by position [mm]."""
        return self.tires["usable_mm"].copy()

    @property
    def sizes(self) -> dict[str, str]:
        """Size of the tire at each position."""
        return {str(p): str(s) for p, s in self.tires["size"].items()}

    @property
    def verdicts(self) -> dict[str, str]:
        """Verdict on the tire at each position."""
        return {str(p): str(v) for p, v in self.tires["verdict"].items()}

    @property
    def tire_ids(self) -> dict[str, str]:
        """The tire at each position."""
        return {str(p): str(t) for p, t in self.tires["tire_id"].items()}

    @property
    def placard_kpa(self) -> dict[str, float]:
        """Placard cold pressure at each position, NaN for the spare and where the log states none [kPa]."""
        return {str(p): float(v) for p, v in self.tires["placard_kpa"].items()}


def vehicle_set(
    book: Logbook,
    vehicle_id: str,
    fit: WearFit | None = None,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
) -> SetNow:
    """Read the set now on a vehicle from its logbook.

    Parameters
    ----------
    book : Logbook
    vehicle_id : str
    fit : WearFit, optional
        Of this logbook; fitted here if it is not given.
    removal_depth_mm : float or Series
        For all, or by position; what the tires are judged by. [mm]

    Returns
    -------
    SetNow

    Raises
    ------
    InputError
        If there is no such vehicle, or a wheel has no tire.

    Notes
    -----
    Depth today is the forecast's: from the last reading wheel by wheel over the mounts since. A tire's rate
    in a place is that of its shallowest groove at this depth, moved to that axle by the fitted ratio of the
    axles, times the forecast's severity: that of its wheel on the axle where it is, that of the axle on the
    other. A spare that takes its turn wears nothing where it lies. A tire that was read at its limit has no
    distance left in any plan, whatever the fit says.
    """
    if fit is None:
        fit = fit_logbook(book)
    known_vehicles(book, [vehicle_id])
    path = book.stretches
    on = path[path["open"] & (path["vehicle_id"] == vehicle_id)].drop_duplicates("position", keep="last")
    on = on.set_index("position")
    empty = [p for p in ROAD if p not in on.index]
    if empty:
        raise misused(Wrong.NO_TIRE, vehicle=vehicle_id, places=", ".join(empty))
    spots = [p for p in MOUNTED if p in on.index]
    on = on.loc[spots]
    fitted = fit.tires.set_index("tire_id").reindex(on["tire_id"])
    unfitted = fitted["log_wear"].isna().to_numpy()
    if unfitted.any():
        raise misused(Wrong.NO_RATE, vehicle=vehicle_id, tires=", ".join(on["tire_id"][unfitted]))
    mounted = mounted_now(book).set_index("tire_id", drop=False)
    now = tires_now(book, fit, mounted.loc[on["tire_id"]])
    stands = today(now)
    # A tire's grooves are shrunk to those of the whole fleet, as they do in a forecast.
    fleet = fit.tires.set_index("tire_id")["new_depth_mm"].reindex(mounted.index).astype(float)
    groove = groove_wear(fit.frames["visits"], fleet).set_index("tire_id").loc[on["tire_id"]]
    new, ratio = fitted["new_depth_mm"].to_numpy(float), groove["ratio"].to_numpy(float)
    side = np.nan_to_num(now["position"].map(SIDES).to_numpy(float))
    axle = now["at_axle"].to_numpy(float)
    level = stands["log_wear"].to_numpy(float) - np.log(now["here"].to_numpy(float)) - side * axle
    severity = _severity(now)
    rates = pd.DataFrame(0.0, index=spots, columns=spots)
    for place in ROAD:
        rates[place] = ratio * np.exp(level + SIDES[place] * axle) * severity[SIDES[place]]
    wear = np.array([rates.loc[p, p] for p in spots])
    depth = np.maximum(new - ratio * (new - stands["mean_depth_mm"].to_numpy(float)), 0.0)
    judged = judge(measured(book, [vehicle_id]), removal_depth_mm).set_index("tire_id").loc[on["tire_id"]]
    down = (judged["verdict"] == Verdict.AT_OR_UNDER).to_numpy(dtype=bool)
    most = np.where(down, judged["limit_mm"].to_numpy(float), np.inf)
    read = verdict_columns(judged.reset_index())
    placard = stated_placard(book.vehicles, pd.Series([vehicle_id] * len(spots)), pd.Series(spots))
    placard = np.where(np.array(spots) == SPARE, np.nan, placard)
    own = book.tires.set_index("tire_id").reindex(on["tire_id"])
    tires = pd.DataFrame(
        {
            "tire_id": on["tire_id"].to_numpy(object),
            "tire_line": own["tire_line"].to_numpy(object),
            "size": own["size"].fillna("").to_numpy(object),
            "depth_mm": depth,
            "usable_mm": np.minimum(depth, most),
            "depth_sd_mm": ratio * stands["mean_depth_sd_mm"].to_numpy(float),
            "wear_mm_per_1000km": 1000 * wear,
            "wear_log_sd": stands["log_wear_sd"].to_numpy(float),
            "placard_kpa": placard,
            "note": fitted["reason"].fillna("").to_numpy(object),
            **{name: read[name].to_numpy() for name in VERDICT_COLUMNS},
        },
        index=pd.Index(spots, name="position"),
    )
    drawn, pace, drawn_rates = _drawn(now, new, ratio, severity, spots)
    bend = pd.Series(own_bend(fit.frames["visits"], mounted["tire_id"])[1], mounted.index)
    way = now.assign(bend_log_sd=bend.loc[on["tire_id"]].to_numpy())
    ahead = Ahead(way, new, ratio, groove["ratio_sd"].to_numpy(float), pace, down)
    return SetNow(vehicle_id, tires, rates, np.minimum(drawn, most), drawn_rates, ahead)


def compare_plans(
    now: SetNow,
    limit_mm: float,
    interval_km: float,
    *,
    plans: Sequence[Plan] | None = None,
    directional: bool = False,
    temporary_spare: bool = False,
    first_km: float | None = 0.0,
) -> pd.DataFrame:
    """Set the usual plans side by side for a vehicle's set, with ranges.

    Parameters
    ----------
    now : SetNow
    limit_mm : float
        Removal depth. [mm]
    interval_km : float
        Distance between rotations. [km]
    plans : sequence of Plan, optional
        The patterns with a trade name that fit the number of wheels, and no rotation, by default.
    directional, temporary_spare
        As for :func:`tirelife.rotation.legality`; sizes are those of the logbook.
    first_km : float, optional
        Distance to the first rotation; now by default. [km]

    Returns
    -------
    DataFrame
        plan, interval_km, allowed, refusals (notes, codes of :class:`tirelife.rotation.Refusal`), life_km,
        life_km_p10, life_km_p50, life_km_p90, of_bound, bound_km, axle_difference_mm, use, chance_shorter
        (that it goes less far than the plan of the longest median, draw by draw); NaN where a plan is not
        allowed.
        ``life_km`` is the mean over the draws, ``of_bound`` the median of each draw's distance over
        that draw's bound, which no order of moves passes; ``bound_km`` the median of such bounds beside
        ``life_km_p50``, and never under it.
    """
    wheels = 5 if SPARE in now.tires.index and not temporary_spare else 4
    if plans is None:
        plans = [stay(wheels), *(p for p in PATTERNS.values() if len(p.positions) <= wheels)]
    left, rates = now.left(limit_mm), now.drawn_rates
    most: dict[int, Floats] = {}
    drawn: dict[int, Floats] = {}
    rows: list[tuple[Any, ...]] = []
    for known in plans:
        plan = known.every(interval_km)
        verdict = legality(
            plan, directional=directional, sizes=now.sizes, temporary_spare=temporary_spare,
            verdicts=now.verdicts, logged=list(now.tires.index),
        )  # fmt: skip
        if not verdict.allowed:
            rows.append((plan.name, interval_km, False, verdict.notes, *[np.nan] * 7, plan.use))
            continue
        keep = [list(now.tires.index).index(p) for p in plan.positions]
        out = simulate(now.depths, now.rates, plan, limit_mm, first_km)
        above = left[:, keep]
        lives = set_lives(above, rates[:, keep][:, :, keep], plan, [interval_km], first_km)[:, 0]
        low, mid, high = np.quantile(lives, [0.1, 0.5, 0.9])
        if len(keep) not in most:
            some = range(0, len(above), max(len(above) // BOUND_DRAWS, 1))
            found = [bounds(above[d], rates[d][np.ix_(keep, keep)])[0] for d in some]
            most[len(keep)] = np.array(found)
        drawn[len(rows)] = lives
        with np.errstate(invalid="ignore", divide="ignore"):  # no distance left: no share of it
            some_lives = lives[:: max(len(lives) // BOUND_DRAWS, 1)]
            share = some_lives / most[len(keep)]
        # Bounds are known for some draws only: their median is to that of all as those of distances are.
        bound = float(np.median(most[len(keep)]))
        bound *= mid / np.median(some_lives) if mid > 0 and np.median(some_lives) > 0 else 1.0
        rows.append(
            (
                plan.name,
                interval_km,
                True,
                (),
                float(lives.mean()),
                low,
                mid,
                high,
                float(np.median(share)) if np.isfinite(share).all() else np.nan,
                bound,
                out.axle_difference_mm,
                plan.use,
            )
        )
    table = pd.DataFrame(
        rows,
        columns=["plan", "interval_km", "allowed", "refusals", "life_km", "life_km_p10", "life_km_p50",
                 "life_km_p90", "of_bound", "bound_km", "axle_difference_mm", "use"],
    )  # fmt: skip
    shorter = np.full(len(table), np.nan)
    if drawn:
        longest = max(drawn, key=lambda i: float(np.median(drawn[i])))
        for i, lives in drawn.items():
            shorter[i] = (lives < drawn[longest] - 1e-6).mean()
    table["chance_shorter"] = shorter
    return table


def advise_set(
    now: SetNow,
    limit_mm: float,
    drive: str = "",
    *,
    aim: Aim | str = Aim.LIFE,
    intervals_km: Sequence[float] = USUAL_INTERVALS_KM,
    directional: bool = False,
    temporary_spare: bool = False,
    rotation_price: float = 0.0,
    set_price: float = float("nan"),
    drive_apart_mm: float | None = None,
    first_km: float = 0.0,
) -> Advice:
    """Advise which rotation a vehicle's set is given, if it is given one: see
    :func:`tirelife.rotation.worth.advise`.

    Every order of moves that :func:`tirelife.rotation.legality` allows these tires is weighed, over the
    forecast's own draws; a spare of the set's size takes its turn. Whether the set is rotated at all is for
    the vehicle's decision (:mod:`tirelife.advice`) to say; leaving it is weighed here only for another aim
    than distance.
    """
    wheels = 5 if SPARE in now.tires.index and not temporary_spare else 4
    plans: list[Plan] = []
    refused: list[Note] = []
    for plan in all_plans(wheels):
        found = legality(
            plan, directional=directional, sizes=now.sizes, temporary_spare=temporary_spare,
            verdicts=now.verdicts,
        )  # fmt: skip
        refused += found.notes
        if found.allowed and (plan.order > 1 or Aim(aim) is not Aim.LIFE):
            plans.append(plan)
    keep = [list(now.tires.index).index(p) for p in MOUNTED[:wheels]]
    return advise(
        now.drawn_depths[:, keep], now.drawn_rates[:, keep][:, :, keep], limit_mm, plans, drive, aim=aim,
        intervals_km=intervals_km, rotation_price=rotation_price, set_price=set_price,
        drive_apart_mm=drive_apart_mm, first_km=first_km, usable_mm=now.left(limit_mm)[:, keep],
        refused=tuple(dict.fromkeys(refused)),
    )  # fmt: skip


def directional_vehicles(book: Logbook) -> set[str]:
    """Vehicles that have a tire on the road which is told to turn one way."""
    if "directional" not in book.tires:
        return set()
    told = set(book.tires.loc[book.tires["directional"] == "yes", "tire_id"])
    path = book.stretches
    on = path[path["open"] & path["position"].isin(ROAD) & path["tire_id"].isin(told)]
    return set(on["vehicle_id"].astype(str))


def _severity(now: pd.DataFrame) -> dict[float, Floats]:
    """Severity of each tire on the front and on the rear axle, by what :data:`SIDES` calls them."""
    here, there = now["here"].to_numpy(float), now["there"].to_numpy(float)
    axle = now["axle"].to_numpy(object)
    out = {}
    for name, (place, _) in AXLES.items():
        other = there[~np.isin(axle, (name, "spare"))].mean()  # of a spare neither is its own
        out[SIDES[place]] = np.where(axle == name, here, other)
    return out


def _drawn(
    now: pd.DataFrame, new: Floats, ratio: Floats, severity: dict[float, Floats], spots: list[str]
) -> tuple[Floats, Floats, Floats]:
    """Draws of depth in the shallowest groove, of its wear on an axle of mean wear and in every position."""
    standing = Standing(now)
    at, _, walked = standing.drawn()
    mean = standing.depth()
    depth = np.maximum(new[:, None] - ratio[:, None] * (new[:, None] - mean), 0.0)
    bent = (np.maximum(mean, LEAST_MM) / np.maximum(at.depth, LEAST_MM)) ** at.q
    level = np.asarray(ratio[:, None] * at.rate * bent * np.exp(walked), dtype=float)
    rates = np.zeros((level.shape[1], len(spots), len(spots)))
    for j, place in enumerate(spots):
        if place in SIDES:
            side = SIDES[place]
            rates[:, :, j] = (level * at.half ** (2 * side) * severity[side][:, None]).T
    return depth.T.copy(), level.T.copy(), rates
