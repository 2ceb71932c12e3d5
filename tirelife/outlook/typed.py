"""What a person types of a walk-in, in the units of the day, as :func:`tirelife.outlook.walk_in` takes it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tirelife.driving import DrivingProfile, profile_from_answers
from tirelife.errors import misused
from tirelife.logbook import depths_told
from tirelife.outlook.wrong import Wrong
from tirelife.units import SHOWN, convert

__all__ = ["walkin_typed"]


def walkin_typed(given: Mapping[str, Any]) -> tuple[list[list[float]], dict[str, Any]]:
    """Depths and facts of a walk-in.

    Parameters
    ----------
    given : mapping
        By the name of an option of ``tirelife walkin``: ``units``, us or metric; ``depths``, a word a wheel;
        ``new_depth`` [depth unit], ``miles_on`` or ``km_on``, ``miles_per_year`` or ``km_per_year``,
        ``grade``, ``drive``, ``season``, ``region``, ``rotated`` (yes or no), ``speed_shares`` and, per 100
        miles or km, ``hard_starts``, ``hard_stops``, ``hard_turns``; each of these or None.

    Returns
    -------
    depths_mm : list of list of float
        By wheel and groove. [mm]
    facts : dict
        Arguments of :func:`tirelife.outlook.walk_in`.

    Raises
    ------
    InputError
        If a depth is none, or a distance is given both in miles and in km.
    """
    unit = SHOWN[given["units"]]["depth"]
    new, rotated = given["new_depth"], given["rotated"]
    depths = [
        [float(convert(one, unit, "mm")) for one in depths_told("--depths", word)] for word in given["depths"]
    ]
    return depths, {
        "new_depth_mm": None if new is None else float(convert(new, unit, "mm")),
        "distance_km": _distance(given, "on"),
        "km_per_year": _distance(given, "per-year"),
        "treadwear_grade": given["grade"],
        **{name: given[name] for name in ("drive", "season", "region")},
        "profile": _profile(given),
        "rotated": None if rotated is None else rotated == "yes",
    }


def _distance(given: Mapping[str, Any], what: str) -> float | None:
    miles, km = (given[f"{unit}_{what}".replace("-", "_")] for unit in ("miles", "km"))
    if miles is not None and km is not None:
        raise misused(Wrong.MILES_KM, miles=what, km=what)
    return km if miles is None else float(convert(miles, "mi", "km"))


def _profile(given: Mapping[str, Any]) -> DrivingProfile | None:
    events = [given[f"hard_{event}"] for event in ("starts", "stops", "turns")]
    if given["speed_shares"] is None and all(value is None for value in events):
        return None
    unit = "per_100mi" if given["units"] == "us" else "per_100km"
    hard = (None if value is None else float(convert(value, unit, "per_100km")) for value in events)
    return profile_from_answers(given["speed_shares"], *hard)
