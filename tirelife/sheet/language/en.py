"""English."""

from __future__ import annotations

from typing import Final

from tirelife.sheet.language.fits_en import FIT_REASONS, HELD, TRUST
from tirelife.sheet.language.pieces import Pieces, fit_pieces, measured_pieces

__all__ = ["PIECES", "SENTENCES", "WORDS"]

WORDS: Final = {
    "LF": "left front", "RF": "right front", "LR": "left rear", "RR": "right rear", "SP": "spare",
    "outer": "outer", "outer_mid": "outer middle", "center": "center", "inner_mid": "inner middle",
    "inner": "inner",
}  # fmt: skip
"""Positions and grooves."""

SENTENCES: Final[dict[str, dict[str, str]]] = {
    "Verdict": {
        "at-or-under": "{tire}: {read}, at or under the {limit} at which it comes off. Have a qualified "
        "person look at it before it is driven far; the local code decides.",
        "near": "{tire}: {read}, near the {limit} at which it comes off (chance, by the gauge's error, that it "
        "was there when read: {chance_at_limit}). Plan its replacement, and do not rotate it.",
        "over": "{tire}: {read}, over the {limit} at which it comes off.",
        "not-read": "{tire}: its depth was never read.",
    },
    "WouldChange": {
        "read-over": "a reading of the {position} over {over}",
        "found-sound": "a look that finds nothing wrong",
        "holds-air": "less than {below} a month lost at the {position}",
        "reads-agree": "a second reading of the {position} that fits what came before",
        "goes-further": "an even chance that the {position} goes over {over} more (now {middle})",
        "surely-further": "9 chances in 10 that the {position} goes over {over} more (now {least})",
        "age-allowed": "a maker's rule that lets the {position} grow older",
        "apart-allowed": "a maker's rule that lets a new tire and the {position} differ by {apart}",
        "drive-allowed": "a maker's rule that lets tires of this all-wheel drive differ by {apart}",
        "pressures-right": "pressures within {within} of the placard",
        "leaving-longer": "tires left in place going {share} further with a chance of {chance} "
        "(now {chance_now})",
        "leaving-no-longer": "a chance of less than {chance} that leaving them is the longer way "
        "(now {chance_now})",
        "rotating-no-longer": "a chance of less than {chance} that rotating early is the longer way "
        "(now {chance_now})",
        "run-on": "{more} more on these places",
        "new-tires": "new tires in place of those that are due",
        "other-tires": "tires whose sizes and direction allow the usual moves",
        "assumed-otherwise": "another assumption about rotation",
        "depths-read": "depths read at every wheel",
        "service-set": "another usual service than every {service}, or {days} days",
    },
    "Refusal": {
        "temporary-spare": "a temporary spare takes no turn: only a full-size matching spare does",
        "spare-size": "the spare is not of the set's size ({sizes}), and takes no turn",
        "directional": "directional tires must stay on their side of the vehicle",
        "sizes": "tires of different sizes may not change places ({sizes})",
        "at-limit": "{position}: read at or under its removal depth, not to be moved",
        "near-limit": "{position}: read near its removal depth, not to be moved",
        "not-logged": "no tire is logged at the {position}",
    },
    "Why": {
        "usual-stands": "The usual pattern stands: the best other order of moves is worth {share_better} more on average, "
        "with {chance} chance to be the better.",
        "none-better": "The usual pattern stands: no other order of moves is worth more.",
        "better": "It leaves the usual pattern: worth {share_better} more, with {chance} chance to be the better.",
        "one-lags": "The {position} lags: it is the first to be down in {share} of what may come.",
        "deeper-pair-to-rear": "The first move puts the deeper pair, by {apart}, on the rear, where grip counts most.",
        "shallower-pair-to-rear": "The first move puts the shallower pair, by {apart}, on the rear: mind wet roads.",
        "axle-apart": "The tires of one axle would differ by {apart}; the {position} is the shallower.",
        "drive-apart": "All wheels are driven and the tires differ by {apart}: more than is usual to allow. "
        "Rotation does not cure that; see the vehicle's manual.",
        "none-allowed": "These tires allow no usual rotation.",
    },
    "FitReason": FIT_REASONS,
    "Held": HELD,
    "Trust": TRUST,
    "NoteCode": {
        "read-at-limit": "read at or under the removal depth: no distance left; have a qualified person "
        "look at it now; the local code decides",
        "estimated-at-limit": "by the estimate at the removal depth: no distance left; have a qualified "
        "person look at it now; the local code decides",
        "read-near-limit": "read near the removal depth: plan its replacement, and do not rotate it",
        "does-not-fit": "the last reading does not fit what came before: read again; the range holds both",
        "age-first": "{years} years old by {by_date}, before its tread is down: age advice, maker's rule "
        "first",
        "spare-lies": "spare: runs no distance where it lies; age limits it",
        "wear-slows": "wear is bending: it slows as the tread gets thinner, so a straight line falls short; "
        "wide range",
        "wear-speeds-up": "wear is bending: it is faster now than before; wide range; look for a cause",
        "never-read": "never read: from its new depth and the fleet's wear; wide range",
        "one-visit": "one visit: leans on its vehicle, its tire line and the fleet; wide range",
        "not-read-lately": "not read for over a year: today's depth is a projection; measure it",
        "date-too-far": "a date over 60 years ahead is not given",
        "no-wear": "not known: its readings show next to no wear; check the depths, and measure again",
        "no-basis": "not known: no depth or no distance to go by",
        "no-odometer": "not known: no odometer reading for this vehicle",
        "odometer-doubted": "the odometer of its last reading is doubted: the line between the vehicle's other "
        "readings stands in for it; correct it",
        "comes-off": "its set takes turns: comes off for the other about {on_date}",
        "in-store": "in store: its set goes on again about {on_date}",
        "fit-says": "{reason}",
    },
}
"""By enum and code."""

MEASURED: Final = {
    "read": "read {read_raw}", "corrected": " ({read} less the gauge's bias)", "groove": " in the {groove} groove",
    "spot": ", spot {spot}", "moved": ", when it was at the {read_at_position}", "date": ", on {read_date}",
}  # fmt: skip
"""What was read where: see :func:`measured_pieces`."""
PIECES: Final[dict[str, Pieces]] = {
    "Verdict": measured_pieces(MEASURED),
    "FitReason": fit_pieces,
}
"""Parts of sentences that depend on more than one argument, by enum."""
