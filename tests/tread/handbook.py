"""Cars drawn by hand from what handbooks say of each cause, with the check that they name; no tirelife in here.

Each line is one car: what a source says in a few words, the depth lost beyond even wear in mm by groove (outer, outer
middle, center, inner middle, inner) or by spot and groove, and what a shop would look at first. The words are theirs,
restated; the depths are ours, put down by eye before any was scored. Sources:

- G6: service text of the 2006 Pontiac G6, "Tire Diagnosis - Irregular or Premature Wear".
- TM 9: US Army TM 9-2610-200-14, p. 2-12. TM 5: US Army TM 5-3820-256-24-3, section c.
- CHEV: Chevrolet passenger car shop manual 1942-47, tire wear section (cornering and camber wear).
- MERC: service text of the 1997 Mercury Villager, tires, testing and inspection.
- DIAG: trade guides on wear of rear tires of front-drive cars whose toe is off: slantwise scuffing and cupping
  across the face, felt with a hand round the tire, both rear tires; measure rear toe, do not cure by rotation.
- RIB: a truck tire maker's inspection guide: inner ribs punched by low pressure.
"""

from dataclasses import dataclass

import numpy as np

GROOVES = ("outer", "outer_mid", "center", "inner_mid", "inner")

# Slantwise patches round the tire, in tenths of a mm at six spots (rows) and five grooves, drawn by eye.
SLANT_3 = "10 5 0 0 0; 3 9 7 2 0; 0 2 8 10 4; 0 0 1 5 10; 9 4 0 0 0; 2 8 8 3 0"
SLANT_1 = "2 0 0 0 0; 12 6 1 0 0; 8 12 9 3 0; 1 6 11 12 6; 0 0 3 8 12; 0 0 0 0 3"
SLANT_BACK = "0 0 1 6 10; 0 4 10 7 1; 7 10 3 0 0; 8 2 0 0 3; 0 0 2 8 9; 2 7 10 4 0"
SLANT_2 = "10 8 3 0 0; 5 9 10 6 2; 0 1 5 9 10; 9 6 1 0 0; 6 10 9 5 1; 0 2 6 10 9"
CUPS_3 = "0 0 0 0 0; 11 10 10 10 11; 0 1 0 1 0; 10 9 10 9 10; 1 0 0 0 1; 12 10 9 10 11"
CUPS_2 = "2 2 2 2 2; 10 9 9 9 10; 9 9 8 9 9; 1 1 1 1 1; 11 10 10 10 10; 8 8 8 8 8"
CUPS_EDGE = "0 0 0 0 0; 14 8 1 0 0; 1 0 0 0 0; 12 6 1 0 0; 2 1 0 0 0; 13 7 1 0 0"
CUPS_SOME = "0 0 0 0 0; 13 12 12 12 13; 3 3 3 3 3; 0 0 0 0 0; 9 9 8 9 9; 12 12 11 12 12"
FLAT = "0 0 0 0 0; 0 0 0 0 0; 18 18 18 18 18; 1 1 1 1 1; 0 0 0 0 0; 0 0 0 0 0"
FLAT_WIDE = "0 0 0 0 0; 15 15 16 15 15; 9 9 9 9 9; 0 0 0 0 0; 0 0 0 0 0; 0 0 0 0 0"


@dataclass(frozen=True)
class Car:
    """One line of the set; ``worn`` by position: a profile (5,) or a surface (6, 5) as text."""

    cause: str
    source: str
    words: str
    worn: dict
    checks: tuple
    drive: str = "front"
    ratio: float = float("nan")  # cold pressure over placard at the wheels named; 0.98 at the others if known
    turns: float = float("nan")  # mean square side acceleration over the usual
    load: float = float("nan")
    findings: tuple = ()


PRESSURE = ("check pressure",)
ANGLES = ("feel the tread", "measure angles")
BALANCE = ("check wheel and dampers", "feel the tread")
BRAKES = ("check wheel and dampers",)
NOTHING = ("nothing", "check pressure")
TURNS = ("check pressure", "ask about turns", "feel the tread")
LOAD = ("check pressure", "check load")


def front(a, b=None):
    return {"LF": a, "RF": b if b is not None else a}


def rear(a, b=None):
    return {"LR": a, "RR": b if b is not None else a}


CARS = [
    Car("even_wear", "G6", "worn alike to the indicators", {}, NOTHING),
    Car("even_wear", "G6", "worn alike, rear drive", {}, NOTHING, "rear"),
    Car("even_wear", "G6", "worn alike, all driven", {}, NOTHING, "all", 0.97),
    Car("low_pressure", "TM 9", "edges scuff the road", front("15 7 0 7 14"), PRESSURE),
    Car("low_pressure", "TM 9", "edges scuff, pressure known low", front("13 5 0 4 14"), PRESSURE, ratio=0.76),
    Car("low_pressure", "G6", "outer blocks worn more than middle ones", rear("16 8 0 9 15"), PRESSURE),
    Car("low_pressure", "G6", "one tire has a slow leak", {"RF": "14 6 0 6 14"}, PRESSURE, ratio=0.74),
    Car("low_pressure", "RIB", "ribs next to the edges first", front("8 15 0 14 8"), PRESSURE),
    Car("low_pressure", "RIB", "ribs next to the edges, rear drive", front("6 13 0 14 7"), PRESSURE, "rear", 0.8),
    Car("high_pressure", "TM 9", "center wears more rapidly", front("0 8 16 8 0"), PRESSURE),
    Car("high_pressure", "TM 9", "center of all four", front("0 6 14 6 0") | rear("0 6 13 7 0"), PRESSURE, ratio=1.2),
    Car("high_pressure", "G6", "middle blocks worn more", rear("0 5 14 5 0"), PRESSURE, "rear"),
    Car("normal_shoulder_wear", "TM 5", "both shoulders even all round, pressure right",
        front("12 3 0 3 12") | rear("12 3 0 3 11"), NOTHING, ratio=1.0),
    Car("normal_shoulder_wear", "TM 5", "the same, all driven",
        front("14 4 0 3 14") | rear("13 3 0 4 14"), NOTHING, "all", 1.01),
    Car("hard_cornering", "CHEV", "outside shoulder rounded and rough, the inner one less",
        front("17 6 0 2 8", "16 6 0 3 9"), TURNS, ratio=0.99, turns=2.6),
    Car("hard_cornering", "CHEV", "outside shoulders of front and, less, rear tires rounded",
        front("16 5 0 2 6") | rear("11 4 0 1 5"), TURNS, ratio=0.98),
    Car("hard_cornering", "CHEV", "rounded outside shoulder seen", front("15 5 0 2 7"), TURNS, ratio=1.0,
        findings=(("LF", "rounded_shoulder", ""), ("RF", "rounded_shoulder", ""))),
    Car("hard_cornering", "G6", "both shoulders, pressure right, driven hard through bends",
        front("16 5 1 4 13"), TURNS, "rear", 1.0, 3.0),
    Car("hard_cornering", "G6", "both shoulders, outside more, pressure right, winding roads",
        front("17 7 0 4 11"), TURNS, "front", 0.97, 2.4),
    Car("overload", "CHEV", "overloaded rear axle: inside rows worn more", rear("11 4 0 6 15"), LOAD, "rear", 0.99,
        load=1.08),
    Car("overload", "TM 9", "flexes as if it had too little air", rear("15 7 0 7 15"), LOAD, "front", 1.0, load=1.05),
    Car("toe_in", "MERC", "outer edges of both fronts", front("17 7 1 0 0"), ANGLES),
    Car("toe_in", "MERC", "outer edges, saw-tooth felt toward the middle", front("10 5 2 0 0"), ANGLES, "front",
        findings=(("LF", "feathered_edge", "inward"),)),
    Car("toe_in", "TM 9", "outer edges, rear drive", front("15 10 6 3 0"), ANGLES, "rear"),
    Car("toe_out", "MERC", "inner edges of both fronts", front("0 0 1 7 17"), ANGLES),
    Car("toe_out", "MERC", "inner edges, saw-tooth felt away from the middle", front("0 1 3 6 10"), ANGLES, "front",
        findings=(("RF", "feathered_edge", "outward"), ("LF", "feathered_edge", "outward"))),
    Car("toe_out", "TM 9", "inner edges of both rears", rear("0 0 1 6 16"), ANGLES, "rear"),
    Car("camber", "TM 9", "a wheel leans: one side of one tire", {"LF": "16 11 7 3 0"}, ANGLES),
    Car("camber", "TM 9", "leans in at one rear wheel", {"RR": "0 4 8 12 16"}, ANGLES, "rear"),
    Car("camber", "MERC", "toward the inboard edge of one tire", {"RF": "0 3 7 11 15"}, ANGLES),
    Car("diagonal_wear", "DIAG", "slantwise scuffing across both rears", rear(SLANT_3, SLANT_2), ANGLES),
    Car("diagonal_wear", "DIAG", "slantwise scuffing of both rears, one long patch", rear(SLANT_1, SLANT_3), ANGLES),
    Car("diagonal_wear", "DIAG", "slants the other way", rear(SLANT_BACK), ANGLES),
    Car("diagonal_wear", "DIAG", "slantwise cupping, felt round the tire", rear(SLANT_2, SLANT_BACK), ANGLES,
        findings=(("LR", "diagonal", ""),)),
    Car("diagonal_wear", "DIAG", "one rear tire", {"LR": SLANT_2}, ANGLES),
    Car("cupping", "MERC", "cups on wheels that are not driven", rear(CUPS_3, CUPS_SOME), BALANCE),
    Car("cupping", "MERC", "scallops at one edge", {"RR": CUPS_EDGE}, BALANCE),
    Car("cupping", "G6", "cupped: struts or shocks", rear(CUPS_2), BALANCE),
    Car("cupping", "G6", "cupped front tire of a rear-drive car", {"LF": CUPS_SOME}, BALANCE, "rear"),
    Car("cupping", "MERC", "cups seen", {"LR": CUPS_3}, BALANCE, findings=(("LR", "cups", ""),)),
    Car("flat_spot", "MERC", "one place flat: a wheel that locked", {"LF": FLAT}, BRAKES),
    Car("flat_spot", "MERC", "flat over two places, both fronts", front(FLAT_WIDE, FLAT), BRAKES),
    # Two causes at once: named by the first, and both are asked for.
    Car("low_pressure+toe_in", "TM 9", "edges scuff and the outer one goes first", front("26 10 0 4 12"),
        PRESSURE + ANGLES, ratio=0.76),
    Car("cupping+camber", "MERC", "inboard edge worn and cups", {"LR": CUPS_3 + "+0 4 8 12 16"}, ANGLES + BALANCE),
]  # fmt: skip


def surface(text):
    """Depth lost, in mm, at six spots and five grooves."""
    parts = text.split("+")
    out = np.zeros((6, 5))
    for part in parts:
        rows = np.array([[float(n) for n in row.split()] for row in part.split(";")])
        out = out + rows / 10  # a profile is one row, the same at every spot
    return out


def draw(car, rng, spots=6, grooves=GROOVES, step_mm=25.4 / 64, sd_mm=0.18):
    """Read the car with a hand gauge: arrays (spots, grooves) by position, and pressures where known."""
    size = rng.lognormal(0, 0.2)
    at = [GROOVES.index(g) for g in grooves]
    rows = [0] if spots == 1 else list(range(6))
    read, ratio = {}, {}
    for position in ("LF", "RF", "LR", "RR"):
        worn = surface(car.worn[position]) if position in car.worn else np.zeros((6, 5))
        worn = worn * size * rng.lognormal(0, 0.1) + rng.uniform(1.5, 4.0)
        tilt, bend = rng.normal(0, 0.08, 2)
        x = np.array([1, 0.5, 0, -0.5, -1])
        worn = worn + tilt * x + bend * (x**2 - 0.4) + rng.normal(0, 0.05, 5)
        if spots == 1:
            worn = worn[[int(rng.integers(6))]]
        depth = 8.0 - worn[:, at] + rng.normal(0, sd_mm, (len(rows), len(at)))
        read[position] = np.maximum(np.round(depth / step_mm) * step_mm, 0)
        if np.isfinite(car.ratio):
            ratio[position] = (car.ratio if position in car.worn or not car.worn else 0.98) + rng.normal(
                0, 0.02
            )
    return read, ratio
