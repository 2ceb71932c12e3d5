"""Which tires are replaced together: the one rule of the trade, for the decision and for what ways cost."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from enum import StrEnum

from tirelife.positions import AXLES, BESIDE

__all__ = ["Scope", "scope_of", "together"]


class Scope(StrEnum):
    """How many tires are replaced together."""

    ONE = "one"
    PAIR = "pair"
    """Both tires of an axle."""
    SET = "set"


def together(
    due: Collection[str],
    apart_mm: Mapping[str, float],
    drive: str,
    match_axle_mm: float,
    match_drive_mm: float,
) -> tuple[list[str], str | None]:
    """Tires that go with those that are due, because new ones beside them would differ too much.

    Parameters
    ----------
    due : collection of str
        Positions.
    apart_mm : mapping of str to float
        By position of every tire on the road, in their order: how much deeper a new tire is; NaN if not
        known, and then it stays. [mm]
    drive : str
        ``all`` where all wheels are driven.
    match_axle_mm, match_drive_mm : float
        How much tires of an axle, and of an all-wheel drive, may differ. [mm]

    Returns
    -------
    mates : list of str
        Of the same axle as one that is due.
    worst : str or None
        Of an all-wheel drive whose other tires all go as well, the one that differs most.

    Examples
    --------
    >>> together(["LF"], {"LF": 6.3, "RF": 4.0, "LR": 1.0, "RR": 1.0}, "front", 2.4, 2.4)
    (['RF'], None)
    >>> together(["LF"], {"LF": 6.3, "RF": 4.0, "LR": 2.5, "RR": 1.0}, "all", 2.4, 2.4)
    (['RF'], 'LR')
    """
    mates = [
        mate
        for place, mate in BESIDE.items()
        if place in due and mate not in due and apart_mm.get(mate, 0.0) > match_axle_mm + 1e-9
    ]
    rest = {p: apart for p, apart in apart_mm.items() if p not in due and p not in mates}
    unlike = {p: apart for p, apart in rest.items() if apart > match_drive_mm + 1e-9}
    worst = max(unlike, key=lambda p: unlike[p]) if drive == "all" and unlike else None
    return mates, worst


def scope_of(positions: Collection[str]) -> Scope:
    """How many that is: a set from three on."""
    if len(positions) > 2:
        return Scope.SET
    return Scope.PAIR if any(set(axle) == set(positions) for axle in AXLES.values()) else Scope.ONE
