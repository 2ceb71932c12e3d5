"""A wheel of a car of 1,000 kg by hand."""

from tirelife.wear.forces import Wheel

CAR = {"drive": "front", "mass_kg": 1_000.0, "front_load_share": 0.6, "front_brake_share": 0.7,
       "rolling_resistance": 0.01, "drag_area_m2": 0.5}  # fmt: skip
G = 9.80665
ROLL, DRAG = 0.01 * 1_000 * G, 0.5 * 1.2 * 0.5  # [N], [N/(m/s)²]
LOAD = {True: 0.3 * 1_000 * G, False: 0.2 * 1_000 * G}
"""Of a front and a rear wheel. [N]"""


def wheel(front=True, drive="front", toe_mm=0.0, **moments):
    return Wheel(moments, {**CAR, "drive": drive}, front, toe_mm)
