"""A fit in words and columns; it opens with whether to trust it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tirelife.rates.result import WearFit

__all__ = ["report"]


def report(fit: WearFit) -> str:
    """Text of a fit."""
    return "\n".join([fit.checks.to_string(), fit.estimates.to_string(), fit.components.to_string()])
