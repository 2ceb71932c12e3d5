"""Eight more sheets as shops keep them, written before the import was tried on them; imports nothing from tirelife.

Units in a row of their own, a tab a month, all four wheels in words in one cell, wheels as rows and visits as
columns, cells merged down over a customer's visits, boxes ticked, signatures below, odometers in thousands.
"""

from __future__ import annotations

from tests.logbook.sheets.styles import GROOVES, MILE, WHEELS, Style, _book, _csv, _mean, _num, _u

HELD: dict[str, Style] = {}
METRIC = {"units_in_second_row", "wheels_down_visits_across", "dotted_thousands_signed"}


def style(function: Style) -> Style:
    HELD[function.__name__] = function
    return function


def _by_vehicle(log):
    out = {}
    for v in log.visits:
        out.setdefault(v.vehicle, []).append(v)
    return out


@style
def units_in_second_row(log, top):
    head = ["Date", "Vehicle", "Odo", "FL", "FR", "RL", "RR", "Remarks"]
    units = ["dd/mm/yyyy", "reg", "km", "mm", "mm", "mm", "mm", None]
    rows = [
        [
            v.date.strftime("%d/%m/%Y"),
            v.vehicle,
            round(v.km),
            *(_u(_mean(v, w), "mm") for w in WHEELS),
            v.note["en"],
        ]
        for v in log.visits
    ]
    holds = {"Date dd/mm/yyyy": "date", "Vehicle reg": "vehicle", "Odo km": "odometer", "Remarks": "note"}
    holds |= {f"{name} mm": f"depth {w}" for name, w in zip(("FL", "FR", "RL", "RR"), WHEELS, strict=True)}
    return _book(top / "depot.xlsx", {"Log": [["Depot 4"], head, units, *rows]}), holds, {}


@style
def a_tab_a_month(log, top):
    head = ["Day", "Van no.", "Miles", *(f"{w} 32nds" for w in WHEELS), "Job"]
    tabs: dict[str, list] = {}
    for v in sorted(log.visits, key=lambda one: one.date):
        rows = tabs.setdefault(v.date.strftime("%b %Y"), [["Tire checks " + v.date.strftime("%B %Y")], head])
        rows.append(
            [
                v.date.day,
                v.vehicle,
                round(v.km / MILE),
                *(_u(_mean(v, w), "32nds") for w in WHEELS),
                v.note["en"],
            ]
        )
    for rows in tabs.values():
        rows += [[], ["Checked by: ______________"]]
    holds = {
        "Day": "date",
        "Van no.": "vehicle",
        "Miles": "odometer",
        "Job": "note",
        **{f"{w} 32nds": f"depth {w}" for w in WHEELS},
    }
    return _book(top / "checks.xlsx", tabs), holds, {}


@style
def wheels_in_words(log, top):
    head = ["Date", "Cust. vehicle", "Mileage", "Tyres", "Done"]
    rows = [
        [
            v.date.strftime("%m/%d/%Y"), v.vehicle, f"{v.km / MILE / 1000:.1f}k",
            " ".join(f"{w} {_num(_u(_mean(v, w), '32nds'))}" for w in WHEELS), v.note["en"].replace("rotated", "swapped F/R"),
        ]
        for v in log.visits
    ]  # fmt: skip
    holds = {
        "Date": "date",
        "Cust. vehicle": "vehicle",
        "Mileage": "odometer",
        "Done": "note",
        "Tyres": "depth LF/RF/LR/RR",
    }
    return _csv(top / "shop.csv", [head, *rows]), holds, {"depth_unit": "32nds", "distance_unit": "mi"}


@style
def wheels_down_visits_across(log, top):
    tabs = {}
    for vehicle, visits in _by_vehicle(log).items():
        tabs[vehicle] = [
            ["Fahrzeug", vehicle],
            ["Datum", *(v.date.to_pydatetime() for v in visits)],
            ["km-Stand", *(round(v.km) for v in visits)],
            *([f"{name} (mm)", *(_u(_mean(v, w), "mm") for v in visits)] for name, w in zip(("VL", "VR", "HL", "HR"), WHEELS, strict=True)),
            ["Arbeiten", *(v.note["de"] for v in visits)],
        ]  # fmt: skip
    holds = {"Datum": "date", "km-Stand": "odometer", "Arbeiten": "note"}
    holds |= {f"{name} (mm)": f"depth {w}" for name, w in zip(("VL", "VR", "HL", "HR"), WHEELS, strict=True)}
    return _book(top / "karten.xlsx", tabs), holds, {}


@style
def merged_customers(log, top):
    head = ["Customer", "Tag #", "Date in", "Odometer", "LF", "RF", "LR", "RR", "Rotated?", "New tires?"]
    rows, spans = [["Corner Garage", *[None] * 9], head], ["A1:J1"]
    for number, (vehicle, visits) in enumerate(_by_vehicle(log).items()):
        first = len(rows) + 1
        for i, v in enumerate(visits):
            parts = v.work.split(" + ") if v.note["en"] else []
            new = {"all": "all 4", "front": "fronts", "rear": "rears"}
            rows.append([
                f"Cust. {number}" if i == 0 else None, vehicle if i == 0 else None, v.date.to_pydatetime(), round(v.km / MILE),
                *(f"{_num(_u(_mean(v, w), '32nds'))}/32nds" for w in WHEELS),
                "x" if "moved" in parts else None, next((new[p] for p in parts if p in new), None),
            ])  # fmt: skip
        if len(visits) > 1:
            spans += [f"A{first}:A{len(rows)}", f"B{first}:B{len(rows)}"]
    holds = {
        "Tag #": "vehicle",
        "Date in": "date",
        "Odometer": "odometer",
        **{w: f"depth {w}" for w in WHEELS},
    }
    return _book(top / "garage.xlsx", {"2024": rows}, {"2024": spans}), holds, {"distance_unit": "mi"}


@style
def dotted_thousands_signed(log, top):
    head = ["Data", "Matricola", "KM", "Ant SX", "Ant DX", "Post SX", "Post DX", "Note"]
    rows = [["Autofficina - registro battistrada"], [], head]
    for v in log.visits:
        rows.append([
            v.date.strftime("%d.%m.%y"), v.vehicle, f"{v.km:,.0f}".replace(",", ".") + " km",
            *(f"{_u(_mean(v, w), 'mm'):.1f}".replace(".", ",") + "mm" for w in WHEELS), "",
        ])  # fmt: skip
    rows += [[], ["Totale visite", len(log.visits)], ["Firma:", "", "", "____"], ["Il responsabile"]]
    holds = {"Data": "date", "Matricola": "vehicle", "KM": "odometer", "Note": "note"}
    holds |= {name: f"depth {w}" for name, w in zip(head[3:7], WHEELS, strict=True)}
    return _csv(top / "registro.csv", rows, ";", "cp1252"), holds, {}


@style
def dates_over_groups(log, top):
    """A row a vehicle; each visit's date merged over its columns, and nothing else says that it is a date."""
    most = 3
    inside = ["Mi", *WHEELS, "Work"]
    one, two, rows = ["Unit"], [None], []
    mine = _by_vehicle(log)
    days = sorted({v.date for v in log.visits})
    cut = days[:: max(1, len(days) // most)][:most]
    for day in cut:
        one += [day.to_pydatetime(), *[None] * (len(inside) - 1)]
        two += inside
    for vehicle, visits in mine.items():
        row = [vehicle]
        for day in cut:
            v = next((v for v in visits if v.date == day), None)
            row += (
                [None] * len(inside)
                if v is None
                else [round(v.km / MILE), *(_u(_mean(v, w), "32nds") for w in WHEELS), v.note["en"]]
            )
        rows.append(row)
    holds = {"Unit": "vehicle", "Mi": "odometer", "Work": "note", **{w: f"depth {w}" for w in WHEELS}}
    return _book(top / "board.xlsx", {"Board": [one, two, *rows]}), holds, {"depth_unit": "32nds"}


@style
def least_of_a_job_card(log, top):
    """Depths as '6/32nds', grooves apart by spaces, the vehicle in the title of a block, work ticked."""
    rows: list[list] = []
    for vehicle, visits in _by_vehicle(log).items():
        rows += [[f"VEHICLE: {vehicle}"], ["DATE", "MILES", "L/F", "R/F", "L/R", "R/R", "ROTATE", "NOTES"]]
        for v in visits:
            rows.append([
                v.date.strftime("%d-%b-%y"), f"{v.km / MILE:,.0f} mi",
                *(" ".join(_num(_u(v.depth[w][g], "32nds")) for g in GROOVES) for w in WHEELS),
                "✓" if "moved" in v.work and v.note["en"] else "", v.note["en"],
            ])  # fmt: skip
        rows += [["Signed", "", "", "", "", "", "", ""], []]
    holds = {
        "DATE": "date",
        "MILES": "odometer",
        "L/F": "depth LF",
        "R/F": "depth RF",
        "L/R": "depth LR",
        "R/R": "depth RR",
        "NOTES": "note",
    }
    return _csv(top / "cards.csv", rows), holds, {"depth_unit": "32nds"}
