"""Parts of sentences that depend on more than one argument; each language gives its words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

__all__ = ["Pieces", "fit_pieces", "measured_pieces"]

Pieces = Callable[[Mapping[str, str], Mapping[str, object]], dict[str, str]]
"""Takes the arguments of a note as they are said and as they are."""
_SAME_MM: Final = 0.02


def measured_pieces(words: Mapping[str, str]) -> Pieces:
    """Which tire it is, and what was read where.

    ``words``: what was ``read``, then what is added where it is so (``corrected``, ``groove``, ``spot``,
    ``moved``, ``date``).
    """

    def pieces(said: Mapping[str, str], values: Mapping[str, object]) -> dict[str, str]:
        place = said["position"]
        tire = f"{said['vehicle_id']} {place}" if said["vehicle_id"] else place[:1].upper() + place[1:]
        least, raw = float(str(values["read_mm"])), float(str(values["read_raw_mm"]))
        so = {
            "read": True,
            "corrected": abs(least - raw) > _SAME_MM,
            "groove": said["groove"],
            "spot": said["spot"],
            "moved": values["moved"],
            "date": said["read_date"] not in ("", "None"),
        }
        return {
            "tire": tire,
            "read": "".join(words[name] for name, is_so in so.items() if is_so).format(**said),
        }

    return pieces


def fit_pieces(said: Mapping[str, str], values: Mapping[str, object]) -> dict[str, str]:
    """Numbers as they are said: whole, and as a share."""
    value = float(str(values.get("value", 0.0)))
    return {"value": f"{value:,.0f}", "share": f"{value:.0%}"}
