"""The trip reduction once more, as dataframe expressions: what the kernel must give, worked out another way.

One source, written in narwhals, runs on pandas, Polars (eager and lazy) and DuckDB, and shares constants with the kernel but
no code. Rules that make it so: one level of dependence a ``with_columns``; no expression in an aggregate; ``order_by``
in every window that has an order; flags as 0 and 1; NaN made null before anything else.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

import narwhals as nw
import pandas as pd

from tirelife.driving import Thresholds, coast_down, repair
from tirelife.driving.kernel import GAP_S, MOST_TURNING, SIDE_LIMIT, SIDE_NOISE, THIN_BELOW_S
from tirelife.driving.profile import BAND_EDGES_MPS, DEFAULT_THRESHOLDS, FULL_LOCK_M, PARKING_MPS
from tirelife.driving.samples import named_columns
from tirelife.driving.sums import SUMS

KEYS: Final = ("vehicle_id", "trip_id")


def flag(condition: Any) -> Any:
    """1 where it holds, 0 where not or not known."""
    # A null condition is no: engines differ in whether null is greater than a number.
    return nw.when(condition).then(nw.lit(1)).otherwise(nw.lit(0))


def one(condition: Any) -> Any:
    """1.0 where it holds, 0.0 where not or not known."""
    return nw.when(condition).then(nw.lit(1.0)).otherwise(nw.lit(0.0))


def lag(column: str, order: Sequence[str] = ("t",)) -> Any:
    """The sample before, in the trip's order."""
    return nw.col(column).shift(1).over(*KEYS, order_by=list(order))


def lead(column: str) -> Any:
    """The sample after, in the trip's order."""
    return nw.col(column).shift(-1).over(*KEYS, order_by="t")


def running(expression: Any) -> Any:
    """A running value along a trip."""
    return expression.over(*KEYS, order_by="t")


_TEXTS: Final = ("date", "driver_group")
_LATE: Final = 1e300  # later than any time, and its negative earlier


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
    side = "lateral" if "lateral" in columns else "heading" if "heading" in columns else None
    means = [short for role, short in (("lateral", "side"), ("longitudinal", "along")) if role in columns]
    table = _selected(table, columns)
    names = table.group_by(*KEYS).agg(
        nw.len().alias("rows"),
        *(nw.col(n).sum() for n in ("missing", "negative", "fast", "fastest")),
        nw.col("felt").max(),
        nw.col("t").n_unique().alias("times"),
        *(nw.col(n).min() for n in _TEXTS),
    )
    table = _steps(_repaired(table.filter(nw.col("missing") == 0)), means)
    if faster:
        sums = _total(_published(table), _PUBLISHED).join(
            _total(_moments(_thinned(table, side, means), side, means, thresholds), _MOMENTS),
            on=list(KEYS),
            how="left",
        )
    else:
        sums = _total(_moments(_published(table), side, means, thresholds), _together())
    out = names.join(sums, on=list(KEYS), how="left")
    # A trip without one good sample has a null among its times, which counts as one.
    known = nw.col("rows") - nw.col("missing")
    times = nw.col("times") - nw.when(nw.col("missing") > 0).then(nw.lit(1)).otherwise(nw.lit(0))
    out = out.with_columns(
        samples=nw.col("samples").fill_null(0),
        repeated=known - times,
        duration_s=nw.col("last") - nw.col("start_s"),
        no_speed=nw.col("samples").fill_null(0) * nw.col("felt"),
    )
    out = out.with_columns(
        spikes=nw.col("rows") - nw.col("missing") - nw.col("repeated") - nw.col("samples"), unsorted=nw.lit(0)
    )
    return nw.to_native(
        out.select(*KEYS, *_TEXTS, *(nw.col(c).cast(nw.Float64()).fill_null(0.0).alias(c) for c in SUMS))
    )


def collected(sums: Any) -> pd.DataFrame:
    """The sums of :func:`sum_frame` as a pandas frame."""
    frame = nw.from_native(sums)
    if isinstance(frame, nw.LazyFrame):
        frame = frame.collect()
    out = frame.to_pandas()
    for name in (*KEYS, *_TEXTS):
        out[name] = out[name].fillna("").astype(str)
    typed: pd.DataFrame = out.astype({c: float for c in SUMS})
    return typed


def _selected(table: Any, columns: dict[str, tuple[str, float]]) -> Any:
    """Columns under their short names, in inside units, NaN as null; ``missing`` 1 without time or speed."""
    chosen = [nw.col(columns[k][0]).cast(nw.String()).alias(k) for k in KEYS]
    chosen += [
        nw.col(columns[t][0]).cast(nw.String()).alias(t) if t in columns else nw.lit("").alias(t)
        for t in _TEXTS
    ]
    shorts = {"time": "t", "speed": "v", "longitudinal": "along", "lateral": "side", "heading": "head"}
    if "lateral" not in columns and "heading" in columns:
        shorts |= {"sideways": "side"}
        columns = columns | {"sideways": columns["heading"]}
    numbers = []
    for role, short in shorts.items():
        if role in columns:
            name, factor = columns[role]
            chosen.append((nw.col(name).cast(nw.Float64()) * factor).alias(short))
            numbers.append(short)
    table = table.select(*chosen)
    if "speed" not in columns:
        table = table.with_columns(v=nw.lit(None).cast(nw.Float64()))
    table = table.with_columns(*(nw.col(c).fill_nan(None) for c in numbers))
    felt = nw.lit(False)
    for short in {"along", "side"} & set(numbers) - ({"side"} if "sideways" in columns else set()):
        felt = felt | ~nw.col(short).is_null()
    table = table.with_columns(some=flag(felt), sped=flag(~nw.col("v").is_null()))
    table = table.with_columns(some=nw.col("some").max().over(*KEYS), sped=nw.col("sped").max().over(*KEYS))
    # A trip of accelerations alone stands still, so that it keeps its samples.
    table = table.with_columns(felt=flag((nw.col("some") == 1) & (nw.col("sped") == 0)))
    table = table.with_columns(v=nw.when(nw.col("felt") == 1).then(nw.lit(0.0)).otherwise(nw.col("v")))
    table = table.with_columns(missing=flag(nw.col("t").is_null() | nw.col("v").is_null()))
    known = nw.col("missing") == 0
    return table.with_columns(
        nw.when(nw.col("v") < 0).then(nw.lit(0.0)).otherwise(nw.col("v")).alias("v"),
        nw.when(known).then(nw.col("t")).alias("t"),
        negative=flag(known & (nw.col("v") < 0)),
        fast=flag(known & (nw.col("v") > repair.FAST_MPS)),
        fastest=flag(known & (nw.col("v") > repair.FASTEST_MPS)),
    )


def _repaired(table: Any) -> Any:
    """Drop repeats and spikes."""
    table = table.with_columns(before=lag("t", ["t", "v"]))
    table = table.with_columns(again=flag(nw.col("t") == nw.col("before"))).filter(nw.col("again") == 0)
    table = table.with_columns(t0=lag("t"), v0=lag("v"), t1=lead("t"), v1=lead("v"))
    before, after = nw.col("t") - nw.col("t0"), nw.col("t1") - nw.col("t")
    came, went = nw.col("v") - nw.col("v0"), nw.col("v1") - nw.col("v")
    table = table.with_columns(
        came=_jump(before, came),
        went=_jump(after, went),
        stands_out=_jump(before, came, repair.OUTLIER) * _jump(after, went, repair.OUTLIER),
    )
    # A sample lies between the last jump before it and the next one after it.
    late, early = nw.lit(_LATE), nw.lit(-_LATE)
    table = table.with_columns(
        rose=nw.when(nw.col("came") > 0).then(nw.col("t")).otherwise(early),
        fell=nw.when(nw.col("came") < 0).then(nw.col("t")).otherwise(early),
        rises=nw.when(nw.col("went") > 0).then(nw.col("t")).otherwise(late),
        falls=nw.when(nw.col("went") < 0).then(nw.col("t")).otherwise(late),
    )
    table = table.with_columns(
        rose=running(nw.col("rose").cum_max()),
        fell=running(nw.col("fell").cum_max()),
        rises=running(nw.col("rises").cum_min(reverse=True)),
        falls=running(nw.col("falls").cum_min(reverse=True)),
    )
    up = (nw.col("rose") > nw.col("fell")) & (nw.col("falls") < nw.col("rises"))
    down = (nw.col("fell") > nw.col("rose")) & (nw.col("rises") < nw.col("falls"))
    there_and_back = (up & (nw.col("falls") - nw.col("rose") <= repair.SPIKE_S)) | (
        down & (nw.col("rises") - nw.col("fell") <= repair.SPIKE_S)
    )
    spike = (nw.col("v") > repair.MOST_MPS) | (nw.col("stands_out") < 0) | there_and_back
    table = table.with_columns(spike=flag(spike)).filter(nw.col("spike") == 0)
    there = table.collect_schema().names()
    return table.select(*KEYS, "t", "v", *(c for c in ("side", "head", "along") if c in there))


def _steps(table: Any, means: list[str]) -> Any:
    """Samples with the step to the next one, and the speeds and steps on either side."""
    beside = [c for c in ("side", "head", "along") if c in table.collect_schema().names()]
    sides = {f"{c}0": lag(c) for c in beside} | {f"{c}1": lead(c) for c in beside}
    table = table.with_columns(t0=lag("t"), v0=lag("v"), t1=lead("t"), v1=lead("v"), **sides)
    table = table.with_columns(
        dt=(nw.col("t1") - nw.col("t")).fill_null(0.0),
        dv=(nw.col("v1") - nw.col("v")).fill_null(0.0),
        dt0=(nw.col("t") - nw.col("t0")).fill_null(0.0),
        dv0=(nw.col("v") - nw.col("v0")).fill_null(0.0),
    )
    table = table.with_columns(
        jump=_leaps("dt", "dv"), jump0=_leaps("dt0", "dv0"), gap=one(nw.col("dt") > GAP_S)
    )
    table = table.with_columns(
        broken=nw.col("gap") + nw.col("jump"),
        broken0=one(nw.col("dt0") > GAP_S) + nw.col("jump0"),
        path=(nw.col("v") + nw.col("dv") * 0.5) * nw.col("dt") * (1.0 - nw.col("jump")),
    )
    added = {}
    for c in means:
        now, then = nw.col(c) + nw.col(f"{c}1"), nw.col(c) + nw.col(f"{c}0")
        added[f"{c}_area"] = (now * 0.5 * nw.col("dt")).fill_null(0.0)
        added[f"{c}_area0"] = (then * 0.5 * nw.col("dt0")).fill_null(0.0)
        added[f"{c}_unknown"], added[f"{c}_unknown0"] = flag(now.is_null()), flag(then.is_null())
    return table.with_columns(**added) if added else table


_PUBLISHED: Final = {
    "sum": (
        "path_m", "speed_sum", "speed2_sum", "speed3_sum", "zero_samples", "stops", "power_sum",
        "power_size_sum", "aero_sum", "mean_sum", "aero_path_sum", "moving_s", "work_sum", "work_net",
        "up_runs", "down_runs", "gaps", "jumps", "gap_s", "gap_m", "jump_s",
    ),
    "max": (
        "speed_max", "accel_max", "power_max", "aero_max", "mean_max", "stop_longest_s", "gap_longest_s",
        "last",
    ),
    "min": ("accel_min", "power_min", "start_s"),
    "len": ("samples",),
}  # fmt: skip
_PARTS: Final = ("", "_v2", "_v4", "_a", "_a2", "_av2")
_EVENTS: Final = ("hard_starts", "hard_stops", "hard_turns")
_PEAKS: Final = ("start_peaks", "stop_peaks", "turn_peaks")
_MOMENTS: Final = {
    "summed": (
        *(f"{phase}_m{p}" for phase in ("drive", "brake") for p in _PARTS), *(f"band{i}_m" for i in range(5)),
        "parking_m", "slow_m", "steer_m", "counted_s", "along_s_a2", "drift_s", "drift_m", "side_m",
        "side_m_ay2", "side_s", "side_s_ay2", "side_wrong", "along_wrong", *_EVENTS, *_PEAKS,
    ),
    "max": ("along_max", "side_max"),
    "min": ("along_min",),
}  # fmt: skip


def _together() -> dict[str, tuple[str, ...]]:
    return {how: _PUBLISHED.get(how, ()) + _MOMENTS.get(how, ()) for how in {**_PUBLISHED, **_MOMENTS}}


def _total(table: Any, wanted: dict[str, tuple[str, ...]]) -> Any:
    aggregates = []
    for how, names in wanted.items():
        for name in names:
            column = nw.col(f"{name}_")
            total = {"sum": column.sum, "summed": column.sum, "max": column.max, "min": column.min}
            aggregates.append((nw.len() if how == "len" else total[how]()).alias(name))
    return table.group_by(*KEYS).agg(*aggregates)


def _published(table: Any) -> Any:
    """Add what the published statistics are sums and extremes of."""
    # As in the kernel, the step of a trip's last sample is nothing, and a jump is no driving.
    sound = one(nw.col("dt") > 0) * (1.0 - nw.col("jump"))
    table = table.with_columns(
        m=(nw.col("v") + nw.col("dv") * 0.5) * sound,
        d=nw.col("dv") * sound,
        d0=nw.col("dv0") * (1.0 - nw.col("jump0")),
        safe=nw.col("dt") + one(nw.col("dt") == 0),
        arrived=flag((nw.col("v") == 0) & (nw.col("v0") > 0)),
    )
    arrival = nw.when(nw.col("arrived") == 1).then(nw.col("t")).otherwise(nw.lit(-_LATE))
    table = table.with_columns(a=nw.col("d") / nw.col("safe"), arrival=arrival)
    table = table.with_columns(halt=running(nw.col("arrival").cum_max()))
    m, v, dt, d = nw.col("m"), nw.col("v"), nw.col("dt"), nw.col("d")
    table = table.with_columns(power=m * nw.col("a"), cube=m * (m * m + d * d * 0.25))
    power = nw.col("power")
    rest = nw.when(nw.col("halt") > -_LATE).then(nw.col("t") + dt - nw.col("halt")).otherwise(nw.lit(0.0))
    return table.with_columns(
        path_m_=nw.col("path"), speed_sum_=v, speed2_sum_=v * v, speed3_sum_=v * v * v,
        zero_samples_=flag(v == 0), stops_=nw.col("arrived"), power_sum_=power, power_size_sum_=power.abs(),
        aero_sum_=nw.col("cube"), mean_sum_=m, aero_path_sum_=nw.col("cube") * dt,
        moving_s_=one(m > 1.0) * dt, work_sum_=power.abs() * dt,
        work_net_=power * dt, up_runs_=flag((d > 0) & ~(nw.col("d0") > 0)),
        down_runs_=flag((d < 0) & ~(nw.col("d0") < 0)), gaps_=nw.col("gap"), jumps_=nw.col("jump"),
        gap_s_=nw.col("gap") * dt, gap_m_=nw.col("gap") * nw.col("path"), jump_s_=nw.col("jump") * dt,
        speed_max_=v, accel_max_=nw.col("a"), accel_min_=nw.col("a"), power_max_=power, power_min_=power,
        aero_max_=nw.col("cube"), mean_max_=m, stop_longest_s_=rest * one(v == 0),
        gap_longest_s_=nw.col("gap") * dt, last_=nw.col("t"), start_s_=nw.col("t"),
    )  # fmt: skip


def _thinned(table: Any, side: str | None, means: list[str]) -> Any:
    """Keep samples a second apart of trips sampled faster, with the steps between those."""
    table = table.with_columns(
        quick=flag((nw.col("dt") > 0) & (nw.col("dt") <= THIN_BELOW_S)),
        real=flag(nw.col("dt") > 0),
        second=(nw.col("t") + 1e-6).floor(),
        second0=(nw.col("t0") + 1e-6).floor(),
    )
    summed = ["path", "broken", *(f"{c}_{what}" for c in means for what in ("area", "unknown"))]
    table = table.with_columns(
        quick_steps=nw.col("quick").sum().over(*KEYS),
        steps=nw.col("real").sum().over(*KEYS),
        **{f"{c}_to": running(nw.col(c).cum_sum()) for c in summed},
    )
    kept = (
        (nw.col("quick_steps") * 2 <= nw.col("steps"))
        | (nw.col("quick_steps") == 0)
        | nw.col("t0").is_null()
        | (nw.col("second") != nw.col("second0"))
        | (nw.col("real") == 0)
    )
    table = table.with_columns(keep=flag(kept), **{f"{c}_to": nw.col(f"{c}_to") - nw.col(c) for c in summed})
    table = table.filter(nw.col("keep") == 1)
    there = table.collect_schema().names()
    neighbours = {c: c for c in ("t", "v", "side", "head") if c in there} | {f"{c}_to": c for c in summed}
    table = table.with_columns(
        **{f"{short}0": lag(c) for c, short in neighbours.items()},
        **{f"{short}1": lead(c) for c, short in neighbours.items()},
    )
    table = table.with_columns(
        dt=(nw.col("t1") - nw.col("t")).fill_null(0.0),
        dv=(nw.col("v1") - nw.col("v")).fill_null(0.0),
        dt0=(nw.col("t") - nw.col("t0")).fill_null(0.0),
        dv0=(nw.col("v") - nw.col("v0")).fill_null(0.0),
    )
    return table.with_columns(
        **{c: (nw.col(f"{c}1") - nw.col(f"{c}_to")).fill_null(0) for c in summed},
        **{f"{c}0": (nw.col(f"{c}_to") - nw.col(f"{c}0")).fill_null(0) for c in summed},
    )


def _moments(table: Any, side: str | None, means: list[str], thresholds: Thresholds) -> Any:
    """Add distance-weighted terms and the beginnings of hard events, for sound steps."""
    low = [(nw.col(v) > 0) & (nw.col(v) < repair.DRIFT_MPS) for v in ("v", "v0", "v1")]
    table = table.with_columns(low=flag(low[0]), low0=flag(low[1]), low1=flag(low[2]))
    table = table.with_columns(
        since=nw.when((nw.col("low") == 1) & (nw.col("low0") == 0))
        .then(nw.col("t"))
        .otherwise(nw.lit(-_LATE)),
        until=nw.when((nw.col("low") == 1) & (nw.col("low1") == 0))
        .then(nw.col("t"))
        .otherwise(nw.lit(_LATE)),
    )
    table = table.with_columns(
        since=running(nw.col("since").cum_max()), until=running(nw.col("until").cum_min(reverse=True))
    )
    crawl = nw.col("until") - nw.col("since") >= repair.DRIFT_S
    table = table.with_columns(
        drift=one((nw.col("low") + nw.col("low1") == 2) & crawl),
        drift0=one((nw.col("low") + nw.col("low0") == 2) & crawl),
        whole=one((nw.col("broken") == 0) & (nw.col("dt") > 0)),
        whole0=one((nw.col("broken0") == 0) & (nw.col("dt0") > 0)),
        safe=nw.col("dt") + one(nw.col("dt") == 0),
        safe0=nw.col("dt0") + one(nw.col("dt0") == 0),
    )
    table = table.with_columns(
        sound=nw.col("whole") * (1.0 - nw.col("drift")), sound0=nw.col("whole0") * (1.0 - nw.col("drift0"))
    )
    sound, dt = nw.col("sound"), nw.col("safe")
    table = table.with_columns(
        m=(nw.col("v") + nw.col("dv") * 0.5) * sound,
        m0=(nw.col("v") - nw.col("dv0") * 0.5) * nw.col("sound0"),
        d=nw.col("dv") * sound,
        x=nw.col("path") * sound,
        a=nw.col("dv") * sound / dt,
        a0=nw.col("dv0") * nw.col("sound0") / nw.col("safe0"),
        along_wrong_=nw.lit(0),
    )
    table = table.with_columns(x_a=nw.col("m") * nw.col("d"))
    if "along" in means:
        table = felt(table)
    m, d, x, a = nw.col("m"), nw.col("d"), nw.col("x"), nw.col("a")
    table = table.with_columns(
        x_v2=(m * m + d * d * 0.25) * x,
        x_v4=(m * m * (m * m + d * d * (0.25 * 10 / 3)) + d * d * d * d * 0.0625) * x,
        pulls=one(~(a + coast_down(m) < 0)),
    )
    table = table.with_columns(x_a2=a * nw.col("x_a"), x_av2=a * nw.col("x_v2"))
    table = turning(table, side)
    size = {"hard_starts": a, "hard_stops": a * -1.0, "hard_turns": nw.col("ay")}
    hard = {
        "hard_starts": (a > thresholds.start_mps2, nw.col("a0") > thresholds.start_mps2),
        "hard_stops": (a < -thresholds.stop_mps2, nw.col("a0") < -thresholds.stop_mps2),
        "hard_turns": (nw.col("ay") > thresholds.turn_mps2, nw.col("ay0") > thresholds.turn_mps2),
    }
    # An event begins with a hard step unless a hard step before it ended too short a while ago.
    table = table.with_columns(
        **{f"{e}_end": nw.when(b).then(nw.col("t")).otherwise(nw.lit(-_LATE)) for e, (_, b) in hard.items()},
    )
    table = table.with_columns(**{f"{e}_end": running(nw.col(f"{e}_end").cum_max()) for e in _EVENTS})
    table = table.with_columns(
        **{
            f"{e}_": flag(now & (nw.col("t") - nw.col(f"{e}_end") > thresholds.merge_s + 1e-9))
            for e, (now, _) in hard.items()
        },
        **{f"{e}_size": nw.when(now).then(size[e]).otherwise(nw.lit(0.0)) for e, (now, _) in hard.items()},
    )
    # All that follows the beginning of an event, up to the next one, is that event's.
    table = table.with_columns(**{f"{e}_of": running(nw.col(f"{e}_").cum_sum()) for e in _EVENTS})
    table = table.with_columns(
        **{
            f"{p}_": nw.col(f"{e}_size").max().over(*KEYS, f"{e}_of") * nw.col(f"{e}_")
            for e, p in zip(_EVENTS, _PEAKS, strict=True)
        }
    )
    table = parking(table)
    bands = zip((0.0, *BAND_EDGES_MPS), (*BAND_EDGES_MPS, 1e9), strict=True)
    return table.with_columns(
        **{f"drive_m{p}_": nw.col(f"x{p}") * nw.col("pulls") for p in _PARTS},
        **{f"brake_m{p}_": nw.col(f"x{p}") * (1.0 - nw.col("pulls")) for p in _PARTS},
        **{f"band{i}_m_": one((m >= low) & (m < high)) * x for i, (low, high) in enumerate(bands)},
        counted_s_=nw.col("dt") * sound,
        along_s_a2_=nw.col("dt") * sound * a * a,
        along_max_=a,
        along_min_=a,
        drift_s_=nw.col("dt") * nw.col("drift") * nw.col("whole"),
        drift_m_=nw.col("path") * nw.col("drift") * nw.col("whole"),
        side_m_=x * nw.col("usable"),
        side_m_ay2_=x * nw.col("ay") * nw.col("ay"),
        side_s_=nw.col("dt") * sound * nw.col("usable"),
        side_s_ay2_=nw.col("dt") * sound * nw.col("ay") * nw.col("ay"),
        side_max_=nw.col("ay"),
        side_wrong_=nw.col("beyond"),
    )


def _jump(step_s: Any, change: Any, most: tuple[float, float] = repair.JUMP) -> Any:
    """1 for a jump up, -1 for a jump down, 0 for neither."""
    limit = step_s * most[0] + most[1]
    return flag(change > limit) - flag(change < -limit)


def _leaps(step_s: str, change: str) -> Any:
    return one(nw.col(change).abs() > nw.col(step_s) * repair.JUMP[0] + repair.JUMP[1])


def felt(table: Any) -> Any:
    """Put the measured acceleration along the road in place of the change of speed, where it is known."""
    for now, area, unknown, safe, sound in (
        ("felt", "along_area", "along_unknown", "safe", "sound"),
        ("felt0", "along_area0", "along_unknown0", "safe0", "sound0"),
    ):
        table = table.with_columns(
            nw.when((nw.col(unknown) == 0) & (nw.col(sound) > 0)).then(nw.col(area) / nw.col(safe)).alias(now)
        )
    beyond = nw.col("felt").abs() > SIDE_LIMIT
    good, good0 = (nw.col(c).abs() <= SIDE_LIMIT for c in ("felt", "felt0"))
    return table.with_columns(
        nw.when(good).then(nw.col("felt")).otherwise(nw.col("a")).alias("a"),
        nw.when(good0).then(nw.col("felt0")).otherwise(nw.col("a0")).alias("a0"),
        nw.when(good).then(nw.col("felt") * nw.col("x")).otherwise(nw.col("x_a")).alias("x_a"),
        along_wrong_=flag(beyond),
    )


def parking(table: Any) -> Any:
    """Add distance at parking speed: all, steered as at full lock, and that whose turning is not known."""
    there = table.collect_schema().names()
    m, x = nw.col("m"), nw.col("x")
    slow = (m < PARKING_MPS) & (m > 0)
    table = table.with_columns(
        per_m=nw.lit(None).cast(nw.Float64()),
        slow_v=nw.when(slow).then(m),
        slow_x=nw.when(slow).then(x),
    )
    if "side_area" in there:
        now = nw.when(nw.col("side_unknown") == 0).then(nw.col("side_area") / nw.col("safe"))
        table = table.with_columns(felt_side=now * now - SIDE_NOISE**2)
        table = table.with_columns(over=nw.when(nw.col("felt_side") > 0).then(nw.col("felt_side")))
        turning = nw.col("over").sqrt().fill_null(0.0)
        known = nw.when(~nw.col("felt_side").is_null()).then(turning)
        table = table.with_columns(per_m=known / (nw.col("slow_v") * nw.col("slow_v")))
    if "head" in there:
        turned = ((nw.col("head1") - nw.col("head") + 540.0) % 360.0 - 180.0).abs() * (math.pi / 180)
        by_heading = turned / nw.col("slow_x")
        table = table.with_columns(
            per_m=nw.when(~by_heading.is_null()).then(by_heading).otherwise(nw.col("per_m"))
        )
    table = table.with_columns(
        turn=nw.when(nw.col("per_m") <= MOST_TURNING).then(nw.col("per_m") * FULL_LOCK_M),
        still=nw.when(slow).then(1.0 - m * m * (1.0 / PARKING_MPS**2)).otherwise(nw.lit(0.0)),
    )
    use = nw.when(nw.col("turn") < 1.0).then(nw.col("turn") * nw.col("turn")).otherwise(nw.lit(1.0))
    weighted = nw.col("still") * nw.col("still") * x
    unknown = nw.col("turn").is_null()
    return table.with_columns(
        parking_m_=weighted,
        slow_m_=weighted * one(unknown),
        steer_m_=weighted * use * one(~unknown),
    )


def turning(table: Any, side: str | None) -> Any:
    """Add the size of the lateral acceleration of each step and of the one before, 0 where not known."""
    if side is None:
        none = nw.lit(0.0)
        return table.with_columns(ay=none, ay0=none, usable=none, beyond=nw.lit(0))
    if side == "lateral":
        now = nw.when(nw.col("side_unknown") == 0).then(nw.col("side_area") / nw.col("safe"))
        then = nw.when(nw.col("side_unknown0") == 0).then(nw.col("side_area0") / nw.col("safe0"))
    else:
        now = _from_heading(nw.col("side"), nw.col("side1"), nw.col("safe"), nw.col("m"))
        then = _from_heading(nw.col("side0"), nw.col("side"), nw.col("safe0"), nw.col("m0"))
    table = table.with_columns(now=now.abs(), then=then.abs())
    usable, usable0 = nw.col("now") <= SIDE_LIMIT, nw.col("then") <= SIDE_LIMIT
    table = table.with_columns(
        ay=nw.when(usable).then(nw.col("now") * nw.col("sound")).otherwise(nw.lit(0.0)),
        ay0=nw.when(usable0).then(nw.col("then") * nw.col("sound0")).otherwise(nw.lit(0.0)),
        usable=one(usable),
        beyond=flag((nw.col("now") > SIDE_LIMIT) & (nw.col("sound") > 0)),
    )
    return table


def _from_heading(before: Any, after: Any, step_s: Any, mean: Any) -> Any:
    turned = (after - before + 540.0) % 360.0 - 180.0
    return turned * (math.pi / 180) / step_s * mean * one(mean > 2.0)
