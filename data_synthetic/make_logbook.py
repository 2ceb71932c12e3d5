"""Make the demo logbook: invented data, for the demo only, never a proof of anything.

The scenario: a rural home-visit care service runs 24 cars on three kinds of rounds, and a village
garage looks after their tires for two years. Run ``python data_synthetic/make_logbook.py`` to write it
again; the seed is fixed, so the files come out the same to the byte. Nothing here uses the package: the
numbers come from a few plain rules (an axle's share, a round's severity, pressure, a tire line) and a
random generator.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import numpy as np
import pandas as pd

SEED = 20261033
START = pd.Timestamp("2024-10-01")
END = pd.Timestamp("2026-10-31")
WHEELS = ("LF", "RF", "LR", "RR")
GROOVES = ("outer", "outer_mid", "center", "inner_mid", "inner")

ROUNDS = {
    # miles a year, wear against the day rounds, speed shares in five bands,
    # hard starts, stops and turns per 100 miles
    "day rounds": (15_500, 1.00, (0.12, 0.33, 0.35, 0.17, 0.03), 1.6, 3.1, 4.2),
    "evening rounds": (12_000, 0.92, (0.12, 0.32, 0.36, 0.18, 0.02), 0.8, 1.9, 2.6),
    "on call": (21_000, 1.32, (0.12, 0.28, 0.33, 0.22, 0.05), 4.4, 6.8, 9.5),
}
LINES = {
    # new depth in 32nds, 32nds lost per 1,000 miles on an average wheel, price, treadwear grade, size
    "Wayfarer Touring": (10.0, 0.170, 118.0, 480, "195/65R15"),
    "Fellside All-Season": (11.0, 0.148, 141.0, 560, "195/65R15"),
}
AXLE = {"front": (1.38, 0.62), "rear": (0.86, 1.14), "all": (1.04, 0.96)}
CROSS = {
    # which wheel each wheel's tire goes to: the driven axle straight to the other, the other crossing over
    "front": {"LF": "LR", "RF": "RR", "LR": "RF", "RR": "LF"},
    "rear": {"LR": "LF", "RR": "RF", "LF": "RR", "RF": "LR"},
    "all": {"LR": "LF", "RR": "RF", "LF": "RR", "RF": "LR"},
}


@dataclass
class Tire:
    """One invented tire: its hidden rate and the depth left in each groove [32nds]."""

    tire_id: str
    line: str
    rate: float
    depth: np.ndarray


@dataclass
class Log:
    """The tables as they grow, a list of records each."""

    tables: dict[str, list[dict[str, object]]] = field(default_factory=dict)

    def add(self, table: str, **record: object) -> None:
        """Add one record to a table."""
        self.tables.setdefault(table, []).append(record)


@dataclass
class Car:
    """One invented car and what is wrong with it."""

    vehicle_id: str
    drive: str
    group: str
    placard: tuple[float, float]
    miles_a_day: float
    severity: float
    leak: dict[str, float]
    toe_32nds: float
    on: dict[str, Tire] = field(default_factory=dict)
    odometer: float = 0.0
    pressure: dict[str, float] = field(default_factory=dict)


def main() -> None:
    """Write every table into the folder ``logbook`` beside this script."""
    rng = np.random.default_rng(SEED)
    log = Log()
    serial = iter(range(1, 1000))
    for number in range(1, 25):
        car = _new_car(rng, number, log)
        _run(rng, car, log, serial)
    _gauges(rng, log)
    folder = Path(__file__).parent / "logbook"
    folder.mkdir(exist_ok=True)
    frames = {name: pd.DataFrame(records) for name, records in log.tables.items()}
    _add_faults(frames)
    for name, frame in frames.items():
        frame.to_csv(folder / f"{name}.csv", index=False, lineterminator="\n")


def _new_car(rng: np.random.Generator, number: int, log: Log) -> Car:
    group = ("day rounds", "evening rounds", "on call")[(number - 1) % 3 if number <= 21 else 0]
    drive = "rear" if number in (8, 17) else "all" if number in (5, 12, 21) else "front"
    placard = (36.0, 38.0) if drive == "rear" else (33.0, 32.0)
    miles, severity, *_ = ROUNDS[group]
    car = Car(
        vehicle_id=f"V{number:02d}",
        drive=drive,
        group=group,
        placard=placard,
        miles_a_day=miles * rng.lognormal(0, 0.13) / 365.25,
        severity=severity * rng.lognormal(0, 0.11),
        leak={wheel: rng.gamma(4, 0.25) for wheel in WHEELS},
        toe_32nds=float(rng.normal(0, 0.06)),
    )
    if number == 3:
        car.leak["LF"] = 2.6
        car.miles_a_day, car.severity = 47.0, 1.12
    if number in (10, 19):
        car.leak = {wheel: 2.2 for wheel in WHEELS}
    if number in (6, 13):
        car.toe_32nds = 0.55
    car.odometer = float(np.round(rng.uniform(200, 61_000)))
    log.add(
        "vehicles",
        vehicle_id=car.vehicle_id,
        drive=drive,
        placard_front_psi=placard[0],
        placard_rear_psi=placard[1],
        driver_group=group,
        mass_kg=int(rng.normal(1350 if drive != "rear" else 1900, 60)),
    )
    return car


def _mount_new(
    rng: np.random.Generator,
    car: Car,
    log: Log,
    serial: Iterator[int],
    day: pd.Timestamp,
    wheels: tuple[str, ...],
) -> None:
    line = "Fellside All-Season" if rng.random() < 0.45 else "Wayfarer Touring"
    new, wear, price, grade, size = LINES[line]
    made = day - pd.Timedelta(weeks=int(rng.integers(6, 40)))
    week = f"{made.isocalendar().week:02d}{made.year % 100:02d}"
    for wheel in wheels:
        tire_id = f"T{next(serial):03d}"
        if wheel in car.on:
            log.add("mounts", **_at(day, car), tire_id=car.on[wheel].tire_id, position="OFF")
        start = new + rng.normal(0, 0.12) + rng.normal(0, 0.05, 5)
        car.on[wheel] = Tire(tire_id, line, wear / 1000 * rng.lognormal(0, 0.06), start)
        car.pressure[wheel] = car.placard[wheel in ("LR", "RR")]
        log.add("tires", tire_id=tire_id, tire_line=line, new_depth_32nds=new, size=size, treadwear_grade=grade,
                made_week=week, price=price)  # fmt: skip
        log.add("mounts", **_at(day, car), tire_id=tire_id, position=wheel)


def _at(day: pd.Timestamp, car: Car) -> dict[str, object]:
    return {"date": day.date(), "odometer_mi": round(car.odometer), "vehicle_id": car.vehicle_id}


def _run(rng: np.random.Generator, car: Car, log: Log, serial: Iterator[int]) -> None:
    day = START + pd.Timedelta(days=int(rng.integers(0, 45)))
    _mount_new(rng, car, log, serial, day, WHEELS)
    _habits(rng, car, log, day)
    visits, since_rotation = 0, 0.0
    gap = 62 if car.group == "on call" else 80
    while True:
        days = int(rng.normal(gap, 9))
        miles = car.miles_a_day * days * rng.lognormal(0, 0.10)
        for month in range(30, days, 30):
            driven = car.odometer + miles * month / days
            if day + pd.Timedelta(days=month) <= END:
                log.add("odometer", date=(day + pd.Timedelta(days=month)).date(), vehicle_id=car.vehicle_id,
                        odometer_mi=round(driven))  # fmt: skip
        day += pd.Timedelta(days=days)
        if day > END:
            break
        _wear(car, miles, days)
        car.odometer += miles
        since_rotation += miles
        visits += 1
        _measure(rng, car, log, day, visits)
        shallow = {wheel: float(tire.depth.min()) for wheel, tire in car.on.items()}
        if min(shallow.values()) < 3.0:
            axle = WHEELS if sorted(shallow.values())[2] < 4.2 else _axle_of(min(shallow, key=shallow.get))
            _mount_new(rng, car, log, serial, day, axle)
            since_rotation = 0.0
        elif since_rotation > 4_300:
            _rotate(car, log, day)
            since_rotation = 0.0


def _axle_of(wheel: str) -> tuple[str, ...]:
    return ("LF", "RF") if wheel in ("LF", "RF") else ("LR", "RR")


def _rotate(car: Car, log: Log, day: pd.Timestamp) -> None:
    moved = {CROSS[car.drive][wheel]: tire for wheel, tire in car.on.items()}
    for wheel in WHEELS:
        log.add("mounts", **_at(day, car), tire_id=moved[wheel].tire_id, position=wheel)
        car.pressure[wheel] = car.placard[wheel in ("LR", "RR")]
    car.on = moved


def _wear(car: Car, miles: float, days: int) -> None:
    for wheel, tire in car.on.items():
        rear = wheel in ("LR", "RR")
        low = max(0.0, car.placard[rear] - car.pressure[wheel] + car.leak[wheel] * days / 30.4 / 2)
        across = np.array([1.02, 0.99, 0.97, 0.99, 1.03]) + 0.012 * low * np.array([1.6, 0.2, -1.2, 0.2, 1.6])
        if not rear:
            across = across + car.toe_32nds * np.array([0.45, 0.15, 0.0, -0.10, -0.20])
        tire.depth = (
            tire.depth
            - tire.rate * miles * car.severity * AXLE[car.drive][rear] * (1 + 0.0178 * low) * across
        )
        car.pressure[wheel] -= car.leak[wheel] * days / 30.4


def _measure(rng: np.random.Generator, car: Car, log: Log, day: pd.Timestamp, visits: int) -> None:
    gauge = ("D1", "D2")[int(rng.random() < 0.35)]
    lean = rng.normal(0, 0.10) + (0.25 if gauge == "D2" else 0.0)
    grooves = GROOVES if visits % 3 == 0 or car.vehicle_id in ("V03", "V06", "V13") else GROOVES[::2]
    state = ("cold", "city", "highway")[int(rng.choice(3, p=[0.55, 0.35, 0.10]))]
    warm = {"cold": 0.0, "city": 3.0, "highway": 5.0}[state]
    ambient = 50 + 18 * np.sin(2 * np.pi * (day.day_of_year - 110) / 365.25) + rng.normal(0, 5)
    for wheel in WHEELS:
        tire = car.on[wheel]
        for groove in grooves:
            true = tire.depth[GROOVES.index(groove)]
            read = max(0.0, round(2 * (true + lean + rng.normal(0, 0.22))) / 2)
            log.add(
                "depths", **_at(day, car), position=wheel, groove=groove, depth_32nds=read, gauge_id=gauge
            )
        found = car.pressure[wheel] + warm + rng.normal(0, 0.4)
        target = car.placard[wheel in ("LR", "RR")]
        set_to = target if state == "cold" and found < target - 1 else ""
        if set_to:
            car.pressure[wheel] = target
        log.add("pressures", date=day.date(), vehicle_id=car.vehicle_id, position=wheel, pressure_psi=round(found * 2) / 2,
                state=state, odometer_mi=round(car.odometer), ambient_f=round(ambient), set_to_psi=set_to,
                gauge_id="P1")  # fmt: skip
        if state != "cold" and found - warm < target - 4:
            car.pressure[wheel] = target
            log.add("pressures", date=(day + pd.Timedelta(days=1)).date(), vehicle_id=car.vehicle_id, position=wheel,
                    pressure_psi=round((found - warm) * 2) / 2, state="cold", odometer_mi=round(car.odometer) + 6,
                    ambient_f=round(ambient), set_to_psi=target, gauge_id="P1")  # fmt: skip
    if visits == 4 and car.vehicle_id in ("V03", "V06", "V09", "V13", "V16"):
        log.add("alignment", **_at(day, car), axle="front", toe_mm=round(1.0 + 7.0 * car.toe_32nds, 1),
                camber_left_deg=round(rng.normal(-0.4, 0.2), 1), camber_right_deg=round(rng.normal(-0.4, 0.2), 1))  # fmt: skip


def _habits(rng: np.random.Generator, car: Car, log: Log, first: pd.Timestamp) -> None:
    _, _, shares, starts, stops, turns = ROUNDS[car.group]
    edges = [first, pd.Timestamp("2025-04-01"), pd.Timestamp("2025-10-01"), pd.Timestamp("2026-04-01"), END]
    for begin, end in pairwise(edges):
        mix = rng.dirichlet(np.array(shares) * 160)
        rounded = np.round(mix, 2)
        rounded[2] = round(1 - rounded.sum() + rounded[2], 2)
        names = ("under_25mph", "25_40mph", "40_55mph", "55_70mph", "over_70mph")
        log.add("habits", vehicle_id=car.vehicle_id, from_date=begin.date(),
                to_date=(end - pd.Timedelta(days=1)).date() if end != END else end.date(),
                **{f"share_{name}": value for name, value in zip(names, rounded, strict=True)},
                hard_starts_per_100mi=round(starts * rng.lognormal(0, 0.2), 1),
                hard_stops_per_100mi=round(stops * rng.lognormal(0, 0.2), 1),
                hard_turns_per_100mi=round(turns * rng.lognormal(0, 0.2), 1))  # fmt: skip


def _gauges(rng: np.random.Generator, log: Log) -> None:
    for day in pd.date_range("2024-11-04", END, freq="120D"):
        for gauge, kind, bias, master, unit in (
            ("D1", "depth", 0.0, 8.0, "32nds"),
            ("D2", "depth", 0.25, 8.0, "32nds"),
            ("P1", "pressure", -0.6, 32.0, "psi"),
        ):
            reading = round(2 * (master + bias + rng.normal(0, 0.15))) / 2
            log.add(
                "gauges",
                gauge_id=gauge,
                date=day.date(),
                kind=kind,
                reading=reading,
                master=master,
                unit=unit,
            )


def _add_faults(frames: dict[str, pd.DataFrame]) -> None:
    """Add a few slips of the kind that every real logbook holds; each is a doubt, none is hidden."""
    depths = frames["depths"]
    slip = depths.index[
        (depths.vehicle_id == "V07") & (depths.position == "RR") & (depths.groove == "center")
    ][4]
    depths.loc[slip, "depth_32nds"] += 3  # a 6 read as a 9
    blank = depths.index[depths.vehicle_id == "V11"][-6:]
    depths.loc[blank, "gauge_id"] = ""
    pressures = frames["pressures"]
    slip = pressures.index[(pressures.vehicle_id == "V15") & (pressures.position == "LR")][2]
    pressures.loc[slip, "pressure_psi"] = 3.1  # 31 with a slipped point
    frames["vehicles"]["radio_call_sign"] = [f"KESTREL {n}" for n in range(1, len(frames["vehicles"]) + 1)]


if __name__ == "__main__":
    main()
