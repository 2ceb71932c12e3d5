"""Recorded trips to one row a trip, one row a vehicle, and a list of what was wrong with them."""

from __future__ import annotations

import contextlib
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from tirelife.driving.faults import LeftOut, Sideways
from tirelife.driving.kernel import Runs, trip_sums
from tirelife.driving.profile import COLUMNS, DEFAULT_THRESHOLDS, EVENTS, Thresholds
from tirelife.driving.samples import Block, ScatteredError, named_columns, read_blocks
from tirelife.driving.sums import (
    EXTREMES,
    FOUND,
    SUMS,
    event_sizes,
    looks_like,
    means,
    parked,
    statistics,
    typical_turns,
)
from tirelife.driving.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import convert

__all__ = ["TripSummary", "reduce_trips", "sum_trips", "summarize", "trip_statistics"]

_UNITS: Final = {"mph": LeftOut.MPH.value, "kmh": LeftOut.KMH.value, "either": LeftOut.EITHER.value}
LABELS: Final = ("vehicle_id", "trip_id", "date", "driver_group")
_WORKERS: Final = 2


@dataclass(frozen=True, eq=False)
class TripSummary:
    """What recorded trips come to.

    Attributes
    ----------
    trips : DataFrame
        One row a trip: vehicle_id, trip_id, date, driver_group; the statistics of
        :func:`trip_statistics`; what was found wrong (``gaps``, ``gap_s``, ``gap_km``, ``spikes``,
        ``jumps``, ``jump_s``, ``unsorted``, ``repeated``, ``missing``, ``negative``, ``drift_s``,
        ``drift_km``, ``side_wrong``, ``along_wrong``, ``no_speed``); ``counted_km``, the distance that the
        profile is over (``distance_km`` without gaps and drift); the speed shares, the hard events (counts
        and per 100 km) and the moments of :class:`DrivingProfile`; the sizes of
        :func:`tirelife.driving.sums.event_sizes`; ``lateral_share``; ``turning_share``; and ``doubt``, a
        :class:`~tirelife.driving.faults.LeftOut`, why the trip is left out of its vehicle (empty if it
        is not).
    vehicles : DataFrame
        One row a vehicle: vehicle_id, from_date, to_date (NaT where trips have no date), ``trips``,
        ``trips_left_out``, the columns of a frame of driving profiles (``distance_km`` is the whole distance,
        gaps and crawl with it), ``counted_km``, the part of it that the means are over, ``lateral_share``,
        ``turning_share``, ``note``. None for a vehicle of which no trip can be used.
    problems : DataFrame
        One row a vehicle and kind: vehicle_id, kind, trips, count, seconds, km, code (a
        :class:`~tirelife.driving.faults.Fault` or, of trips left out, a ``LeftOut``).
    thresholds : Thresholds
        What counted as hard.
    """

    trips: pd.DataFrame
    vehicles: pd.DataFrame
    problems: pd.DataFrame
    thresholds: Thresholds


def reduce_trips(
    source: Any,
    thresholds: Thresholds = DEFAULT_THRESHOLDS,
    *,
    progress: Callable[[int], None] | None = None,
) -> TripSummary:
    """Reduce recorded trips in one pass, in bounded memory.

    Parameters
    ----------
    source : path or frame
        A CSV or Parquet file, a folder of either, a logbook with a ``trips`` table, or a frame (pandas,
        Polars also lazy, DuckDB, Arrow: read in batches; PySpark: reduced on its workers, which need this
        package). Columns:
        vehicle_id, trip_id, time_s, speed_mps (or speed_mph, speed_kmh), and if there are any
        longitudinal_mps2, lateral_mps2 (or longitudinal_g, lateral_g), heading_deg, date, driver_group. 1 Hz
        or faster; rows in any order. Accelerations may stand without speeds: then the events of each trip
        and their sizes are known, and no profile.
    thresholds : Thresholds
        What counts as hard; kept in the result.
    progress : callable, optional
        Called with the number of samples of each part that is done.

    Returns
    -------
    TripSummary

    Raises
    ------
    InputError
        If there are no trips, a column is missing or has no unit, or a cell is not a number.

    Notes
    -----
    Each step between two samples has its mean speed and its acceleration; v², v⁴ and a v² are
    integrated exactly over the ramp. Steps longer than 1.5 s (gaps), changes of speed that no tire could
    hold (jumps) and the crawl of a receiver at rest (drift) are left out of the moments and reported;
    ``distance_km`` bridges gaps by a straight line, as the published definition does, and ``gap_km`` says
    how much. Trips whose speeds look like another unit are reported and left out of the vehicle.

    Trips sampled faster than about 2 Hz are thinned to whole seconds of their clock before accelerations
    are taken. A trace that is linear between whole seconds gives the same at 1, 5 and 10 Hz to rounding;
    smooth driving within 1 % in every moment (tested). Cutting a trip in two at a sample on a whole
    second, repeating that sample, changes no sum; an event that is cut counts twice. A trip of more than
    2 million samples is cut at a standstill; its parts are rows of their own, ``X``, ``X (2)``.
    """
    return summarize(sum_trips(source, thresholds, progress=progress), thresholds)


def sum_trips(
    source: Any,
    thresholds: Thresholds = DEFAULT_THRESHOLDS,
    *,
    progress: Callable[[int], None] | None = None,
) -> pd.DataFrame:
    """Sums of each trip: the part of :func:`reduce_trips` that touches samples.

    Sums of parts of a data set, cut between trips, may be concatenated and given to :func:`summarize`.

    Returns
    -------
    DataFrame
        vehicle_id, trip_id, date, driver_group and the columns :data:`tirelife.driving.sums.SUMS`.
    """
    if hasattr(source, "mapInPandas"):
        return _on_spark(source, thresholds)
    with contextlib.suppress(ScatteredError):
        return _summed(read_blocks(source), thresholds, progress)
    return _summed(read_blocks(source, scattered=True), thresholds, progress)


def _on_spark(frame: Any, thresholds: Thresholds) -> pd.DataFrame:
    """Sums of the trips of a Spark frame, each made where its samples are brought together."""
    columns = named_columns(frame.columns, "trips")

    def sums(batches: Iterator[pd.DataFrame]) -> Iterator[pd.DataFrame]:
        samples = list(batches)
        if samples:
            made = sum_trips(pd.concat(samples, ignore_index=True), thresholds)
            yield made.astype({name: object for name in LABELS} | {name: float for name in SUMS})

    whole = frame.repartition(*(columns[key][0] for key in ("vehicle_id", "trip_id")))
    typed = [*(f"{name} string" for name in LABELS), *(f"{name} double" for name in SUMS)]
    table: pd.DataFrame = whole.mapInPandas(sums, ", ".join(typed)).toPandas()
    return table


def _summed(
    blocks: Iterator[Block], thresholds: Thresholds, progress: Callable[[int], None] | None
) -> pd.DataFrame:
    # Two blocks at work and two waiting: NumPy lets go of the interpreter's lock, so two threads use two
    # cores.
    parts: list[pd.DataFrame] = []
    waiting: deque[tuple[Block, Future[dict[str, Any]]]] = deque()

    def finish() -> None:
        block, future = waiting.popleft()
        parts.append(pd.concat([block.labels, pd.DataFrame(future.result())], axis=1))
        if progress:
            progress(len(block.runs.time_s))

    with ThreadPoolExecutor(_WORKERS) as pool:
        for block in blocks:
            waiting.append((block, pool.submit(trip_sums, block.runs, thresholds)))
            if len(waiting) > 2 * _WORKERS:
                finish()
        while waiting:
            finish()
    if not parts:
        return pd.DataFrame(columns=[*LABELS, *SUMS])
    return pd.concat(parts, ignore_index=True)[[*LABELS, *SUMS]]


def summarize(sums: pd.DataFrame, thresholds: Thresholds = DEFAULT_THRESHOLDS) -> TripSummary:
    """Turn sums of trips into the tables that people read.

    Parameters
    ----------
    sums : DataFrame
        Of :func:`sum_trips`, from one part or several; a row that is there twice (a part that was run
        again) counts once.
    thresholds : Thresholds
        Those that the events in ``sums`` were counted with.

    Returns
    -------
    TripSummary
    """
    if not len(sums):
        raise misused(Wrong.NO_SAMPLES)
    sums = sums.drop_duplicates(["vehicle_id", "trip_id", "start_s"]).sort_values(
        ["vehicle_id", "date", "trip_id", "start_s"], kind="stable", ignore_index=True
    )
    meters = sums["drive_m"] + sums["brake_m"]
    sums = parked(sums).assign(trips_squared_m2=meters**2, counted_m=meters, doubt=_doubts(sums, meters))
    used = sums[sums["doubt"] == ""]
    if not len(used) and not (sums["no_speed"] > 0).any():
        raise misused(Wrong.NONE_USABLE, reasons=tuple(sorted(set(sums["doubt"]))))
    return TripSummary(_trip_table(sums), _vehicle_table(sums, thresholds), _problems(sums), thresholds)


def trip_statistics(time_s: ArrayLike, speed_mps: ArrayLike) -> pd.Series:
    """Published statistics of one trip, from its time and speed.

    Parameters
    ----------
    time_s : array_like, shape (samples,)
        [s]
    speed_mps : array_like, shape (samples,)
        [m/s]

    Returns
    -------
    Series
        ``start_s`` [s]; ``duration_s``, last time minus first [s]; ``samples``; ``distance_km``,
        trapezoid with the real time steps, gaps included [km]; ``mean_speed_mps``, mean over samples;
        ``driving_mean_speed_mps``, over samples above 0; ``max_speed_mps``;
        ``root_mean_cubed_speed_mps``, cube root of the samples' mean v³; ``sd_speed_mps``, of the
        samples, divided by their number; ``zero_samples``, with speed 0; ``stops``, arrivals at speed 0
        (runs of 0 but one at the start); ``longest_stop_s``, from the first 0 to the next sample above 0;
        ``acceleration_runs`` and ``deceleration_runs``, maximal runs of steps with rising or falling
        speed; ``max_acceleration_mps2`` and ``max_deceleration_mps2`` (negative), change of speed over
        time step; ``kinetic_demand_total_m2s3`` and ``_max_``, sum and largest of the positive ``(v2² -
        v1²) / (2 dt)``, and ``kinetic_return_total_m2s3`` and ``_max_`` of the negative (per kg of mass);
        ``aerodynamic_demand_total_m3s3`` and ``_max_`` of half the ramp's mean v³, ``(v1³ + v1² v2 + v1
        v2² + v2³) / 8``; ``rolling_demand_total_m2s3`` and ``_max_`` of 9.80665 times the step's mean
        speed; ``aerodynamic_speed_mps``, square root of the integral of v³ dt over the distance;
        ``characteristic_acceleration_mps2``, sum of the positive ``(v2² - v1²) / 2`` over the distance,
        without elevation; ``kinetic_intensity_per_km``, 1000 times that over the aerodynamic speed
        squared; and ``samples_5mph``, ``samples_10mph`` ... ``samples_75mph``, ``samples_over_75mph``:
        samples above the limit before it and up to this one.

    Raises
    ------
    InputError
        If the two differ in length, are empty, or hold something other than finite numbers.

    Notes
    -----
    These are the definitions of the per-trip tables of the Transportation Secure Data Center (NREL; data
    dictionary of 2 May 2017), found by reproducing 241 trips to 1e-9 (its accelerations in ft/s² are mph/s
    times 1.466667). Totals of demand add up steps, not seconds. Samples are put in time order; repeats of
    a time count once. Spikes are dropped as in :func:`reduce_trips`; the published speeds have none.

    Examples
    --------
    >>> trip_statistics([0, 1, 2, 3], [0.0, 2.0, 2.0, 0.0])[["distance_km", "stops"]].to_dict()
    {'distance_km': 0.004, 'stops': 1.0}
    """
    time, speed = (np.asarray(x, dtype=float).ravel() for x in (time_s, speed_mps))
    if len(time) != len(speed) or not len(time):
        raise misused(Wrong.LENGTHS, times=len(time), speeds=len(speed))
    if not (np.isfinite(time).all() and np.isfinite(speed).all()):
        raise misused(Wrong.NOT_FINITE)
    runs = Runs(np.zeros(1, dtype=np.int64), time, speed)
    out = statistics(pd.DataFrame(trip_sums(runs, DEFAULT_THRESHOLDS))).iloc[0].astype(float)
    bins = np.bincount(np.searchsorted(_BINS_MPS, speed, side="left"), minlength=len(_BINS_MPS) + 1)
    names = [f"samples_{mph}mph" for mph in range(0, 80, 5)] + ["samples_over_75mph"]
    counts = pd.Series(bins[1:].astype(float), index=names[1:])
    whole: pd.Series = pd.concat([out, counts])
    return whole


_BINS_MPS: Final = convert(np.arange(0, 80, 5), "mph", "mps")


def _doubts(sums: pd.DataFrame, meters: pd.Series) -> pd.Series:
    unit = looks_like(sums)
    # A vehicle, or a file, most of whose moving time is in one wrong unit is in that unit as a whole.
    seconds = pd.crosstab(sums["vehicle_id"], unit, values=sums["moving_s"], aggfunc="sum").fillna(0.0)
    by_vehicle, everywhere = _most(seconds), _most(seconds.sum().to_frame().T).iloc[0]
    wider = by_vehicle.where(by_vehicle != "mps", everywhere).reindex(sums["vehicle_id"]).to_numpy()
    unit = pd.Series(np.where(wider == "mps", unit, wider), index=sums.index)
    doubt = unit.map({**_UNITS}).fillna("")
    nothing = np.select(
        [sums["no_speed"] > 0, meters > 0, (sums["gaps"] > 0) & (sums["counted_s"] == 0)],
        [LeftOut.NO_SPEED.value, "", LeftOut.TOO_SLOW.value],
        LeftOut.STILL.value,
    )
    return pd.Series(np.where(doubt != "", doubt, nothing), index=sums.index)


def _most(seconds: pd.DataFrame) -> pd.Series:
    wrong = seconds.drop(columns="mps", errors="ignore")
    if not wrong.shape[1]:
        return pd.Series("mps", index=seconds.index)
    return wrong.idxmax(axis=1).where(2 * wrong.sum(axis=1) > seconds.sum(axis=1), "mps")


def _trip_table(sums: pd.DataFrame) -> pd.DataFrame:
    profile = means(sums)
    found = sums[[*FOUND, "gap_s", "jump_s"]].assign(
        gap_km=sums["gap_m"] / 1000, drift_km=sums["drift_m"] / 1000
    )
    events = sums[["hard_starts", "hard_stops", "hard_turns"]].astype(float)
    events["hard_turns"] = events["hard_turns"].where(sums["side_s"] > 0)
    known = statistics(sums)
    measured = known.columns.difference(["start_s", "duration_s", "samples"])
    known[measured] = known[measured].where(sums["no_speed"] == 0)
    parts = [
        sums[list(LABELS)],
        known,
        found,
        profile.drop(columns="log_sd"),
        events,
        event_sizes(sums),
        sums[["doubt"]],
    ]
    out = pd.concat(parts, axis=1)
    out["date"] = pd.to_datetime(out["date"], errors="coerce").astype("datetime64[us]")
    return out


def _vehicle_table(sums: pd.DataFrame, thresholds: Thresholds) -> pd.DataFrame:
    used = sums[sums["doubt"] == ""]
    added = [c for c in SUMS if c not in EXTREMES]
    totals = used.groupby("vehicle_id")[[*added, "parked_m", "trips_squared_m2"]].sum()
    profile = means(totals).assign(distance_km=totals["path_m"] / 1000)
    dates = pd.to_datetime(used["date"], errors="coerce").astype("datetime64[us]").groupby(used["vehicle_id"])
    counts = sums.groupby("vehicle_id")["doubt"].agg(
        trips=lambda d: (d == "").sum(), left=lambda d: (d != "").sum()
    )
    out = profile.assign(
        from_date=dates.min(),
        to_date=dates.max(),
        trips=counts["trips"].reindex(profile.index),
        trips_left_out=counts["left"].reindex(profile.index),
        source="trips",
        **{f"threshold_{k}": v for k, v in asdict(thresholds).items()},
    )
    turns = EVENTS[2]
    no_side, some_side = out["lateral_share"] == 0, (out["lateral_share"] > 0) & (out["lateral_share"] < 0.5)
    out[turns] = out[turns].where(~no_side, typical_turns(thresholds))
    out["note"] = np.select(
        [no_side, some_side],
        [Sideways.NONE.value, Sideways.SOME.value],
        "",
    )
    names = ["from_date", "to_date", "trips", "trips_left_out", *COLUMNS, "counted_km", "lateral_share"]
    names += ["turning_share", "note"]
    return out[names].rename_axis("vehicle_id").reset_index()


def _problems(sums: pd.DataFrame) -> pd.DataFrame:
    rows = []
    seconds = {"gaps": "gap_s", "jumps": "jump_s", "drift_s": "drift_s"}
    km = {"gaps": "gap_m", "drift_s": "drift_m"}
    for kind, code in FOUND.items():
        hit = sums[sums[kind] > 0]
        for name, group in hit.groupby("vehicle_id", sort=True):
            rows.append(
                {
                    "vehicle_id": str(name),
                    "kind": kind.removesuffix("_s"),
                    "trips": len(group),
                    "count": float(group[kind].sum()),
                    "seconds": float(group[seconds[kind]].sum()) if kind in seconds else np.nan,
                    "km": float(group[km[kind]].sum()) / 1000 if kind in km else np.nan,
                    "code": code.value,
                }
            )
    for (vehicle, doubt), group in sums[sums["doubt"] != ""].groupby(["vehicle_id", "doubt"], sort=True):
        rows.append(
            {
                "vehicle_id": str(vehicle),
                "kind": "left out",
                "trips": len(group),
                "count": float(group["samples"].sum()),
                "seconds": float(group["duration_s"].sum()),
                "km": float(group["path_m"].sum()) / 1000,
                "code": str(doubt),
            }
        )
    names = ["vehicle_id", "kind", "trips", "count", "seconds", "km", "code"]
    return pd.DataFrame(rows, columns=names).sort_values(
        ["vehicle_id", "kind"], kind="stable", ignore_index=True
    )
