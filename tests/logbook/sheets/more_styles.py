"""Sheets quite unlike the first 25: other languages, other layouts, units in cells, work told in free text.

Written before the import was tried on them; imports nothing from tirelife.
"""

from __future__ import annotations

from tests.logbook.sheets.styles import GROOVES, MILE, WHEELS, Style, _book, _csv, _mean, _num, _u

MORE: dict[str, Style] = {}
WORDS = {
    "nl": {"moved": "banden gewisseld voor/achter", "all": "4 nieuwe banden", "front": "2 nieuwe banden voor",
           "rear": "2 nieuwe banden achter"},
    "it": {"moved": "inversione pneumatici", "all": "4 pneumatici nuovi", "front": "2 nuovi anteriori",
           "rear": "2 nuovi posteriori"},
    "pl": {"moved": "zamiana kół", "all": "4 nowe opony", "front": "2 nowe przód", "rear": "2 nowe tył"},
    "pt": {"moved": "rodízio", "all": "4 pneus novos", "front": "2 novos dianteiros", "rear": "2 novos traseiros"},
    "sv": {"moved": "skiftat hjul fram/bak", "all": "4 nya däck", "front": "2 nya fram", "rear": "2 nya bak"},
    "ja": {"moved": "ローテーション", "all": "新品4本", "front": "前輪2本新品", "rear": "後輪2本新品"},
    "uk": {"moved": "tyres swapped front to back, tracking ok", "all": "fitted 4 x new tyres",
           "front": "2 x new tyres fitted to front", "rear": "2 x new tyres fitted to rear"},
    "us": {"moved": "Cust. waited. Tires were rotated, set pressures", "all": "R&R all four tires",
           "front": "Installed 2 new tires on the front axle", "rear": "installed (2) new tires on rear"},
}  # fmt: skip
"""Common practice, no source."""


def style(function: Style) -> Style:
    MORE[function.__name__] = function
    return function


def _said(visit, language):
    return (
        ", ".join(WORDS[language][word] for word in visit.work.split(" + ") if word)
        if visit.note["en"]
        else ""
    )


def _mm(visit, comma=False):
    return [_num(_u(_mean(visit, w), "mm"), comma) for w in WHEELS]


def _32(visit):
    return [_num(_u(_mean(visit, w), "32nds")) for w in WHEELS]


def _holds(head, wheels, **others):
    return {**{name: f"depth {w}" for name, w in zip(wheels, WHEELS, strict=True)}, **others}


@style
def dutch(log, top):
    head = ["Datum", "Kenteken", "Km-stand", "LV", "RV", "LA", "RA", "Opmerking"]
    rows = [
        [v.date.strftime("%d-%m-%Y"), v.vehicle, f"{v.km:.0f}", *_mm(v, True), _said(v, "nl")]
        for v in log.visits
    ]
    holds = _holds(head, head[3:7], Datum="date", Kenteken="vehicle", Opmerking="note") | {
        "Km-stand": "odometer"
    }
    return _csv(top / "banden.csv", [head, *rows], ";"), holds, {}


@style
def italian(log, top):
    head = ["Data", "Targa", "Km percorsi", "Ant. SX", "Ant. DX", "Post. SX", "Post. DX", "Note"]
    rows = [
        [
            v.date.strftime("%d/%m/%Y"),
            v.vehicle,
            f"{v.km:,.0f}".replace(",", "."),
            *_mm(v, True),
            _said(v, "it"),
        ]
        for v in log.visits
    ]
    holds = _holds(head, head[3:7], Data="date", Targa="vehicle", Note="note") | {"Km percorsi": "odometer"}
    return _csv(top / "officina.csv", [head, *rows], ";"), holds, {}


@style
def polish(log, top):
    head = [
        "Data wizyty",
        "Nr rejestracyjny",
        "Przebieg [km]",
        "LP [mm]",
        "PP [mm]",
        "LT [mm]",
        "PT [mm]",
        "Uwagi",
    ]
    rows = [
        [
            v.date.strftime("%d.%m.%Y"),
            v.vehicle,
            round(v.km),
            *(_u(_mean(v, w), "mm") for w in WHEELS),
            _said(v, "pl"),
        ]
        for v in log.visits
    ]
    holds = {
        "Data wizyty": "date",
        "Nr rejestracyjny": "vehicle",
        "Przebieg [km]": "odometer",
        "Uwagi": "note",
    }
    return _book(top / "opony.xlsx", {"Arkusz1": [head, *rows]}), _holds(head, head[3:7]) | holds, {}


@style
def portuguese(log, top):
    head = ["Data", "Viatura", "Quilómetros", "Frente esq.", "Frente dir.", "Trás esq.", "Trás dir.", "Obs."]
    rows = [
        [
            v.date.to_pydatetime(),
            v.vehicle,
            round(v.km),
            *(_u(_mean(v, w), "mm") for w in WHEELS),
            _said(v, "pt"),
        ]
        for v in log.visits
    ]
    holds = {"Data": "date", "Viatura": "vehicle", "Quilómetros": "odometer", "Obs.": "note"}
    tabs = {"Folha1": [["Registo de pneus", None, None, "Profundidade (mm)"], head, *rows]}
    return _book(top / "pneus.xlsx", tabs), _holds(head, head[3:7]) | holds, {}


@style
def swedish(log, top):
    head = [
        "Datum",
        "Reg.nr",
        "Mätarställning",
        "Vänster fram",
        "Höger fram",
        "Vänster bak",
        "Höger bak",
        "Anmärkning",
    ]
    rows = [
        [
            v.date.strftime("%Y-%m-%d"),
            v.vehicle,
            f"{v.km:,.0f}".replace(",", " "),
            *_mm(v, True),
            _said(v, "sv"),
        ]
        for v in log.visits
    ]
    holds = {"Datum": "date", "Reg.nr": "vehicle", "Mätarställning": "odometer", "Anmärkning": "note"}
    return _csv(top / "dack.csv", [head, *rows], ";"), _holds(head, head[3:7]) | holds, {}


@style
def japanese(log, top):
    head = ["日付", "車両番号", "走行距離(km)", "左前", "右前", "左後", "右後", "備考"]
    rows = [
        [
            v.date.strftime("%Y/%m/%d"),
            v.vehicle,
            round(v.km),
            *(_u(_mean(v, w), "mm") for w in WHEELS),
            _said(v, "ja"),
        ]
        for v in log.visits
    ]
    holds = {"日付": "date", "車両番号": "vehicle", "走行距離(km)": "odometer", "備考": "note"}
    return _book(top / "溝深さ.xlsx", {"記録": [head, *rows]}), _holds(head, head[3:7]) | holds, {}


@style
def four_in_a_cell(log, top):
    head = ["Date", "Unit", "Miles", "Treads LF/RF/LR/RR (32nds)", "Work done"]
    rows = [
        [v.date.strftime("%m/%d/%Y"), v.vehicle, f"{v.km / MILE:,.0f}", "/".join(_32(v)), _said(v, "us")]
        for v in log.visits
    ]
    holds = {
        "Date": "date",
        "Unit": "vehicle",
        "Miles": "odometer",
        head[3]: "depth LF/RF/LR/RR",
        "Work done": "note",
    }
    return _csv(top / "shop.csv", [head, *rows]), holds, {}


@style
def driver_and_passenger(log, top):
    head = ["RO date", "RO #", "Vehicle", "Mileage in", "Driver front", "Pass. front", "Driver rear", "Pass. rear",
            "Services performed"]  # fmt: skip
    rows = [
        [v.date.strftime("%m/%d/%y"), 7000 + i, v.vehicle, f"{v.km / MILE:.0f}", *(f"{d}/32" for d in _32(v)),
         _said(v, "us")]
        for i, v in enumerate(log.visits)
    ]  # fmt: skip
    holds = {"RO date": "date", "Vehicle": "vehicle", "Mileage in": "odometer",
             "Services performed": "note"}  # fmt: skip
    holds |= dict(zip(head[4:8], ("depth off front", "depth near front", "depth off rear", "depth near rear"),
                      strict=True))  # fmt: skip
    return _csv(top / "ro.csv", [head, *rows]), holds, {}


@style
def three_headers(log, top):
    one = [None, None, None, "Front axle", *[None] * 5, "Rear axle", *[None] * 5, None]
    two = [None, None, None, *[t for side in ("Left", "Right") * 2 for t in (side, None, None)], None]
    three = ["Inspection date", "Asset", "Odometer (km)", *["Outside", "Middle", "Inside"] * 4, "Comment"]
    rows = [
        [v.date.to_pydatetime(), v.vehicle, round(v.km), *(_u(v.depth[w][g], "mm") for w in WHEELS for g in GROOVES),
         _said(v, "uk")]
        for v in log.visits
    ]  # fmt: skip
    merged = ["D1:I1", "J1:O1", "D2:F2", "G2:I2", "J2:L2", "M2:O2"]
    names = {
        "LF": "Front axle Left",
        "RF": "Front axle Right",
        "LR": "Rear axle Left",
        "RR": "Rear axle Right",
    }
    holds = {"Inspection date": "date", "Asset": "vehicle", "Odometer (km)": "odometer", "Comment": "note"}
    holds |= {
        f"{names[w]} {t}": f"depth {w} {g}"
        for w in WHEELS
        for t, g in zip(("Outside", "Middle", "Inside"), GROOVES, strict=True)
    }
    return (
        _book(top / "assets.xlsx", {"Treads": [one, two, three, *rows]}, {"Treads": merged}),
        holds,
        {"depth_unit": "mm"},
    )


@style
def row_a_groove(log, top):
    head = ["Fleet number", "Checked", "Odo km", "Wheel position", "Groove", "Remaining tread mm", "Remark"]
    rows = [
        [v.vehicle, v.date.strftime("%Y-%m-%d %H:%M"), f"{v.km:.0f}", w.lower(), g, _num(_u(v.depth[w][g], "mm")),
         _said(v, "uk")]
        for v in log.visits
        for w in WHEELS
        for g in GROOVES
    ]  # fmt: skip
    holds = {"Fleet number": "vehicle", "Checked": "date", "Odo km": "odometer", "Wheel position": "wheel",
             "Groove": "groove", "Remaining tread mm": "depth", "Remark": "note"}  # fmt: skip
    return _csv(top / "long.csv", [head, *rows], "\t"), holds, {}


@style
def units_in_cells(log, top):
    head = ["When", "Reg", "Speedo", "N/S/F", "O/S/F", "N/S/R", "O/S/R", "N/S/F press", "What we did"]
    rows = [
        [v.date.strftime("%a %d %B %Y"), v.vehicle, f"{v.km / MILE:,.0f} miles", *(f"{d}mm" for d in _mm(v)),
         f"{v.psi['LF']:.0f}psi", _said(v, "uk")]
        for v in log.visits
    ]  # fmt: skip
    holds = {"When": "date", "Reg": "vehicle", "Speedo": "odometer", "N/S/F": "depth near front",
             "O/S/F": "depth off front", "N/S/R": "depth near rear", "O/S/R": "depth off rear",
             "N/S/F press": "pressure near front", "What we did": "note"}  # fmt: skip
    return _csv(top / "garage.csv", [head, *rows]), holds, {"near_side": "left"}


@style
def date_in_three(log, top):
    head = ["Year", "Month", "Day", "Truck no", "Hub miles", "LF", "RF", "LR", "RR", "Mechanic's notes"]
    rows = [
        [v.date.year, v.date.month, v.date.day, v.vehicle, round(v.km / MILE), *(f"{d}/32" for d in _32(v)),
         _said(v, "us")]
        for v in log.visits
    ]  # fmt: skip
    holds = {"Year": "ignored", "Month": "ignored", "Day": "date", "Truck no": "vehicle", "Hub miles": "odometer",
             **{w: f"depth {w}" for w in WHEELS}, "Mechanic's notes": "note"}  # fmt: skip
    return _csv(top / "yard.csv", [head, *rows]), holds, {}


@style
def note_below(log, top):
    head = ["DATE", "VEHICLE", "MILES", "L.F.", "R.F.", "L.R.", "R.R."]
    rows: list[list] = [["TIRE DEPTHS IN 32NDS", *[None] * 6], head]
    for v in log.visits:
        rows.append(
            [
                v.date.to_pydatetime(),
                v.vehicle,
                round(v.km / MILE),
                *(_u(_mean(v, w), "32nds") for w in WHEELS),
            ]
        )
        if _said(v, "us"):
            rows.append([None, _said(v, "us")])
    holds = {"DATE": "date", "VEHICLE": "vehicle", "MILES": "odometer"}
    holds |= dict(zip(head[3:], (f"depth {w}" for w in WHEELS), strict=True))
    return _book(top / "shop.xlsx", {"Sheet1": rows}), holds, {}


@style
def turned(log, top):
    """A tab a vehicle, a column a visit, as a job card has it."""
    tabs: dict[str, list[list]] = {}
    for v in log.visits:
        mine = tabs.setdefault(
            v.vehicle, [["Date"], ["Mileage"], *([f"{w} (32nds)"] for w in WHEELS), ["Notes"]]
        )
        cells = [
            v.date.to_pydatetime(),
            round(v.km / MILE),
            *(_u(_mean(v, w), "32nds") for w in WHEELS),
            _said(v, "us"),
        ]
        for row, cell in zip(mine, cells, strict=True):
            row.append(cell)
    holds = {
        "Date": "date",
        "Mileage": "odometer",
        **{f"{w} (32nds)": f"depth {w}" for w in WHEELS},
        "Notes": "note",
    }
    return _book(top / "cards.xlsx", tabs), holds, {}


@style
def row_a_vehicle(log, top):
    """A row a vehicle, and a group of columns for every visit; only three visits fit."""
    visits: dict[str, list] = {}
    for v in log.visits:
        visits.setdefault(v.vehicle, []).append(v)
    one = [None, *[t for k in range(3) for t in (f"Visit {k + 1}", *[None] * 6)]]
    two = ["Vehicle", *["Date", "Miles", *WHEELS, "Work"] * 3]
    rows = []
    for name, mine in visits.items():
        cells: list = [name]
        for v in mine[:3]:
            cells += [
                v.date.to_pydatetime(),
                round(v.km / MILE),
                *(f"{d}/32" for d in _32(v)),
                _said(v, "us"),
            ]
        rows.append(cells)
    merged = ["B1:H1", "I1:O1", "P1:V1"]
    return _book(top / "wide.xlsx", {"All": [one, two, *rows]}, {"All": merged}), {"Vehicle": "vehicle"}, {}


METRIC = {
    "dutch",
    "italian",
    "polish",
    "portuguese",
    "swedish",
    "japanese",
    "three_headers",
    "row_a_groove",
    "units_in_cells",
}
