"""A cause of wear as a record: all that the rest of the package asks of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tirelife.wear.forces import Wheel

__all__ = ["Cause"]


@dataclass(frozen=True)
class Cause:
    """One cause of wear.

    Attributes
    ----------
    name : str
        Its code, and its column wherever wear is split.
    order : int
        Where it stands among the causes.
    said, short : str
        In words: on its own line, and in a sentence about groups.
    habit : str
        The lever that it answers to (``speed``, ``starts``, ``stops``, ``turns``, ``parking``, ``pressure``,
        ``toe``); empty if to none.
    driver : bool
        Whether it comes with how a vehicle is driven and kept.
    log_sd : float
        Standard deviation of the logarithm of its factor before any log; the factor's median is 1, what the
        physics says.
    source : str
        What that spread rests on, and its standing.
    energy : callable, optional
        :class:`~tirelife.wear.forces.Wheel` to the energy left in the contact patch [J/m].
    of_whole : callable, optional
        In place of ``energy``, for a cause that multiplies all others: wear over wear at placard pressure to
        what it adds, as a share of the others' sum.
    free : float
        Share of the wear that needs no force that this cause holds; over all causes 1.
    goes_with_load : bool
        Whether its energy is in proportion to the load on the wheel: what is not known of a vehicle's mass
        and balance follows from it.
    """

    name: str
    order: int
    said: str
    short: str
    habit: str
    driver: bool
    log_sd: float
    source: str
    energy: Callable[[Wheel], NDArray[np.float64]] | None = None
    of_whole: Callable[[Any], NDArray[np.float64]] | None = None
    free: float = 0.0
    goes_with_load: bool = False
