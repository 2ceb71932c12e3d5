"""Fleets with known lives, written as a shop would write them, in many styles; imports nothing from tirelife.

The fleets are those of :mod:`tests.fleets`, read as tables. Each style gives a file, and what each of its
columns holds, so that an import can be scored against it.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd

from tests.fleets import Fleet, simulate

WHEELS = ("LF", "RF", "LR", "RR")
GROOVES = ("outer", "center", "inner")
INCH_32ND, MILE = 25.4 / 32, 1.609344
WORDS = {
    "en": {"moved": ["rotated", "Rotated tires", "tires rotated, ok"], "all": ["4 new", "4 new tires", "new set fitted"],
           "front": ["new fronts", "2 new front", "replaced both fronts"], "rear": ["new rears", "2 new rear"], "idle": ["", "", "ok", "checked"]},
    "de": {"moved": ["Räder getauscht", "achsweise getauscht"], "all": ["4 neue Reifen", "alle neu"],
           "front": ["2 neu vorne", "vorne neu"], "rear": ["hinten neu", "2 neu hinten"], "idle": ["", "i.O.", ""]},
    "fr": {"moved": ["permutation", "pneus permutés"], "all": ["4 pneus neufs"], "front": ["2 neufs avant"],
           "rear": ["2 neufs arrière"], "idle": ["", "RAS"]},
    "es": {"moved": ["rotación", "rotados"], "all": ["4 nuevos", "juego nuevo"], "front": ["2 nuevos delanteros"],
           "rear": ["2 nuevas traseras"], "idle": ["", "bien"]},
}  # fmt: skip


@dataclass
class Visit:
    vehicle: str
    date: pd.Timestamp
    km: float
    depth: dict[str, dict[str, float]]
    work: str = ""
    note: dict[str, str] = field(default_factory=dict)
    psi: dict[str, float] = field(default_factory=dict)
    product: str = ""


@dataclass
class Log:
    """A fleet's visits, the truth of each mounted tire, and the visit at which each was first read."""

    visits: list[Visit]
    truth: pd.DataFrame
    first_read: dict[tuple[str, str], pd.Timestamp]
    new_mm: float


def make_log(folder: Path, fleet: Fleet, seed: int, noted: bool = True) -> Log:
    """Simulate a fleet and gather its visits; with ``noted`` the work done on the day of a visit has a note."""
    truth = simulate(folder, fleet, seed)
    rng = np.random.default_rng(seed + 1000)
    us = fleet.units == "us"
    deep, far = ("depth_32nds", "odometer_mi") if us else ("depth_mm", "odometer_km")
    depths = pd.read_csv(folder / "depths.csv", parse_dates=["date"])
    mounts = pd.read_csv(folder / "mounts.csv", parse_dates=["date"])
    tires = pd.read_csv(folder / "tires.csv").set_index("tire_id")
    first_day = mounts.groupby("vehicle_id")["date"].min()
    visits: list[Visit] = []
    first_read: dict[tuple[str, str], pd.Timestamp] = {}
    names = {
        v: f"{'ABCDEFGH'[i % 8]}{'KLMNPRST'[i // 8 % 8]} {100 + 7 * i}" for i, v in enumerate(first_day.index)
    }
    for (vehicle, date), part in depths.groupby(["vehicle_id", "date"]):
        depth = {
            w: dict(zip(p["groove"], p[deep] * (INCH_32ND if us else 1.0), strict=True))
            for w, p in part.groupby("position")
        }
        visit = Visit(names[vehicle], date, float(part[far].iloc[0]) * (MILE if us else 1.0), depth)
        done = mounts[(mounts["vehicle_id"] == vehicle) & (mounts["date"] == date)]
        held = mounts[(mounts["vehicle_id"] == vehicle) & (mounts["date"] <= date)]
        begun = mounts[mounts["vehicle_id"] == vehicle].groupby("tire_id")["date"].min()
        if len(done) and date > first_day[vehicle]:
            new = [t for t in done["tire_id"].unique() if begun[t] == date]
            on = done[done["tire_id"].isin(new)].drop_duplicates("tire_id", keep="first")["position"].tolist()
            moved = (
                done.groupby("tire_id").size().max() > 1
                or len(done) - len(new) - (done["position"] == "OFF").sum() > 0
            )
            kind = (
                "all"
                if len(on) == 4
                else "front"
                if set(on) == {"LF", "RF"}
                else "rear"
                if set(on) == {"LR", "RR"}
                else ""
            )
            visit.work = " + ".join([*([kind] if kind else []), *(["moved"] if moved else [])])
        for language, words in WORDS.items():
            parts = [str(rng.choice(words[w])) for w in visit.work.split(" + ") if w] if noted else []
            visit.note[language] = ", ".join(parts) or str(rng.choice(words["idle"]))
        last = held.sort_values("date", kind="stable").drop_duplicates("tire_id", keep="last")
        visit.product = str(tires.loc[last["tire_id"].iloc[0], "tire_line"])
        visit.psi = {w: float(32 + rng.integers(-3, 3)) for w in WHEELS}
        visits.append(visit)
    # Work of the last day that nobody noted moves tires after they were read: they are known where they were read.
    if not noted:
        last_day = depths.groupby("vehicle_id")["date"].max()
        before = mounts[mounts["date"] < mounts["vehicle_id"].map(last_day)]
        stood = before.sort_values("date", kind="stable").drop_duplicates("tire_id", keep="last")
        place = truth["tire_id"].map(stood.set_index("tire_id")["position"])
        truth = truth.assign(position=place.fillna(truth["position"]))
    for row in truth.itertuples():
        mine = mounts[mounts["tire_id"] == row.tire_id]
        began = mine["date"].min()
        seen = sorted(v.date for v in visits if v.vehicle == names[row.vehicle_id])
        # Readings are taken before the work of their day.
        after = [d for d in seen if d > began]
        if after and seen.index(after[0]) == 0:
            first_read[names[row.vehicle_id], row.position] = seen[0]
        elif after:
            first_read[names[row.vehicle_id], row.position] = after[0]
    truth = truth.assign(name=truth["vehicle_id"].map(names))
    return Log(visits, truth, first_read, fleet.new_depth_32nds[0] * INCH_32ND)


def _u(mm: float, unit: str, step: float | None = None) -> float:
    value = mm / INCH_32ND if unit == "32nds" else mm
    step = step or (0.5 if unit == "32nds" else 0.1)
    return round(round(value / step) * step, 2)


def _mean(visit: Visit, wheel: str) -> float:
    return float(np.mean(list(visit.depth[wheel].values())))


def _num(value: float, comma: bool = False) -> str:
    text = f"{value:g}"
    return text.replace(".", ",") if comma else text


def _csv(path: Path, rows: list[list], mark: str = ",", encoding: str = "utf-8") -> Path:
    with path.open("w", newline="", encoding=encoding) as file:
        csv.writer(file, delimiter=mark).writerows(rows)
    return path


def _book(path: Path, tabs: dict[str, list[list]], merged: dict[str, list[str]] | None = None) -> Path:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in tabs.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
        for span in (merged or {}).get(name, []):
            sheet.merge_cells(span)
    book.save(path)
    return path


Style = Callable[[Log, Path], tuple[Path, dict[str, str], dict]]
STYLES: dict[str, Style] = {}


def style(function: Style) -> Style:
    STYLES[function.__name__] = function
    return function


def _wide(log: Log, unit: str, head: list[str], row: Callable[[Visit], list]) -> list[list]:
    return [head, *(row(v) for v in log.visits)]


BASIC = {"LF": "depth LF", "RF": "depth RF", "LR": "depth LR", "RR": "depth RR"}


@style
def us_plain(log, top):
    head = ["Date", "Van", "Mileage", *WHEELS, "Notes"]
    rows = [
        [
            f"{v.date.month}/{v.date.day}/{v.date.year}",
            v.vehicle,
            f"{v.km / MILE:,.0f}",
            *(_num(_u(_mean(v, w), "32nds")) for w in WHEELS),
            v.note["en"],
        ]
        for v in log.visits
    ]
    return (
        _csv(top / "shop.csv", [head, *rows]),
        {"Date": "date", "Van": "vehicle", "Mileage": "odometer", **BASIC, "Notes": "note"},
        {},
    )


@style
def us_titled(log, top):
    head = [
        "Service date",
        "Unit",
        "Odometer (mi)",
        "LF tread /32",
        "RF tread /32",
        "LR tread /32",
        "RR tread /32",
        "Work done",
    ]
    rows = [
        [
            v.date.to_pydatetime(),
            v.vehicle,
            round(v.km / MILE),
            *(_u(_mean(v, w), "32nds") for w in WHEELS),
            v.note["en"],
        ]
        for v in log.visits
    ]
    tabs = {
        "Tread log": [
            ["Riverside Vans: tread log"],
            [],
            ["printed for the office"],
            head,
            *rows,
            [],
            ["Average", None, None, 7, 7, 6, 6],
        ]
    }
    holds = {
        "Service date": "date",
        "Unit": "vehicle",
        "Odometer (mi)": "odometer",
        **{f"{w} tread /32": f"depth {w}" for w in WHEELS},
        "Work done": "note",
    }
    return _book(top / "shop.xlsx", tabs, {"Tread log": ["A1:H1"]}), holds, {}


@style
def us_grooves_two_rows(log, top):
    one = (
        ["Date", "Vehicle", "Miles"]
        + [t for w in ("Left front", "Right front", "Left rear", "Right rear") for t in (w, None, None)]
        + ["Comments"]
    )
    two = [None, None, None] + ["Out", "Mid", "In"] * 4 + [None]
    rows = [
        [
            v.date.to_pydatetime(),
            v.vehicle,
            round(v.km / MILE),
            *(_u(v.depth[w][g], "32nds") for w in WHEELS for g in GROOVES),
            v.note["en"],
        ]
        for v in log.visits
    ]
    merged = {"Readings": ["D1:F1", "G1:I1", "J1:L1", "M1:O1"]}
    names = dict(zip(WHEELS, ("Left front", "Right front", "Left rear", "Right rear"), strict=True))
    holds = {"Date": "date", "Vehicle": "vehicle", "Miles": "odometer", "Comments": "note"}
    holds |= {
        f"{names[w]} {t}": f"depth {w} {g}"
        for w in WHEELS
        for t, g in zip(("Out", "Mid", "In"), GROOVES, strict=True)
    }
    return _book(top / "shop.xlsx", {"Readings": [one, two, *rows]}, merged), holds, {"depth_unit": "32nds"}


@style
def uk_near_off(log, top):
    head = ["Date", "Reg", "Mileage", "NSF", "OSF", "NSR", "OSR", "Remarks"]
    rows = [
        [
            v.date.strftime("%d/%m/%Y"),
            v.vehicle,
            round(v.km / MILE),
            *(_num(_u(_mean(v, w), "mm")) for w in WHEELS),
            v.note["en"],
        ]
        for v in log.visits
    ]
    holds = {
        "Date": "date",
        "Reg": "vehicle",
        "Mileage": "odometer",
        "NSF": "depth near front",
        "OSF": "depth off front",
        "NSR": "depth near rear",
        "OSR": "depth off rear",
        "Remarks": "note",
    }
    return _csv(top / "shop.csv", [head, *rows]), holds, {"near_side": "left"}


@style
def german_semicolons(log, top):
    head = ["Datum", "Kennzeichen", "Kilometerstand", "VL", "VR", "HL", "HR", "Bemerkung"]
    rows = [
        [
            v.date.strftime("%d.%m.%Y"),
            v.vehicle,
            f"{v.km:,.0f}".replace(",", "."),
            *(_num(_u(_mean(v, w), "mm"), True) for w in WHEELS),
            v.note["de"],
        ]
        for v in log.visits
    ]
    holds = {
        "Datum": "date",
        "Kennzeichen": "vehicle",
        "Kilometerstand": "odometer",
        "VL": "depth LF",
        "VR": "depth RF",
        "HL": "depth LR",
        "HR": "depth RR",
        "Bemerkung": "note",
    }
    return _csv(top / "werkstatt.csv", [head, *rows], ";", "cp1252"), holds, {}


@style
def german_long_names(log, top):
    places = {"LF": "vorne links", "RF": "vorne rechts", "LR": "hinten links", "RR": "hinten rechts"}
    head = [
        "Prüfdatum",
        "Fahrzeug",
        "km-Stand",
        *(f"Profiltiefe {p} (mm)" for p in places.values()),
        "Arbeiten",
        "Fahrer",
    ]
    rows = [
        [
            v.date.to_pydatetime(),
            v.vehicle,
            round(v.km),
            *(_u(_mean(v, w), "mm") for w in WHEELS),
            v.note["de"],
            "Meier",
        ]
        for v in log.visits
    ]
    holds = {
        "Prüfdatum": "date",
        "Fahrzeug": "vehicle",
        "km-Stand": "odometer",
        **{f"Profiltiefe {p} (mm)": f"depth {w}" for w, p in places.items()},
        "Arbeiten": "note",
        "Fahrer": "driver",
    }
    return _book(top / "reifen.xlsx", {"Tabelle1": [head, *rows]}), holds, {}


@style
def french(log, top):
    head = ["Date", "Immatriculation", "Kilométrage", "AVG", "AVD", "ARG", "ARD", "Observations"]
    rows = [
        [
            v.date.strftime("%d/%m/%Y"),
            v.vehicle,
            f"{v.km:,.0f}".replace(",", " "),
            *(_num(_u(_mean(v, w), "mm"), True) for w in WHEELS),
            v.note["fr"],
        ]
        for v in log.visits
    ]
    holds = {
        "Date": "date",
        "Immatriculation": "vehicle",
        "Kilométrage": "odometer",
        "AVG": "depth LF",
        "AVD": "depth RF",
        "ARG": "depth LR",
        "ARD": "depth RR",
        "Observations": "note",
    }
    return _csv(top / "atelier.csv", [head, *rows], ";"), holds, {}


@style
def spanish(log, top):
    head = ["Fecha", "Matrícula", "Kilometraje", "DI", "DD", "TI", "TD", "Observaciones"]
    rows = [
        [
            v.date.to_pydatetime(),
            v.vehicle,
            round(v.km),
            *(_u(_mean(v, w), "mm") for w in WHEELS),
            v.note["es"],
        ]
        for v in log.visits
    ]
    holds = {
        "Fecha": "date",
        "Matrícula": "vehicle",
        "Kilometraje": "odometer",
        "DI": "depth LF",
        "DD": "depth RF",
        "TI": "depth LR",
        "TD": "depth RR",
        "Observaciones": "note",
    }
    return _book(top / "taller.xlsx", {"Hoja1": [["Taller: control de neumáticos"], head, *rows]}), holds, {}


@style
def row_a_wheel(log, top):
    head = ["Date", "Truck", "Odometer", "Position", "Tread 32nds", "Notes"]
    rows = [
        [
            v.date.strftime("%Y-%m-%d"),
            v.vehicle,
            round(v.km / MILE),
            w,
            _num(_u(_mean(v, w), "32nds")),
            v.note["en"],
        ]
        for v in log.visits
        for w in WHEELS
    ]
    return (
        _csv(top / "shop.csv", [head, *rows]),
        {
            "Date": "date",
            "Truck": "vehicle",
            "Odometer": "odometer",
            "Position": "wheel",
            "Tread 32nds": "depth",
            "Notes": "note",
        },
        {},
    )


@style
def row_a_wheel_filled_once(log, top):
    names = {"LF": "Front left", "RF": "Front right", "LR": "Rear left", "RR": "Rear right"}
    head = ["Date", "Vehicle", "Mileage", "Wheel", "Outer mm", "Center mm", "Inner mm", "Comment"]
    rows = []
    for v in log.visits:
        for i, w in enumerate(WHEELS):
            first = [v.date.to_pydatetime(), v.vehicle, round(v.km / MILE)] if i == 0 else [None] * 3
            rows.append(
                [
                    *first,
                    names[w],
                    *(_u(v.depth[w][g], "mm") for g in GROOVES),
                    v.note["en"] if i == 0 else None,
                ]
            )
    holds = {
        "Date": "date",
        "Vehicle": "vehicle",
        "Mileage": "odometer",
        "Wheel": "wheel",
        "Outer mm": "depth outer",
        "Center mm": "depth center",
        "Inner mm": "depth inner",
        "Comment": "note",
    }
    return _book(top / "shop.xlsx", {"Sheet1": [head, *rows]}), holds, {}


@style
def axle_pairs(log, top):
    head = ["Date", "Car", "Miles", "Front tread (32nds) L/R", "Rear tread (32nds) L/R", "Notes"]
    rows = [
        [
            v.date.strftime("%m/%d/%Y"),
            v.vehicle,
            round(v.km / MILE),
            *(
                "/".join(_num(_u(_mean(v, w), "32nds")) for w in pair)
                for pair in (("LF", "RF"), ("LR", "RR"))
            ),
            v.note["en"],
        ]
        for v in log.visits
    ]
    holds = {
        "Date": "date",
        "Car": "vehicle",
        "Miles": "odometer",
        "Front tread (32nds) L/R": "depth front",
        "Rear tread (32nds) L/R": "depth rear",
        "Notes": "note",
    }
    return _csv(top / "shop.csv", [head, *rows]), holds, {}


def _vulgar(value: float) -> str:
    whole, part = int(value), value - int(value)
    return f"{whole}" if not part else f"{whole} 1/2"


@style
def halves(log, top):
    head = ["Date", "Plate", "Odo", "LF", "RF", "LR", "RR", "Done"]
    rows = [
        [
            v.date.strftime("%m/%d/%y"),
            v.vehicle,
            f"{v.km / MILE:.0f} mi",
            *(_vulgar(_u(_mean(v, w), "32nds")) + "/32" * (i == 0) for i, w in enumerate(WHEELS)),
            v.note["en"],
        ]
        for v in log.visits
    ]
    return (
        _csv(top / "shop.csv", [head, *rows]),
        {"Date": "date", "Plate": "vehicle", "Odo": "odometer", **BASIC, "Done": "note"},
        {},
    )


@style
def inches_written(log, top):
    head = ["Checked on", "Fleet no.", "Odometer reading", "L/F", "R/F", "L/R", "R/R", "Service"]
    rows = [
        [
            v.date.strftime("%b %d, %Y"),
            v.vehicle,
            round(v.km / MILE),
            *(f'{_num(_u(_mean(v, w), "32nds"))}/32"' for w in WHEELS),
            v.note["en"],
        ]
        for v in log.visits
    ]
    holds = {
        "Checked on": "date",
        "Fleet no.": "vehicle",
        "Odometer reading": "odometer",
        "L/F": "depth LF",
        "R/F": "depth RF",
        "L/R": "depth LR",
        "R/R": "depth RR",
        "Service": "note",
    }
    return _csv(top / "shop.csv", [head, *rows]), holds, {}


@style
def tab_a_vehicle(log, top):
    head = ["Date", "Mileage", "LF (32nds)", "RF (32nds)", "LR (32nds)", "RR (32nds)", "Notes"]
    tabs: dict[str, list[list]] = {}
    for v in log.visits:
        tabs.setdefault(v.vehicle, [head]).append(
            [
                v.date.to_pydatetime(),
                round(v.km / MILE),
                *(_u(_mean(v, w), "32nds") for w in WHEELS),
                v.note["en"],
            ]
        )
    tabs["Summary"] = [["Vans", len(tabs)], ["kept by", "the office"]]
    return (
        _book(top / "shop.xlsx", tabs),
        {
            "Date": "date",
            "Mileage": "odometer",
            **{f"{w} (32nds)": f"depth {w}" for w in WHEELS},
            "Notes": "note",
        },
        {},
    )


@style
def vehicle_over_its_rows(log, top):
    head = ["Date", "Miles", "LF 32nds", "RF 32nds", "LR 32nds", "RR 32nds", "Remarks"]
    rows: list[list] = [head]
    last = ""
    for v in log.visits:
        if v.vehicle != last:
            rows += [[], [f"Vehicle: {v.vehicle}"]]
            last = v.vehicle
        rows.append(
            [
                v.date.to_pydatetime(),
                round(v.km / MILE),
                *(_u(_mean(v, w), "32nds") for w in WHEELS),
                v.note["en"],
            ]
        )
    return (
        _book(top / "shop.xlsx", {"2025": rows}),
        {
            "Date": "date",
            "Miles": "odometer",
            **{f"{w} 32nds": f"depth {w}" for w in WHEELS},
            "Remarks": "note",
        },
        {},
    )


@style
def metric_iso(log, top):
    head = ["date", "vehicle", "odometer km", "LF mm", "RF mm", "LR mm", "RR mm", "note"]
    rows = [
        [
            v.date.strftime("%Y-%m-%d"),
            v.vehicle,
            f"{v.km:.1f}",
            *(f"{_u(_mean(v, w), 'mm'):.1f}" for w in WHEELS),
            v.note["en"],
        ]
        for v in log.visits
    ]
    return (
        _csv(top / "log.csv", [head, *rows]),
        {
            "date": "date",
            "vehicle": "vehicle",
            "odometer km": "odometer",
            **{f"{w} mm": f"depth {w}" for w in WHEELS},
            "note": "note",
        },
        {},
    )


@style
def tabs_between(log, top):
    names = dict(
        zip(
            WHEELS,
            ("Left Front Tread", "Right Front Tread", "Left Rear Tread", "Right Rear Tread"),
            strict=True,
        )
    )
    head = ["Customer", "Date", "Mileage", *names.values(), "Work performed"]
    rows = [
        [
            v.vehicle,
            v.date.strftime("%m-%d-%Y"),
            f"{v.km / MILE:,.0f}",
            *(_num(_u(_mean(v, w), "32nds")) for w in WHEELS),
            v.note["en"],
        ]
        for v in log.visits
    ]
    return (
        _csv(top / "shop.txt", [head, *rows], "\t", "utf-16"),
        {
            "Customer": "vehicle",
            "Date": "date",
            "Mileage": "odometer",
            **{n: f"depth {w}" for w, n in names.items()},
            "Work performed": "note",
        },
        {"depth_unit": "32nds"},
    )


@style
def open_document(log, top):
    head = ["Date", "Van", "Miles", "FL 32nds", "FR 32nds", "RL 32nds", "RR 32nds", "Notes"]
    rows = [
        [
            v.date.to_pydatetime(),
            v.vehicle,
            round(v.km / MILE),
            *(_u(_mean(v, w), "32nds") for w in WHEELS),
            v.note["en"],
        ]
        for v in log.visits
    ]
    path = top / "shop.ods"
    pd.DataFrame(rows, columns=head).to_excel(path, index=False, engine="odf")
    holds = {
        "Date": "date",
        "Van": "vehicle",
        "Miles": "odometer",
        "FL 32nds": "depth LF",
        "FR 32nds": "depth RF",
        "RL 32nds": "depth LR",
        "RR 32nds": "depth RR",
        "Notes": "note",
    }
    return path, holds, {}


@style
def everything(log, top):
    head = [
        "Date",
        "Unit #",
        "Driver",
        "Odometer",
        "Tire brand",
        "Tire size",
        *(f"{w} tread" for w in WHEELS),
        *(f"{w} PSI" for w in WHEELS),
        "New depth",
        "Invoice",
        "Tech",
        "Next due",
        "Notes",
    ]
    rows = [
        [
            v.date.to_pydatetime(),
            v.vehicle,
            "Sam",
            round(v.km / MILE),
            v.product,
            "215/60R16",
            *(_u(_mean(v, w), "32nds") for w in WHEELS),
            *(v.psi[w] for w in WHEELS),
            10,
            4411 + i,
            "JB",
            "spring",
            v.note["en"],
        ]
        for i, v in enumerate(log.visits)
    ]
    holds = {
        "Date": "date",
        "Unit #": "vehicle",
        "Driver": "driver",
        "Odometer": "odometer",
        "Tire brand": "product",
        "Tire size": "size",
        **{f"{w} tread": f"depth {w}" for w in WHEELS},
        **{f"{w} PSI": f"pressure {w}" for w in WHEELS},
        "New depth": "new_depth",
        "Invoice": "ignored",
        "Tech": "ignored",
        "Next due": "ignored",
        "Notes": "note",
    }
    return _book(top / "shop.xlsx", {"Log": [head, *rows]}), holds, {}


@style
def three_in_a_cell(log, top):
    head = ["Date", "Vehicle", "Mileage", "LF O-M-I", "RF O-M-I", "LR O-M-I", "RR O-M-I", "Comments"]
    rows = [
        [
            v.date.strftime("%m/%d/%Y"),
            v.vehicle,
            round(v.km / MILE),
            *("-".join(_num(_u(v.depth[w][g], "32nds")) for g in GROOVES) for w in WHEELS),
            v.note["en"],
        ]
        for v in log.visits
    ]
    holds = {
        "Date": "date",
        "Vehicle": "vehicle",
        "Mileage": "odometer",
        **{f"{w} O-M-I": f"depth {w}" for w in WHEELS},
        "Comments": "note",
    }
    return _csv(top / "shop.csv", [head, *rows]), holds, {"depth_unit": "32nds"}


@style
def groups_over_wheels(log, top):
    one = ["", "", "", "Tread depth (32nds)", "", "", "", "Pressure (psi)", "", "", "", ""]
    two = ["Date", "Van", "Miles", *WHEELS, *WHEELS, "Notes"]
    rows = [
        [
            v.date.strftime("%m/%d/%Y"),
            v.vehicle,
            round(v.km / MILE),
            *(_num(_u(_mean(v, w), "32nds")) for w in WHEELS),
            *(f"{v.psi[w]:.0f}" for w in WHEELS),
            v.note["en"],
        ]
        for v in log.visits
    ]
    holds = {
        "Date": "date",
        "Van": "vehicle",
        "Miles": "odometer",
        **{f"Tread depth (32nds) {w}": f"depth {w}" for w in WHEELS},
        **{f"Pressure (psi) {w}": f"pressure {w}" for w in WHEELS},
        "Notes": "note",
    }
    return _csv(top / "shop.csv", [one, two, *rows]), holds, {}


@style
def month_names(log, top):
    head = ["Visit", "Vehicle reg.", "Speedo km", "Front L", "Front R", "Rear L", "Rear R", "Action"]
    rows = [
        [
            f"{v.date.day} {v.date.strftime('%b %Y')}",
            v.vehicle,
            round(v.km),
            *(f"{_u(_mean(v, w), 'mm'):.1f} mm" for w in WHEELS),
            v.note["en"],
        ]
        for v in log.visits
    ]
    holds = {
        "Visit": "date",
        "Vehicle reg.": "vehicle",
        "Speedo km": "odometer",
        "Front L": "depth LF",
        "Front R": "depth RF",
        "Rear L": "depth LR",
        "Rear R": "depth RR",
        "Action": "note",
    }
    return _csv(top / "shop.csv", [head, *rows]), holds, {}


@style
def vehicle_once_a_block(log, top):
    head = ["Vehicle", "Date", "Odometer (mi)", "LF 32nds", "RF 32nds", "LR 32nds", "RR 32nds", "Notes"]
    rows: list[list] = [head]
    last = ""
    for v in log.visits:
        rows.append(
            [
                v.vehicle if v.vehicle != last else None,
                v.date.to_pydatetime(),
                round(v.km / MILE),
                *(_u(_mean(v, w), "32nds") for w in WHEELS),
                v.note["en"],
            ]
        )
        last = v.vehicle
    return (
        _book(top / "shop.xlsx", {"Sheet1": rows}),
        {
            "Vehicle": "vehicle",
            "Date": "date",
            "Odometer (mi)": "odometer",
            **{f"{w} 32nds": f"depth {w}" for w in WHEELS},
            "Notes": "note",
        },
        {},
    )


@style
def serial_dates(log, top):
    head = ["Date", "Stock no.", "Miles", *(f"{w} depth (in 32nds)" for w in WHEELS), "Comment"]
    rows = [
        [
            (v.date - pd.Timestamp("1899-12-30")).days,
            v.vehicle,
            round(v.km / MILE),
            *(_num(_u(_mean(v, w), "32nds")) for w in WHEELS),
            v.note["en"],
        ]
        for v in log.visits
    ]
    return (
        _csv(top / "shop.csv", [head, *rows]),
        {
            "Date": "date",
            "Stock no.": "vehicle",
            "Miles": "odometer",
            **{f"{w} depth (in 32nds)": f"depth {w}" for w in WHEELS},
            "Comment": "note",
        },
        {},
    )


@style
def no_notes(log, top):
    head = ["Date", "Car", "Odometer miles", "Left front", "Right front", "Left rear", "Right rear"]
    rows = [
        [
            v.date.strftime("%Y-%m-%d"),
            v.vehicle,
            round(v.km / MILE),
            *(f"{_num(_u(_mean(v, w), '32nds'))}/32" for w in WHEELS),
        ]
        for v in log.visits
    ]
    holds = {
        "Date": "date",
        "Car": "vehicle",
        "Odometer miles": "odometer",
        "Left front": "depth LF",
        "Right front": "depth RF",
        "Left rear": "depth LR",
        "Right rear": "depth RR",
    }
    return _csv(top / "shop.csv", [head, *rows]), holds, {}
