"""What a command says of what to do: the decision on a vehicle, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["decided"]


def decided(
    book: Logbook, fit: WearFit, vehicle: str, removal_depth_mm: float | pd.Series
) -> list[dict[str, str]]:
    """Actions of one vehicle's decision, most urgent first: their kind, and the sentence."""
    from tirelife.advice import fleet_decisions
    from tirelife.sheet.language.decisions import action_words

    found = fleet_decisions(book, fit, [vehicle], removal_depth_mm=removal_depth_mm).decisions
    if vehicle not in found:
        return []
    return [{"do": a.kind.value, "words": action_words(a, book.units)} for a in found[vehicle].actions]
