"""Readings collapsed to one row a tire and visit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.logbook import GROOVES, gauge_study, kept, with_usable_odometers
from tirelife.tread.gauge import infer_resolution, learned_spread, reading_variances, usual_spread
from tirelife.tread.inferred import variance_of_doubt
from tirelife.tread.moves import choose_side
from tirelife.tread.reduction import reduce_readings

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["VISIT_COLUMNS", "groove_states", "tire_visits", "visits_from_sums"]

VISIT_COLUMNS: Final = [
    "vehicle_id", "tire_id", "position", "date", "odometer_km", "tire_km", "readings", "depth_mm",
    "depth_se_mm", "shallowest_mm", "shallowest_groove", *(f"{g}_mm" for g in GROOVES), "gauge_id",
    "resolution_mm", "doubt", "bias_mm", "least_mm", "least_groove", "whose_mm2",
]  # fmt: skip
"""Columns of tire-visits: those of the contract in DEVELOPERS.md, then the gauge bias that was taken off, the
least single reading, less that bias, with its groove, and what the doubt whose tire it is adds to the error
variance (0 where mounts are recorded)."""

_PLACE: Final = ["vehicle_id", "position", "date"]
_NUMBER: Final = [f"n_{g}" for g in GROOVES]
_TOTAL: Final = [f"total_{g}_mm" for g in GROOVES]
_LEAST: Final = [f"least_{g}_mm" for g in GROOVES]
_STATE_COLUMNS: Final = [
    *_NUMBER, *(f"var_{g}_mm2" for g in GROOVES), "reading_var_mm2", *_LEAST, "least_sd_mm",
]  # fmt: skip
_REPLACED_MM: Final = 1.0
"""Spread within grooves from which a place on the day of a change is taken to hold two tires' readings."""


class VisitDoubt(StrEnum):
    """What is doubtful about a place on a day, beside what its readings are doubted for."""

    ODOMETERS = "odometers-differ"
    """The odometer was read twice; the higher reading is used."""
    NO_TIRE = "no-tire-known"
    READINGS = "readings-doubtful"


def tire_visits(book: Logbook, resolution_mm: float | Mapping[str, float] | None = None) -> pd.DataFrame:
    """One row a tire and visit, from all its groove readings that day.

    Parameters
    ----------
    book : Logbook
    resolution_mm : float or mapping of str to float, optional
        Step of the gauges, or of each by ``gauge_id``; inferred from the readings where it is not given. [mm]

    Returns
    -------
    DataFrame
        :data:`VISIT_COLUMNS`, sorted by tire and date. ``depth_mm`` is the mean of the groove means,
        ``tire_km`` the distance that the tire has run on the road. ``depth_se_mm`` is the standard error of
        ``depth_mm`` from the gauge: spread of single readings, rounding, number of readings, and the error of
        the bias. ``bias_mm`` has been taken off every depth; 0 where the gauge was not compared with a
        master. ``shallowest_mm`` is the least groove mean, ``least_mm`` the least single reading.
        Doubtful readings are counted in and named in ``doubt``; so is a reading in a place where no
        tire is known, with an empty ``tire_id``.

    Notes
    -----
    A reading on the day of a move belongs to the tire that came in or to the one that left: see
    :mod:`tirelife.tread.moves`. Where a tire was replaced and both were read, the readings fall apart into
    two depths, and the deeper go to the tire that has run less.
    """
    return groove_states(book, resolution_mm)[VISIT_COLUMNS]


@kept
def groove_states(book: Logbook, resolution_mm: float | Mapping[str, float] | None = None) -> pd.DataFrame:
    """Tire-visits with what each groove mean rests on.

    Returns
    -------
    DataFrame
        :data:`VISIT_COLUMNS`, then ``n_<groove>`` (readings) and ``var_<groove>_mm2`` (error variance of the
        groove mean from the gauge, its bias apart; NaN where the groove was not read),
        ``reading_var_mm2``, the variance of single readings about their groove's mean, ``least_<groove>_mm``,
        the least reading of each groove less the gauge's bias, and ``least_sd_mm``, the error of one reading
        from the gauge: its spread, rounding, and the error of its bias.
    """
    depths = with_usable_odometers(book.depths, book.odometer_unused("depths"), book.odometer)
    if depths.empty:
        return _empty()
    readings = depths.assign(gauge_id=depths["gauge_id"].fillna("").astype(str))
    sums = reduce_readings(readings)
    errors = gauge_errors(readings, sums, resolution_mm, depth_biases(book))
    visits = visits_from_sums(sums, errors, book.stretches, book.vehicles, readings)
    return visits.assign(whose_mm2=variance_of_doubt(visits, book.mounts, depths))


def gauge_errors(
    readings: pd.DataFrame,
    sums: pd.DataFrame,
    resolution_mm: float | Mapping[str, float] | None = None,
    biases: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """What each depth gauge of a log adds to a reading.

    Parameters
    ----------
    readings : DataFrame
        gauge_id, depth_mm.
    sums : DataFrame
        From :func:`tirelife.tread.reduce_readings`.
    resolution_mm : float or mapping of str to float, optional
        Steps that are known. [mm]
    biases : DataFrame, optional
        gauge_id, bias (reading less master), bias_se, of the gauges that were compared. [mm]

    Returns
    -------
    DataFrame
        By gauge_id: resolution_mm (NaN if none fits), reading_var_mm2 (of single readings about their
        groove's mean), rounding_var_mm2 (shared by the readings of one groove), one_var_mm2 (of one reading
        about the depth where it was taken), bias_mm, bias_se_mm.
    """
    values = readings.groupby(["gauge_id", "depth_mm"], sort=False).size().reset_index(name="times")
    rows = {}
    spread = learned_spread(_within(sums))
    for gauge, part in values.groupby("gauge_id"):
        step = resolution_mm.get(str(gauge)) if isinstance(resolution_mm, Mapping) else resolution_mm
        if step is None:
            step = infer_resolution(part["depth_mm"].to_numpy(float), part["times"].to_numpy(float))
        marks = 0.0 if np.isnan(step) else step
        learned = float(spread.get(gauge, np.nan))
        usual = usual_spread(marks)
        single, shared = reading_variances(marks, usual, learned)
        # What readings of one groove differ by is the tread's own unevenness too: the gauge's is no more
        # than the usual.
        one = min(single + shared, sum(reading_variances(marks, usual, float("nan"))))
        rows[str(gauge)] = (step, single, shared, one, 0.0, 0.0)
    columns = ["resolution_mm", "reading_var_mm2", "rounding_var_mm2", "one_var_mm2", "bias_mm", "bias_se_mm"]
    out = pd.DataFrame.from_dict(rows, orient="index", columns=columns).rename_axis("gauge_id")
    if biases is not None and len(biases):
        known = biases.set_index("gauge_id").reindex(out.index)
        alone = (out["reading_var_mm2"] + out["rounding_var_mm2"]) / known["comparisons"]
        out["bias_mm"] = known["bias"].fillna(0.0)
        out["bias_se_mm"] = known["bias_se"].fillna(alone**0.5).where(known["bias"].notna(), 0.0)
    return out


@kept
def depth_biases(book: Logbook) -> pd.DataFrame:
    """Bias of the depth gauges that were compared with a master; repeats are learned from the sums."""
    if not (book.gauges["kind"] == "depth").any():
        return pd.DataFrame(columns=["gauge_id", "bias", "bias_se", "comparisons"])
    compared = {name: table.iloc[:0] for name, table in book.tables.items()} | {"gauges": book.gauges}
    study = gauge_study(replace(book, tables=compared))
    return study[(study["kind"] == "depth") & (study["comparisons"] > 0)]


def visits_from_sums(
    sums: pd.DataFrame,
    errors: pd.DataFrame,
    path: pd.DataFrame,
    vehicles: pd.DataFrame,
    readings: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """Turn sums by place, day and gauge into tire-visits.

    Parameters
    ----------
    sums : DataFrame
        From :func:`tirelife.tread.reduce_readings`, brought to pandas.
    errors : DataFrame
        From :func:`gauge_errors`.
    path : DataFrame
        As from :func:`tirelife.logbook.stretches`.
    vehicles : DataFrame
        vehicle_id, drive.
    readings : DataFrame, optional
        The readings themselves, to name their doubts and to part two tires read in one place on one day.

    Returns
    -------
    DataFrame
        As :func:`groove_states`.
    """
    if sums.empty:
        return _empty()
    places = _places(sums, errors)
    at = places.assign(odometer_km=places["high_km"])
    before, after = _stretch_of(at, path)
    places["stretch"] = choose_side(at, before, after, path, vehicles)
    if readings is not None:
        places = _part_replaced(places, before, after, path, readings, errors)
    known = places["stretch"].to_numpy() >= 0
    row = places["stretch"].to_numpy()
    names = path["tire_id"].astype("str").array
    places["tire_id"] = names.take(np.where(known, row, -1), allow_fill=True, fill_value="")
    places["tire_km"] = _tire_km(places.rename(columns={"high_km": "odometer_km"}), path, row)
    places["doubt"] = _doubts(places, known, readings)
    out = _finish(places)
    # By tire, date and position: each name ranked once, then numbers sorted.
    tire, position = (pd.factorize(out[name], sort=True)[0] for name in ("tire_id", "position"))
    order = np.lexsort((position, out["date"].to_numpy(), tire))
    return out.take(order).reset_index(drop=True)


def _within(sums: pd.DataFrame) -> pd.DataFrame:
    """Add the sum of squares about the groove means, and how many readings it is free of."""
    number, total = sums[_NUMBER].to_numpy(float), sums[_TOTAL].to_numpy(float)
    between = np.divide(total**2, number, out=np.zeros(total.shape), where=number > 0).sum(axis=1)
    within = np.maximum(sums["squares_mm2"].to_numpy(float) - between, 0.0)
    return sums.assign(within_mm2=within, free=np.maximum(number - 1, 0).sum(axis=1))


def _places(sums: pd.DataFrame, errors: pd.DataFrame) -> pd.DataFrame:
    """One row a place and day, whatever gauges read it, with means and error variances by groove."""
    known = errors.reindex(sums["gauge_id"].to_numpy())
    number, total = sums[_NUMBER].to_numpy(float), sums[_TOTAL].to_numpy(float)
    bias = known["bias_mm"].to_numpy(float)[:, None]
    shared = known["rounding_var_mm2"].to_numpy(float)[:, None]
    single = known["reading_var_mm2"].to_numpy(float)[:, None]
    readings = number.sum(axis=1)
    parts = _within(sums)[[*_PLACE, "gauge_id", "low_km", "high_km", "doubtful", "within_mm2", "free"]]
    true, error = total - bias * number, number**2 * shared + number * single
    made: dict[str, NDArray[Any]] = {}
    for j, groove in enumerate(GROOVES):
        made[f"n_{groove}"] = number[:, j].astype(int)
        made[f"total_{groove}_mm"] = true[:, j]
        made[f"error_{groove}"] = error[:, j]
        made[f"least_{groove}_mm"] = sums[f"least_{groove}_mm"].to_numpy(float) - bias[:, 0]
    made["bias_mm"] = bias[:, 0] * readings
    made["bias_var"] = known["bias_se_mm"].to_numpy(float) ** 2 * readings
    made["single"] = single[:, 0] * readings
    made["least_var"] = known["one_var_mm2"].to_numpy(float) * readings + made["bias_var"]
    made["readings"] = readings.astype(int)
    made["resolution_mm"] = known["resolution_mm"].to_numpy(float)
    parts = parts.assign(**made)
    several = parts.duplicated(_PLACE, keep=False)
    merged = _merge_gauges(parts[several].sort_values([*_PLACE, "gauge_id"]))
    out = pd.concat([parts[~several], merged], ignore_index=True) if len(merged) else parts
    number, total = out[_NUMBER].to_numpy(float), out[_TOTAL].to_numpy(float)
    error = out[[f"error_{g}" for g in GROOVES]].to_numpy(float)
    mean = np.divide(total, number, out=np.full(total.shape, np.nan), where=number > 0).clip(min=0.0)
    var = np.divide(error, number**2, out=np.full(total.shape, np.nan), where=number > 0)
    grooves = (number > 0).sum(axis=1)
    readings = out["readings"].to_numpy(float)
    least = np.maximum(out[_LEAST].to_numpy(float), 0.0)
    worked: dict[str, Any] = {name: least[:, j] for j, name in enumerate(_LEAST)}
    for j, groove in enumerate(GROOVES):
        worked[f"{groove}_mm"], worked[f"var_{groove}_mm2"] = mean[:, j], var[:, j]
    worked["depth_mm"] = np.nansum(mean, axis=1) / grooves
    common = out["bias_var"].to_numpy(float) / readings
    worked["depth_se_mm"] = np.sqrt(np.nansum(var, axis=1) / grooves**2 + common)
    worked["bias_mm"] = out["bias_mm"].to_numpy(float) / readings
    worked["reading_var_mm2"] = out["single"].to_numpy(float) / readings
    worked["least_sd_mm"] = (out["least_var"].to_numpy(float) / readings) ** 0.5
    worked["whose_mm2"] = 0.0
    gone = [*_TOTAL, *(f"error_{g}" for g in GROOVES), "bias_var", "single", "least_var"]
    return out.drop(columns=gone).assign(**worked)


def _merge_gauges(parts: pd.DataFrame) -> pd.DataFrame:
    """Add up the rows of places that were read with more than one gauge."""
    if parts.empty:
        return parts
    names = [c for c in parts if c not in (*_PLACE, "gauge_id", "low_km", "high_km", "resolution_mm")]
    rules = dict.fromkeys(names, "sum") | {"low_km": "min", "high_km": "max", "resolution_mm": "max"}
    rules |= dict.fromkeys(_LEAST, "min")
    grouped = parts.groupby(_PLACE, sort=False)
    merged = grouped.agg(rules)
    merged["gauge_id"] = grouped["gauge_id"].agg(", ".join)
    return merged.reset_index()


def _part_replaced(
    places: pd.DataFrame,
    before: NDArray[np.int64],
    after: NDArray[np.int64],
    path: pd.DataFrame,
    readings: pd.DataFrame,
    errors: pd.DataFrame,
) -> pd.DataFrame:
    """Part places where the tire that left and the one that came were both read on one day."""
    spread2 = places["within_mm2"] / places["free"].where(places["free"] > 0)
    two = (before >= 0) & (after >= 0) & (before != after) & (spread2 > _REPLACED_MM**2).to_numpy()
    two[two] = ~_goes_on(path, before[two])
    if not two.any():
        return places
    started = path["before_km"].to_numpy(float)
    run = started + path["to_km"].to_numpy(float) - path["from_km"].to_numpy(float)
    parts = [places[~two]]
    for i in np.flatnonzero(two):
        here = readings[(readings[_PLACE] == places.loc[i, _PLACE]).all(axis=1)]
        fresh, worn = (before[i], after[i]) if run[before[i]] < started[after[i]] else (after[i], before[i])
        deep = here["depth_mm"] > (here["depth_mm"].min() + here["depth_mm"].max()) / 2
        low = set(here.loc[~deep, "groove"])
        if not set(here.loc[deep, "groove"]) <= low:  # a worn tire is low in every groove
            parts.append(places.loc[[i]])
            continue
        for part, stretch in ((here[deep], fresh), (here[~deep], worn)):
            sums: pd.DataFrame = reduce_readings(part)
            parts.append(_places(sums, errors).assign(stretch=stretch))
    parted: pd.DataFrame = pd.concat(parts, ignore_index=True)
    return parted


def _goes_on(path: pd.DataFrame, row: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether the tire of a stretch that ends is on the same vehicle from there on: tires were rotated."""
    keys = ["vehicle_id", "tire_id", "km"]
    begins = pd.MultiIndex.from_frame(path.assign(km=_metres(path["from_km"]))[keys])
    ends = path.iloc[row]
    return pd.MultiIndex.from_frame(ends.assign(km=_metres(ends["to_km"]))[keys]).isin(begins)


def _doubts(
    places: pd.DataFrame, known: NDArray[np.bool_], readings: pd.DataFrame | None
) -> NDArray[np.object_]:
    """Codes of what is doubtful about each place and day: its readings, two odometers, no tire."""
    doubt = np.full(len(places), "", dtype=object)
    if readings is None:
        few = places["doubtful"].to_numpy() > 0
        doubt[few] = VisitDoubt.READINGS.value
    else:
        said = readings[readings["doubt"] != ""]
        if len(said):
            texts = said.groupby(_PLACE)["doubt"].agg(lambda v: "; ".join(dict.fromkeys(v)))
            index = pd.MultiIndex.from_frame(places[_PLACE])
            doubt = texts.reindex(index).fillna("").to_numpy(object).copy()
    apart = (places["high_km"] - places["low_km"] > 1.0).to_numpy()
    for mask, code in ((apart, VisitDoubt.ODOMETERS.value), (~known, VisitDoubt.NO_TIRE.value)):
        doubt[mask] = [f"{d}; {code}" if d else code for d in doubt[mask]]
    return doubt


def _finish(places: pd.DataFrame) -> pd.DataFrame:
    out = places.rename(columns={"high_km": "odometer_km"})
    mean = out[[f"{g}_mm" for g in GROOVES]].to_numpy(float)
    out["shallowest_mm"] = np.nanmin(mean, axis=1)
    names = pd.array(list(GROOVES), dtype="str")
    out["shallowest_groove"] = names.take(np.nanargmin(mean, axis=1))
    least = out[_LEAST].to_numpy(float)
    out["least_mm"] = np.nanmin(least, axis=1)
    out["least_groove"] = names.take(np.nanargmin(least, axis=1))
    out["doubt"] = out["doubt"].astype("str")
    return out[[*VISIT_COLUMNS, *_STATE_COLUMNS]]


def _empty() -> pd.DataFrame:
    columns = [*VISIT_COLUMNS, *_STATE_COLUMNS]
    text = ["vehicle_id", "tire_id", "position", "shallowest_groove", "gauge_id", "doubt", "least_groove"]
    kinds = dict.fromkeys(columns, "float64") | dict.fromkeys(text, "str") | {"date": "datetime64[us]"}
    kinds |= dict.fromkeys(("readings", *_NUMBER), "int64")
    return pd.DataFrame({name: pd.Series(dtype=kind) for name, kind in kinds.items()})


def _stretch_of(depths: pd.DataFrame, path: pd.DataFrame) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Row of the stretch that each reading ends or falls within, and of the one that begins at it."""
    vehicle, place = (
        pd.factorize(pd.concat([path[name], depths[name]], ignore_index=True))[0].astype(np.int64)
        for name in ("vehicle_id", "position")
    )
    code = vehicle * (int(place.max(initial=0)) + 1) + place
    begin = code[: len(path)] * 10**10 + _metres(path["from_km"])
    order = np.lexsort((path["from_date"].to_numpy(), begin))
    at = code[len(path) :] * 10**10 + _metres(depths["odometer_km"])

    def find(side: str) -> NDArray[np.int64]:
        spot = np.searchsorted(begin[order], at - 1 if side == "left" else at, side="right") - 1
        row = np.where(spot >= 0, order[np.maximum(spot, 0)], -1)
        fits = (row >= 0) & (code[: len(path)][row] == code[len(path) :])
        fits &= path["to_km"].to_numpy(float)[row] + 1e-3 >= depths["odometer_km"].to_numpy(float)
        return np.asarray(np.where(fits, row, -1), dtype=np.int64)

    return find("left"), find("right")


def _metres(km: pd.Series) -> NDArray[np.int64]:
    return np.asarray(np.rint(km.to_numpy(float) * 1000), dtype=np.int64)


def _tire_km(depths: pd.DataFrame, path: pd.DataFrame, row: NDArray[np.int64]) -> NDArray[np.float64]:
    since = depths["odometer_km"].to_numpy(float) - path["from_km"].to_numpy(float)[row]
    return np.where(row >= 0, path["before_km"].to_numpy(float)[row] + np.maximum(since, 0.0), np.nan)
