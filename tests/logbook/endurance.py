"""Kill the recorder at random moments, let two of them write at once, replay a logbook day by day.

Run ``python -m tests.logbook.endurance`` for the long ones; the counts go into
``tests/logbook/endurance_results.csv``. The suite runs short ones.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import sqlite3
import sys
import tempfile
import time
from itertools import zip_longest
from pathlib import Path

import numpy as np
import pandas as pd

from tests.logbook.folders import folder
from tirelife.logbook import Logbook, check_logbook, correct_record, read_logbook
from tirelife.logbook.convert import convert_logbook, create_logbook
from tirelife.logbook.record import Visit, record_visit
from tirelife.rates import WearFit, fit_logbook

PLACES = ("LF", "RF", "LR", "RR")


def new_store(top: Path, vehicles: int = 2) -> Path:
    """Make a logbook file with some cars, four tires each, and no readings."""
    top.mkdir(parents=True, exist_ok=True)
    names = [f"V{i + 1}" for i in range(vehicles)]
    tables = {
        "vehicles": "vehicle_id,drive,placard_front_psi,placard_rear_psi\n"
        + "".join(f"{v},front,33,33\n" for v in names),
        "tires": "tire_id,tire_line,new_depth_32nds\n"
        + "".join(f"{v}-{p},Line A,10\n" for v in names for p in PLACES),
        "mounts": "date,odometer_mi,vehicle_id,tire_id,position\n"
        + "".join(f"2025-01-10,1000,{v},{v}-{p},{p}\n" for v in names for p in PLACES),
        "depths": "date,odometer_mi,vehicle_id,position,groove,depth_32nds\n",
    }
    convert_logbook(folder(top / "folder", **tables), top / "logbook.sqlite")
    return top / "logbook.sqlite"


def visit(number: int, vehicle: str, start: int) -> Visit:
    """Return one of a long row of visits, a few hours and a mile after the one before."""
    day = pd.Timestamp("2025-02-01") + pd.Timedelta(hours=3 * number)
    depth = f"{9.5 - number * 0.0005:.4f}"
    return Visit(
        vehicle, str(day.date()), str(start + number),
        depths=[(place, "center", depth, "") for place in PLACES],
        pressures=[("LF", "33", "")], note=f"{vehicle} {number}",
    )  # fmt: skip


def _record_for_ever(path: Path, vehicle: str, first: int, pipe: int) -> None:
    number = first
    while True:
        done = record_visit(path, visit(number, vehicle, 3000), accept_doubts=True)
        assert done.written
        os.write(pipe, f"{number}\n".encode())
        number += 1


def kill(times: int, top: Path, seed: int = 1) -> dict[str, int]:
    """Kill the recorder at random moments; after each, every confirmed visit must be there, and whole.

    A process that is killed does not test a loss of power; SQLite's flush at each commit is for that.
    """
    rng = random.Random(seed)
    path = new_store(top)
    confirmed, first = 0, 0
    for i in range(times):
        if i % 25 == 24:  # a fresh file now and then, so that visits stay quick
            shutil.rmtree(top)
            path, first = new_store(top), 0
        read_end, write_end = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(read_end)
            try:
                _record_for_ever(path, "V1", first, write_end)
            finally:
                os._exit(1)
        os.close(write_end)
        begun = time.perf_counter()
        with os.fdopen(read_end) as pipe:
            one = pipe.readline()  # the first visit of each child is let pass, for the time that one takes
            time.sleep(rng.uniform(0, 2) * (time.perf_counter() - begun))
            os.kill(child, signal.SIGKILL)
            _, status = os.waitpid(child, 0)
            assert os.WIFSIGNALED(status), "the recorder stopped by itself"
            told = [int(line) for line in (one + pipe.read()).split()]
        confirmed += len(told)
        notes = _whole_visits(path)
        assert set(told) <= notes, "a confirmed visit is lost"
        assert notes == set(range(len(notes))), "a visit is lost in the middle"
        assert len(notes) - first <= len(told) + 1, "a visit nobody recorded"
        first = len(notes)
    assert (~check_logbook(path)["doubt"]).sum() == 0
    return {"kills": times, "confirmed visits": confirmed, "lost visits": 0, "half visits": 0, "seed": seed}


def _whole_visits(path: Path) -> set[int]:
    """Numbers of the visits in the file; each must have all its records, and the file be sound."""
    connection = sqlite3.connect(path)
    try:
        assert connection.execute("pragma quick_check").fetchone()[0] == "ok"
        visits = dict(connection.execute("select visit, note from visits").fetchall())
        for table, count in (("depths", 4), ("pressures", 1)):
            found = connection.execute(f'select "_visit", count(*) from {table} group by 1').fetchall()
            assert dict(found) == dict.fromkeys(visits, count), "half a visit"
        audit = connection.execute("select count(*) from audit where action = 'insert'").fetchone()[0]
        assert audit == 5 * len(visits)
    finally:
        connection.close()
    return {int(note.split()[1]) for note in visits.values()}


def two_writers(visits: int, top: Path, vehicles: int = 50) -> dict[str, int]:
    """Let two processes record at once, the first the odd cars, the other the even; no visit may be lost."""
    path = new_store(top, vehicles)
    mine = {writer: [f"V{i + 1}" for i in range(writer, vehicles, 2)] for writer in (0, 1)}

    def task(writer: int) -> list[tuple[str, int]]:
        return [(mine[writer][n % len(mine[writer])], n // len(mine[writer])) for n in range(visits)]

    children = []
    for writer in (0, 1):
        child = os.fork()
        if child == 0:
            try:
                for vehicle, number in task(writer):
                    assert record_visit(path, visit(number, vehicle, 3000), accept_doubts=True).written
                os._exit(0)
            except BaseException as error:
                print(error, file=sys.stderr)
                os._exit(1)
        children.append(child)
    statuses = [os.waitpid(child, 0)[1] for child in children]
    assert statuses == [0, 0], "a writer failed"
    assert len(read_logbook(path).depths) == 4 * 2 * visits
    connection = sqlite3.connect(path)
    notes = [note for (note,) in connection.execute("select note from visits")]
    connection.close()
    assert sorted(notes) == sorted(f"{v} {n}" for writer in (0, 1) for v, n in task(writer))
    return {
        "writers": 2,
        "visits each": visits,
        "visits found": len(notes),
        "lost visits": 2 * visits - len(notes),
    }


_SEEN = ["date", "vehicle_id", "odometer_mi"]
_NEW = ["drive", "placard_front_psi", "placard_rear_psi"]
_OFFICE = ("habits", "gauges", "alignment")
"""Tables that no visit writes."""


def _tuples(frame: pd.DataFrame, *columns: str) -> list[tuple[str, ...]]:
    if frame.empty:
        return []
    return list(frame[list(columns)].itertuples(index=False, name=None))


def replay(source: Path, top: Path) -> dict[str, float]:
    """Record a folder's visits one day and vehicle at a time into an empty file; it must hold the same.

    A visit brings the vehicles and tires that are new on its day; what else is said of them is added by
    corrections. Habits, gauges and alignment are nothing that a visit records: they are put beside the
    tables exported from the file, and the logbook is made into one file again.
    """
    top.mkdir(parents=True, exist_ok=True)
    path = top / "logbook.sqlite"
    whole = read_logbook(source)
    create_logbook(path, whole.units)
    tables = {}
    for name, names in {
        "vehicles": ["vehicle_id", *_NEW, "driver_group", "mass_kg", "front_load_share", "drag_area_m2"],
        "tires": ["tire_id", "tire_line", "new_depth_32nds", "size", "treadwear_grade", "made_week", "price"],
        "mounts": [*_SEEN, "tire_id", "position"],
        "depths": [*_SEEN, "position", "groove", "depth_32nds", "gauge_id"],
        "pressures": [*_SEEN, "position", "pressure_psi", "set_to_psi", "state", "ambient_f", "gauge_id"],
        "odometer": _SEEN,
    }.items():
        file = source / f"{name}.csv"
        table = (
            pd.read_csv(file, dtype="str", keep_default_na=False)
            if file.exists()
            else pd.DataFrame(columns=names)
        )
        tables[name] = table.reindex(columns=names, fill_value="")
    kilograms = tables["vehicles"].pop("mass_kg")  # a new logbook of miles holds pounds
    tables["vehicles"]["mass_lb"] = [repr(float(kg) / 0.45359237) if kg else "" for kg in kilograms]
    vehicles, tires = tables["vehicles"].set_index("vehicle_id"), tables["tires"].set_index("tire_id")
    dated = pd.concat([tables[name][_SEEN] for name in ("mounts", "depths", "pressures", "odometer")])
    known: list[str] = []
    seen: list[str] = []
    visits = dated.drop_duplicates().sort_values(["date", "vehicle_id", "odometer_mi"])
    for day, vehicle, odometer in visits.itertuples(index=False):

        def mine(name: str, day: str = day, vehicle: str = vehicle, odometer: str = odometer) -> pd.DataFrame:
            table = tables[name]
            return table[
                (table["date"] == day) & (table["vehicle_id"] == vehicle) & (table["odometer_mi"] == odometer)
            ]

        mounts, depths, pressures = mine("mounts"), mine("depths"), mine("pressures")
        fresh = [tire for tire in dict.fromkeys(mounts["tire_id"]) if tire not in seen]
        by_gauge = [part for _, part in depths.groupby("gauge_id", sort=False)]
        by_state = [part for _, part in pressures.groupby(["state", "ambient_f", "gauge_id"], sort=False)]
        for i, (read, part) in enumerate(
            zip_longest(by_gauge or [depths], by_state, fillvalue=pressures.iloc[:0])
        ):
            first = i == 0
            done = record_visit(
                path,
                Visit(
                    vehicle,
                    day,
                    odometer,
                    depths=_tuples(read.assign(spot=""), "position", "groove", "depth_32nds", "spot"),
                    pressures=_tuples(part, "position", "pressure_psi", "set_to_psi"),
                    mounts=_tuples(mounts, "tire_id", "position") if first else [],
                    new_tires=[(t, *tires.loc[t, ["tire_line", "new_depth_32nds"]]) for t in fresh]
                    if first
                    else [],
                    new_vehicle=None if vehicle in known else tuple(vehicles.loc[vehicle, _NEW]),
                    state=part["state"].iloc[0] if len(part) else "cold",
                    ambient=part["ambient_f"].iloc[0] if len(part) else "",
                    gauge_id=read["gauge_id"].iloc[0] if len(read) else "",
                    pressure_gauge_id=part["gauge_id"].iloc[0] if len(part) else "",
                ),
                accept_doubts=True,
            )
            known += [vehicle] if vehicle not in known else []
            assert done.written
        seen += fresh
    for name, order, table in (("vehicles", known, vehicles), ("tires", seen, tires)):
        for row, key in enumerate(order, start=2):
            said = {column: text for column, text in table.loc[key].items() if text != ""}
            assert correct_record(path, name, row, said, accept_doubts=True).written
    again = _with_office(path, source, top, whole.as_of)
    for name in ("mounts", "depths", "pressures", *_OFFICE):
        keys = [c for c in whole.tables[name].columns if c not in ("row", "doubt", "spot")]
        left, right = (b.tables[name][keys].sort_values(keys, ignore_index=True) for b in (whole, again))
        pd.testing.assert_frame_equal(left, right)
    pd.testing.assert_frame_equal(whole.stretches, again.stretches)
    return {
        "visits replayed": len(visits),
        "depths": len(again.depths),
        "days": int(visits["date"].nunique()),
        **same_fit(fit_logbook(whole), fit_logbook(again)),
    }


def _with_office(path: Path, source: Path, top: Path, as_of: pd.Timestamp) -> Logbook:
    convert_logbook(path, top / "exported")
    for name in _OFFICE:
        if (source / f"{name}.csv").exists():
            shutil.copyfile(source / f"{name}.csv", top / "exported" / f"{name}.csv")
    convert_logbook(top / "exported", top / "whole.sqlite")
    return read_logbook(top / "whole.sqlite", as_of=as_of)


_SPREADS = {"depth": "depth_sd_mm", "log_wear": "log_wear_sd", "q": "q_sd", "axle": "axle_sd"}


def _own_size(frame: pd.DataFrame, column: str) -> pd.Series | float:
    """What a difference counts against where a number may be as good as zero.

    A covariance has the product of its two variances; a check, such as a gradient that should be zero, its limit.
    """
    if column.startswith("shared_"):  # by a vehicle's tires
        rate, depth = frame["log_wear_sd"], frame["depth_sd_mm"]
        return {"shared_cov": rate**2, "shared_both_mm": rate * depth, "shared_depth_mm2": depth**2}[column]
    if column.endswith("_cov"):
        first, second = next(
            (a, b) for a in _SPREADS for b in _SPREADS if column == f"{a}_{b}_cov"
        )  # fmt: skip
        return frame[_SPREADS[first]] * frame[_SPREADS[second]]
    return frame["limit"].abs().fillna(0.0) if column == "value" else 0.0


def same_fit(one: WearFit, other: WearFit, tolerance: float = 1e-9) -> dict[str, float]:
    """Hold every number of two fits against each other; return how many there are and the largest difference.

    Raises
    ------
    AssertionError
        If two numbers differ by more than ``tolerance`` of the larger (see :func:`_own_size`), or a frame has
        other rows.
    """
    numbers, largest = 0, 0.0
    for name, keys in {
        "estimates": ["term"],
        "components": ["term"],
        "tires": ["tire_id"],
        "vehicles": ["vehicle_id"],
        "checks": ["check"],
    }.items():
        left, right = (getattr(fit, name).sort_values(keys, ignore_index=True) for fit in (one, other))
        words = [c for c in left if not pd.api.types.is_numeric_dtype(left[c])]
        pd.testing.assert_frame_equal(left[words], right[words])
        assert list(left.columns) == list(right.columns)
        for column in left.columns.difference(words):
            a, b = (frame[column].to_numpy(dtype=float) for frame in (left, right))
            assert (np.isnan(a) == np.isnan(b)).all(), f"{name}: {column} is known in one fit only"
            size = np.maximum(np.maximum(np.abs(a), np.abs(b)), _own_size(left, column))
            apart = np.nan_to_num(np.abs(a - b) / np.where(size > 0, size, 1.0))
            worst = int(np.argmax(apart)) if len(apart) else 0
            assert not len(apart) or apart[worst] <= tolerance, (
                f"{name}: {column} of {left.loc[worst, keys[0]]} is {a[worst]:.12g} and {b[worst]:.12g}"
            )
            numbers += int((~np.isnan(a)).sum())
            largest = max(largest, float(apart.max(initial=0.0)))
    for name in ("q", "criterion"):
        a, b = float(getattr(one, name)), float(getattr(other, name))
        assert abs(a - b) <= tolerance * max(abs(a), abs(b)), f"{name} is {a:.12g} and {b:.12g}"
        numbers += 1
    return {"numbers of the fit compared": numbers, "largest relative difference": largest}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--only", choices=("kill", "two", "replay"), help="one of the three; the others' rows stay"
    )
    only = parser.parse_args().only
    place = Path(__file__).with_name("endurance_results.csv")
    with tempfile.TemporaryDirectory() as name:
        for short, (what, deed) in {
            "kill": ("recorder killed at random moments", lambda: kill(500, Path(name) / "kill")),
            "two": ("two processes recording", lambda: two_writers(2000, Path(name) / "two")),
            "replay": (
                "demo logbook replayed day by day",
                lambda: replay(Path("data_synthetic/logbook"), Path(name) / "replay"),
            ),
        }.items():
            if only not in (None, short):
                continue
            begun = time.perf_counter()
            counts = deed()
            seconds = round(time.perf_counter() - begun)
            print(what, counts, f"{seconds} s", flush=True)
            rows = [
                {"date": pd.Timestamp.now().date(), "proof": what, "seconds": seconds, "count": c, "value": v}
                for c, v in counts.items()
            ]
            held = pd.read_csv(place) if place.exists() else pd.DataFrame(columns=["proof"])
            table = pd.concat([held[held["proof"] != what].astype(object), pd.DataFrame(rows, dtype=object)])
            table.to_csv(place, index=False, lineterminator="\n")


if __name__ == "__main__":
    main()
