"""What to do about a check of a fit that failed, as codes; the words are in :mod:`tirelife.language`."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Advice"]


class Advice(StrEnum):
    """What a failed check asks for."""

    UNSOLVED = "fit-unsolved"
    NOT_SETTLED = "fit-not-settled"
    GRADIENT = "fit-gradient"
    RANGES_LOST = "fit-ranges-lost"
    LEFT_OUT = "fit-left-out"
    FAR_READINGS = "fit-far-readings"
    ONE_SIDED = "fit-one-sided"
    OUTLIERS = "fit-outliers"
    VISITS_LEAN = "fit-visits-lean"
    OFF_ITS_READINGS = "fit-off-its-readings"
    OUT_OF_SCALE = "fit-out-of-scale"
    NEW_DEPTH_OFF = "fit-new-depth-off"
    OVER_NEW = "fit-over-new"
    STARTS_UNTOLD = "fit-starts-untold"
    ODD_TIRES = "fit-odd-tires"
    EARLY_FASTER = "fit-early-faster"
    EARLY_SLOWER = "fit-early-slower"
    WANDERS = "fit-wanders"
    BENDS_SLOWS = "fit-bends-slows"
    BENDS_QUICKENS = "fit-bends-quickens"
    PRIOR_ANSWERS = "fit-prior-answers"
    CAUSE_MORE = "fit-cause-more"
    CAUSE_LESS = "fit-cause-less"
    PATHS_BEND = "paths-bend"
