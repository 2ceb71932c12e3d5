"""Checks of a fit, what to do if one fails, and what is said of a tire, as codes worded in ``language``."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Advice", "Check", "Says"]


class Advice(StrEnum):
    """What a failed check asks for."""

    UNSOLVED = "fit-unsolved"
    NOT_CONVERGED = "fit-not-converged"
    GRADIENT = "fit-gradient"
    RANGES_LOST = "fit-ranges-lost"
    LEFT_OUT = "fit-left-out"
    FAR_READINGS = "fit-far-readings"
    ONE_SIDED = "fit-one-sided"
    OUTLIERS = "fit-outliers"
    VISIT_EFFECTS = "fit-visit-effects"
    OFF_ITS_READINGS = "fit-off-its-readings"
    OUT_OF_SCALE = "fit-out-of-scale"
    NEW_DEPTH_OFF = "fit-new-depth-off"
    OVER_NEW = "fit-over-new"
    STARTS_UNIDENTIFIED = "fit-starts-unidentified"
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


class Check(StrEnum):
    """What of a fit is checked; the last three are followed by ``: `` and what they are about."""

    CONVERGED = "converged"
    GRADIENT = "gradient"
    SOLVED = "solved"
    LOST_RANGES = "lost-ranges"
    LEFT_OUT = "left-out"
    FAR_SHARE = "far-share"
    SKEW = "skew"
    OUTLIERS = "outliers"
    VISIT_EFFECT = "visit-effect"
    OFF_READINGS = "off-readings"
    USUAL_LIFE = "usual-life"
    NEW_DEPTH_OFF = "new-depth-off"
    OVER_NEW = "over-new"
    UNIDENTIFIED_LINES = "unidentified-lines"
    ODD_TIRES = "odd-tires"
    EARLY_LEAVERS = "early-leavers"
    WANDER = "wander"
    CURVATURE = "curvature"
    PATHS_STRAIGHT = "paths-straight"
    IDENTIFIABLE = "identifiable"
    LEFT_BETWEEN = "left-between"


class Says(StrEnum):
    """What a fit says of one tire."""

    NEVER_READ = "fit-never-read"
    READ_ONCE = "fit-read-once"
    NO_LINE = "fit-no-line"
    NEW_DEPTH_UNKNOWN = "fit-new-depth-unknown"
    PART_WORN = "fit-part-worn"
    ODD = "fit-odd"
    RANGE_LOST = "fit-range-lost"
    REFUSED = "fit-refused-tire"
