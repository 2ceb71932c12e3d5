"""Small dataframe expressions that mean the same on every engine: flags, neighbours, running values."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import narwhals as nw

__all__ = ["KEYS", "flag", "lag", "lead", "one", "running"]

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
