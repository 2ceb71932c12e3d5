"""English words of what rooms note about gauges, pressures and fits."""

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
}
