"""Spoil logbooks mildly: tables stay mostly legal, and nasty for the numbers, the words and the files.

``tests.logbook.fuzz`` spoils harshly, so that most of its logbooks are refused; these are mostly answered.
"""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from tests.logbook.folders import GROOVES, HABITS, PLACES

Rows = list[dict[str, str]]
Tables = dict[str, Rows]

BANDS = HABITS.strip().split(",")[3:]
MARKUP = "<script>alert(7)</script>"
IDS = [
    MARKUP, "\"><img src=x onerror=alert(7)>", "</title><b>7", "=HYPERLINK(1)", "@SUM(A1)", "+7", "-7+7", "../../x", "..\\..\\x",
    "/etc/x", "C:\\x", "CON", "a,b", "a;b", "a\"b", "a'b", "été", "車7", "😀", "x" * 300, "007", "1e5", "nan", "None", "NA",
    "$title", "{0}", "%s", "${state}", "T1 ", " V 1", "a\tb", "__proto__", "null", "&amp;", "true", "2025-01-01", "\u202eabc", "constructor",
]  # fmt: skip
UNITS = {
    "depth": {"mm": 1.0, "32nds": 25.4 / 32, "mils": 0.0254, "in": 25.4},
    "distance": {"km": 1.0, "mi": 1.609344},
    "pressure": {"kpa": 1.0, "psi": 6.894757293168361, "bar": 100.0},
    "mass": {"kg": 1.0, "lb": 0.45359237},
    "frequency": {"per_100km": 1.0, "per_100mi": 1 / 1.609344},
}
QUANTITY = {
    "new_depth": "depth", "depth": "depth", "toe": "depth", "odometer": "distance", "pressure": "pressure", "set_to": "pressure",
    "placard_front": "pressure", "placard_rear": "pressure", "mass": "mass", "hard_starts": "frequency", "hard_stops": "frequency",
    "hard_turns": "frequency",
}  # fmt: skip
OPTIONAL = {
    "vehicles": ("driver_group", "mass_kg", "front_load_share", "drag_area_m2"),
    "tires": ("size", "treadwear_grade", "made_week", "price"),
    "depths": ("spot", "gauge_id"),
    "pressures": ("odometer_mi", "ambient_f", "set_to_psi", "gauge_id"),
    "alignment": ("camber_left_deg", "camber_right_deg"),
    "odometer": (), "mounts": (), "habits": (), "gauges": (),
}  # fmt: skip
BLANK_OK = {
    **OPTIONAL,
    "tires": (*OPTIONAL["tires"], "new_depth_32nds"),
    "alignment": (*OPTIONAL["alignment"], "toe_mm"),
}


@dataclass(frozen=True)
class Spoilt:
    """A spoilt logbook: its files by table, the records written into each, and the vehicles in it."""

    files: dict[str, bytes]
    records: dict[str, int]
    vehicles: tuple[str, ...]


def base(rng: random.Random) -> Tables:
    """Return a sound logbook of one of three kinds: a walk-in, two cars, or one car for long."""
    kind = rng.choice(("walk-in", "two cars", "two cars", "long"))
    vehicles = ["V1", "V2"] if kind == "two cars" else ["V1"]
    visits = {"walk-in": 1, "two cars": rng.choice((2, 3, 4)), "long": 7}[kind]
    t: Tables = {name: [] for name in OPTIONAL}
    for n, vehicle in enumerate(vehicles):
        t["vehicles"].append(
            {"vehicle_id": vehicle, "drive": rng.choice(("front", "rear", "all")), "placard_front_psi": "33", "placard_rear_psi": "35",
             "driver_group": "day rounds", "mass_kg": "1400", "front_load_share": "0.58", "drag_area_m2": "0.7"}
        )  # fmt: skip
        tires = {place: f"T{4 * n + i + 1}" for i, place in enumerate(PLACES)}
        for place, tire in tires.items():
            _tire(t, tire)
            _mount(t, "2024-06-10", 1000, vehicle, tire, place)
        if kind == "long" and rng.random() < 0.5:
            _tire(t, "TSP")
            _mount(t, "2024-06-10", 1000, vehicle, "TSP", "SP")
        for k in range(visits):
            day, km = f"2025-0{1 + k}-10", 6000 + 2500 * k
            if kind == "long" and k in (2, 4):  # front to rear
                tires = {"LF": tires["LR"], "RF": tires["RR"], "LR": tires["LF"], "RR": tires["RF"]}
                for place, tire in tires.items():
                    _mount(t, day, km, vehicle, tire, place)
            for place in PLACES:
                worn = (1.1 if place in ("LF", "RF") else 0.7) * (k + 1) * 0.6
                for groove in GROOVES:
                    depth = 10 - worn + rng.choice((-0.25, 0, 0, 0.25))
                    t["depths"].append(
                        {"date": day, "odometer_mi": str(km), "vehicle_id": vehicle, "position": place, "groove": groove,
                         "depth_32nds": f"{depth:.2f}", "spot": "1", "gauge_id": "D1"}
                    )  # fmt: skip
                t["pressures"].append(
                    {"date": day, "vehicle_id": vehicle, "position": place, "pressure_psi": str(30 + k), "odometer_mi": str(km),
                     "state": rng.choice(("cold", "cold", "city")), "ambient_f": "50", "set_to_psi": "33", "gauge_id": "P1"}
                )  # fmt: skip
        t["odometer"] += [
            {"date": f"2024-{7 + k:02d}-20", "vehicle_id": vehicle, "odometer_mi": str(1700 + 800 * k)} for k in range(5)
        ]  # fmt: skip
        habit = ["0.2", "0.3", "0.2", "0.2", "0.1", "5", "6", "7"]
        span = {"vehicle_id": vehicle, "from_date": "2024-06-10", "to_date": "2025-06-30"}
        t["habits"].append({**span, **dict(zip(BANDS, habit, strict=True))})
        t["alignment"].append(
            {"date": "2025-01-10", "odometer_mi": "6000", "vehicle_id": vehicle, "axle": "front", "toe_mm": "1.5",
             "camber_left_deg": "-0.5", "camber_right_deg": "-0.4"}
        )  # fmt: skip
    t["gauges"] = [
        {"gauge_id": g, "date": "2025-01-02", "kind": kind, "reading": a, "master": b, "unit": unit}
        for g, kind, a, b, unit in (
            ("D1", "depth", "8.5", "8", "32nds"),
            ("P1", "pressure", "32", "32", "psi"),
        )
    ]
    return t


def _tire(t: Tables, tire: str) -> None:
    t["tires"].append(
        {"tire_id": tire, "tire_line": "Line A", "new_depth_32nds": "10", "size": "195/65R15", "treadwear_grade": "400",
         "made_week": "0724", "price": "100"}
    )  # fmt: skip


def _mount(t: Tables, day: str, km: float, vehicle: str, tire: str, place: str) -> None:
    row = {"date": day, "odometer_mi": str(km), "vehicle_id": vehicle, "tire_id": tire, "position": place}
    t["mounts"].append(row)


# Deeds to the whole logbook. ---------------------------------------------------------------------------


def _rename(t: Tables, rng: random.Random) -> None:
    """Give vehicles, tires, lines, gauges or groups names that a page, a sheet or a path could trip over."""
    column = rng.choice(("vehicle_id", "tire_id", "tire_line", "gauge_id", "driver_group", "size"))
    new: dict[str, str] = {}
    for rows in t.values():
        for row in rows:
            if row.get(column):
                old = row[column]
                if old not in new:
                    word = rng.choice(IDS)
                    new[old] = (
                        word if word.strip() not in {w.strip() for w in new.values()} else f"{word}{len(new)}"
                    )
                row[column] = new[old]


def _dates(t: Tables, move: Callable[[date], date]) -> None:
    for rows in t.values():
        for row in rows:
            for name in ("date", "from_date", "to_date"):
                if row.get(name):
                    row[name] = move(date.fromisoformat(row[name])).isoformat()


def _shift(t: Tables, rng: random.Random) -> None:
    days = rng.choice((-1, 1, -40_000, -9000, -400, 90, 500, 2000))
    _dates(t, lambda day: max(day + timedelta(days), date(1900, 1, 1)))


def _one_day(t: Tables, rng: random.Random) -> None:
    only = rng.choice(([*t], [rng.choice([*t])]))
    _dates({name: t[name] for name in only}, lambda _day: date(2025, 1, 10))


def _stretch_days(t: Tables, rng: random.Random) -> None:
    factor, origin = rng.choice((0.02, 0.2, 3, 10)), date(2024, 6, 10)
    _dates(t, lambda day: origin + timedelta(round((day - origin).days * factor)))


def _odometers(t: Tables, rng: random.Random) -> None:
    """Stretch all distances about the first mount: from no distance at all to a million km."""
    factor = rng.choice((0, 0.0001, 0.001, 0.1, 10, 50, 60, 200))
    start = rng.choice((0, 1000, 300_000, 3_000_000))
    for rows in t.values():
        for row in rows:
            if row.get("odometer_mi"):
                row["odometer_mi"] = (
                    f"{start + (float(row['odometer_mi']) - 1000) * factor:.{rng.choice((0, 1, 3))}f}"
                )


def _slip(t: Tables, rng: random.Random) -> None:
    """Let some odometers go back, run ahead, or start again."""
    rows = [row for name in ("odometer", "depths", "pressures", "alignment", "mounts") for row in t[name]]
    for row in rng.sample(rows, min(len(rows), rng.choice((1, 3, 12)))):
        if row.get("odometer_mi"):
            row["odometer_mi"] = str(
                round(float(row["odometer_mi"]) * rng.choice((0, 0.1, 0.9, 1.001, 1.609, 10)))
            )


def _depths(t: Tables, rng: random.Random) -> None:
    """Change depths: all equal, growing, zero, huge, near the limit, unlike each other."""
    deed = rng.randrange(11)
    word = rng.choice(("0", "0.01", "2", "2.0000001", "10", "31.4", "5"))
    for i, row in enumerate(t["depths"]):
        depth = float(row["depth_32nds"])
        if deed == 0:
            row["depth_32nds"] = word
        elif deed == 1:
            row["depth_32nds"] = f"{20 - depth:.3f}"
        elif deed == 2:
            row["depth_32nds"] = f"{max(depth + rng.gauss(0, 2), 0):.2f}"
        elif deed == 3:
            row["depth_32nds"] = f"{max(4 * depth - 30, 0):.2f}"
        elif deed == 4 and rng.random() < 0.1:
            row["depth_32nds"] = rng.choice(("0", "31.4", "50", "1e-9", "9.99999999999"))
        elif deed == 5:
            row["depth_32nds"] = f"{depth * 0.25:.4f}"
        elif deed == 6 and row["position"] == "LF":
            row["depth_32nds"] = word
        elif deed == 7 and row["groove"] == "outer":
            row["depth_32nds"] = f"{max(depth - 5, 0):.2f}"
        elif deed == 8:
            row["depth_32nds"] = f"{depth:.0f}"
        elif deed == 9:
            row["depth_32nds"] = repr(10 - 1e-7 * i)
        elif deed == 10:
            row["groove"] = rng.choice(("outer", "outer_mid", "center", "inner_mid", "inner"))


def _new_depths(t: Tables, rng: random.Random) -> None:
    word = rng.choice(("", "1.3", "8", "31", "50", "10"))
    for row in t["tires"]:
        if rng.random() < 0.7:
            row["new_depth_32nds"] = word


def _visits(t: Tables, rng: random.Random) -> None:
    """Keep one visit, or none, or a single reading; or read the last one again later."""
    deed = rng.randrange(6)
    days = sorted({row["date"] for row in t["depths"]})
    if deed == 0:
        t["depths"] = [row for row in t["depths"] if row["date"] == days[0]]
    elif deed == 1:
        t["depths"] = [row for row in t["depths"] if row["date"] == days[-1]]
    elif deed == 2:
        t["depths"] = [rng.choice(t["depths"])]
    elif deed == 3:
        t["depths"] = [row for row in t["depths"] if row["position"] == rng.choice(PLACES)]
    elif deed == 4:
        for k in range(rng.choice((1, 5))):
            for row in [row for row in t["depths"] if row["date"] == days[-1]]:
                depth = max(float(row["depth_32nds"]) - rng.uniform(0, 0.8) * (k + 1), 0)
                again = {
                    "odometer_mi": f"{float(row['odometer_mi']) + 900 * (k + 1):.0f}",
                    "depth_32nds": f"{depth:.2f}",
                }
                t["depths"].append({**row, **again, "date": f"2025-09-{10 + k}"})
    else:
        t["depths"] = []


def _tires(t: Tables, rng: random.Random) -> None:
    """Move tires: a swap, a new one, all off, one taken to the spare's place, one to another car."""
    deed = rng.randrange(6)
    day, km = rng.choice((("2024-12-01", 5000), ("2025-01-10", 6000), ("2025-12-01", 40_000)))
    vehicle = rng.choice(t["vehicles"])["vehicle_id"]
    here = {
        row["position"]: row["tire_id"]
        for row in t["mounts"]
        if row["vehicle_id"] == vehicle and row["date"] <= day
    }
    if not set(PLACES) <= set(here):
        return
    if deed == 0:
        _mount(t, day, km, vehicle, here["LF"], "RR")
        _mount(t, day, km, vehicle, here["RR"], "LF")
    elif deed == 1:
        _tire(t, "TNEW")
        _mount(t, day, km, vehicle, here["RF"], "OFF")
        _mount(t, day, km, vehicle, "TNEW", "RF")
    elif deed == 2:
        for place in PLACES:
            _mount(t, day, km, vehicle, here[place], "OFF")
    elif deed == 3:
        _mount(t, day, km, vehicle, here["LR"], "SP")
    elif deed == 4:
        _mount(t, day, km, vehicle, here["LR"], "OFF")
        t["vehicles"].append({**t["vehicles"][0], "vehicle_id": "V9"})
        _mount(t, day, 70_000, "V9", here["LR"], "RR")
    else:
        t["mounts"].append(dict(rng.choice(t["mounts"])))


def _vehicles(t: Tables, rng: random.Random) -> None:
    """Add cars that nobody read, or with one tire, or with none; or change what is said of the cars."""
    deed = rng.randrange(5)
    if deed < 3:
        for k in range(rng.choice((1, 3))):
            name = f"W{k}"
            t["vehicles"].append(
                {**t["vehicles"][0], "vehicle_id": name, "driver_group": rng.choice(("", "night"))}
            )
            for place in (PLACES if deed == 0 else PLACES[:1] if deed == 1 else ()):  # fmt: skip
                _tire(t, f"{name}{place}")
                _mount(
                    t,
                    rng.choice(("2025-01-01", "2024-01-01")),
                    rng.choice((0, 9000, 500_000)),
                    name,
                    f"{name}{place}",
                    place,
                )
    for row in t["vehicles"]:
        if deed == 3:
            row.update(
                mass_kg=rng.choice(("", "210", "8000", "39999")),
                front_load_share=rng.choice(("", "0.2", "0.8")),
            )
            row["drag_area_m2"] = rng.choice(("", "0.1", "12"))
        elif deed == 4:
            row.update(
                placard_front_psi=rng.choice(("8", "33", "140")), drive=rng.choice(("front", "rear", "all"))
            )


def _habits(t: Tables, rng: random.Random) -> None:
    """Push all miles into one band of speed, or none, and the events to their ends; overlap the spans."""
    for row in t["habits"]:
        share = rng.choice(
            (("1", "0", "0", "0", "0"), ("0", "0", "0", "0", "1"), ("0.2",) * 5, ("0", "0", "1", "0", "0"))
        )
        row.update(zip(BANDS[:5], share, strict=True))
        row.update(dict.fromkeys(BANDS[5:], rng.choice(("0", "1e-9", "6", "490", "9000"))))
    if rng.random() < 0.4:
        t["habits"] += [
            {**row, "from_date": "2025-01-01", "to_date": rng.choice(("2025-01-01", "2031-01-01"))}
            for row in t["habits"]
        ]


def _pressures(t: Tables, rng: random.Random) -> None:
    for row in t["pressures"]:
        row.update(
            pressure_psi=rng.choice(("0", "1", "12", "33", "60", "159")), ambient_f=rng.choice(("", "-70", "50", "139")),
            set_to_psi=rng.choice(("", "8", "33", "140")), state=rng.choice(("cold", "city", "highway")),
        )  # fmt: skip


def _small_tables(t: Tables, rng: random.Random) -> None:
    for row in t["gauges"]:
        if row["kind"] == "depth":
            row.update(reading=rng.choice(("8", "8.5", "0", "12", "80")), master=rng.choice(("8", "0", "4")))
    for row in t["alignment"]:
        row.update(
            toe_mm=rng.choice(("", "-90", "0", "3", "24", "90")),
            camber_left_deg=rng.choice(("", "-19", "0", "5")),
        )
    for row in t["tires"]:
        row.update(
            treadwear_grade=rng.choice(("", "0", "60", "1100", "2000")),
            made_week=rng.choice(("", "0100", "5399", "712", "5325", "x")),
        )
        row.update(
            price=rng.choice(("", "0", "100000")),
            tire_line=rng.choice(("Line A", "Line A", "Line B", row["tire_line"])),
        )


WHOLE = (_rename, _rename, _shift, _one_day, _stretch_days, _odometers, _odometers, _slip, _depths, _depths, _depths, _new_depths,
         _visits, _visits, _tires, _tires, _vehicles, _habits, _pressures, _small_tables)  # fmt: skip


# Deeds to one table. -------------------------------------------------------------------------------------


def _spoil_table(name: str, rows: Rows, rng: random.Random) -> tuple[list[str], Rows]:
    """Shuffle, repeat and drop rows, blank cells, drop columns, swap units; return the header and the rows."""
    header = [*rows[0]] if rows else [*base(random.Random(0))[name][0]]
    for _ in range(rng.choice((1, 1, 2, 3))):
        deed = rng.randrange(9)
        if deed == 0:
            rng.shuffle(rows)
        elif deed == 1 and rows and name not in ("vehicles", "tires", "mounts", "gauges"):
            rows += [dict(rng.choice(rows)) for _ in range(rng.choice((1, 1, 10)))]
        elif (
            deed == 2
            and rows
            and name in ("depths", "pressures", "odometer", "habits", "gauges", "alignment")
        ):
            for _ in range(rng.choice((1, 5, len(rows)))):
                if rows:
                    rows.pop(rng.randrange(len(rows)))
        elif deed == 3:
            gone = {column for column in OPTIONAL[name] if rng.random() < 0.5}
            header = [column for column in header if column not in gone]
        elif deed == 4:
            for row in rows:
                for column in BLANK_OK[name]:
                    if rng.random() < 0.3:
                        row[column] = ""
        elif deed == 5:
            header = _other_units(header, rows, rng)
        elif deed == 6:
            rng.shuffle(header)
        elif deed == 7:
            extra = rng.choice(
                ("radio_call_sign", "note", "é", MARKUP, "row", "doubt", "=x", "x" * 300, "depth")
            )
            if extra not in header:
                header.insert(rng.randrange(len(header) + 1), extra)
                for row in rows:
                    row[extra] = rng.choice(("", "x", "=1+1", MARKUP, "7,5", "a\nb"))
        else:
            for row in rows:
                for column in header:
                    row[column] = row[column] + rng.choice(("", "", "", " ", "  "))
    return header, rows


def _other_units(header: list[str], rows: Rows, rng: random.Random) -> list[str]:
    """Convert some kinds of quantity to another unit: the same one all over the table, or it would be refused."""
    out = []
    new_unit = {kind: rng.choice([*units]) for kind, units in UNITS.items()}
    for column in header:
        stem, unit = next(
            ((s, column[len(s) + 1 :]) for s in QUANTITY if column.startswith(f"{s}_")), ("", "")
        )
        kind = UNITS.get(QUANTITY.get(stem, ""), {})
        if unit not in kind:
            out.append(column)
            continue
        other = new_unit[QUANTITY[stem]] if rng.random() > 0.003 else rng.choice([*kind])
        new = f"{stem}_{other}"
        for row in rows:
            word = row.pop(column)
            row[new] = f"{float(word) * kind[unit] / kind[other]:.6g}" if word.strip() else word
        out.append(new)
    return out


def _written(name: str, header: list[str], rows: Rows, rng: random.Random) -> bytes:
    """Write the table as one of the many programs that people use would."""
    mark = rng.choice((",", ",", ",", ";", "\t"))
    comma = mark == ";" and rng.random() < 0.5
    wrong_days = rng.random() < 0.004
    out = io.StringIO()
    writer = csv.writer(
        out, delimiter=mark, lineterminator=rng.choice(("\n", "\r\n")),
        quoting=rng.choice((csv.QUOTE_MINIMAL, csv.QUOTE_MINIMAL, csv.QUOTE_ALL)),
    )  # fmt: skip
    writer.writerow(header)
    trailing = rng.choice((0, 0, 0, 1, 30))
    for row in rows:
        cells = [row[column] for column in header]
        if comma:
            cells = [
                c.replace(".", ",") if c.replace(".", "", 1).replace("-", "", 1).strip().isdigit() else c
                for c in cells
            ]
        if wrong_days:
            cells = [f"{c[8:10]}/{c[5:7]}/{c[:4]}" if c[:2] == "20" and c[4:5] == "-" else c for c in cells]
        writer.writerow(cells + [""] * trailing)
        if rng.random() < 0.003:
            writer.writerow([""] * len(header))
    text = out.getvalue()
    if trailing:
        end = text.index("\n") - text[: text.index("\n")].endswith("\r")
        text = text[:end] + mark * trailing + text[end:]
    if rng.random() < 0.004:
        text = text.replace("date", "Date", 1)
    if rng.random() < 0.1:
        text = f"sep={mark}\n{text}"
    elif rng.random() < 0.1:
        text = "\ufeff" + text
    encoding = "cp1252" if rng.random() < 0.005 else "utf-8"
    return text.rstrip("\r\n" if rng.random() < 0.2 else "").encode(encoding, errors="replace")


def plain(rows: Rows) -> bytes:
    """Write a table as it is."""
    out = io.StringIO()
    writer = csv.DictWriter(out, [*rows[0]], lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode()


def mild(rng: random.Random) -> Spoilt:
    """Return a logbook that was sound, with something done to it as a whole and to each of its tables."""
    tables = base(rng)
    sound = {name: plain(rows) for name, rows in tables.items()}
    for _ in range(rng.choice((0, 1, 1, 2, 3))):
        rng.choice(WHOLE)(tables, rng)
    files, records = {}, {}
    for name in tables:
        rows = [dict(row) for row in tables[name]]
        while True:
            header, rows = _spoil_table(name, rows, rng)
            files[name] = _written(name, header, rows, rng)
            if files[name] != sound[name]:
                break
        records[name] = sum(any(row[column].strip() for column in header) for row in rows)
    if rng.random() < 0.05:
        gone = rng.choice(("odometer", "pressures", "habits", "gauges", "alignment"))
        del files[gone], records[gone]
    return Spoilt(files, records, tuple(row["vehicle_id"].strip() for row in tables["vehicles"]))
