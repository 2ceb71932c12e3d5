"""Limits that the rules of a decision and what would change it share."""

from __future__ import annotations

from typing import Final

from tirelife.advice.facts import Facts, Settings

__all__ = ["LOOK_SHARE", "LOW_KPA", "NEAR_LOOK_DAYS", "NEAR_LOOK_KM", "look_km"]

LOOK_SHARE: Final = 0.5
"""The next look comes after at most this share of the distance that a tire goes at least (p10), so that it is
seen again well before it may be down; our choice."""
NEAR_LOOK_KM: Final = 1600.0
"""A tire near its limit is looked at again within 1,000 miles; common practice, no source. [km]"""
NEAR_LOOK_DAYS: Final = 30.0
"""And within a month; common practice, no source."""
LOW_KPA: Final = 10.0
"""Pressures that ran so far below the placard are worth a word: 1.5 psi, more than a gauge's error. [kPa]"""


def look_km(facts: Facts, settings: Settings) -> float:
    """Distance to the next look at the usual service. [km]"""
    if facts.km_per_day > 0:
        return min(settings.service_km, settings.service_days * facts.km_per_day)
    return settings.service_km
