"""English words of what rooms note about gauges, pressures, fits and groups."""

from __future__ import annotations

from typing import Final

from tirelife.language import imports_en as _imports
from tirelife.language import problems_rooms_en as _rooms

__all__ = ["FAULTS", "NOTES"]

NOTES: Final = {
    **_imports.NOTES,
    **_rooms.NOTES,
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
    "fit-not-converged": "The spreads had not settled: take every range for a guess.",
    "fit-gradient": "One more step would still improve the fit: take the spreads for rough.",
    "fit-ranges-lost": "The covariance failed for these; they are left blank.",
    "fit-left-out": "No tire, no depth or no distance is known for them: see the doubts in the logbook.",
    "fit-far-readings": "More readings are far off than chance allows: they count less, and the ranges lean on the rest.",
    "fit-one-sided": "Readings err more to one side: look for a gauge that sticks or a groove that was missed.",
    "fit-outliers": "Flagged in visits (outlier) and kept: look for slips of the pen and swapped positions.",
    "fit-visit-effects": "All readings of one day lean alike: compare the gauges with a master, read the same way.",
    "fit-off-its-readings": "The fit stands apart from what was read last: answers come from those readings and the prior.",
    "fit-out-of-scale": "No tires live so: look for wrong units or odometers.",
    "fit-new-depth-off": "A line's tires started from another depth than is stated: correct it.",
    "fit-over-new": "Their stated new depth must be wrong: correct it.",
    "fit-starts-unidentified": "Their readings were all taken at about one distance: their starts are held to what is known.",
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
    "trips-no-sideways": "no lateral acceleration or heading: hard turns and cornering are those of typical driving",
    "trips-some-sideways": "cornering is known for less than half of the distance; the rest is taken as typical driving",
}

FAULTS: Final = {
    "trips-missing": ("samples without a time or speed, dropped", "see why the recorder left them out"),
    "trips-unsorted": ("samples out of time order, sorted", "write each trip in time order"),
    "trips-repeated": (
        "samples at a time already there, dropped; of two speeds the lower is kept",
        "see that no two trips share a trip_id",
    ),
    "trips-negative": ("speeds below 0, taken as 0", "record the size of the speed"),
    "trips-spikes": (
        "samples no vehicle could reach and leave again, dropped",
        "look at the receiver's antenna",
    ),
    "trips-jumps": ("changes of speed no tire could hold, left out", "look for lost samples or merged trips"),
    "trips-gaps": (
        "steps longer than 1.5 s: a straight line in distance_km, left out of all else",
        "record at 1 Hz or faster",
    ),
    "trips-drift-s": (
        "seconds of crawl below 0.5 m/s, taken as a receiver at rest and left out of the moments",
        "none needed; the distance lost is drift_km",
    ),
    "trips-side-wrong": (
        "lateral accelerations beyond 12 m/s², left out",
        "check the unit of the lateral column",
    ),
    "trips-along-wrong": (
        "longitudinal accelerations beyond 12 m/s², left out",
        "check the unit of the longitudinal column",
    ),
    "trips-no-speed": (
        "samples of accelerations without speeds: events and their size are known, no distance, no profile",
        "record the speed beside the acceleration",
    ),
    "left-out-mph": ("speeds look like mph", "rename the column speed_mph"),
    "left-out-kmh": ("speeds look like km/h", "rename the column speed_kmh"),
    "left-out-either": ("speeds look like km/h or mph", "rename the column speed_kmh or speed_mph"),
    "left-out-no-speed": (
        "there are no speeds, so there is no profile",
        "none; the trip is not in its vehicle's driving",
    ),
    "left-out-too-slow": (
        "sampled more slowly than once in 1.5 s",
        "none; the trip is not in its vehicle's driving",
    ),
    "left-out-still": ("the vehicle does not move", "none; the trip is not in its vehicle's driving"),
}
"""Of recorded trips: what is wrong and what was done, and what to do."""
