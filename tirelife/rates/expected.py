"""Wear rates of tires, vehicles, lines and groups that a fit never saw."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final, Literal

import numpy as np
import pandas as pd

from tirelife.errors import InputError

if TYPE_CHECKING:
    from tirelife.rates.result import WearFit

__all__ = ["expected_rates"]

_KINDS: Final = {"vehicle_id": "vehicle", "tire_line": "tire line", "driver_group": "driver group"}
GRADE: Final = 340.0
"""Treadwear grade at which its term is zero."""


def expected_rates(
    fit: WearFit, tires: pd.DataFrame, unseen: Literal["error", "average", "missing"] = "error"
) -> pd.DataFrame:
    """Wear rate that a fit expects of tires by what is known of them.

    Parameters
    ----------
    fit : WearFit
    tires : DataFrame
        Any of ``tire_id, vehicle_id, tire_line, driver_group, drive, treadwear_grade``; an empty text or
        NaN means not known. A tire that the fit knows answers by itself, its other columns are not looked at.
    unseen : {"error", "average", "missing"}
        What to do with a name that the fit never saw, and with what is not given: ``"error"`` refuses a name
        never seen; ``"average"`` takes it for a new one, an average one with the full spread between such;
        ``"missing"`` gives NaN and the reason. What is not given at all counts as new under every policy.

    Returns
    -------
    DataFrame
        The rows of ``tires`` with ``log_wear, log_wear_sd`` (log of mm per reference km when new, midway
        between the axles), ``wear_mm_per_1000km, lower, upper`` (median and 80 % range) and ``reason``.

    Raises
    ------
    InputError
        If a name was never seen and ``unseen`` is ``"error"``, or ``unseen`` is none of the three.
    """
    if unseen not in ("error", "average", "missing"):
        raise InputError(f"unseen={unseen!r}: use 'error', 'average' or 'missing'.")
    known = {row["tire_id"]: row for row in fit.tires.to_dict("records")}
    vehicles = {row["vehicle_id"]: row for row in fit.vehicles.to_dict("records")}
    lines = {str(row["tire_line"]) for row in known.values()}
    groups = {str(row["driver_group"]) for row in vehicles.values()}
    held = fit.posterior
    rows = []
    for row in tires.to_dict("records"):
        name = _text(row.get("tire_id"))
        if name and name in known:
            rows.append((*_own(known[name]), "its own readings"))
            continue
        vehicle, line = _text(row.get("vehicle_id")), _text(row.get("tire_line"))
        group = _text(row.get("driver_group"))
        new = [
            f"{_KINDS[kind]} {text!r}"
            for kind, text, seen in (
                ("vehicle_id", vehicle, vehicle in vehicles),
                ("tire_line", line, line in lines or line in held.lines),
                ("driver_group", group, group in groups or group in held.groups),
            )
            if text and not seen
        ]
        if name:
            new.insert(0, f"tire {name!r}")
        if new and unseen == "error":
            raise InputError(
                f"{', '.join(new)}: not in the fit. Pass unseen='average' for new ones, "
                "or 'missing' for blanks."
            )
        if new and unseen == "missing":
            rows.append((math.nan, math.nan, f"not in the fit: {', '.join(new)}"))
            continue
        mean, var = held.log_rate.mean, held.log_rate.sd**2 + math.exp(2 * held.spreads["unit"].mean)
        if vehicle in vehicles:
            mean += float(vehicles[vehicle]["log_effect"])
            var += float(vehicles[vehicle]["log_effect_sd"]) ** 2
            group = group or _text(vehicles[vehicle]["driver_group"])
        else:
            var += math.exp(2 * held.spreads["block"].mean)
        for text, table, spread in ((line, held.lines, "line"), (group, held.groups, "group")):
            if text in table:
                mean, var = mean + table[text].mean, var + table[text].sd ** 2
            elif spread == "line" or table:
                var += math.exp(2 * held.spreads[spread].mean)
        grade = row.get("treadwear_grade")
        if grade is not None and np.isfinite(grade) and grade > 0:
            log_grade = math.log(grade / GRADE)
            mean, var = mean + held.grade.mean * log_grade, var + (held.grade.sd * log_grade) ** 2
        rows.append(
            (mean, math.sqrt(var), f"new: {', '.join(new)}" if new else "by its vehicle, line and group")
        )
    out = tires.copy()
    made = pd.DataFrame(rows, columns=["log_wear", "log_wear_sd", "reason"], index=tires.index)
    out["log_wear"], out["log_wear_sd"] = made["log_wear"], made["log_wear_sd"]
    for column, z in (("wear_mm_per_1000km", 0.0), ("lower", -1.2815515655), ("upper", 1.2815515655)):
        out[column] = 1000 * np.exp(made["log_wear"] + z * made["log_wear_sd"])
    out["reason"] = made["reason"]
    return out


def _text(value: object) -> str:
    """A name, or an empty text for None and NaN."""
    return "" if value is None or value != value else str(value)


def _own(tire: dict[Any, Any]) -> tuple[float, float]:
    """A known tire's log rate when new, midway between the axles."""
    side = tire["log_axle_front"] if tire["position"] in ("LF", "RF") else tire["log_axle_rear"]
    worn = max(float(tire["depth_mm"]), 0.3) / max(float(tire["new_depth_mm"]), 0.3)
    return float(tire["log_wear"] - side - tire["q"] * math.log(worn)), float(tire["log_wear_sd"])
