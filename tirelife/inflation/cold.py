"""Pressure readings brought to a cold footing."""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from tirelife.axles import is_front
from tirelife.errors import misused
from tirelife.inflation.wrong import Wrong
from tirelife.logbook import Logbook, doubted, gauge_study, is_assumed, kept
from tirelife.positions import SPARE
from tirelife.units import convert

__all__ = [
    "ATMOSPHERE_KPA",
    "BUILD_UP_C",
    "cold_from_warm",
    "cold_pressures",
    "hot_target",
    "placard_at",
    "pressure_at",
    "stated_placard",
]

ATMOSPHERE_KPA: Final = 101.325
"""Standard atmosphere, added to every gauge pressure before the gas law [kPa]. In the mountains it is less:
at 1,500 m by 16 kPa, which moves a car tire's 10 °C step by 0.6 kPa; we leave that out."""
COLD_C: Final = (70.0 - 32.0) * 5 / 9
"""Air temperature taken where none was written down: 70 °F [°C]."""
BUILD_UP_C: Final[dict[str, float]] = {"cold": 0.0, "city": 22.8, "highway": 37.8}
"""How much warmer than outside the air in a tire is, by how it was driven just before [°C]: what takes 24 psi
at 70 °F to 27 after town driving and 29 after a highway (common practice, no source; the gas law puts the
air at 111 and 138 °F). Owner's manuals print a build-up of 2 to 6 psi, a tire maker's guide 4."""
BUILD_UP_SE_KPA: Final[dict[str, float]] = {"cold": 0.0, "city": 7.0, "highway": 9.0}
"""Standard error that the assumed build-up adds [kPa]; about a quarter of the printed 2 to 6 psi (ours)."""
READING_SE_KPA: Final = 4.0
"""Standard error of one reading where the gauge's repeatability is not known [kPa], about 0.6 psi: Grade A
of ASME B40.100 on a 60 psi dial. Repeatability found from few comparisons is not trusted below half of it."""
_HOT_SET_KPA: Final = convert(4.0, "psi", "kpa")


def pressure_at(gauge_kpa: ArrayLike, from_c: ArrayLike, to_c: ArrayLike) -> Any:
    """Gauge pressure of the same air in the same volume at another temperature.

    Parameters
    ----------
    gauge_kpa : array_like
        Gauge pressure, above the atmosphere. [kPa]
    from_c, to_c : array_like
        Temperatures of the air in the tire. [°C]

    Returns
    -------
    float or ndarray [kPa], gauge

    Raises
    ------
    InputError
        If a pressure is below vacuum or a temperature below -100 °C.

    Notes
    -----
    ``(p + A) T2 / T1 - A`` with A the atmosphere and T absolute. Against real air the error is 0.05 psi for a
    car tire over 40 °C, 0.4 psi at 110 psi (CoolProp 8.0.0).

    Examples
    --------
    >>> round(float(pressure_at(241.3165, 21.111, -6.667)), 1)  # 35 psi, 70 to 20 °F
    209.0
    """
    p, t1, t2 = (np.asarray(x, dtype=float) for x in (gauge_kpa, from_c, to_c))
    if (p <= -ATMOSPHERE_KPA).any():
        raise misused(Wrong.BELOW_VACUUM, given=f"{float(np.nanmin(p)):.0f}")
    if (t1 < -100).any() or (t2 < -100).any():
        raise misused(Wrong.TOO_COLD)
    return (p + ATMOSPHERE_KPA) * (t2 + 273.15) / (t1 + 273.15) - ATMOSPHERE_KPA


def cold_from_warm(gauge_kpa: ArrayLike, state: ArrayLike, ambient_c: ArrayLike = np.nan) -> Any:
    """Cold gauge pressure of a tire read after driving.

    Parameters
    ----------
    gauge_kpa : array_like
        Reading. [kPa, gauge]
    state : array_like of str
        ``cold`` (parked 3 hours or driven less than a mile), ``city`` or ``highway``.
    ambient_c : array_like
        Temperature outside; 21 °C (70 °F) where unknown. [°C]

    Notes
    -----
    The air in the tire is taken to be warmer than outside by the usual build-up, ``BUILD_UP_C``. Where its
    temperature was measured, :func:`pressure_at` needs no such assumption.

    Examples
    --------
    >>> from tirelife.units import convert
    >>> round(convert(float(cold_from_warm(convert(29, "psi", "kpa"), "highway")), "kpa", "psi"), 1)
    24.0
    """
    outside = np.asarray(ambient_c, dtype=float)
    outside = np.where(np.isnan(outside), COLD_C, outside)
    return pressure_at(gauge_kpa, outside + _by_state(state, BUILD_UP_C), outside)


def hot_target(placard_kpa: ArrayLike) -> Any:
    """Pressure to set when a tire must be filled hot: 4 psi above the cold one, to be checked again cold.

    From a tire maker's user guide (2023). Air is only ever added; a hot tire is never bled.
    """
    return np.asarray(placard_kpa, dtype=float) + _HOT_SET_KPA


def placard_at(vehicles: pd.DataFrame, vehicle_id: pd.Series, position: pd.Series) -> NDArray[np.float64]:
    """Placard pressure of each place [kPa]: by axle; a spare keeps the higher of the two."""
    row = pd.Index(vehicles["vehicle_id"]).get_indexer(pd.Index(vehicle_id))
    front, rear = (
        np.append(vehicles[f"placard_{axle}_kpa"].to_numpy(float), np.nan)[row] for axle in ("front", "rear")
    )
    by_axle = np.where(is_front(position), front, rear)
    return np.asarray(np.where(position == SPARE, np.fmax(front, rear), by_axle))


def stated_placard(vehicles: pd.DataFrame, vehicle_id: pd.Series, position: pd.Series) -> NDArray[np.float64]:
    """Placard pressure of each place as the log states it [kPa]; NaN where it is not stated, but assumed.

    What a tire is set to comes from the placard alone; what is assumed may only be compared with.
    """
    stated = {
        f"{fact}_kpa": vehicles[f"{fact}_kpa"].mask(is_assumed(vehicles, fact))
        for fact in ("placard_front", "placard_rear")
    }
    return placard_at(vehicles.assign(**stated), vehicle_id, position)


@kept
def cold_pressures(book: Logbook) -> pd.DataFrame:
    """Every pressure reading, corrected for its gauge and brought to a cold footing.

    Parameters
    ----------
    book : Logbook

    Returns
    -------
    DataFrame
        One row a reading, in date order: ``row, date, vehicle_id, position, state, reading_kpa, ambient_c,
        gauge_id, bias_kpa, cold_kpa`` (as found), ``set_kpa`` (as set, cold; NaN if left as found),
        ``cold_se_kpa, placard_kpa, ratio`` (found over placard), ``method`` (how the cold figure came
        about), ``note`` (codes of :class:`ColdNote`, a space between), ``doubt`` and ``codes`` (the logbook's
        own; a doubtful reading is kept here and not used further).

    Notes
    -----
    Cold means at the temperature outside, as the placard does; pressure falls with the season and a tire in
    winter is as low as it reads. A pressure set on a warm tire is brought to cold in the same way.
    """
    given = book.pressures
    columns = [
        "row", "date", "vehicle_id", "position", "state", "reading_kpa", "ambient_c", "gauge_id", "bias_kpa",
        "cold_kpa", "set_kpa", "cold_se_kpa", "placard_kpa", "ratio", "method", "note", "doubt",
        "codes",
    ]  # fmt: skip
    if given.empty:
        return pd.DataFrame(columns=columns)
    out = given.rename(columns={"pressure_kpa": "reading_kpa"}).sort_values("date", kind="stable")
    out = out.reset_index(drop=True)
    gauge = out["gauge_id"].fillna("").astype(str)
    gauges = _gauges(book)
    bias = gauge.map(gauges["bias_kpa"]).astype(float)
    out["bias_kpa"] = bias.fillna(0.0)
    state, outside = out["state"].astype(str), out["ambient_c"].astype(float)
    out["cold_kpa"] = cold_from_warm(out["reading_kpa"] - out["bias_kpa"], state, outside)
    out["set_kpa"] = cold_from_warm(out["set_to_kpa"].astype(float) - out["bias_kpa"], state, outside)
    reading_se = gauge.map(gauges["se_kpa"]).astype(float).fillna(READING_SE_KPA)
    out["cold_se_kpa"] = np.hypot(reading_se, _by_state(state, BUILD_UP_SE_KPA))
    out["placard_kpa"] = placard_at(book.vehicles, out["vehicle_id"], out["position"])
    out["ratio"] = out["cold_kpa"] / out["placard_kpa"]
    warm = np.where(state == "highway", 3, 1) + outside.isna()
    ways = pd.Series([way.value for way in ColdWay], dtype="str")
    out["method"] = ways.iloc[np.where(state == "cold", 0, warm)].array
    out["note"] = _notes(out, (gauge != "") & bias.isna())
    return out[columns]


class ColdWay(StrEnum):
    """How a reading was brought to cold: read so, or by the build-up after driving of a kind."""

    COLD = "cold-read"
    CITY = "cold-city"
    CITY_ASSUMED = "cold-city-assumed"
    """The temperature outside was not written down: 70 °F is assumed."""
    HIGHWAY = "cold-highway"
    HIGHWAY_ASSUMED = "cold-highway-assumed"


class ColdNote(StrEnum):
    """What is to be said of one pressure reading."""

    LET_OUT = "let-out-warm"
    SET_WARM = "set-warm"
    GAUGE_UNKNOWN = "gauge-unknown"
    OVER_PLACARD = "over-placard"
    DOUBTFUL = "doubtful-pressure"


def _notes(out: pd.DataFrame, unknown: pd.Series) -> pd.Series:
    warm = (out["state"] != "cold").to_numpy()
    let_out = warm & (out["set_to_kpa"] < out["reading_kpa"] - 1).to_numpy()
    low_when_cold = warm & (out["set_kpa"] < out["placard_kpa"] - 7).to_numpy()
    over = (out["ratio"] > 1.1).to_numpy()
    doubtful = pd.Series(doubted(out, "pressure_kpa"), index=out.index)
    said = pd.Series("", index=out.index, dtype=object)
    for flag, text in (
        (let_out, ColdNote.LET_OUT),
        (low_when_cold, ColdNote.SET_WARM),
        (unknown, ColdNote.GAUGE_UNKNOWN),
        (over, ColdNote.OVER_PLACARD),
        (doubtful, ColdNote.DOUBTFUL),
    ):
        here = np.asarray(flag, dtype=bool)
        said[here] = said[here].where(said[here] == "", said[here] + " ") + text.value
    return said


def _gauges(book: Logbook) -> pd.DataFrame:
    """Bias and standard error of one reading of each pressure gauge [kPa], by gauge."""
    if not (book.gauges["kind"] == "pressure").any():
        return pd.DataFrame({"bias_kpa": [], "se_kpa": []}, dtype=float)
    # Only the pressure gauges matter here: a fleet's depth readings need not be gone through again.
    depths = book.tables["depths"]
    study = gauge_study(replace(book, tables={**book.tables, "depths": depths.iloc[:0]}))
    study = study[study["kind"] == "pressure"].set_index("gauge_id").astype({"bias": float})
    repeat = study["repeatability"].astype(float).fillna(READING_SE_KPA).clip(lower=READING_SE_KPA / 2)
    error = np.hypot(repeat, study["bias_se"].astype(float).fillna(0.0))
    return pd.DataFrame({"bias_kpa": study["bias"], "se_kpa": error})


def _by_state(state: ArrayLike, table: dict[str, float]) -> NDArray[np.float64]:
    names = state if isinstance(state, pd.Series) else np.asarray(state, dtype=object).ravel()
    code, kinds = pd.factorize(names)
    wrong = [str(kind) for kind in kinds if kind not in table]
    if wrong or (code < 0).any():
        raise misused(Wrong.STATE, given=(wrong or ["nan"])[0])
    return np.array([table[kind] for kind in kinds], dtype=float)[code].reshape(np.shape(state))
