"""Labelled cases of tread wear, drawn from handbook descriptions; imports nothing from tirelife.

Each case is a car with one thing wrong with one axle, or nothing. A tread is a surface over its width and its turn,
worn by smooth functions of our own whose steepness varies from case to case; a hand gauge then reads five
grooves at six places, or three grooves at one. What is worn where follows:

- low pressure wears both shoulders, high pressure the center; one edge is camber (US Army TM 9-2610-200-14, p. 2-12);
- toe-in wears the outer edges of both fronts and feathers them toward the middle of the car, toe-out the inner
  edges and away from it; cups come to wheels that are not driven (1997 Mercury Villager service text);
- rear toe of an axle that rolls freely wears slantwise patches round both tires (trade guides on front-drive cars);
- hard cornering rounds the outside shoulder and wears the inner one less (Chevrolet 1942-47 shop manual; 2006 G6 text);
- overload wears both shoulders as low pressure does, on rear axles the inside more (same manual; TM 9);
- a flat spot is one low place across the tread (same);
- some radials wear both shoulders evenly, all round, with the pressure right (TM 5-3820-256-24-3, section c).

Depths, steepness, shares and noise are invented: the cases show whether stated probabilities hold, and prove
nothing about real tires.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

POSITIONS = ("LF", "RF", "LR", "RR")
WIDTH = {"outer": 0.85, "outer_mid": 0.42, "center": 0.0, "inner_mid": -0.42, "inner": -0.85}
SHARES = {
    "even_wear": 0.24,
    "low_pressure": 0.13,
    "high_pressure": 0.09,
    "toe_in": 0.10,
    "toe_out": 0.08,
    "camber": 0.08,
    "cupping": 0.09,
    "flat_spot": 0.04,
    "normal_shoulder_wear": 0.03,
    "diagonal_wear": 0.05,
    "hard_cornering": 0.05,
    "overload": 0.02,
}


@dataclass
class Case:
    """One car: readings by position as arrays (spots, grooves) in mm, and what is true of each wheel."""

    drive: str
    grooves: tuple[str, ...]
    step_mm: float
    readings: dict = field(default_factory=dict)
    ratio: dict = field(default_factory=dict)
    truth: dict = field(default_factory=dict)
    side: dict = field(default_factory=dict)
    findings: list = field(default_factory=list)
    turns: float = float("nan")
    load: dict = field(default_factory=dict)
    new_mm: float = 8.0


def one_sided(u, steep):
    return ((1 + u) / 2) ** steep


def make_case(rng, cause=None, grooves=5, spots=6, step_mm=25.4 / 64, amount=None):
    """Draw one car; the cause is drawn too unless it is given."""
    cause = cause or rng.choice(list(SHARES), p=list(SHARES.values()))
    names = tuple(WIDTH) if grooves == 5 else ("outer", "center", "inner")
    case = Case(str(rng.choice(["front", "rear", "all"], p=[0.7, 0.15, 0.15])), names, step_mm)
    u = np.array([WIDTH[g] for g in names])[None, :]
    angle = 2 * np.pi * np.arange(spots)[:, None] / spots
    free = {"front": "rear", "rear": "front", "all": str(rng.choice(["front", "rear"]))}[case.drive]
    axle = {
        "cupping": free if rng.random() < 0.85 else {"front": "rear", "rear": "front"}[free],
        "diagonal_wear": free,
        "overload": "rear" if rng.random() < 0.8 else "front",
    }.get(cause, "front" if rng.random() < 0.7 else "rear")
    pair = POSITIONS[:2] if axle == "front" else POSITIONS[2:]
    depth = amount or rng.lognormal(np.log(1.5), 0.4)
    hit = set(pair)
    if cause in ("low_pressure", "high_pressure"):
        hit = set(pair) if rng.random() < 0.6 else {str(rng.choice(pair))}
        if rng.random() < 0.2:
            hit = set(POSITIONS)
    elif cause in ("camber", "flat_spot") or (cause == "cupping" and rng.random() < 0.4):
        hit = {str(rng.choice(pair))}
    elif cause == "normal_shoulder_wear":
        hit = set(POSITIONS) if rng.random() < 0.7 else set(pair)
    elif cause == "hard_cornering" and rng.random() < 0.4:
        hit = set(POSITIONS)
    elif cause == "even_wear":
        hit = set()
    steep, wave, side = rng.uniform(1.2, 3.5), int(rng.integers(2, 8)), int(rng.choice([-1, 1]))
    cups_at = rng.choice(["across", "edge"])
    known = rng.random() < 0.6
    slant = rng.choice([-1, 1]) * rng.uniform(0.25, 0.6)
    inner = rng.uniform(0.3, 0.8)
    if rng.random() < 0.5:
        case.turns = float(rng.lognormal(0.9 if cause == "hard_cornering" else 0.0, 0.4))
    weighed = rng.random() < 0.4
    for position in POSITIONS:
        worn = np.full((spots, len(names)), rng.uniform(1.5, 5.0))
        wheel = depth * rng.lognormal(0, 0.25)
        here = cause if position in hit else "even_wear"
        if here == "low_pressure":
            worn = worn + wheel * np.abs(u) ** rng.uniform(0.9, 2.5)
        elif here == "normal_shoulder_wear":
            worn = worn + wheel * np.abs(u) ** rng.uniform(2.0, 4.0)
        elif here == "high_pressure":
            worn = worn + wheel * (1 - np.abs(u) ** rng.uniform(1.0, 2.2))
        elif here in ("toe_in", "toe_out"):
            worn = worn + wheel * one_sided(u if here == "toe_in" else -u, steep)
        elif here == "camber":
            worn = worn + wheel * one_sided(side * u, rng.uniform(1.0, 2.2))
            case.side[position] = "outer" if side > 0 else "inner"
        elif here == "hard_cornering":
            worn = worn + wheel * np.where(u > 0, 1.0, inner) * np.abs(u) ** rng.uniform(1.2, 2.5)
        elif here == "overload":
            worn = worn + wheel * np.where(u > 0, rng.uniform(0.7, 1.0), 1.0) * np.abs(u) ** rng.uniform(
                0.9, 2.5
            )
        elif here == "diagonal_wear":
            run = angle + slant * u
            worn = worn + wheel * np.maximum(np.sin(wave * run + rng.uniform(0, 6.28)), 0)
        elif here == "cupping":
            cup = np.maximum(
                np.sin(wave * angle + rng.uniform(0, 6.28) + 0.7 * rng.normal(size=angle.shape)), 0
            )
            worn = worn + wheel * cup * (1.0 if cups_at == "across" else np.clip(0.3 + side * u, 0, 1))
        elif here == "flat_spot":
            off = np.angle(
                np.exp(1j * (angle - rng.integers(spots) * 2 * np.pi / spots - rng.normal(0, 0.1)))
            )
            worn = worn + wheel * np.exp(-0.5 * (off / 0.35) ** 2)
        natural = (
            rng.normal(0, 0.1) * u + rng.normal(0, 0.1) * (u**2 - 0.4) + rng.normal(0, 0.06, (1, len(names)))
        )
        true = np.clip(case.new_mm - worn + natural, 0.2, None)
        read = true + rng.normal(0, 0.18, true.shape)
        case.readings[position] = np.clip(np.round(read / step_mm) * step_mm, 0, None)
        if known:
            mean = {"low_pressure": 0.78, "high_pressure": 1.2, "normal_shoulder_wear": 1.0}.get(here, 0.97)
            case.ratio[position] = rng.normal(mean, 0.06)
        if weighed:
            case.load[position] = rng.normal(1.03 if here == "overload" else 0.72, 0.08)
        case.truth[position] = here
        if here in ("toe_in", "toe_out") and rng.random() < 0.4:
            case.findings.append((position, "feathered_edge", "inward" if here == "toe_in" else "outward"))
        if here == "cupping" and rng.random() < 0.5:
            case.findings.append((position, "cups", ""))
    return case


def make_cases(count=200, seed=20261125, **options):
    rng = np.random.default_rng(seed)
    return [make_case(rng, **options) for _ in range(count)]
