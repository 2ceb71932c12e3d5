"""English: the customer's page, its controls and its charts."""

from __future__ import annotations

from typing import Final

from tirelife.captions import WORDS
from tirelife.wear.cause import RECORDS

__all__ = ["CUSTOMER"]

CUSTOMER: Final[dict[str, str]] = {
    "page-title": "How long your tires should last",
    "page-key-likely": "5 chances in 10", "page-key-wide": "8 chances in 10",
    "page-key-middle": "as likely before as after", "page-key-left": "rubber left",
    "page-key-worn": "worn off", "page-key-least": "least read",
    "page-nothing": "Not enough is known yet to say.",
    "page-next": "What to do next", "page-windows": "When to plan for new tires",
    "page-today": "What we measured today", "page-measured": "What we measured on {day}",
    "page-paths": "Least depth so far, and what is likely", "page-changes": "What would help",
    "page-causes": "What wore them", "page-how": "How we worked this out, and how sure it is",
    "page-care": "Please note",
    "page-tire": "Tire", "page-kind": "Kind", "page-least": "Least read, {deep}",
    "page-now": "Least today, estimate", "page-left": "{unit} left, 8 chances in 10",
    "page-far-us": "Miles", "page-far-metric": "Kilometers",
    "page-not-read": "not read", "page-at": "{depth} at {where}",
    "page-at-on": "{depth} at {where} on {day}", "page-on": "{depth} on {day}",
    "page-as-read": "Depths are as read, the least in each groove.",
    "page-bias": "To judge them we took off what the gauge reads wrong.",
    "page-elsewhere": "A wheel is named where the tire was read at another one.",
    "page-read-at": "{tire}, read at {where}",
    "page-read-on": "{tire}, read on {day}",
    "page-read-at-on": "{tire}, read at {where} on {day}",
    "page-look-now": "Have these looked at by a qualified person before you drive far:",
    "hardly-less": "just under that", "would-change": "What would change it: {what}.",
    "above": "First see the note above. ",
    "care-1": "This is an estimate, not a safety check. A look at the tire always comes first.",
    "care-2": "Have a tire checked now if you see cords, a bulge, a cut, cracks, or wear bars level with the tread, "
    "or if it loses more than {leak} a month.",
    "care-3": "Legal depth differs by place, season and vehicle. Your local code and the vehicle's placard rule.",
    "care-4": "Wet grip falls well before the legal depth. Many drivers change earlier.",
    "care-5": "Set pressures cold, to the placard. Never let air out of a hot tire.",
    "care-6": "Age or damage can end a tire before its tread does.",
    "how-fit": "We fitted how fast tires wear to {visits} visits of {tires} tires.",
    "how-own-one": "This car was measured on 1 day.", "how-own-many": "This car was measured on {n} days.",
    "how-published": "How much speed, starts, stops, turns and pressure count comes from published work, and is only "
    "known roughly.",
    "how-bar": "If the driving stays as it is, the day should fall inside the light bar about 8 times in 10.",
    "how-checked": "We checked such ranges on {n} readings that came after the forecast.",
    "walkin-car": "Your car",
    "walkin-how": "This comes from one visit, so it leans on published figures for cars like this, and its range is "
    "wide.",
    "walkin-usual": "We had no facts on: {what}; for these we took what is usual.",
    "walkin-second": "A second visit will tell how fast these tires wear, and narrow the range.",
    # Controls.
    "try-title": "What if it went another way?", "try-more": "Speeds and hard driving", "try-reset": "As it was",
    "try-print": "Print this page", "try-no-share": "All shares of speed are 0: give at least one of them a share.",
    "try-first": "First of the set",
    "try-speed": "Share of {unit} by speed", "try-hard": "Hard driving, per 100 {unit}", "try-care": "Care and use",
    "try-shares": "More of one speed is less of the others. Slow driving holds most bends, stops and parking turns: a tire that "
    "these wear most can last longer with more of the fast, though speed itself wears it more.",
    "try-band-us-1": "under 25 mph", "try-band-us-2": "25 to 40 mph", "try-band-us-3": "40 to 55 mph",
    "try-band-us-4": "55 to 70 mph", "try-band-us-5": "over 70 mph",
    "try-band-metric-1": "under 40 km/h", "try-band-metric-2": "40 to 65 km/h", "try-band-metric-3": "65 to 90 km/h",
    "try-band-metric-4": "90 to 110 km/h", "try-band-metric-5": "over 110 km/h",
    "try-gentler": "Gentler driving", "try-starts": "Hard starts", "try-stops": "Hard stops", "try-turns": "Hard turns",
    "try-year": "{unit} a year", "try-removal": "Change them at", "try-rotation": "Rotation",
    "try-pressure": "Pressure, cold", "try-as-now": "as now", "try-none": "none", "try-every": "every {far}",
    "try-assumed": "If the car goes on as now: about {year} a year, with the same driving, pressures and rotation. "
    "New tires at {depth}.",
    "live-if": "If, from now on: {what}.", "live-placard": "at the placard", "live-low": "{pressure} low",
    "live-gentler": "by {percent} %", "live-high": "{pressure} high",
    # What would help.
    "change-placard": "Pressures at the placard", "change-straight": "Wheels set straight",
    "change-starts": "Gentler starts, by a fifth", "change-stops": "Gentler stops, by a fifth",
    "change-turns": "Slower in bends, by a tenth", "change-slower": "{speed} slower on fast roads",
    "change-rotate": "Rotate {every}", "change-pressure-right": "Pressure put right",
    "change-toe-right": "Toe put right", "change-camber-right": "Camber put right",
    # What wore them.
    **{f"cause-{cause.name}": cause.said for cause in RECORDS},
    **WORDS,
    "cause-rest": "All else", "axle-front": "Front", "axle-rear": "Rear",
}  # fmt: skip
"""By code; braces name what is filled in. Leak: more than 2 psi a month (a tire maker's user guide of 2023;
GAO-07-246R)."""
