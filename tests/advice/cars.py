"""Hand-made cars and what a careful shop would say of each; common practice, no source."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import pandas as pd

from tirelife.advice import CheckFirst, Facts, RotationFacts, TireFacts
from tirelife.advice.record import Reason
from tirelife.codes import Note

DAY = pd.Timestamp("2026-09-30")
MI, N32, PSI = 1.609344, 25.4 / 32, 6.894757293168
NEVER = "none"


@dataclass(frozen=True)
class Car:
    """What the shop sees, in its own units, and what it would say."""

    name: str
    tires: Mapping[str, tuple[float, float]]  # least depth read [32nds], miles left in the middle
    drive: str = "front"
    new: float = 10.0  # [32nds], NaN unknown
    limit: float = 2.0
    miles_a_year: float = 12_000.0
    since: float = 6_000.0  # miles since the last rotation
    rotate_gain: float = 0.0  # share by which rotating lengthens the set's life
    sure: float = 0.5
    checks: tuple[CheckFirst, ...] = ()
    low_psi: float = 0.0
    leak: Mapping[str, float] = field(default_factory=dict)  # psi a month
    odd: tuple[str, ...] = ()
    refused: bool = False
    aged: tuple[str, ...] = ()  # past the usual age limit, by the date code
    # what a careful shop would say
    replace: str = NEVER  # none, one, pair, set
    where: str = ""
    when: str = ""  # now, before-next-look, plan
    rotate: bool = False
    urgent: bool = False
    first: str = ""  # kind of the first action, where it matters
    look_within_days: float = 183.0

    def facts(self) -> Facts:
        tires = {}
        for p, (depth, miles) in self.tires.items():
            km = miles * MI
            pace = self.miles_a_year * MI / 365.25
            days = [km * f / pace for f in (0.7, 1.0, 1.4)]
            when = [DAY + pd.Timedelta(days=round(d)) if math.isfinite(d) else None for d in days]
            tires[p] = TireFacts(
                depth * N32,
                at_limit=depth <= self.limit,
                near_limit=self.limit < depth <= self.limit + 1,
                fits=p not in self.odd,
                depth_mm=depth * N32,
                new_depth_mm=self.new * N32,
                km_p10=0.7 * km,
                km_p50=km,
                km_p90=1.4 * km,
                **dict(
                    zip(
                        ("date_p10", "date_p50", "date_p90"),
                        [DAY] * 3 if p in self.aged else when,
                        strict=True,
                    )
                ),
                by_age=p in self.aged,
                loss_kpa_per_month=self.leak.get(p, 0.0) * PSI,
            )
        miles = {p: m for p, (_, m) in self.tires.items() if math.isfinite(m)}
        least = min(miles.values(), default=math.nan)
        share = {p: (max(least, 1) / max(m, 1)) ** 3 for p, m in miles.items()}
        # The usual way against never, and from today against from when it is due: one gain serves both.
        turn = RotationFacts(
            self.since * MI,
            5_000 * MI,
            now_km=least * MI * (1 + self.rotate_gain),
            due_km=least * MI * (1 + min(self.rotate_gain, 0.0)),
            never_km=least * MI,
            now_over_due=self.sure,
            due_over_never=self.sure,
            now_over_never=self.sure,
            refused=Note(Reason.SIZES_DIFFER) if self.refused else None,
        )
        return Facts(
            self.name,
            self.drive,
            DAY,
            self.miles_a_year * MI / 365.25,
            {p: self.limit * N32 for p in self.tires},
            tires,
            {p: s / sum(share.values()) for p, s in share.items()},
            self.checks,
            self.low_psi * PSI,
            turn,
        )


def four(lf: float, rf: float, lr: float, rr: float, a: float, b: float, c: float, d: float):
    return {"LF": (lf, a), "RF": (rf, b), "LR": (lr, c), "RR": (rr, d)}


ANGLES_FRONT = (CheckFirst("measure angles", ("LF", "RF")),)
CUPPED_REAR = (CheckFirst("check wheel and dampers", ("LR",)),)
BULGE = (CheckFirst("inspect now", ("RR",), urgent=True),)

CARS = (
    Car("new set, 2,000 miles on it", four(9.6, 9.6, 9.8, 9.8, 36e3, 36e3, 60e3, 60e3), since=2_000),
    Car("half worn, rotation overdue", four(6, 6, 7, 7, 22e3, 22e3, 34e3, 34e3), since=7_000, rotate=True),
    Car("half worn, just rotated", four(6, 6, 7, 7, 22e3, 22e3, 34e3, 34e3), since=500),
    Car("even, rotation about due", four(7, 7, 7, 7, 30e3, 30e3, 30e3, 30e3), since=4_600, rotate=True),
    Car("one tire at the bars", four(2, 5, 6, 6, 0, 15e3, 25e3, 25e3), replace="pair", where="LF RF",
        when="now", urgent=True, first="inspect-now", look_within_days=31),
    Car("fronts at the bars, rears good", four(2, 1.9, 7, 7, 0, 0, 30e3, 30e3), replace="pair",
        where="LF RF", when="now", urgent=True, first="inspect-now", look_within_days=31),
    Car("all four at the bars", four(2, 2, 2, 1.8, 0, 0, 0, 0), replace="set", where="LF RF LR RR",
        when="now", urgent=True, first="inspect-now", look_within_days=31),
    Car("fronts near the bars", four(2.8, 2.9, 6, 6, 4e3, 4.5e3, 25e3, 25e3), replace="pair", where="LF RF",
        when="before-next-look", look_within_days=31),
    Car("fronts near, rears follow soon", four(2.6, 2.6, 3.6, 3.6, 3e3, 3e3, 9e3, 9e3), replace="set",
        where="LF RF LR RR", when="before-next-look", look_within_days=31),
    Car("3/32 all round", four(3, 3, 3, 3, 5e3, 5e3, 5e3, 5e3), replace="set", where="LF RF LR RR",
        when="before-next-look", look_within_days=31),
    Car("one front spoilt, mate nearly new", four(2, 9, 9, 9, 0, 40e3, 60e3, 60e3), replace="one",
        where="LF", when="now", urgent=True, look_within_days=31),
    Car("all-wheel drive, one at the bars, rest half worn", four(2, 6, 6, 6, 0, 22e3, 22e3, 22e3),
        drive="all", replace="set", where="LF RF LR RR", when="now", urgent=True, look_within_days=31),
    Car("all-wheel drive, one spoilt, rest nearly new", four(2, 9, 9, 9, 0, 40e3, 40e3, 40e3), drive="all",
        replace="one", where="LF", when="now", urgent=True, look_within_days=31),
    Car("all-wheel drive, fronts near, rears 7", four(2.9, 2.9, 7, 7, 4e3, 4e3, 25e3, 25e3), drive="all",
        replace="set", where="LF RF LR RR", when="before-next-look", look_within_days=31),
    Car("new fronts, old rears", four(10.8, 10.8, 4.4, 4.4, 40e3, 40e3, 14e3, 14e3), new=11,
        rotate_gain=-0.4, sure=0.02),
    Car("fronts lag much, rotation pays", four(5, 5, 9, 9, 12e3, 12e3, 50e3, 50e3), since=3_000,
        rotate_gain=0.3, sure=0.99, rotate=True),
    Car("fronts feathered", four(6, 6, 8, 8, 20e3, 20e3, 40e3, 40e3), checks=ANGLES_FRONT, rotate=True,
        first="correct-first"),
    Car("rear cupped", four(6, 6, 6, 6, 20e3, 20e3, 25e3, 25e3), checks=CUPPED_REAR, rotate=True,
        first="correct-first"),
    Car("bulge on a good tire", four(7, 7, 7, 7, 30e3, 30e3, 30e3, 30e3), checks=BULGE, urgent=True,
        first="inspect-now", rotate=True),
    Car("slow leak", four(7, 7, 7, 7, 30e3, 30e3, 30e3, 30e3), leak={"RR": 2.4}, first="check-for-leak",
        since=1_000),
    Car("fast leak", four(7, 7, 7, 7, 30e3, 30e3, 30e3, 30e3), leak={"RR": 3.2}, urgent=True, since=1_000,
        first="check-for-leak"),
    Car("4 psi low all round", four(7, 7, 8, 8, 25e3, 25e3, 40e3, 40e3), low_psi=4, since=1_000,
        first="set-pressure"),
    Car("last reading does not fit", four(4, 7, 7, 7, 10e3, 25e3, 25e3, 25e3), odd=("LF",), since=1_000,
        first="read-again"),
    Car("staggered sizes, rears worn", four(7, 7, 5, 5, 30e3, 30e3, 14e3, 14e3), drive="rear", refused=True),
    Car("staggered, rears near", four(7, 7, 2.7, 2.7, 30e3, 30e3, 3e3, 3e3), drive="rear", refused=True,
        replace="pair", where="LR RR", when="before-next-look", look_within_days=31),
    Car("winter limit of 4/32, tires at 4.5", four(4.5, 4.5, 6, 6, 4e3, 4e3, 18e3, 18e3), limit=4.0,
        replace="pair", where="LF RF", when="before-next-look", look_within_days=31),
    Car("little driven, 5/32", four(5, 5, 6, 6, 18e3, 18e3, 26e3, 26e3), miles_a_year=3_000, since=7_000,
        rotate=True),
    Car("much driven, fronts 4.5", four(4.5, 4.5, 6, 6, 9e3, 9e3, 20e3, 20e3), miles_a_year=40_000,
        since=6_000, rotate=True, look_within_days=60),
    Car("much driven, fronts 3.5", four(3.5, 3.5, 6, 6, 4.8e3, 4.8e3, 20e3, 20e3), miles_a_year=40_000,
        replace="pair", where="LF RF", when="before-next-look", look_within_days=35),
    Car("fronts may be down before the next look", four(3.9, 3.9, 7, 7, 6.5e3, 6.5e3, 30e3, 30e3),
        replace="pair", where="LF RF", when="plan"),
    Car("eleven years old, half worn", four(6, 6, 6, 6, 25e3, 25e3, 25e3, 25e3), replace="set",
        where="LF RF LR RR", when="plan", aged=("LF", "RF", "LR", "RR")),
    Car("never read", four(math.nan, math.nan, math.nan, math.nan, *[math.nan] * 4), since=math.nan, rotate=True),
    Car("new depth unknown, one at the bars", four(2, 5, 6, 6, 0, 15e3, 25e3, 25e3), new=math.nan,
        replace="one", where="LF", when="now", urgent=True, look_within_days=31),
    Car("at the bars and losing air", four(2, 2, 6, 6, 0, 0, 25e3, 25e3), leak={"LF": 3.5}, replace="pair",
        where="LF RF", when="now", urgent=True, first="inspect-now", look_within_days=31),
    # Cars that invite a mistake.
    Car("near on one wheel, just rotated there", four(5, 5, 2.9, 5, 13e3, 13e3, 3.5e3, 16e3), since=200,
        replace="pair", where="LR RR", when="before-next-look", look_within_days=31),
    Car("rotation overdue, one wheel near", four(2.9, 3.4, 6, 6, 4e3, 6e3, 25e3, 25e3), since=12_000,
        rotate_gain=0.3, sure=0.99, replace="pair", where="LF RF", when="before-next-look", look_within_days=31),
    Car("at the bars, though by the fit it had miles left", four(2, 6, 6, 6, 8e3, 20e3, 25e3, 25e3),
        replace="pair", where="LF RF", when="now", urgent=True, first="inspect-now", look_within_days=31),
    Car("near the bars, though it wears next to nothing", four(2.9, 2.9, 6, 6, 20e3, 20e3, 60e3, 60e3),
        replace="pair", where="LF RF", when="plan", look_within_days=31),
    Car("all-wheel drive, one tire new", four(10, 6, 6, 6, 40e3, 20e3, 20e3, 20e3), drive="all", since=1_000,
        first="correct-first"),
    Car("all-wheel drive, a new pair beside an old one", four(10, 10, 6.5, 6.5, 40e3, 40e3, 22e3, 22e3), drive="all",
        since=1_000, first="correct-first"),
    Car("all-wheel drive, 2/32 apart", four(8, 8, 6, 6, 30e3, 30e3, 20e3, 20e3), drive="all", since=6_000, rotate=True),
    Car("ten years old on one axle, deep tread", four(9, 9, 9, 9, 60e3, 60e3, 60e3, 60e3), aged=("LR", "RR"),
        replace="pair", where="LR RR", when="plan"),
    Car("a reading near the bars that does not fit", four(2.6, 7, 7, 7, 3e3, 25e3, 25e3, 25e3), odd=("LF",),
        replace="one", where="LF", when="before-next-look", look_within_days=31),
    Car("a reading at the bars that does not fit", four(1.9, 8, 8, 8, 0, 30e3, 30e3, 30e3), odd=("LF",),
        replace="one", where="LF", when="now", urgent=True, first="inspect-now", look_within_days=31),
    Car("one tire never read", four(7, 7, 7, math.nan, 25e3, 25e3, 25e3, 30e3), since=1_000),
    Car("near the bars and losing air", four(7, 2.8, 7, 7, 25e3, 4e3, 25e3, 25e3), leak={"RF": 2.4}, replace="one",
        where="RF", when="before-next-look", first="check-for-leak", look_within_days=31),
    Car("stands in a garage", four(4.5, 4.5, 4.5, 4.5, 12e3, 12e3, 12e3, 12e3), miles_a_year=100, since=100),
    Car("feathered and near", four(2.8, 2.8, 7, 7, 3.5e3, 3.5e3, 30e3, 30e3), checks=ANGLES_FRONT, replace="pair",
        where="LF RF", when="before-next-look", first="replace", look_within_days=31),
    Car("rotation pays a little, not surely", four(6, 6, 7, 7, 18e3, 18e3, 26e3, 26e3), since=1_500,
        rotate_gain=0.08, sure=0.7),
)  # fmt: skip
