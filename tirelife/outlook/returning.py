"""Cars of a shop that come back: what a counter's page holds of each, and how a visit there moves it.

What the fit knows of a car's tires together (:mod:`tirelife.rates.whole_vehicle`) is carried over the
distance since, weighed against what was read today (:func:`tirelife.outlook.weighing.weigh`), and projected
as every forecast is. Spreads, factors, groove patterns and the fleet's pace stay as the fit left them: what a
fit of the grown log would say of these is not learned at a counter.
"""

from __future__ import annotations

import base64
import math
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.logbook import GROOVES
from tirelife.outlook.ageing import AGE_LIMIT_YEARS
from tirelife.outlook.ahead import Course
from tirelife.outlook.rotation_ahead import LATE, lasting, rotation_ahead
from tirelife.outlook.state import present_state
from tirelife.outlook.weighing import odd_by, weigh
from tirelife.positions import ROAD
from tirelife.rates import (
    LEVEL,
    MONTH_INDEX,
    MOST_PACE,
    Q_COLUMNS,
    READING,
    RECENT_KM,
    TURN_COLUMNS,
    VISIT,
    Posterior,
    Together,
    gain_of,
    mean_depth_limit,
    mileage,
    pace_parts,
    recent_lengths,
    runs_since,
    solve_logbook,
    together,
    travel_days,
)
from tirelife.rotation import directional_vehicles, none_allowed, since_moved
from tirelife.tread import tire_visits
from tirelife.wear import stretch_severity

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.outlook.counter import CounterVisit
    from tirelife.rates import Found, Prior, WearFit

__all__ = ["FIELDS", "ODD", "car_columns", "car_tables", "history_of", "known_cars", "packed", "unpacked"]

Floats = NDArray[np.float64]

FIELDS: Final[dict[str, int]] = {
    "mean": 9, "cov": 45, "start": 4, "front": 4, "rear": 4, "recent": 16, "recent_km": 4, "onward": 4,
    "factor_var": 4, "shared": 4, "bend_log_sd": 4, "new": 4, "ratio": 4, "ratio_sd": 4, "age_end": 4,
    "age_coded": 4, "turns": 5, "since_moved": 1, "pace": 5, "at": 2,
}  # fmt: skip
"""Numbers of a car and how many of each, in the order in which they are packed; NaN: not known.

``mean``, ``cov`` (lower triangle) and ``start`` as :class:`tirelife.rates.Together`; ``front, rear``
run since the last reading; ``recent`` reference distance run at each wheel over the last quarter of
:data:`RECENT_KM`, two, three and all of it, ``recent_km`` of how many km; ``onward`` severity now;
``factor_var`` more variance of the log rate; ``shared`` covariance with all tires of the car over that with
the three others; ``turns`` odds, longest stay, since, every, its log-sd; ``pace`` as
:func:`tirelife.rates.pace_parts`; ``at`` odometer and day of the last reading."""
_PARTS: Final = 4
ODD: Final = 3.0
"""Standard deviations from which today's depths do not fit a car's history: as :mod:`tirelife.rates.fits`."""


def known_cars(book: Logbook, fit: WearFit, prior: Prior | None = None) -> dict[str, Any] | None:
    """:func:`car_tables` of a logbook and its fit; None where the fit was refused.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        From :func:`tirelife.outlook.calibrated_fit`, with ``prior``.
    prior : Prior, optional
    """
    found = None if fit.verdict.refused else solve_logbook(book, prior)
    return None if found is None else car_tables(book, fit, found)


def car_tables(book: Logbook, fit: WearFit, found: Found) -> dict[str, Any]:
    """What is held of each car, as plain numbers and texts, and what they have in common.

    Parameters
    ----------
    book : Logbook
    fit : WearFit
        Of it, calibrated.
    found : Found
        The same fit before it was made into frames, from :func:`tirelife.rates.fit.solve_logbook`.

    Returns
    -------
    dict
        ``law`` and ``cars``, by name; a car is left out whose four road wheels are not known, whose sets take
        turns, or whose tires were last read on another vehicle.
    """
    state = present_state(book, fit)
    state = state[state["position"].isin(ROAD)]
    moved = rotation_ahead(book).drop_duplicates("vehicle_id").set_index("vehicle_id")
    parts = stretch_severity(book, fit.factors)
    fitted = fit.frames["tires"].set_index("tire_id")
    paces, fleet = pace_parts(book)
    paces = paces.set_index("vehicle_id")
    last = mileage(book).set_index("vehicle_id")
    stood = last["odometer_km"].dropna().astype(float).to_dict()
    drives = book.vehicles.drop_duplicates("vehicle_id").set_index("vehicle_id")["drive"]
    widened = float(fit.frames["calibration"]["factor"].iloc[0]) if "calibration" in fit.frames else 1.0
    onward = stretch_severity(_a_day_on(book), fit.factors).drop_duplicates("tire_id", keep="last")
    severity, recent = onward.set_index("tire_id")["severity"], _recent(parts)
    since, refused = since_moved(book), _not_allowed(book, state)
    lines = book.tires.drop_duplicates("tire_id").set_index("tire_id")["tire_line"].fillna("").astype(str)
    cars: dict[str, Any] = {}
    for vehicle, rows in state.groupby("vehicle_id", sort=False):
        name = str(vehicle)
        rows = rows.set_index("position").reindex(ROAD)
        ids = rows["tire_id"].tolist()
        if rows["tire_id"].isna().any() or rows[list(TURN_COLUMNS)].notna().any(axis=None):
            continue
        known = together(found, name, ids)
        if known is None or name not in stood:
            continue
        law = Posterior.of_frame(rows.reset_index()).on_axle(LEVEL)
        known = _held(known.widened(widened), law)
        front, rear = runs_since(parts, fitted.reindex(ids))
        mates = known.cov[4:8, 4:8]
        usual = np.maximum((mates.sum(axis=1) - np.diag(mates)) / 3, 1e-12)
        numbers = {
            "mean": known.mean, "cov": known.cov[np.tril_indices(len(known.mean))], "start": known.start,
            "front": front, "rear": rear, "recent": recent[name][0].ravel(), "recent_km": recent[name][1],
            "onward": severity.reindex(ids).to_numpy(float), "factor_var": _factor_var(law, known),
            "shared": rows["shared_cov"].to_numpy(float) / usual, "bend_log_sd": rows["bend_log_sd"],
            "new": rows["new_depth_mm"], **_grooves(rows), "age_end": _days(rows["age_end"]),
            "age_coded": ~rows["age_assumed"].to_numpy(bool),
            "turns": _turns(moved.loc[[name]].iloc[0]),
            "since_moved": [since.get(name, math.nan)],
            "pace": paces.loc[name, ["level_km", "level_var", "mean_km", "days", "end"]],
            "at": [stood[name], *_days(last.loc[[name], "date"])],
        }  # fmt: skip
        cars[name] = {
            "drive": str(drives[name]), "line": lines[ids[0]], "refused": bool(refused.get(name, False)),
            "numbers": _car(numbers),
        }  # fmt: skip
    one = state.iloc[0] if len(state) else None
    return {"law": {} if one is None else _law(book, fit, one, fleet), "cars": cars}


def _a_day_on(book: Logbook) -> Logbook:
    """The log with one more reading of each odometer, so that the stretch ahead has a severity of its own."""
    day = book.as_of + pd.Timedelta(days=1)
    known = book.odometer.groupby("vehicle_id", as_index=False)["odometer_km"].max()
    more = known.assign(date=day, row=0, doubt="", odometer_km=known["odometer_km"] + 1.0)
    table = book.tables["odometer"]
    more["codes"] = [()] * len(more)
    more = more.reindex(columns=table.columns)
    return replace(
        book, tables={**book.tables, "odometer": pd.concat([table, more], ignore_index=True)}, as_of=day
    )


def _law(book: Logbook, fit: WearFit, row: pd.Series, fleet: dict[str, float]) -> dict[str, Any]:
    level = Posterior.of_frame(row.to_frame().T).on_axle(LEVEL)
    sd = fit.components.set_index("term")["estimate"]
    return {
        "wander": float(level.wander[0]), "scatter": float(level.scatter[0]),
        "walk_share": float(row["walk_share"]), "q_mean": float(level.mean[0, 3]),
        "q_var": float(level.cov[0, 3, 3]), "alone_share": 0.0, "fit": str(row["fit"]),
        "q_law": {name: float(row[name]) for name in Q_COLUMNS},
        "points": {"q_points": packed(Course(row.to_frame().T.infer_objects()).bend()[0])},
        "noise_var": float(sd[READING]) ** 2, "visit_var": float(sd[VISIT]) ** 2,
        "grooves": _by_grooves(book), "interval_log_sd": float(row["interval_log_sd"]),
        "late": list(LATE), "recent_km": RECENT_KM, "odd": ODD, "most_pace": MOST_PACE,
        "months": list(MONTH_INDEX), **fleet,
    }  # fmt: skip


def packed(numbers: ArrayLike) -> str:
    """Numbers in single precision, as text."""
    return base64.b64encode(np.asarray(numbers).astype("<f4").tobytes()).decode()


def _car(numbers: Mapping[str, Any]) -> str:
    """Numbers of :data:`FIELDS`, as text."""
    parts = [np.asarray(numbers[name], dtype=float).reshape(size) for name, size in FIELDS.items()]
    return packed(np.concatenate(parts))


def unpacked(text: str) -> dict[str, Floats]:
    """The numbers of a car's text, by name."""
    values = np.frombuffer(base64.b64decode(text), dtype="<f4").astype(float)
    ends = np.cumsum(list(FIELDS.values()))
    return dict(zip(FIELDS, np.split(values, ends[:-1]), strict=True))


def _days(dates: pd.Series) -> Floats:
    """Days since 1970-01-01; NaN for none."""
    return np.asarray((pd.to_datetime(dates) - pd.Timestamp(0)).dt.days, dtype=float)


def _recent(parts: pd.DataFrame) -> dict[str, tuple[Floats, Floats]]:
    """Reference distance of each vehicle's wheels over a quarter of :data:`RECENT_KM`, and on; and km."""
    lengths = [recent_lengths(parts, RECENT_KM * part / _PARTS) for part in range(1, _PARTS + 1)]
    wide = pd.DataFrame(np.column_stack([parts["severity"].to_numpy(float) * km for km in lengths]))
    wide["km"] = lengths[-1]
    whole = wide.groupby([parts["vehicle_id"].to_numpy(), parts["position"].to_numpy()]).sum()
    out = {}
    for vehicle in whole.index.get_level_values(0).unique():
        mine = whole.loc[vehicle].reindex(ROAD).fillna(0.0).to_numpy(float)
        out[str(vehicle)] = mine[:, :_PARTS], mine[:, _PARTS]
    return out


def _held(known: Together, law: Posterior) -> Together:
    """With the depths that the state holds: held to what was read last, to both where that did not fit."""
    count = len(law)
    mean, cov = known.mean.copy(), known.cov.copy()
    mean[:count] = law.mean[:, 0]
    at = np.arange(count)
    cov[at, at] = np.maximum(law.cov[:, 0, 0], cov[at, at])
    return Together(mean, cov, known.start)


def _factor_var(law: Posterior, known: Together) -> Floats:
    """What the state adds to each log rate for factors of causes: beyond the joint distribution and the
    curvature.
    """
    count = len(law)
    of_q = np.divide(law.cov[:, 1, 3] ** 2, law.cov[:, 3, 3], out=np.zeros(count), where=law.cov[:, 3, 3] > 0)
    more = law.cov[:, 1, 1] - of_q - np.diag(known.cov)[count : 2 * count]
    return np.where(more > 1e-6, more, 0.0)


def _grooves(rows: pd.DataFrame) -> dict[str, Floats]:
    """Wear of the fastest groove over the mean's, from the limits that the state has made of it."""
    new, limit = rows["new_depth_mm"].to_numpy(float), rows["limit_mm"].to_numpy(float)
    use = new - rows["removal_depth_mm"].to_numpy(float)
    ratio = np.divide(use, new - limit, out=np.ones(len(rows)), where=(use > 0) & (new > limit))
    sd = np.divide(
        rows["limit_sd_mm"].to_numpy(float) * ratio**2, use, out=np.zeros(len(rows)), where=use > 0
    )
    return {"ratio": ratio, "ratio_sd": sd}


def _by_grooves(book: Logbook) -> list[float]:
    """Error variance of a depth over the usual one's, by how many grooves were read, one to five."""
    visits = tire_visits(book)
    number = visits[[f"{groove}_mm" for groove in GROOVES]].notna().sum(axis=1)
    var = visits["depth_se_mm"] ** 2
    usual = float(var[var > 0].median())
    if not math.isfinite(usual):
        return [1.0] * len(GROOVES)
    by = var[var > 0].groupby(number).median()
    most = int(number.mode().iloc[0])
    found = [float(by.get(n, by[most] * most / n)) for n in range(1, len(GROOVES) + 1)]
    return [min(max(one / usual, 0.25), 4.0) for one in found]


def _turns(moved: pd.Series) -> list[float]:
    """How likely rotations go on, as odds at no distance since the last; and when."""
    lasted, since, every, every_sd = (
        float(moved[name]) for name in ("lasted_km", "since_km", "every_km", "every_log_sd")
    )
    chance = min(max(float(moved["chance"]), 1e-12), 1 - 1e-12)
    over = float(lasting(lasted, every, moved["interval_log_sd"], every_sd))
    return [chance / (1 - chance) / over, lasted, since, every, every_sd]


def _not_allowed(book: Logbook, rows: pd.DataFrame) -> dict[str, bool]:
    """Whether no rotation is allowed on each vehicle of a state's rows."""
    one_way = directional_vehicles(book)
    size = book.tires.drop_duplicates("tire_id").set_index("tire_id")["size"].fillna("")
    sized = rows.assign(size=rows["tire_id"].map(size).fillna("").astype(str))
    return {
        str(vehicle): none_allowed(dict(zip(mine["position"], mine["size"], strict=True)), vehicle in one_way)
        is not None
        for vehicle, mine in sized.groupby("vehicle_id")
    }


def history_of(tables: Mapping[str, Any], visit: CounterVisit) -> str:
    """Whether a visit's car is known and what is held of it can be used: a code of the page.

    Returns
    -------
    str
        ``none``: no such car; ``back``: its odometer stands lower than before; ``moved``: its tires changed
        places since; ``unfit``: today's depths do not fit what was held; ``used``.
    """
    if not visit.car or visit.odometer_km is None or visit.car not in tables.get("cars", {}):
        return "none"
    car = unpacked(tables["cars"][visit.car]["numbers"])
    if visit.odometer_km < car["at"][0]:
        return "back"
    if visit.rotated:
        return "moved"
    mean, cov, run, read, error, _ = _held_of(tables["car_law"], car, visit)
    return "unfit" if odd_by(tables["car_law"], mean, cov, run, read, error) > ODD else "used"


def _held_of(
    law: Mapping[str, Any], car: Mapping[str, Floats], visit: CounterVisit
) -> tuple[Floats, Floats, tuple[Floats, Floats], Floats, Floats, float]:
    count, mean = len(ROAD), car["mean"]
    cov = np.zeros((len(mean), len(mean)))
    cov[np.tril_indices(len(mean))] = car["cov"]
    cov = cov + cov.T - np.diag(np.diag(cov))
    km = (visit.odometer_km or 0.0) - float(car["at"][0])
    front, more = np.array([1.0, 1.0, 0.0, 0.0]), car["onward"] * km
    run = car["front"] + more * front, car["rear"] + more * (1 - front)
    held = visit.mean_mm or visit.least_mm
    read = np.array([held.get(p, math.nan) for p in ROAD])
    times = [law["grooves"][visit.grooves.get(p, 1) - 1] for p in ROAD]
    error = np.diag(law["noise_var"] * np.array(times)) + law["visit_var"] * np.ones((count, count))
    return mean, cov, run, read, error, km


def car_columns(tables: Mapping[str, Any], visit: CounterVisit) -> dict[str, Any]:
    """Columns of a state, one value a road wheel that was read, of a car whose history is used.

    Parameters
    ----------
    tables : mapping
        From :func:`tirelife.outlook.counter.counter_tables`, with cars.
    visit : CounterVisit
        Of which :func:`history_of` says ``used``.
    """
    law, told = tables["car_law"], tables["cars"][visit.car]
    car = unpacked(told["numbers"])
    mean, cov, run, read, error, km = _held_of(law, car, visit)
    found = weigh(law, mean, cov, run, read, error, car["start"])
    after, at = found.cov.copy(), np.arange(len(ROAD))
    after[:, 1, 1] += car["factor_var"]
    zero = np.zeros(len(at))
    wide = Posterior(found.mean, after, zero + law["wander"], zero + law["scatter"], zero)
    limit = np.array([visit.limit_mm[p] for p in ROAD], dtype=float)
    mean_limit, limit_sd = mean_depth_limit(car["new"], limit, car["ratio"], car["ratio_sd"])
    here, there = _ahead(tables, told["drive"], car, visit, km)
    level, log_sd = _pace(law, car, visit)
    if visit.km_per_year is not None:
        level, log_sd = visit.km_per_year / 365.25, tables["pace"]["told_log_sd"]
    told_end = np.isfinite(car["age_end"])
    ends = np.where(told_end, car["age_end"], 0).astype("timedelta64[D]") + np.datetime64(0, "us")
    days = car["age_end"] - (visit.as_of - pd.Timestamp(0)).days
    chance = _chance(law, car["turns"], km) if visit.rotated is None else float(visit.rotated)
    columns: dict[str, Any] = {
        **{str(name): values.to_numpy() for name, values in wide.to_frame().items()},
        "shared_cov": found.shared * car["shared"], "walk_share": law["walk_share"], "fit": law["fit"],
        **law["q_law"], "log_sd": log_sd, "since_front_km": 0.0, "since_rear_km": 0.0, "unread_km": 0.0,
        "here": here, "there": there, "spare_turns": False, "moves": 0, "chance": chance,
        "since_km": car["turns"][2] + km, "every_km": car["turns"][3],
        "every_log_sd": car["turns"][4], "interval_log_sd": law["interval_log_sd"],
        "odometer_km": visit.odometer_km, "km_per_day": level, "year_log_sd": law["year_log_sd"],
        "drift_log_sd": law["drift_log_sd"], "new_depth_mm": car["new"], "visits": 2,
        "reason": "", "q": law["q_mean"], "bend": 0.0,
        "bend_log_sd": car["bend_log_sd"], "fits": True, "age_years": AGE_LIMIT_YEARS,
        "mean_depth_mm": found.mean[:, 0], "log_wear": found.mean[:, 1], "mean_depth_sd_mm": wide.sds()[:, 0],
        "depth_now_mm": np.maximum(car["new"] - car["ratio"] * (car["new"] - found.mean[:, 0]), 0.0),
        "age_end": np.where(told_end, ends, np.datetime64("NaT", "us")), "age_assumed": car["age_coded"] == 0,
        "age_days": np.where(np.isnan(days), np.inf, np.maximum(days, 0.0)), "groove": "tread",
        "removal_depth_mm": limit, "limit_mm": mean_limit, "limit_sd_mm": limit_sd,
    }  # fmt: skip
    rows = [i for i, p in enumerate(ROAD) if p in visit.least_mm]
    return {name: np.asarray(value)[rows] if np.ndim(value) else value for name, value in columns.items()}


def _ahead(
    tables: Mapping[str, Any], drive: str, car: Mapping[str, Floats], visit: CounterVisit, km: float
) -> tuple[Floats, Floats]:
    """Severity ahead at each wheel and on its other axle: that of the last so many km, driven as told."""
    most = tables["car_law"]["recent_km"]
    left = max(most - km, 0.0)  # of what was run before, so much still counts
    at = np.linspace(0.0, most, _PARTS + 1)
    recent = car["recent"].reshape(len(ROAD), _PARTS)
    run = np.array([np.interp(left, at, [0.0, *row]) for row in recent])
    new = min(km, most)
    run, length = run + car["onward"] * new, np.minimum(car["recent_km"], left) + new
    run, length = np.where(length > 0, run, car["onward"]), np.where(length > 0, length, 1.0)
    front, rear = run[:2].sum() / length[:2].sum(), run[2:].sum() / length[2:].sum()
    here, there = run / length, np.array([rear, rear, front, front])
    if visit.ahead:
        severity = tables["severity"][drive or "front"]
        told = severity[f"{visit.roads} {visit.stops} {visit.turns}"]
        front, rear = (a / b for a, b in zip(severity[visit.ahead], told, strict=True))
        here, there = here * [front, front, rear, rear], there * [rear, rear, front, front]
    return here, there


def _chance(law: Mapping[str, Any], turns: Floats, km: float) -> float:
    """Chance that the car is still rotated, so much further on without."""
    odds, lasted, since, every, every_sd = turns.tolist()
    odds *= float(lasting(max(lasted, since + km), every, law["interval_log_sd"], every_sd))
    return float(odds / (1 + odds))


def _pace(law: Mapping[str, Any], car: Mapping[str, Floats], visit: CounterVisit) -> tuple[float, float]:
    """Distance a day and its log-sd with today's odometer as one more step of :mod:`tirelife.rates.pace`."""
    level, var, mean, days, end = car["pace"].tolist()
    today = float(travel_days(np.array([visit.as_of], dtype="datetime64[us]"), law["season"])[0])
    far, took = (visit.odometer_km or 0.0) - float(car["at"][0]), today - end
    noise, drift = law["year_log_sd"] ** 2, law["drift_log_sd"] ** 2
    if took > 0:
        years, total = took / 365.25, ((mean * days if days > 0 else 0.0) + far) / (days + took)
        step = min(far / took, MOST_PACE * total)
        first = math.isnan(level)
        gain, wide, after = gain_of(0.0 if first else var, years, noise, drift)
        level = step if first else level + float(gain) * (step - level)
        var, mean, days = float(wide if first else after), total, days + took
    between, center = law["between"], law["center"]
    if math.isnan(level) or days <= 7:
        return math.exp(center), between
    own_var = var / max(level / mean, 0.3) ** 2
    weight = between**2 / (between**2 + own_var)
    return math.exp(center + weight * (math.log(max(level, 0.1)) - center)), math.sqrt(weight * own_var)
