"""How many miles are left in a tire's tread, by which date, how surely, and what would change it.

Importing the package loads nothing heavy; each name below loads its room when it is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_WHERE = {
    "read_logbook": "tirelife.logbook",
    "check_logbook": "tirelife.logbook",
    "import_sheet": "tirelife.logbook",
    "tire_visits": "tirelife.tread",
    "fit_logbook": "tirelife.rates",
    "forecast": "tirelife.outlook",
    "walk_in": "tirelife.outlook",
    "reduce_trips": "tirelife.driving",
    "trip_statistics": "tirelife.driving",
    "InputError": "tirelife.errors",
    "FitError": "tirelife.errors",
}
__all__ = [*_WHERE, "__version__"]


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module 'tirelife' has no attribute {name!r}")
    return getattr(import_module(_WHERE[name]), name)


def __dir__() -> list[str]:
    return sorted(__all__)
