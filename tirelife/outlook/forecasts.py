"""Distance left and replacement dates, a row a tire."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.outlook.ageing import AGE_LIMIT_YEARS
from tirelife.outlook.ahead import LONGEST_KM, PROBABILITIES, Course, by_vehicle
from tirelife.outlook.calibrating import calibrated_fit
from tirelife.outlook.dates import dates_after
from tirelife.outlook.notes import limits_and_notes
from tirelife.outlook.state import REMOVAL_DEPTH_MM, present_state
from tirelife.outlook.stored import stored_state
from tirelife.positions import OFF
from tirelife.rates import (
    quantiles,
)
from tirelife.tread import VERDICT_COLUMNS

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import Prior, WearFit

__all__ = ["COLUMNS", "LONGEST_KM", "distance_quantiles", "forecast", "project"]

_PERCENTS: Final = tuple(f"p{round(100 * p)}" for p in PROBABILITIES)
COLUMNS: Final = (
    "vehicle_id", "tire_id", "position", *VERDICT_COLUMNS, "fits", "as_of", "odometer_km", "depth_now_mm",
    *(f"km_left_{p}" for p in _PERCENTS), *(f"date_{p}" for p in _PERCENTS), "limited_by", "fit", "notes",
)  # fmt: skip


def forecast(
    book: Logbook,
    fit: WearFit | None = None,
    *,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
    prior: Prior | None = None,
    age_limit_years: float = AGE_LIMIT_YEARS,
) -> pd.DataFrame:
    """How far each tire has to go, and by when: on vehicles, and in store where sets take turns.

    Parameters
    ----------
    book : Logbook
        Read with ``as_of`` if today is not the day of its last record: nothing later is in it.
    fit : WearFit, optional
        A fit of this logbook; made here if not given, and then calibrated on later readings
        (:func:`tirelife.outlook.calibrate`).
    removal_depth_mm : float or Series
        For all positions, or by position. The default is 2/32 in; 4/32 in is usual for wet grip and the
        law for truck steer axles (49 CFR 393.75). [mm]
    prior : Prior, optional
        For the fit made here.
    age_limit_years : float
        Age from manufacture at which age limits the tire first; advice, not law. No date runs past it; where
        the date code is not known it is counted from the first mount, which is marked as assumed.

    Returns
    -------
    DataFrame
        The columns of :data:`COLUMNS`, one row a tire on a vehicle (the spare too), by vehicle and position;
        then those in store of a set that goes on again, with position OFF: their ``km_left`` is distance on
        that set, and dates of both sets count only the days on which the set is on the car; age goes on in
        store.
        ``verdict``, ``read_mm``, ``read_at`` and what goes with them are measured: see
        :mod:`tirelife.tread.verdict`. ``depth_now_mm`` is estimated: today's depth, projected from the last
        visit, in the groove that will be down first. ``km_left_p10`` to ``p90`` are quantiles of the distance
        that the vehicle goes until then, rising along a row, 0 where the tire is at the limit or was read at
        it; ``date_p10`` to ``p90`` of the day. Unknown is NaN and NaT with the reason in ``notes``.
        ``limited_by`` is a groove, ``tread`` (evenly worn), ``age`` or empty. ``fits`` is whether the last
        reading agrees with the estimate of its day. ``fit`` is how far the fit behind the row can be trusted
        (``good``, ``rough``, ``refused``: :class:`tirelife.rates.verdict.Trust`). ``notes`` is a tuple of
        :class:`tirelife.codes.Note`, most urgent first, with codes of :class:`tirelife.outlook.NoteCode`.

    Notes
    -----
    See :func:`tirelife.outlook.present_state` for what is known today, and
    :class:`tirelife.outlook.ahead.Course` for what lies ahead: all quantiles are of one joint set of draws. A
    projection is no inspection: cords, bulges, cuts, cracks, age and the local code come first.
    """
    if fit is None:
        fit = calibrated_fit(book, prior)
    road = project(present_state(book, fit, removal_depth_mm, age_limit_years))
    stored = stored_state(book, fit, removal_depth_mm, age_limit_years)
    if stored.empty:
        return road
    rest = project(stored).assign(position=OFF)
    whole = pd.concat([road, rest], ignore_index=True)
    at = np.argsort(whole["vehicle_id"].to_numpy(dtype=object), kind="stable")
    return whole.iloc[at].reset_index(drop=True)


def project(state: pd.DataFrame) -> pd.DataFrame:
    """Forecast from rows of :func:`tirelife.outlook.present_state`, as they are or with something changed.

    Parameters
    ----------
    state : DataFrame

    Returns
    -------
    DataFrame
        As :func:`forecast`.
    """
    found = distances_and_days(state)
    km, days = found[:, : len(PROBABILITIES)], found[:, len(PROBABILITIES) :]
    dates = dates_after(state["as_of"], days)
    out = state[list(COLUMNS[: COLUMNS.index("depth_now_mm") + 1])].copy()
    for name, column in zip(_PERCENTS, km.T, strict=True):
        out[f"km_left_{name}"] = column
    for name, date in zip(_PERCENTS, dates, strict=True):
        out[f"date_{name}"] = date.to_numpy()
    out["limited_by"], out["notes"] = limits_and_notes(state, out)
    out["fit"] = state["fit"]
    return out[list(COLUMNS)]


def distance_quantiles(
    state: pd.DataFrame, probabilities: tuple[float, ...] = PROBABILITIES
) -> NDArray[np.float64]:
    """Quantiles of the distance left, over the rotations that may come.

    Parameters
    ----------
    state : DataFrame
        Rows of :func:`tirelife.outlook.present_state`.
    probabilities : tuple of float

    Returns
    -------
    ndarray, shape (n, len(probabilities)) [km]
    """
    return distances_and_days(state, probabilities)[:, : len(probabilities)]


def distances_and_days(
    state: pd.DataFrame, probabilities: tuple[float, ...] = PROBABILITIES
) -> NDArray[np.float64]:
    """Quantiles of the distance left [km] and then of the days left, shape (n, 2 * len(probabilities))."""

    def work(course: Course, rows: slice) -> NDArray[np.float64]:
        km = course.distance(course.stays(), course.turns())
        return np.hstack([quantiles(km, probabilities), quantiles(course.days(km), probabilities)])

    return np.vstack([np.empty((0, 2 * len(probabilities))), *by_vehicle(state, work)])
