"""Whether any rotation that changes axles is allowed on a vehicle, and how far it ran since its last one."""

from __future__ import annotations

from collections.abc import Mapping

from tirelife.logbook import Logbook
from tirelife.positions import ROAD
from tirelife.rotation.plan import PATTERNS, Refusal, legality

__all__ = ["none_allowed", "since_moved"]


def none_allowed(sizes: Mapping[str, str], directional: bool = False) -> Refusal | None:
    """What stands against every pattern of the trade that changes axles; None where one is allowed.

    Parameters
    ----------
    sizes : mapping of str to str
        By position.
    directional : bool
        Whether a tire on the road turns one way.

    Examples
    --------
    >>> none_allowed({"LF": "225/45R18", "RF": "225/45R18", "LR": "255/40R18", "RR": "255/40R18"})
    <Refusal.SIZES: 'sizes'>
    """
    # A swap of sides alone is no such rotation.
    four = [
        plan
        for plan in PATTERNS.values()
        if len(plan.positions) == len(ROAD) and any(a[1] != b[1] for a, b in plan.goes_to)
    ]
    found = [legality(plan, sizes=sizes, directional=directional) for plan in four]
    if any(one.allowed for one in found):
        return None
    turns = directional and any(n.code is Refusal.DIRECTIONAL for one in found for n in one.notes)
    return Refusal.DIRECTIONAL if turns else Refusal.SIZES


def since_moved(book: Logbook) -> dict[str, float]:
    """Distance that each vehicle has run since a tire of it last came to its place. [km]"""
    path = book.stretches
    on = path[path["open"] & path["position"].isin(ROAD)]
    since = (on["to_km"] - on["from_km"]).groupby(on["vehicle_id"]).min()
    return {str(v): float(km) for v, km in since.items()}
