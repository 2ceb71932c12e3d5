"""The trip reduction as dataframe expressions, for engines that hold more than one machine's memory.

One source, written in narwhals, gives what :func:`tirelife.driving.kernel.trip_sums` gives on pandas,
Polars (eager and lazy), DuckDB and PySpark. Rules that make it so: one level of dependence a
``with_columns``; no expression in an aggregate; ``order_by`` in every window that has an order; flags as
0 and 1; NaN made null before anything else. Dask and Arrow tables have no ordered windows in narwhals;
for Dask see :mod:`tirelife.driving.partitions`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import narwhals as nw
import pandas as pd

from tirelife.driving import repair
from tirelife.driving.kernel import GAP_S, SIDE_LIMIT, THIN_BELOW_S
from tirelife.driving.profile import BAND_EDGES_MPS, DEFAULT_THRESHOLDS, SLOW_MPS, Thresholds, coast_down
from tirelife.driving.samples import named_columns
from tirelife.driving.sums import SUMS

__all__ = ["collected", "is_lazy", "sum_frame"]

_KEYS: Final = ("vehicle_id", "trip_id")
_TEXTS: Final = ("date", "driver_group")
_LONG_AGO: Final = -1e300


def is_lazy(frame: Any) -> bool:
    """Whether this is a frame that runs in its own engine: lazy Polars, DuckDB, PySpark."""
    return isinstance(nw.from_native(frame, pass_through=True), nw.LazyFrame)


def sum_frame(frame: Any, thresholds: Thresholds = DEFAULT_THRESHOLDS, *, faster: bool = True) -> Any:
    """Sums of each trip, in the engine that holds the frame.

    Parameters
    ----------
    frame : pandas, Polars, DuckDB or PySpark frame
        The logbook's ``trips`` table. The rows of a trip may lie anywhere.
    thresholds : Thresholds
    faster : bool
        Whether trips may be sampled faster than about 2 Hz. False saves a third of the work.

    Returns
    -------
    frame of the same kind
        One row a trip: vehicle_id, trip_id, date, driver_group and the columns ``SUMS``, which
        :func:`tirelife.driving.summarize` takes. Lazy if the input is. ``unsorted`` is 0: these engines
        have no order of rows to be out of.

    Raises
    ------
    InputError
        If a column is missing, there twice, or has no unit in its name.
    """
    table: Any = nw.from_native(frame)
    columns = named_columns(table.collect_schema().names(), "trips")
    table = _selected(table, columns)
    side = "lateral" if "lateral" in columns else "heading" if "heading" in columns else None
    names = table.group_by(*_KEYS).agg(
        nw.len().alias("rows"), nw.col("missing").sum(), *(nw.col(t).min() for t in _TEXTS)
    )
    table = _repaired(table.filter(nw.col("missing") == 0))
    table, published = _published(table)
    counted = _counted(table, side, faster)
    moments = _moments(counted, side, thresholds)
    out = names.join(published, on=list(_KEYS), how="left").join(moments, on=list(_KEYS), how="left")
    sums = [
        nw.col(c).cast(nw.Float64()).fill_null(0.0).alias(c) if c != "unsorted" else nw.lit(0.0).alias(c)
        for c in SUMS
    ]
    return nw.to_native(out.select(*_KEYS, *_TEXTS, *sums))


def collected(sums: Any) -> pd.DataFrame:
    """The sums of :func:`sum_frame` as a pandas frame."""
    frame = nw.from_native(sums)
    if isinstance(frame, nw.LazyFrame):
        frame = frame.collect()
    out = frame.to_pandas()
    for name in (*_KEYS, *_TEXTS):
        out[name] = out[name].fillna("").astype(str)
    typed: pd.DataFrame = out.astype({c: float for c in SUMS})
    return typed


def _selected(table: Any, columns: dict[str, tuple[str, float]]) -> Any:
    """Columns under their short names, in inside units, NaN as null; ``missing`` 1 without time or speed."""
    chosen = [nw.col(columns[k][0]).cast(nw.String()).alias(k) for k in _KEYS]
    chosen += [
        nw.col(columns[t][0]).cast(nw.String()).alias(t) if t in columns else nw.lit("").alias(t)
        for t in _TEXTS
    ]
    for role, short in (("time", "t"), ("speed", "v"), ("lateral", "side"), ("heading", "side")):
        if role in columns and not (role == "heading" and "lateral" in columns):
            name, factor = columns[role]
            chosen.append((nw.col(name).cast(nw.Float64()) * factor).alias(short))
    table = table.select(*chosen)
    numbers = ["t", "v", *(["side"] if {"lateral", "heading"} & set(columns) else [])]
    table = table.with_columns(*(nw.col(c).fill_nan(None) for c in numbers))
    return table.with_columns(missing=_flag(nw.col("t").is_null() | nw.col("v").is_null()))


def _repaired(table: Any) -> Any:
    """Drop repeats and spikes; their numbers, and those of odd speeds, stay as totals of the trip."""
    table = table.with_columns(before=_lag("t", ["t", "v"]))
    table = table.with_columns(again=_flag(nw.col("t") == nw.col("before")))
    table = table.with_columns(repeated=nw.col("again").sum().over(*_KEYS)).filter(nw.col("again") == 0)
    table = table.with_columns(low=_flag(nw.col("v") < 0), high=_flag(nw.col("v") > repair.FAST_MPS))
    table = table.with_columns(
        nw.when(nw.col("v") < 0).then(nw.lit(0.0)).otherwise(nw.col("v")).alias("v"),
        negative=nw.col("low").sum().over(*_KEYS),
        fast=nw.col("high").sum().over(*_KEYS),
    )
    table = table.with_columns(t0=_lag("t"), v0=_lag("v"), t1=_lead("t"), v1=_lead("v"))
    table = table.with_columns(
        came=_jump(nw.col("t") - nw.col("t0"), nw.col("v") - nw.col("v0")),
        went=_jump(nw.col("t1") - nw.col("t"), nw.col("v1") - nw.col("v")),
        to=_jump(nw.col("t") - nw.col("t0"), nw.col("v") - nw.col("v0"), repair.OUTLIER),
        back=_jump(nw.col("t1") - nw.col("t"), nw.col("v1") - nw.col("v"), repair.OUTLIER),
    )
    table = table.with_columns(leap=nw.col("came") * nw.col("came"))
    table = table.with_columns(stretch=nw.col("leap").cum_sum().over(*_KEYS, order_by="t"))
    within = (*_KEYS, "stretch")
    table = table.with_columns(
        into=nw.col("came").sum().over(*within),
        out_of=nw.col("went").sum().over(*within),
        since=nw.col("t").min().over(*within),
        until=nw.col("t").max().over(*within),
    )
    there_and_back = (nw.col("into") * nw.col("out_of") < 0) & (
        nw.col("until") - nw.col("since") <= repair.SPIKE_S
    )
    stands_out = nw.col("to") * nw.col("back") < 0
    table = table.with_columns(spike=_flag((nw.col("v") > repair.MOST_MPS) | stands_out | there_and_back))
    table = table.with_columns(spikes=nw.col("spike").sum().over(*_KEYS)).filter(nw.col("spike") == 0)
    held = [
        "repeated",
        "negative",
        "fast",
        "spikes",
        *(["side"] if "side" in table.collect_schema().names() else []),
    ]
    return table.select(*_KEYS, "t", "v", *held)


def _published(table: Any) -> tuple[Any, Any]:
    """The samples with their steps, and the sums behind the published statistics."""
    table = table.with_columns(t1=_lead("t"), v1=_lead("v"), v0=_lag("v"))
    table = table.with_columns(
        dt=(nw.col("t1") - nw.col("t")).fill_null(0.0), dv=(nw.col("v1") - nw.col("v")).fill_null(0.0)
    )
    table = table.with_columns(
        jump=nw.when(nw.col("dv").abs() > nw.col("dt") * repair.JUMP[0] + repair.JUMP[1])
        .then(nw.lit(1.0))
        .otherwise(nw.lit(0.0)),
        gap=nw.when(nw.col("dt") > GAP_S).then(nw.lit(1.0)).otherwise(nw.lit(0.0)),
        real=nw.when(nw.col("dt") > 0).then(nw.lit(1.0)).otherwise(nw.lit(0.0)),
    )
    # As in the kernel, the step of a trip's last sample is nothing, and a jump is no driving.
    sound = nw.col("real") * (1.0 - nw.col("jump"))
    table = table.with_columns(
        m=(nw.col("v") + nw.col("dv") * 0.5) * sound,
        d=nw.col("dv") * sound,
        safe=nw.col("dt") + (1.0 - nw.col("real")),
    )
    table = table.with_columns(a=nw.col("d") / nw.col("safe"), path=nw.col("m") * nw.col("dt"))
    m, dt = nw.col("m"), nw.col("dt")
    table = table.with_columns(
        power=m * nw.col("a"), cube=m * (m * m + nw.col("d") * nw.col("d") * 0.25), up=_flag(nw.col("d") > 0),
        down=_flag(nw.col("d") < 0), still=_flag(nw.col("v") == 0),
    )  # fmt: skip
    table = table.with_columns(up0=_lag("up"), down0=_lag("down"), still0=_lag("still"))
    table = table.with_columns(
        up_runs=nw.col("up") * (1 - nw.col("up0").fill_null(0)),
        down_runs=nw.col("down") * (1 - nw.col("down0").fill_null(0)),
        arrived=nw.col("still") * (1 - nw.col("still0").fill_null(1)),
        leave=nw.when(nw.col("real") > 0).then(nw.col("t1")).otherwise(nw.col("t")),
    )
    table = table.with_columns(halt=nw.col("arrived").cum_sum().over(*_KEYS, order_by="t"))
    table = table.with_columns(
        halted=nw.when((nw.col("still") == 1) & (nw.col("halt") > 0))
        .then(nw.col("halt"))
        .otherwise(nw.lit(0))
    )
    table = table.with_columns(begun=nw.col("t").min().over(*_KEYS, "halted"))
    work = table.with_columns(
        rest=nw.when(nw.col("halted") > 0).then(nw.col("leave") - nw.col("begun")).otherwise(nw.lit(0.0)),
        speed2_sum=nw.col("v") * nw.col("v"),
        speed3_sum=nw.col("v") * nw.col("v") * nw.col("v"),
        size=nw.col("power").abs(),
        aero_path_sum=nw.col("cube") * dt,
        moving_s=nw.when(m > 1.0).then(dt).otherwise(nw.lit(0.0)),
        work_net=nw.col("power") * dt,
        gap_s=nw.col("gap") * dt,
        gap_m=nw.col("gap") * nw.col("path"),
        jump_s=nw.col("jump") * dt,
    )
    work = work.with_columns(work_sum=nw.col("size") * dt)
    total = {
        "path_m": "path", "speed_sum": "v", "zero_samples": "still", "stops": "arrived", "power_sum": "power",
        "power_size_sum": "size", "aero_sum": "cube", "mean_sum": "m", "gaps": "gap", "jumps": "jump",
    }  # fmt: skip
    same = (
        "speed2_sum", "speed3_sum", "up_runs", "down_runs", "aero_path_sum", "moving_s", "work_sum",
        "work_net", "gap_s", "gap_m", "jump_s",
    )  # fmt: skip
    total |= {name: name for name in same}
    most = {
        "speed_max": "v", "accel_max": "a", "power_max": "power", "aero_max": "cube", "mean_max": "m",
        "stop_longest_s": "rest", "gap_longest_s": "gap_s", "last": "t", "repeated": "repeated",
        "negative": "negative", "fast": "fast", "spikes": "spikes",
    }  # fmt: skip
    least = {"accel_min": "a", "power_min": "power", "start_s": "t"}
    sums = work.with_columns(**{f"{out}_": nw.col(c) for out, c in (total | most | least).items()})
    sums = sums.group_by(*_KEYS).agg(
        nw.len().alias("samples"),
        *(nw.col(f"{out}_").sum().alias(out) for out in total),
        *(nw.col(f"{out}_").max().alias(out) for out in most),
        *(nw.col(f"{out}_").min().alias(out) for out in least),
    )
    return table, sums.with_columns(duration_s=nw.col("last") - nw.col("start_s"))


def _counted(table: Any, side: str | None, faster: bool) -> Any:
    """Steps that the moments are over: of seconds where sampled faster; broken and drifting ones are 0."""
    lateral = ["side"] if side else []
    table = table.with_columns(broken=nw.col("gap") + nw.col("jump"))
    if side == "lateral":
        table = table.with_columns(side1=_lead("side"))
        both = nw.col("side") + nw.col("side1")
        area = (both * 0.5 * nw.col("dt")).fill_null(0.0)
        table = table.with_columns(area=area, unknown=_flag(both.is_null()))
    table = table.select(
        *_KEYS,
        "t",
        "v",
        "dt",
        "path",
        "broken",
        *lateral,
        *(["area", "unknown"] if side == "lateral" else []),
    )
    if faster:
        table = _thinned(table, side)
    table = table.with_columns(t1=_lead("t"), v1=_lead("v"), low=_low())
    table = table.with_columns(low0=_lag("low"), low1=_lead("low"))
    table = table.with_columns(begins=nw.col("low") * (1 - nw.col("low0").fill_null(0)))
    table = table.with_columns(crawl=nw.col("begins").cum_sum().over(*_KEYS, order_by="t"))
    within = (*_KEYS, "crawl", "low")
    table = table.with_columns(since=nw.col("t").min().over(*within), until=nw.col("t").max().over(*within))
    long = (nw.col("low") * nw.col("low1").fill_null(0) == 1) & (
        nw.col("until") - nw.col("since") >= repair.DRIFT_S
    )
    table = table.with_columns(
        drift=nw.when(long).then(nw.lit(1.0)).otherwise(nw.lit(0.0)),
        sound=nw.when((nw.col("broken") > 0) | nw.col("t1").is_null())
        .then(nw.lit(0.0))
        .otherwise(nw.lit(1.0)),
        dt=(nw.col("t1") - nw.col("t")).fill_null(1.0),
        dv=(nw.col("v1") - nw.col("v")).fill_null(0.0),
    )
    return table.with_columns(
        drift_s=nw.col("dt") * nw.col("drift") * nw.col("sound"),
        drift_m=nw.col("path") * nw.col("drift") * nw.col("sound"),
        sound=nw.col("sound") * (1.0 - nw.col("drift")),
    )


def _thinned(table: Any, side: str | None) -> Any:
    table = table.with_columns(
        quick=_flag((nw.col("dt") > 0) & (nw.col("dt") <= THIN_BELOW_S)),
        second=(nw.col("t") + 1e-6).floor(),
        real=_flag(nw.col("dt") > 0),
    )
    table = table.with_columns(
        quick_steps=nw.col("quick").sum().over(*_KEYS),
        steps=nw.col("real").sum().over(*_KEYS),
        second0=_lag("second"),
    )
    kept = (
        (nw.col("quick_steps") * 2 <= nw.col("steps"))
        | (nw.col("quick_steps") == 0)
        | nw.col("second0").is_null()
        | (nw.col("second") != nw.col("second0"))
        | (nw.col("real") == 0)
    )
    running = ["path", "broken", *(["area", "unknown"] if side == "lateral" else [])]
    table = table.with_columns(
        keep=_flag(kept), **{f"{c}_to": nw.col(c).cum_sum().over(*_KEYS, order_by="t") for c in running}
    )
    table = table.with_columns(**{f"{c}_to": nw.col(f"{c}_to") - nw.col(c) for c in running})
    table = table.filter(nw.col("keep") == 1)
    table = table.with_columns(**{f"{c}_at": _lead(f"{c}_to") for c in running})
    return table.with_columns(**{c: (nw.col(f"{c}_at") - nw.col(f"{c}_to")).fill_null(0) for c in running})


def _moments(table: Any, side: str | None, thresholds: Thresholds) -> Any:
    """Distance-weighted sums and hard events of each trip."""
    sound, dt = nw.col("sound"), nw.col("dt")
    table = table.with_columns(
        m=(nw.col("v") + nw.col("dv") * 0.5) * sound, d=nw.col("dv") * sound, path=nw.col("path") * sound
    )
    table = table.with_columns(
        a=nw.col("d") / dt, m2=nw.col("m") * nw.col("m"), h2=nw.col("d") * nw.col("d") * 0.25
    )
    m2, h2, path, a = nw.col("m2"), nw.col("h2"), nw.col("path"), nw.col("a")
    table = table.with_columns(
        x_v2=(m2 + h2) * path,
        x_v4=(m2 * (m2 + h2 * (10 / 3)) + h2 * h2) * path,
        x_a=nw.col("m") * nw.col("d"),
        pulls=nw.when(a + coast_down(nw.col("m")) < 0).then(nw.lit(0.0)).otherwise(nw.lit(1.0)),
        hard_starts=_flag(a > thresholds.start_mps2),
        hard_stops=_flag(a < -thresholds.stop_mps2),
        counted_s=dt * sound,
        slow_m=nw.when(nw.col("m") < SLOW_MPS).then(path).otherwise(nw.lit(0.0)),
        **{
            f"band{i}_m": nw.when((nw.col("m") >= low) & (nw.col("m") < high))
            .then(path)
            .otherwise(nw.lit(0.0))
            for i, (low, high) in enumerate(zip((0.0, *BAND_EDGES_MPS), (*BAND_EDGES_MPS, 1e9), strict=True))
        },
    )
    table = table.with_columns(x=path, x_a2=a * nw.col("x_a"), x_av2=a * nw.col("x_v2"))
    parts = ["", "_v2", "_v4", "_a", "_a2", "_av2"]
    table = table.with_columns(
        **{f"drive_m{p}": nw.col(f"x{p}") * nw.col("pulls") for p in parts},
        **{f"brake_m{p}": nw.col(f"x{p}") * (1.0 - nw.col("pulls")) for p in parts},
    )
    table = _turning(table, side, thresholds)
    events = ["hard_starts", "hard_stops", "hard_turns"]
    table = table.with_columns(
        **{
            f"{e}_end": nw.when(nw.col(e) == 1).then(nw.col("t") + dt).otherwise(nw.lit(_LONG_AGO))
            for e in events
        }
    )
    table = table.with_columns(
        **{f"{e}_end": nw.col(f"{e}_end").cum_max().over(*_KEYS, order_by="t") for e in events}
    )
    table = table.with_columns(**{f"{e}_last": _lag(f"{e}_end") for e in events})
    table = table.with_columns(
        **{
            e: nw.when(nw.col("t") - nw.col(f"{e}_last").fill_null(_LONG_AGO) > thresholds.merge_s + 1e-9)
            .then(nw.col(e))
            .otherwise(nw.lit(0))
            for e in events
        }
    )
    names = [
        *(f"{phase}_m{p}" for phase in ("drive", "brake") for p in parts),
        *(f"band{i}_m" for i in range(5)),
        *("slow_m", "counted_s", "drift_s", "drift_m", "side_m", "side_m_ay2", "side_wrong"),
        *events,
    ]
    return table.group_by(*_KEYS).agg(*(nw.col(n).sum() for n in names))


def _turning(table: Any, side: str | None, thresholds: Thresholds) -> Any:
    if side is None:
        none = nw.lit(0.0)
        return table.with_columns(side_m=none, side_m_ay2=none, side_wrong=nw.lit(0), hard_turns=nw.lit(0))
    if side == "lateral":
        known = nw.when(nw.col("unknown") == 0).then(nw.col("area") / nw.col("dt"))
        table = table.with_columns(lateral=known)
    else:
        table = table.with_columns(side1=_lead("side"))
        table = table.with_columns(turned=(nw.col("side1") - nw.col("side") + 540.0) % 360.0 - 180.0)
        fast = nw.when(nw.col("m") > 2.0).then(nw.lit(1.0)).otherwise(nw.lit(0.0))
        table = table.with_columns(
            lateral=nw.col("turned") * 0.017453292519943295 / nw.col("dt") * nw.col("m") * fast
        )
    beyond = (nw.col("lateral").abs() > SIDE_LIMIT) & (nw.col("sound") > 0)
    table = table.with_columns(
        side_wrong=_flag(beyond),
        usable=nw.when(nw.col("lateral").abs() <= SIDE_LIMIT).then(nw.lit(1.0)).otherwise(nw.lit(0.0)),
        ay=nw.when(nw.col("lateral").abs() <= SIDE_LIMIT).then(nw.col("lateral")).otherwise(nw.lit(0.0)),
    )
    return table.with_columns(
        side_m=nw.col("path") * nw.col("usable"),
        side_m_ay2=nw.col("path") * nw.col("ay") * nw.col("ay"),
        hard_turns=_flag((nw.col("ay").abs() > thresholds.turn_mps2) & (nw.col("sound") > 0)),
    )


def _low() -> Any:
    return _flag((nw.col("v") > 0) & (nw.col("v") < repair.DRIFT_MPS))


def _jump(step_s: Any, change: Any, most: tuple[float, float] = repair.JUMP) -> Any:
    """1 for a jump up, -1 for a jump down, 0 for neither."""
    limit = step_s * most[0] + most[1]
    return (
        nw.when(change > limit)
        .then(nw.lit(1))
        .otherwise(nw.when(change < -limit).then(nw.lit(-1)).otherwise(nw.lit(0)))
    )


def _flag(condition: Any) -> Any:
    # A null condition is no: engines differ in whether null is greater than a number.
    return nw.when(condition).then(nw.lit(1)).otherwise(nw.lit(0))


def _lag(column: str, order: Sequence[str] = ("t",)) -> Any:
    return nw.col(column).shift(1).over(*_KEYS, order_by=list(order))


def _lead(column: str) -> Any:
    return nw.col(column).shift(-1).over(*_KEYS, order_by="t")
