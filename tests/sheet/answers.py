"""One answer by hand, for drawing and for comparing sums: nothing here is evidence of anything."""

import numpy as np
import pandas as pd

from tests.charts import frames
from tirelife.advice.script_rules import rules
from tirelife.sheet.answer import Answer
from tirelife.sheet.bundle import finish_bundle
from tirelife.sheet.interactive import CONSTANTS
from tirelife.sheet.language import sentences, texts
from tirelife.sheet.language.decisions import Said
from tirelife.sheet.redo import redo

AS_OF = frames.AS_OF


class Ready:
    """Drawing code that is there already, so that each test need not fetch it: ``bundle=Ready()``."""

    text = ""

    def communicate(self):
        Ready.text = Ready.text or finish_bundle()
        return Ready.text, ""


DRAWS = {
    "level": [1.0, 0.5, 0.0, -0.5, -1.0],
    "year": [0.5, 1.0, 0.0, -1.0, -0.5],
    "answer": [0.5, -1.0, 0.0, 1.0, -0.5],
}
"""Five draws: their quantiles at 10, 50 and 90 % are the first, the third and the last in order."""
EVENTS = ["hard_starts_per_100mi", "hard_stops_per_100mi", "hard_turns_per_100mi"]
SHARES = ["share_under_25mph", "share_25_40mph", "share_40_55mph", "share_55_70mph", "share_over_70mph"]


def state(units="us"):
    options = [["2/32 inch", "2"], ["4/32 inch", "4"]]
    middle = {"LF": 17000.0, "RF": 16000.0, "LR": 24000.0, "RR": 23500.0}
    spread = np.array([0.7, 0.85, 1, 1.18, 1.4])
    tires = {
        p: {
            "km": {"2": (spread * v).tolist(), "4": (spread * v * 0.55).tolist()},
            "other": [0.7 if p[1] == "F" else 1.4] * 5,
            "spare_factor": 1.0,
        }
        for p, v in middle.items()
    }
    rotations = {"log": [[None], [None]], "6000": [[4000.0], [9656.0]]}
    controls = [
        {
            "id": n,
            "group": "Share of miles by speed",
            "label": label,
            "min": 0,
            "max": 100,
            "step": 1,
            "value": v,
            "unit": "%",
        }
        for n, label, v in zip(
            SHARES,
            ["under 25 mph", "25 to 40 mph", "40 to 55 mph", "55 to 70 mph", "over 70 mph"],
            [14, 36, 30, 17, 3],
            strict=True,
        )
    ]
    controls += [
        {
            "id": n,
            "group": "Hard driving, per 100 miles",
            "label": label,
            "min": 0,
            "max": 20,
            "step": 0.5,
            "value": v,
            "unit": "",
        }
        for n, label, v in zip(EVENTS, ["Hard starts", "Hard stops", "Hard turns"], [1.5, 3, 4], strict=True)
    ]
    controls += [
        {
            "id": "pressure",
            "group": "Care and use",
            "label": "Pressure against placard",
            "min": -12,
            "max": 4,
            "step": 1,
            "value": -2,
            "unit": "psi",
        },
        {
            "id": "year",
            "group": "Care and use",
            "label": "Miles a year",
            "min": 1000,
            "max": 40000,
            "step": 500,
            "value": 11000,
            "unit": "miles",
        },
        {"id": "removal", "group": "Plan", "label": "Change them at", "options": options, "value": "2"},
        {
            "id": "rotation",
            "group": "Plan",
            "label": "Rotation",
            "options": [["as they are", "log"], ["every 6,000 miles", "6000"]],
            "value": "log",
        },
    ]
    weights = {}
    for i, p in enumerate(middle):
        weights[p] = {
            "constant": [0.3, 0.0],
            **{n: [0.4 + 0.1 * j + 0.05 * i, 0.0] for j, n in enumerate(SHARES)},
            **{n: [0.0, 0.012 + 0.004 * i] for n in EVENTS},
        }
    low = list(range(-12, 5))
    factor = {p: [1 / (1 - 0.0178 * max(-v, 0)) for v in low] for p in middle}
    return {
        "as_of": "2026-09-30", "units": units, "controls": controls, "weights": weights, "shares": SHARES, "events": EVENTS,
        "pressure": {"at": low, "factor": factor},
        "factors": {"weights": [1.0, 1.0, 1.0], "cov": [[0.0] * 3] * 3}, "no_share": "All shares of speed are 0.",
        "tires": tires, "rotations": rotations, "constants": CONSTANTS, "draws": DRAWS,
        "pace": {"km_per_day": 48.0, "log_sd": 0.08, "year_log_sd": 0.1, "drift_log_sd": 0.08},
        "removals": {"2": 1.5875, "4": 3.175}, "labels": frames.NAMES, "km_per_unit": 1.609344, "mm_per_unit": 0.79375,
        "distance_word": "miles", "distance_unit": "mi", "depth_unit": "32nds", "assumed": "This assumes 11,000 miles a year, and driving and pressures as in the log.",
        "paths": {p: {"odometer_km": 52000.0, "depth_mm": 4.9, "reach_km": 44000.0} for p in middle},
        "kpa_per_unit": 6.894757, "pressure_word": "psi", "first_label": "First of the set", "record": record(list(middle)),
    }  # fmt: skip


def record(places):
    """What a record rests on beside the draws: a car half worn, 4,000 km after its last rotation."""
    tires = {
        p: {
            "read_mm": 4.8, "read_raw_mm": 4.8, "fits": True, "new_depth_mm": 7.9375, "loss_kpa_per_month": 0.0, "age_end": None,
            "age_coded": False, "age_note": "", "at": {n: {"verdict": "over", "depth_mm": 4.9, "notes": []} for n in "24"},
        }
        for p in places
    }  # fmt: skip
    gentler = {p: [1.0, 0.8, 1.0] for p in places}
    return {
        "vehicle_id": "V03", "drive": "front", "tires": tires, "checks": [], "low_kpa": 13.8, "placard_stated": True,
        "rotation": {"since_km": 4000.0, "every_km": 9656.0, "refused": None}, "rules": rules(), "texts": dict(texts()), "would": sentences("WouldChange"),
        "changes": [{"name": "Gentler stops", "kind": "wear", "parts": gentler}],
        "turns": [["Rotate every 6,000 miles", "6000"]], "least_km": 80.0, "low_wear": 1.005, "shown_rows": 6,
        "language": "en", "pressure_known": True, "far_note": "a date over 60 years ahead is not given",
    }  # fmt: skip


STEPS = (
    "Measure again in about 3 months, at about 36,000 miles.",
    "Set pressures to the placard when cold.",
    "Rotate at the next service.",
)


def said(urgent=(), steps=STEPS):
    """A decision in sentences, and what would change only the first step."""
    change = ("What would change it: a second reading.", *("",) * len(steps))[: len(steps)]
    urgent = tuple(urgent)
    return Said(urgent, tuple(steps), ("",) * len(urgent), change)


def answer(vehicle="V03", line="Fellside All-Season", **changes):
    tires = pd.DataFrame(
        [
            {
                "position": p, "label": name, "tire_line": line, "depth_now_mm": 4.9,
                "verdict": "over", "read_mm": 4.8, "read_raw_mm": 5.0, "read_at": p, "read_groove": "outer",
                **{f"km_left_p{q}": v for q, v in zip((10, 25, 50, 75, 90), [12000.0, 14000, 16500, 19000, 23000], strict=True)},
                **frames.windows().iloc[i][[f"date_p{q}" for q in (10, 25, 50, 75, 90)]].to_dict(),
            }
            for i, (p, name) in enumerate(frames.NAMES.items())
        ]
    )  # fmt: skip
    first = tires.iloc[0]
    base = {
        "vehicle": vehicle, "units": "us", "order": "mdy", "as_of": AS_OF, "odometer_km": 52000.0, "measured": AS_OF, "removal_mm": 1.5875,
        "depths": frames.depths(), "tires": tires, "overall": {"first": "LF", **{k: first[k] for k in tires.columns if "_p" in k}},
        "readings": frames.readings(), "band": frames.band(), "causes": frames.causes(), "changes": frames.changes(),
        "said": said(),
        "how": ("We fitted wear rates to 6 visits of this car and 23 others.", "In 8 of 10 cases like this the date falls inside the light bar.", "Past forecasts on this log held 81 times in 100."),
        "assumed": state()["assumed"], "sliders": state(),
        "decision": redo(state(), {}).decision,
    }  # fmt: skip
    return Answer(**{**base, **changes})


def two_turns(longer):
    """The state with a second rotation on offer, whose interval is ``longer`` times that of the first."""
    out = state()
    due, every = out["rotations"]["6000"]
    out["rotations"]["other"] = [due, [every[0] * longer]]
    out["record"]["turns"] = [["Rotate every 6,000 miles", "6000"], ["Rotate a hair later", "other"]]
    return out
