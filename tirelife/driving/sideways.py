"""Measured accelerations and turning of a step as dataframe expressions; the kernel's own, for any engine."""

from __future__ import annotations

import math
from typing import Any

import narwhals as nw

from tirelife.driving.expressions import flag, one
from tirelife.driving.kernel import MOST_TURNING, SIDE_LIMIT, SIDE_NOISE
from tirelife.driving.profile import FULL_LOCK_M, PARKING_MPS

__all__ = ["felt", "parking", "turning"]


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
