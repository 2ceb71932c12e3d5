"""The evidence for a cause in words, in the units of the logbook."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

import numpy as np

from tirelife.tread.history import WheelHistory
from tirelife.tread.profile import pattern_components
from tirelife.tread.signs import Finding
from tirelife.units import convert

__all__ = ["evidence", "shown_depth"]

_OTHER: Final = {"LF": "RF", "RF": "LF", "LR": "RR", "RR": "LR"}
_Z95: Final = 1.96


def evidence(
    cause: str,
    position: str,
    histories: Mapping[str, WheelHistory],
    drive: str,
    toe_mm: Mapping[str, float],
    findings: Iterable[Finding],
    units: str,
) -> str:
    """Say what speaks for or against a cause at a wheel.

    Parameters
    ----------
    cause : str
        A key of :data:`tirelife.tread.patterns.CAUSE_NAMES`.
    position : str
    histories : mapping of str to WheelHistory
        By position.
    drive : str
        front, rear or all.
    toe_mm : mapping of str to float
        Total toe as measured, by axle. [mm]
    findings : iterable of Finding
    units : str
        ``"us"`` or ``"metric"``, of the logbook.

    Returns
    -------
    str
        Short sentences; errors are 95 % bounds from the gauge.
    """
    history = histories[position]
    axle = "front" if position in ("LF", "RF") else "rear"
    said: list[str] = []
    if cause == "even_wear":
        said.append(_largest(history, units))
    if cause in ("toe_in", "toe_out", "camber"):
        said.append(_component(history, 1, units))
        other = histories.get(_OTHER[position])
        if other is not None:
            said.append(f"{_OTHER[position]}: {_component(other, 1, units)}")
        if cause != "camber" and axle in toe_mm:
            said.append(f"toe last measured {toe_mm[axle]:+.1f} mm, in positive")
        if cause == "camber" and not np.isnan(history.wheel.camber_deg):
            said.append(f"camber last measured {history.wheel.camber_deg:+.1f}°")
    if cause in ("low_pressure", "high_pressure", "normal_shoulder_wear"):
        said.append(_component(history, 2, units))
        said.append(_component(history, 3, units))
        ratio = history.wheel.pressure_ratio
        said.append(
            "no pressure was recorded"
            if np.isnan(ratio)
            else f"cold pressure ran at {ratio:.0%} of the placard"
        )
    if cause in ("cupping", "flat_spot"):
        said.append(_around(history, cause, units))
        if cause == "cupping":
            rolls = "is driven" if drive in (axle, "all") else "rolls freely, where cups are usual"
            said.append(f"the {axle} axle {rolls}")
    seen = [f"{f.kind.replace('_', ' ')} {f.direction}".strip() for f in findings if f.position == position]
    if seen and cause != "even_wear":
        said.append(f"found: {', '.join(seen)}")
    if history.note:
        said.append(history.note)
    return "; ".join(text for text in said if text)


def shown_depth(mm: float, units: str) -> str:
    """Write a depth difference in the logbook's units.

    Examples
    --------
    >>> shown_depth(1.5875, "us"), shown_depth(1.5875, "metric")
    ('2.0/32 in', '1.6 mm')
    """
    return f"{convert(mm, 'mm', '32nds'):.1f}/32 in" if units == "us" else f"{mm:.1f} mm"


def _component(history: WheelHistory, index: int, units: str) -> str:
    """One component of the wear pattern in words."""
    value, error = pattern_components(history.wheel.depth_mm, history.wheel.covariance_mm2)
    amount, bound = float(value[index]), _Z95 * float(error[index])
    if np.isnan(amount):
        missing = {1: "the edges", 2: "edges against center", 3: "the grooves next to the edges"}
        return f"{missing[index]} cannot be judged from the grooves read"
    size = f"{shown_depth(abs(amount), units)} (± {shown_depth(bound, units)})"
    if abs(amount) <= bound:
        level = {1: "between the edges", 2: "between edges and center", 3: "at the grooves next to the edges"}
        return f"no difference {level[index]} beyond the gauge's ± {shown_depth(bound, units)}"
    words = {
        1: ("the inner edge lost {} more than the outer", "the outer edge lost {} more than the inner"),
        2: ("the edges lost {} more than the center", "the center lost {} more than the edges"),
        3: ("the grooves next to the edges lost {} more", "the grooves next to the edges lost {} less"),
    }
    return words[index][0 if amount > 0 else 1].format(size)


def _largest(history: WheelHistory, units: str) -> str:
    """The largest difference across the tread against the gauge's error."""
    depth, cover = history.wheel.depth_mm, history.wheel.covariance_mm2
    if history.wheel.read.sum() < 2:
        return "one groove read: the pattern cannot be judged"
    high, low = int(np.nanargmax(depth)), int(np.nanargmin(depth))
    apart = float(depth[high] - depth[low])
    bound = _Z95 * float(np.sqrt(cover[high, high] + cover[low, low] - 2 * cover[high, low]))
    side = "inside" if apart <= bound else "beyond"
    return (
        f"the largest difference across the tread, {shown_depth(apart, units)}, is {side} the gauge's error "
        f"of ± {shown_depth(bound, units)}"
    )


def _around(history: WheelHistory, cause: str, units: str) -> str:
    spots = history.wheel.spots
    if spots is None:
        return "the tread was not read around the tire, so the gauge cannot tell"
    mean = spots.mean(axis=1)
    bound = _Z95 * history.wheel.reading_sd_mm / np.sqrt(spots.shape[1])
    if cause == "cupping":
        return (
            f"depth runs from {shown_depth(float(mean.min()), units)} to "
            f"{shown_depth(float(mean.max()), units)} over {len(mean)} spots around the tread "
            f"(each ± {shown_depth(bound, units)})"
        )
    low = float((mean.sum() - mean.min()) / (len(mean) - 1) - mean.min())
    where = int(spots.index[int(mean.to_numpy().argmin())])
    return (
        f"spot {where} lies {shown_depth(low, units)} below the others (each ± {shown_depth(bound, units)})"
    )
