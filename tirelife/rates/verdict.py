"""One verdict on a fit, and its reasons as codes: every answer that leans on the fit carries it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from tirelife.codes import Note, Severity, worst

__all__ = ["FitReason", "FitVerdict", "Trust"]


class Trust(StrEnum):
    """How far a fit can be trusted."""

    GOOD = "good"
    ROUGH = "rough"
    """Its ranges are a guess in places; its reasons say where."""
    REFUSED = "refused"
    """It does not hold: answers come from the last readings and the prior, as a walk-in's do."""


class FitReason(StrEnum):
    """Why a fit is not wholly to be trusted, or what to know about it."""

    NOT_CONVERGED = "not-converged"
    """Variances or rates did not converge. ``rounds``."""
    SECOND_START = "second-start"
    """It converged from a second start only, with the starts fixed at their priors."""
    UNSOLVED = "unsolved"
    """Readings out of all proportion left nothing to solve."""
    OFF_ITS_READINGS = "off-its-readings"
    """Fitted depths stand apart from the last readings. ``share`` of the tires."""
    OUT_OF_SCALE = "out-of-scale"
    """Tread lives are beyond what tires do. ``life_km``: the usual one."""
    RANGES_LOST = "ranges-lost"
    """Ranges could not be found. ``count``."""
    GRADIENT = "gradient"
    """One more step would still improve it."""
    NEW_DEPTH_OFF = "new-depth-off"
    """New depths are not what is stated. ``tire_line``, ``off_mm``."""
    STARTS_UNIDENTIFIED = "starts-unidentified"
    """Readings at about one distance cannot tell a start from a rate. ``tire_line``, ``lines``."""
    FAR_READINGS = "far-readings"
    """More readings are far off than chance allows. ``share``."""
    ONE_SIDED = "one-sided"
    """Readings err to one side. ``skew``."""
    VISIT_EFFECTS = "visit-effects"
    """All readings of one day share an error. ``visit_mm``."""
    EARLY_LEAVERS = "early-leavers"
    """Tires that left with tread on them had worn unlike the rest. ``faster``."""
    WANDERS = "wanders"
    """Wear rates change as tires go. ``share`` over 10,000 km."""
    BENDS = "bends"
    """Wear is bending. ``q``."""
    LEFT_OUT = "left-out"
    """Tire-visits without a tire, a depth or a distance. ``count``."""
    ODD_TIRES = "odd-tires"
    """Tires wore unlike their vehicle and line. ``count``."""
    PRIOR_RATE = "prior-rate"
    """The readings say next to nothing about how fast tires wear: the prior answers."""


_REFUSES: Final = Severity.WARNING
_ROUGH: Final = Severity.DOUBT


@dataclass(frozen=True)
class FitVerdict:
    """Whether to trust a fit.

    Attributes
    ----------
    reasons : tuple of Note
        The gravest first: a WARNING refuses the fit, a DOUBT makes it rough, a NOTE is worth knowing.

    Examples
    --------
    >>> FitVerdict((Note(FitReason.BENDS), Note(FitReason.GRADIENT, Severity.DOUBT))).trust.value
    'rough'
    """

    reasons: tuple[Note, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(
            self, "reasons", tuple(sorted(self.reasons, key=lambda note: note.severity, reverse=True))
        )

    @property
    def trust(self) -> Trust:
        """Good, rough or refused, as the gravest reason has it."""
        grave = worst(self.reasons)
        if grave >= _REFUSES:
            return Trust.REFUSED
        return Trust.ROUGH if grave >= _ROUGH else Trust.GOOD

    @property
    def refused(self) -> bool:
        """Whether answers come from the prior and the last readings."""
        return self.trust is Trust.REFUSED
