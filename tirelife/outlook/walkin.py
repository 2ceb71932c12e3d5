"""An answer from one visit, with no history: the fleet's model, with the prior in the fleet's place."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from tirelife.driving import DrivingProfile, default_profile
from tirelife.errors import misused
from tirelife.logbook import BANDS, SCHEMA, Logbook, inside_name, no_problems
from tirelife.outlook.assumed import Assumed, Basis, Held
from tirelife.outlook.forecasts import (
    project,
)
from tirelife.outlook.state import (
    REMOVAL_DEPTH_MM,
    present_state,
)
from tirelife.outlook.wrong import (
    Wrong,
)
from tirelife.positions import MOUNTED, ROAD, SPARE
from tirelife.rates import (
    DEFAULT_KM_PER_DAY,
    DEFAULT_LOG_SD,
    DRIFT_LOG_SD,
    NOISE_LOG_SD,
    PUBLISHED,
    SEASONS,
    Life,
    Posterior,
    fit_logbook,
    life_of,
)
from tirelife.tread import VERDICT_COLUMNS, judge, measured_by_hand, verdict_columns
from tirelife.units import convert
from tirelife.wear import Vehicle, severity

if TYPE_CHECKING:
    from tirelife.rates import FitVerdict, Prior

__all__ = ["WalkIn", "walk_in"]

TOLD_LOG_SD: Final = 0.15
"""Log-sd of a distance a year that a customer tells; an assumption, no source."""
READING_SD_MM: Final = 0.25
"""Sd of one tire's mean depth at one visit, gauge and visit together; an assumption, no source."""
ROTATION_KM: Final = 10_000.0
"""Interval where tires seem to have been rotated: between the 5,000 and 8,000 miles of TireWise (NHTSA)."""
_GROOVES: Final = {
    1: ("center",),
    2: ("outer", "inner"),
    3: ("outer", "center", "inner"),
    4: ("outer", "outer_mid", "inner_mid", "inner"),
    5: ("outer", "outer_mid", "center", "inner_mid", "inner"),
}
_DRIVEN: Final = {"front": Held.FRONT, "rear": Held.REAR, "all": Held.ALL}
_RestsOn = tuple[Assumed, Held, Basis, dict[str, object]]
_BEFORE: Final = {"LF": "RR", "RF": "LR", "LR": "LF", "RR": "RF"}
"""Where a tire was before a forward cross (front to rear on its side, rear to the other side's front)."""


@dataclass(frozen=True, eq=False)
class WalkIn:
    """Answer to a walk-in.

    Attributes
    ----------
    forecast : DataFrame
        As :func:`tirelife.outlook.forecast`, one row a tire.
    state : DataFrame
        What it was projected from, as :func:`tirelife.outlook.present_state`.
    verdicts : DataFrame
        What was read, judged, as :func:`tirelife.tread.judge`: one row a tire.
    assumptions : DataFrame
        assumption, value, source (codes of :mod:`tirelife.outlook.assumed`), about (what stands in their
        words), usual: everything that was not measured, with where it comes from, and whether what is usual
        was taken for want of a fact.
    verdict : FitVerdict
        Whether to trust the fit behind it.
    narrowed : float
        By how much what was told narrows the ranges of the distance left, against the depths alone: 0.3 is 30
        % narrower in the logarithm, the mean over wheels; negative where unusual driving widens them. NaN
        where only the depths are told.
    """

    forecast: pd.DataFrame
    state: pd.DataFrame
    verdicts: pd.DataFrame
    assumptions: pd.DataFrame
    verdict: FitVerdict
    narrowed: float = math.nan


HABITS_LOG_SD: Final = {"answers": 0.15, "trips": 0.16, "default": 0.0}
"""Spread of wear between drivers that knowing how one drives takes away. 16 household cars (Chicago 2007)
lie, priced from their recorded moments, 0.16 apart at the front wheel of one car; plain answers tell 0.92 of
it (r). Corners and parking, which those cars did not record, may tell more."""


def walk_in(
    depths_mm: Sequence[float | Sequence[float]],
    *,
    new_depth_mm: float | None = None,
    distance_km: float | None = None,
    km_per_year: float | None = None,
    treadwear_grade: float | None = None,
    drive: str | None = None,
    profile: DrivingProfile | None = None,
    rotated: bool | None = None,
    season: str | None = None,
    region: str | None = None,
    removal_depth_mm: float = REMOVAL_DEPTH_MM,
    prior: Prior | None = None,
    as_of: str | pd.Timestamp | None = None,
) -> WalkIn:
    """How far a set will go, from the few facts that a counter has; only the depths are needed.

    Parameters
    ----------
    depths_mm : sequence
        Depths by wheel, LF, RF, LR, RR and then the spare, as many as were read; each a depth or the
        depths of 1 to 5 grooves from the outside inwards. [mm]
    new_depth_mm : float, optional
        Depth when new; about 10.5/32 in, not surely, if not given. [mm]
    distance_km : float, optional
        Run by these tires so far. [km]
    km_per_year : float, optional
        Distance that the vehicle goes in a year. [km]
    treadwear_grade : float, optional
        As moulded on the sidewall; counts for little (a grade is no mileage).
    drive : str, optional
        front, rear or all; front if not given.
    profile : DrivingProfile, optional
        How it is driven, such as from :func:`tirelife.driving.profile_from_answers`.
    rotated : bool, optional
        Whether the tires take turns on both axles; judged from the depths if not given.
    season : str, optional
        summer, winter or all_season; never guessed.
    region : str, optional
        Such as US, EU or EU/Austria: whose published lives count.
    removal_depth_mm : float [mm]
    prior : Prior, optional
        A shop's own, from a saved fit; published figures if not given.
    as_of : date, optional
        Day of the visit; today if not given.

    Returns
    -------
    WalkIn

    Raises
    ------
    InputError
        If a value cannot be, naming it.

    Notes
    -----
    The visit becomes a logbook of one vehicle, fitted as every logbook is: with the prior and nothing else a
    set of tires lasts 45,000 miles on average (NHTSA), the best and worst tenths of drivers in one place
    two-fold apart (TST 1(2), 1973). Where the distance run is not known the depths say how much tread
    there is and nothing about how fast it goes.
    """
    grooves = _checked(depths_mm, new_depth_mm, distance_km, km_per_year, treadwear_grade, removal_depth_mm)
    places = MOUNTED[: len(grooves)]
    layout = Vehicle.of_drive(drive or "front").drive
    day = pd.Timestamp(as_of) if as_of is not None else pd.Timestamp.now().normalize()
    means = {place: float(np.mean(values)) for place, values in zip(places, grooves, strict=True)}
    how = profile or default_profile()
    new = new_depth_mm if new_depth_mm is not None else np.nan
    turns = rotated
    if turns is None:
        turns = distance_km is not None and _seems_rotated(means, new, distance_km, layout, how)
    book = _as_logbook(grooves, places, new, distance_km, treadwear_grade, layout, profile, turns, day)
    if season is not None and season not in SEASONS:
        raise misused(Wrong.SEASON, season=season, known=", ".join(SEASONS))
    book.tables["tires"]["season"] = season or ""
    book.tables["vehicles"]["region"] = region or ""

    told = (new_depth_mm, distance_km, treadwear_grade, drive, profile, rotated, season, region)
    fit = fit_logbook(book, prior=_knowing(prior or PUBLISHED, profile))
    state = present_state(book, fit, removal_depth_mm)
    state["visits"] = 1
    state["age_end"], state["age_days"] = pd.NaT, np.inf  # when they were made or mounted is not known
    if rotated is not None:
        state["chance"] = float(rotated)
    state["km_per_day"] = km_per_year / 365.25 if km_per_year else DEFAULT_KM_PER_DAY
    state["log_sd"] = TOLD_LOG_SD if km_per_year else DEFAULT_LOG_SD
    state["year_log_sd"], state["drift_log_sd"] = NOISE_LOG_SD, DRIFT_LOG_SD
    if distance_km is None:
        blurred = Posterior.of_frame(state).blurred(READING_SD_MM).to_frame()
        state[blurred.columns] = blurred.to_numpy()
        # Depths are as read, each with an error of its own: as the counter's page has them.
        state = state.drop(columns=["shared_both_mm", "shared_depth_mm2"])
        state["mean_depth_sd_mm"] = np.hypot(state["mean_depth_sd_mm"], READING_SD_MM)
        state["odometer_km"] = np.nan
    read = measured_by_hand(dict(zip(places, grooves, strict=True)), day)
    judged = judge(read, removal_depth_mm)
    state = state.drop(columns=VERDICT_COLUMNS).join(verdict_columns(judged), on="position")
    answer = project(state)
    held = Held.PUBLISHED if prior is None or prior.lives else Held.SAVED
    rests_on = _assumptions(
        new_depth_mm,
        distance_km,
        km_per_year,
        treadwear_grade,
        drive,
        profile,
        rotated,
        turns,
        float(state["chance"].max()),
    )
    lives = tuple(Life(*row) for row in (prior or PUBLISHED).lives)
    life: dict[str, object] = {"life": life_of(region or "", season or "", lives)[2]} if lives else {}
    rests_on.append((Assumed.PRIOR, held, Basis.LIVES if lives else Basis.NOWHERE, life))
    narrowed = math.nan
    if any(fact is not None for fact in told):
        bare = walk_in(depths_mm, removal_depth_mm=removal_depth_mm, prior=prior, as_of=day)
        narrowed = 1 - _width(answer) / _width(bare.forecast)
        rests_on.append((Assumed.WIDTH, *_narrower(narrowed)))
    table = pd.DataFrame(
        [(fact.value, value.value, basis.value, about) for fact, value, basis, about in rests_on],
        columns=["assumption", "value", "source", "about"],
    )
    facts = (new_depth_mm, distance_km, km_per_year, drive, profile, True if turns else rotated)
    table["usual"] = [*(fact is None for fact in facts), *[False] * (len(table) - len(facts))]
    return WalkIn(answer, state, judged, table, fit.verdict, narrowed)


def _knowing(prior: Prior, profile: DrivingProfile | None) -> Prior:
    """Spread between vehicles that is left when it is known how this one is driven.

    A saved fit's spread is what its own log left between vehicles, and stays.
    """
    if profile is None or not prior.lives:
        return prior
    block = prior.spreads["block"]
    left = math.sqrt(math.exp(2 * block.mean) - HABITS_LOG_SD[profile.source] ** 2)
    return replace(prior, spreads={**prior.spreads, "block": replace(block, mean=math.log(left))})


def _width(forecast: pd.DataFrame) -> float:
    """Mean over the wheels of the log of what bounds 8 chances in 10."""
    high, low = (forecast[f"km_left_{p}"].to_numpy(float) for p in ("p90", "p10"))
    known = np.isfinite(high) & (low > 0)
    return float(np.log(high[known] / low[known]).mean()) if known.any() else math.nan


def _narrower(share: float) -> tuple[Held, Basis, dict[str, object]]:
    if not np.isfinite(share):
        return Held.UNKNOWN, Basis.ALONE, {}
    return Held.NARROWER if share >= 0 else Held.WIDER, Basis.ALONE, {"share": abs(share)}


def _checked(
    depths: Sequence[float | Sequence[float]],
    new: float | None,
    km: float | None,
    per_year: float | None,
    grade: float | None,
    removal: float,
) -> list[list[float]]:
    grooves = [[float(d)] if np.isscalar(d) else [float(v) for v in d] for d in depths]  # type: ignore[union-attr,arg-type]
    if not 1 <= len(grooves) <= 5:
        raise misused(Wrong.WHEELS, n=len(grooves))
    for place, values in zip(MOUNTED, grooves, strict=False):
        if len(values) not in _GROOVES:
            raise misused(Wrong.GROOVES, place=place, n=len(values))
        for value in values:
            if not 0 <= value <= 25:
                raise misused(Wrong.DEPTH, place=place, given=f"{value:.4g}")
    given: list[tuple[Wrong, float | None, float, float, str]] = [
        (Wrong.NEW, new, 2, 25, " mm"),
        (Wrong.RUN, km, 0, 500_000, " km"),
        (Wrong.YEARLY, per_year, 1, 500_000, " km"),
        (Wrong.GRADE, grade, 20, 2000, ""),
        (Wrong.REMOVAL, removal, 0, 25, " mm"),
    ]
    for code, told, low, high, unit in given:
        if told is not None and not low <= told <= high:
            raise misused(code, told=f"{told:.6g}", unit=unit, low=f"{low:,}", high=f"{high:,}")
    deepest = max(max(values) for values in grooves)
    if new is not None and deepest > new + 1.0:
        raise misused(Wrong.OVER_NEW, deepest=f"{deepest:.3g}", new=f"{new:.3g}")
    return grooves


def _seems_rotated(means: dict[str, float], new: float, km: float, layout: str, how: DrivingProfile) -> bool:
    """Whether front and rear have worn more alike than staying in place would have worn them."""
    if km < ROTATION_KM or not set(ROAD) <= set(means) or not np.isfinite(new):
        return False
    table = severity(how, Vehicle.of_drive(layout))["severity"]
    front, rear = (new - (means[f"L{side}"] + means[f"R{side}"]) / 2 for side in "FR")
    stay = abs(np.log((table["LF"] + table["RF"]) / (table["LR"] + table["RR"])))
    return bool(min(front, rear) > 0 and abs(np.log(front / rear)) < stay / 2)


def _as_logbook(
    grooves: list[list[float]],
    places: Sequence[str],
    new: float,
    km: float | None,
    grade: float | None,
    layout: str,
    profile: DrivingProfile | None,
    turns: bool,
    day: pd.Timestamp,
) -> Logbook:
    """The visit as a logbook of one vehicle, its odometer counted from when the tires were fitted."""
    end = km or 1.0  # a kilometre, so that every wheel has a severity
    begin = day - pd.Timedelta(days=round(end / DEFAULT_KM_PER_DAY))
    car = {"vehicle_id": "walk-in"}
    mounts, depths = [], []
    # The last of them before today: what is read today is read where the tires are.
    moves = math.ceil(end / ROTATION_KM) - 1 if turns else 0
    for place, values in zip(places, grooves, strict=True):
        at = place
        for move in range(moves, -1, -1):  # from today back to new
            share = move * ROTATION_KM / end if end else 0.0
            mounts.append(
                {
                    "date": (begin + (day - begin) * share).normalize(),
                    "odometer_km": move * ROTATION_KM,
                    **car,
                }
                | {"tire_id": place, "position": at}
            )
            at = _BEFORE.get(at, at)
        if km is not None and place != SPARE:
            for groove, depth in zip(_GROOVES[len(values)], values, strict=True):
                depths.append(
                    {"date": day, "odometer_km": end, **car, "position": place, "groove": groove}
                    | {"depth_mm": depth, "gauge_id": ""}
                )
    # Where the distance is not known, or never ran (the spare), the depth read is the depth it starts from.
    starts = [
        new if km is not None and place != SPARE else float(np.mean(values))
        for place, values in zip(places, grooves, strict=True)
    ]
    tires = [
        {"tire_id": place, "tire_line": "", "new_depth_mm": start}
        | {"treadwear_grade": np.nan if grade is None else grade}
        for place, start in zip(places, starts, strict=True)
    ]
    habits = []
    if profile is not None:
        events = ("hard_starts_per_100km", "hard_stops_per_100km", "hard_turns_per_100km")
        habits.append(
            {**car, "from_date": begin, "to_date": day} | {k: getattr(profile, k) for k in (*BANDS, *events)}
        )
    # With no pressure reading the placard stands for itself; its value does not matter.
    placard = {"placard_front_kpa": 220.0, "placard_rear_kpa": 220.0}
    rows = {
        "vehicles": [{**car, "drive": layout, "driver_group": "", **placard}],
        "tires": tires,
        "mounts": mounts,
        "depths": depths,
        "odometer": [{"date": day, **car, "odometer_km": end}],
        "habits": habits,
    }
    tables = {name: _table(name, rows.get(name, [])) for name in SCHEMA if name != "trips"}
    problems = no_problems()
    return Logbook(tables, problems, "metric", day, Path("walk-in"))


def _table(name: str, rows: list[dict[str, object]]) -> pd.DataFrame:
    frame = pd.DataFrame(rows)
    for column in SCHEMA[name]:
        inside = inside_name(column)
        if inside not in frame:
            frame[inside] = "" if column.kind == "text" else pd.NaT if column.kind == "date" else np.nan
        if column.kind == "date":
            frame[inside] = pd.to_datetime(frame[inside]).astype("datetime64[us]")
    return frame.assign(row=np.arange(len(frame)) + 2, doubt="", codes="")


def _assumptions(
    new: float | None,
    km: float | None,
    per_year: float | None,
    grade: float | None,
    drive: str | None,
    profile: DrivingProfile | None,
    rotated: bool | None,
    turns: bool,
    chance: float,
) -> list[_RestsOn]:
    def far(value: float) -> dict[str, object]:
        return {"km": value, "miles": float(convert(value, "km", "mi"))}

    told = Basis.TOLD
    out: list[_RestsOn] = [
        (Assumed.NEW_DEPTH, Held.USUAL_DEPTH, Basis.CARS, {})
        if new is None
        else (Assumed.NEW_DEPTH, Held.DEPTH, told, {"mm": new, "deep": float(convert(new, "mm", "32nds"))}),
        (Assumed.DISTANCE, Held.UNKNOWN, Basis.NONE, {})
        if km is None
        else (Assumed.DISTANCE, Held.DISTANCE, told, far(km)),
        (Assumed.YEARLY, Held.USUAL_YEARLY, Basis.AVERT, {})
        if per_year is None
        else (Assumed.YEARLY, Held.DISTANCE, told, far(per_year)),
        (Assumed.DRIVE, _DRIVEN[drive or "front"], told if drive else Basis.MOST, {}),
        (Assumed.DRIVING, Held.USUAL_DRIVING, Basis.HOUSEHOLD, {})
        if profile is None
        else (Assumed.DRIVING, Held.ANSWERED, told, {}),
        (Assumed.ROTATION, Held.CHANCE_OF_TURNS, Basis.DEPTHS if turns else Basis.UNKNOWN, {"chance": chance})
        if rotated is None
        else (Assumed.ROTATION, Held.TURNS if rotated else Held.STAYS, told, {}),
    ]
    if grade is not None:
        out.append((Assumed.GRADE, Held.GRADE, Basis.SIDEWALL, {"grade": grade}))
    return out
