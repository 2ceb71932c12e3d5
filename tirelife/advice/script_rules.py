"""All that the rules of a decision rest on, as plain data: for the page's script, which decides alike."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from tirelife.advice.deciding import ANGLES, MATCH
from tirelife.advice.facts import Settings
from tirelife.advice.limits import LOOK_SHARE, LOW_KPA, NEAR_LOOK_DAYS, NEAR_LOOK_KM
from tirelife.advice.record import Kind, Soon
from tirelife.advice.rotating import EARLY, SURE
from tirelife.inflation import INSPECT_KPA_PER_MONTH
from tirelife.positions import ROAD
from tirelife.tread import NEAR_MM

__all__ = ["rules"]


def rules(settings: Settings | None = None) -> dict[str, Any]:
    """Settings of a shop, limits of the rules, and the orders of the codes.

    Parameters
    ----------
    settings : Settings, optional

    Returns
    -------
    dict
        Names and units as in :class:`~tirelife.advice.Settings`; numbers, texts and lists only.
    """
    return asdict(settings or Settings()) | {
        "look_share": LOOK_SHARE,
        "near_look_km": NEAR_LOOK_KM,
        "near_look_days": NEAR_LOOK_DAYS,
        "low_kpa": LOW_KPA,
        "near_mm": float(NEAR_MM),
        "inspect_kpa_per_month": float(INSPECT_KPA_PER_MONTH),
        "angles_step": ANGLES,
        "match_step": MATCH,
        "early": EARLY,
        "sure_turn": SURE,
        "kinds": [kind.value for kind in Kind],
        "soon": [soon.value for soon in Soon],
        "road": list(ROAD),
    }
