"""A visit's readings beside the ones before them, so that a slip of the pen is seen before it is written."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook.chain import chain_of, codes_of, moments, tire_at
from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.growth import GAUGE_TOLERANCE
from tirelife.logbook.parse import Parsed
from tirelife.logbook.schema import GROOVES
from tirelife.logbook.textfile import TextTable
from tirelife.logbook.values import dates_to_days
from tirelife.positions import POSITIONS
from tirelife.units import INSIDE, convert

__all__ = ["THIS_VISIT", "shown_changes", "slips", "visit_changes"]

THIS_VISIT = "this visit"
"""Where a problem lies that is not in the logbook yet."""
USUAL_WEAR = 0.0878
"""Tread lost in 1,000 km by an average tire [mm]: 45,000 miles over 8/32 in (FMVSS 138 impact analysis)."""
_QUICK = 4.0
"""Wear this many times the usual, beyond what a gauge can err, is asked about; our assumption."""
_COLUMNS = ["what", "position", "groove", "tire_id", "last_date", "before", "now", "unit", "run_km"]


def visit_changes(parsed: dict[str, Parsed], new: dict[str, TextTable]) -> pd.DataFrame:
    """Each new depth and pressure beside the last one before it, in inside units.

    Parameters
    ----------
    parsed : dict of Parsed
        The logbook with the visit in it.
    new : dict of TextTable
        The visit's records.

    Returns
    -------
    DataFrame
        what, position, groove, tire_id, last_date, before, now, unit, run_km; NaN where there was none.
    """
    rows: list[dict[str, Any]] = []
    if "depths" in new and {"vehicles", "tires", "mounts"} <= set(parsed):
        rows += _depth_changes(parsed, new["depths"].rows)
    if "pressures" in new:
        rows += _pressure_changes(parsed["pressures"], new["pressures"].rows)
    return pd.DataFrame(rows, columns=_COLUMNS)


def shown_changes(changes: pd.DataFrame) -> pd.DataFrame:
    """Changes in the logbook's units, with ``change`` and without ``run_km``."""
    out = changes.copy()
    for name in ("before", "now"):
        out[name] = [
            round(float(convert(value, INSIDE[kind], unit)), 3)
            for value, kind, unit in zip(out[name], out["what"], out["unit"], strict=True)
        ]
    out.insert(7, "change", (out["now"] - out["before"]).astype(float).round(3))
    return out.drop(columns="run_km")


def slips(parsed: dict[str, Parsed], new: dict[str, TextTable], changes: pd.DataFrame) -> pd.DataFrame:
    """Doubts about a visit that the logbook would not raise: a day ahead, a depth that falls too fast.

    Parameters
    ----------
    parsed, new
        As for :func:`visit_changes`.
    changes : DataFrame
        From :func:`visit_changes`.

    Returns
    -------
    DataFrame
        As from :func:`tirelife.logbook.check_logbook`.
    """
    found = Findings()
    today = np.datetime64(dt.date.today(), "D")  # noqa: DTZ011  a shop's own calendar
    dates = {
        str(day)
        for name, text in new.items()
        if "date" in parsed[name].date
        for day in parsed[name].date["date"][np.isin(parsed[name].rows, text.rows)]
        if day > today
    }
    for day in sorted(dates):
        found.add(THIS_VISIT, 0, "date", day, Found.FUTURE, ask=Ask.FUTURE_VISIT, doubt=True)
    for change in changes[changes["what"] == "depth"].to_dict("records"):
        allowed = GAUGE_TOLERANCE + _QUICK * USUAL_WEAR * max(change["run_km"], 0.0) / 1000
        if change["before"] - change["now"] > allowed:
            before, now = (convert(change[name], "mm", change["unit"]) for name in ("before", "now"))
            where = f"depth of {change['position']} {change['groove']}"
            said = {"depth": f"{before:.3g}", "day": str(change["last_date"])}
            found.add(THIS_VISIT, 0, where, f"{now:.4g}", Found.FALLS_FAST, said, doubt=True)
    return found.frame()


def _depth_changes(parsed: dict[str, Parsed], rows: NDArray[np.int64]) -> list[dict[str, Any]]:
    depths = parsed["depths"]
    vehicles = parsed["vehicles"].text["vehicle_id"].words
    tires = parsed["tires"].text["tire_id"].words
    chain = chain_of(parsed["mounts"], vehicles, tires)
    if not len(chain.tire):
        return []
    day, km = dates_to_days(depths.date["date"]), depths.number["odometer_km"]
    moment = moments(day, km)
    place = (
        codes_of(depths, "vehicle_id", vehicles),
        codes_of(depths, "position", np.array(POSITIONS, dtype=object)),
    )
    entry = tire_at(chain, *place, moment, as_found=True)
    tire = np.where(entry >= 0, chain.tire[entry], -1)
    groove = codes_of(depths, "groove", np.array(GROOVES, dtype=object))
    is_new = np.isin(depths.rows, rows)
    value, out = depths.number["depth_mm"], []
    for i in np.flatnonzero(is_new):
        old = ~is_new & (tire == tire[i]) & (tire[i] >= 0) & (groove == groove[i]) & (moment <= moment[i])
        at = np.flatnonzero(old & (moment == moment[old].max())) if old.any() else np.zeros(0, dtype=np.intp)
        out.append(
            {
                "what": "depth",
                "position": POSITIONS[place[1][i]],
                "groove": GROOVES[groove[i]],
                "tire_id": tires[tire[i]] if tire[i] >= 0 else "",
                "last_date": str(depths.date["date"][at[0]]) if len(at) else "",
                "before": float(value[at].mean()) if len(at) else np.nan,
                "now": float(value[i]),
                "unit": depths.unit["depth_mm"],
                "run_km": float(km[i] - km[at[0]]) if len(at) else np.nan,
            }
        )
    return out


def _pressure_changes(pressures: Parsed, rows: NDArray[np.int64]) -> list[dict[str, Any]]:
    is_new = np.isin(pressures.rows, rows)
    day = dates_to_days(pressures.date["date"])
    position, state = pressures.text["position"].text(), pressures.text["state"].text()
    value, out = pressures.number["pressure_kpa"], []
    for i in np.flatnonzero(is_new):
        old = ~is_new & (position == position[i]) & (state == state[i]) & (day <= day[i])
        at = np.flatnonzero(old & (day == day[old].max())) if old.any() else np.zeros(0, dtype=np.intp)
        out.append(
            {
                "what": "pressure",
                "position": position[i],
                "groove": "",
                "tire_id": "",
                "last_date": str(pressures.date["date"][at[0]]) if len(at) else "",
                "before": float(value[at].mean()) if len(at) else np.nan,
                "now": float(value[i]),
                "unit": pressures.unit["pressure_kpa"],
            }
        )
    return out
