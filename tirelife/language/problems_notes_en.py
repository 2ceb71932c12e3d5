"""English words of what rooms note about gauges, pressures, fits and groups."""

from __future__ import annotations

from typing import Final

__all__ = ["NOTES"]

NOTES: Final = {
    "gauge-not-compared": "Compare it with a master: how far it is off is not known.",
    "gauge-reads-high": "It reads {off} high: repair or replace it.",
    "gauge-reads-low": "It reads {off} low: repair or replace it.",
    "gauge-overdue": "Last compared on {day}: compare it with a master again.",
    "let-out-warm": "air was let out of a warm tire: check it cold, and never bleed a hot tire",
    "set-warm": "set warm, so low once cold: check it cold",
    "gauge-unknown": "gauge never compared with a master",
    "over-placard": "more than 10 % above the placard",
    "doubtful-pressure": "doubtful, so not used for the pressure path",
    "fit-unsolved": 'A depth or a distance is out of proportion: run "tirelife check" on the logbook.',
    "fit-not-settled": "The spreads had not settled: take every range for a guess.",
    "fit-gradient": "One more step would still improve the fit: take the spreads for rough.",
    "fit-ranges-lost": "The covariance failed for these; they are left blank.",
    "fit-left-out": "No tire, no depth or no distance is known for them: see the doubts in the logbook.",
    "fit-far-readings": "More readings are far off than chance allows: they count less, and the ranges lean on the rest.",
    "fit-one-sided": "Readings err more to one side: look for a gauge that sticks or a groove that was missed.",
    "fit-outliers": "Flagged in visits (outlier) and kept: look for slips of the pen and swapped positions.",
    "fit-visits-lean": "All readings of one day lean alike: compare the gauges with a master, read the same way.",
    "fit-off-its-readings": "The fit stands apart from what was read last: answers come from those readings and the prior.",
    "fit-out-of-scale": "No tires live so: look for wrong units or odometers.",
    "fit-new-depth-off": "A line's tires started from another depth than is stated: correct it.",
    "fit-over-new": "Their stated new depth must be wrong: correct it.",
    "fit-starts-untold": "Their readings were all taken at about one distance: their starts are held to what is known.",
    "fit-odd-tires": "{about} wore unlike their vehicle and line: check the mounts, then the wheel.",
    "fit-early-faster": (
        "Tires that left with tread on them had worn faster than the rest: forecasts for those that stay may be "
        "off the other way."
    ),
    "fit-early-slower": (
        "Tires that left with tread on them had worn slower than the rest: forecasts for those that stay may be "
        "off the other way."
    ),
    "fit-wanders": "Wear rates change as tires go: look for changed habits; ranges widen with distance.",
    "fit-bends-slows": "Wear is bending: it slows as the tread goes (q = {about}). Straight lines mislead here.",
    "fit-bends-quickens": "Wear is bending: it quickens as the tread goes (q = {about}). Straight lines mislead here.",
    "fit-prior-answers": "The readings say next to nothing about it: the prior answers.",
    "fit-cause-more": (
        "Vehicles with more of this cause wear more than its factor allows: look at how it was recorded, or at "
        "what goes with it."
    ),
    "fit-cause-less": (
        "Vehicles with more of this cause wear less than its factor allows: look at how it was recorded, or at "
        "what goes with it."
    ),
    "paths-bend": (
        "The paths bend: straight ones will mislead; try curved=True, another scale, or shorter data."
    ),
    "group-few-rates": "Log depths at more visits: a tire read once, or twice within a short distance, tells nothing.",
    "group-hidden": "They are fitted with the others. Small groups point at persons; pool them, or lower the limit knowing that.",
    "group-few-vehicles": "So few vehicles are left after the groups and adjustments that ranges rest on little; adjust for fewer columns or log more vehicles.",
    "group-not-adjusted": "{about}: what looks like the group may be these. Log more vehicles, or name the columns to adjust for.",
    "group-one-vehicle": "Left out, one vehicle would leave no difference shown: look at that vehicle first, its toe, pressures, loads and readings.",
    "group-own-kind": "{about}: what looks like the group may be this. Only groups that share some can be compared.",
    "group-one-car": "{about}: A group and its only car coincide. Let drivers change cars, or log more cars.",
    "group-inflation": "Groups and what they are adjusted for go together, so little is left to compare; swap cars, lines or sites between groups.",
    "group-large-ratio": "In fleet trials drivers alone have shifted wear by up to 35 % (TMC RP 230); more than that points at cars, loads, roads or readings first.",
    "group-wide-spread": "Users at one place differ about two-fold (Tire Sci. Technol. 1973); more than that points at vehicles in trouble, or at odometers and depths that were misread.",
    "group-habits-unknown": "Where habits are not recorded all groups are taken to drive alike, so a difference falls to what is not explained. Log habits, or reduce recorded trips to them.",
}
