"""Cases labelled from handbooks' words by someone who had not seen the scoring (``labelled/``): read and scored.

How a case becomes what a user would enter was put down before any was scored: a feel or a sight is entered as the
finding that its words name, and words that name none are left out; the ratio of pressure counts at the wheel in
question; a load "over" a rating, a bed "full", five aboard with luggage, or a plow is more than the tires may carry,
other words about load are within; a share of turns taken hard is set against 6 % for the usual driver.
Told of the gauge is the spread with which the readings were drawn (a study of the shop's gauge would give it): 0.5/32
where a case does not say its own. Until the fifth set the scoring was told 0.2 mm, half of that, which made it take the
gauge's own scatter for wear; figures from before are marked so where they stand.
Of stated probabilities every cause counts, and is so only if it is the label's own: one that the label would also take
used to be left out where it lost, which made the winner look surer to be right than its probability said.
Added with the cause it is about: roads that are said to be crowned are entered as such, and an alignment sheet "in
range" as angles in the middle of the usual ranges.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from tirelife.logbook import GROOVES
from tirelife.tread import Finding, Wheel, checks_first, weigh_wheels
from tirelife.tread.gauge import reading_variances

MM = 25.4 / 32
FOLDER = Path(__file__).parent / "labelled"
AT = {3: [0, 2, 4], 4: [0, 1, 3, 4], 5: [0, 1, 2, 3, 4]}
USUAL_TURNS = 0.06
DRAWN_32NDS = 0.5
"""Spread before rounding with which the readings of a set were drawn, where a case does not say its own."""
CAUSES = {
    "over_inflation": {"high_pressure"}, "under_inflation": {"low_pressure"}, "hard_cornering": {"hard_cornering"},
    "rear_toe_diagonal": {"diagonal_wear"}, "cupping_suspension": {"cupping"},
    "even_normal": {"even_wear", "normal_shoulder_wear"}, "camber_negative": {"camber inner"},
    "camber_positive": {"camber outer"}, "toe_in": {"toe_in"}, "toe_out": {"toe_out"}, "flat_spot": {"flat_spot"},
    "overload": {"overload"}, "high_crown_or_road_crown": {"road_crown outer", "road_crown inner"},
}  # fmt: skip
CHECKS = {
    "cold pressure with a proved gauge": {"check pressure"}, "measure toe": {"measure angles"},
    "measure camber": {"measure angles"}, "measure rear toe/thrust": {"measure angles"},
    "look at dampers and balance": {"check wheel and dampers"}, "look at the brakes": {"check wheel and dampers"},
    "ask about load": {"check load"}, "ask about driving": {"ask about turns"}, "nothing": {"nothing"},
}  # fmt: skip
BY_HAND = {"measure angles", "check wheel and dampers", "ask about turns", "ask about roads"}
"""What a hand along the tread or the gauge round it may come before: it is free, and tells them apart."""
SEEN = (
    (("rounded", "round,", "round like"), "rounded_shoulder"), (("skid", "flat patch", "bald patch", "flat on"), "flat_spot"),
    (("slant", "diagonal"), "diagonal"), (("cups", "scalloped dips"), "cups"), (("saw-tooth",), "heel_and_toe"),
)  # fmt: skip
HEAVY = ("over axle", "over the axle", "over rear", "over limit", "full", "plow", "luggage")


def read_cases(name="cases"):
    """The cases of someone who had not seen the scoring, or ``fresh`` ones, typed by who had, scored once done."""
    return json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))


def wheel_of(depths, case, ratio=float("nan"), load=float("nan")):
    """A wheel as the gauge read it: rows are spots; three grooves or five."""
    read = np.atleast_2d(np.asarray(depths, dtype=float)) * MM
    at = AT[read.shape[1]]
    spread = case.get("gauge_sd_32nds", DRAWN_32NDS) * MM
    single, shared = reading_variances(case["gauge_step_32nds"] * MM, spread, float("nan"))
    depth, variance = np.full(5, np.nan), np.full(5, np.nan)
    depth[at], variance[at] = read.mean(axis=0), shared + single / len(read)
    names = [GROOVES[i] for i in at]
    spots = pd.DataFrame(read, columns=names, index=range(1, len(read) + 1)) if len(read) > 1 else None
    worn = case["new_32nds"] * MM - float(np.nanmean(depth))
    return Wheel(depth, variance, worn, spots, float(np.sqrt(single)), ratio, load_ratio=load)


def findings_of(case):
    """Findings that a user would enter of what was felt and seen."""
    at, feel = case["position"], case["feel"] or ""
    kinds = []
    if "toward the vehicle centre" in feel:
        kinds.append(("feathered_edge", "inward"))
    elif "toward the outside" in feel:
        kinds.append(("feathered_edge", "outward"))
    elif "direction not sure" in feel:
        kinds.append(("feathered_edge", ""))
    elif feel.startswith("smooth"):
        kinds.append(("smooth", ""))
    elif "outer shoulder rough" in feel:
        kinds.append(("rounded_shoulder", ""))
    elif "saw-tooth" in feel:
        kinds.append(("heel_and_toe", ""))
    for words in case["sight"]:
        kinds += [(kind, "") for parts, kind in SEEN if any(part in words for part in parts)][:1]
    return [Finding(at, *kind) for kind in dict.fromkeys(kinds)]


def weigh(case, told=True):
    """Causes and first check at the wheel in question; ``told`` is False for what the gauge alone says."""
    at = case["position"]
    pressure = (case["pressure_history"] or {}).get("typical_ratio_to_placard", float("nan"))
    words = case["load"] or ""
    load = float("nan") if not words else 1.1 if any(w in words for w in HEAVY) else 0.85
    if "unknown" in words:
        load = float("nan")
    turns = (
        float("nan") if case["driving"] is None else float(np.clip(case["driving"] / USUAL_TURNS, 0.4, 5.0))
    )
    depths = case.get("spots_by_grooves_32nds") or case["grooves_32nds"]
    wheels = {p: wheel_of(d, case) for p, d in (case["other_wheels"] or {}).items() if p != at}
    wheels[at] = wheel_of(depths, case, pressure, load)
    wheels = {p: wheels[p] for p in ("LF", "RF", "LR", "RR") if p in wheels}
    toe = {}
    if told and any("in range" in words for words in case["sight"]):  # an alignment sheet: the middles
        wheels = {p: replace(wheel, camber_deg=-0.4) for p, wheel in wheels.items()}
        toe = {"front": 0.5, "rear": 0.5}
    found = findings_of(case) if told else []
    roads = "crowned" if told and any("crowned" in words for words in case["sight"]) else ""
    table = weigh_wheels(
        wheels, case["driven_axle"], toe_mm=toe, cornering=turns, roads=roads, findings=found
    )
    first = checks_first(table, wheels, found, cornering=turns, roads=roads)[at].value
    table = table[table["position"] == at]
    names = table["cause"] + np.where(table["side"] != "", " " + table["side"], "")
    return table["probability"].groupby(names).sum(), first


def meant(case):
    """Causes that the label names, and those that it would also take."""
    own = [CAUSES[c] for c in case.get("components", [case["cause"]])]
    also = [CAUSES[c] for c in case.get("also_acceptable", []) if c in CAUSES]
    return set().union(*own), set().union(*own, *also)


def score(cases, told=True):
    """One row a case, and one a case and cause with its stated probability."""
    right, stated = [], []
    for case in cases:
        chance, first = weigh(case, told)
        own, may = meant(case)
        even = chance.get("even_wear", 0.0)
        fault = chance.drop("even_wear", errors="ignore")
        top = str(fault.idxmax()) if even < 0.5 else "even_wear"
        asked = set().union(
            *(CHECKS[c] for c in [case["first_check"], *case.get("first_check_also_acceptable", [])])
        )
        if case["cause"] == "high_crown_or_road_crown":
            asked |= {"ask about roads"} if "ask about turns" in asked else set()
        hand = {"feel the tread", "read round the tread"} if asked & BY_HAND else set()
        right.append(
            (case["id"], case["cause"], "spots_by_grooves_32nds" in case, top, top in own, top in may, first,
             first in asked, first in asked | hand)
        )  # fmt: skip
        stated += [(case["cause"], cause, float(p), cause in own) for cause, p in chance.items()]
    columns = ["id", "cause", "spots", "top", "right", "taken", "first", "check", "check_or_hand"]
    return pd.DataFrame(right, columns=columns), pd.DataFrame(
        stated, columns=["label", "cause", "probability", "so"]
    )
