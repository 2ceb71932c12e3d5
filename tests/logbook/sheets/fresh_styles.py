"""Five sheets written before the import was tried on them: two rows a visit, French and Dutch heads, thousands.

Imports nothing from tirelife.
"""

from __future__ import annotations

from tests.logbook.sheets.styles import MILE, WHEELS, Style, _book, _csv, _mean, _num, _u

FRESH: dict[str, Style] = {}
METRIC = {"french_tab_a_month", "dutch_two_tables", "german_thousands"}


def style(function: Style) -> Style:
    FRESH[function.__name__] = function
    return function


@style
def pressures_over_depths(log, top):
    """Wheels across, two rows a visit: what was pumped in above, what was measured below."""
    head = ["Date", "Unit", "Odometer", "", "LF", "RF", "LR", "RR", "Work"]
    rows = []
    for v in log.visits:
        rows.append(
            [
                v.date.to_pydatetime(),
                v.vehicle,
                round(v.km / MILE),
                "PSI",
                *(v.psi[w] for w in WHEELS),
                v.note["en"],
            ]
        )
        rows.append([None, None, None, "32nds", *(_u(_mean(v, w), "32nds") for w in WHEELS), None])
    holds = {"Date": "date", "Unit": "vehicle", "Odometer": "odometer", "Work": "note"}
    return _book(top / "pairs.xlsx", {"Yard": [["Yard book 2024"], head, *rows]}), holds, {}


@style
def french_tab_a_month(log, top):
    months = [
        "janvier",
        "février",
        "mars",
        "avril",
        "mai",
        "juin",
        "juillet",
        "août",
        "septembre",
        "octobre",
        "novembre",
        "décembre",
    ]
    head = ["Le", "N° interne", "Compteur (km)", "AV G", "AV D", "AR G", "AR D", "Travaux effectués"]
    tabs: dict[str, list] = {}
    for v in sorted(log.visits, key=lambda one: one.date):
        name = f"{months[v.date.month - 1]} {v.date.year}"
        rows = tabs.setdefault(name, [[f"Contrôle des pneus, {name}"], ["Profondeurs en mm"], head])
        rows.append(
            [
                v.date.strftime("%d/%m/%Y"),
                v.vehicle,
                f"{v.km:,.0f}".replace(",", "\u202f"),
                *(_num(_u(_mean(v, w), "mm"), True) for w in WHEELS),
                v.note["fr"],
            ]
        )
    for rows in tabs.values():
        rows.append(["Visa du responsable :"])
    holds = {"Le": "date", "N° interne": "vehicle", "Compteur (km)": "odometer", "Travaux effectués": "note"}
    holds |= {name: f"depth {w}" for name, w in zip(head[3:7], WHEELS, strict=True)}
    return _book(top / "controle.xlsx", tabs), holds, {}


@style
def dutch_two_tables(log, top):
    """Two-row head: axle above, side below; the days as words."""
    months = [
        "januari",
        "februari",
        "maart",
        "april",
        "mei",
        "juni",
        "juli",
        "augustus",
        "september",
        "oktober",
        "november",
        "december",
    ]
    one = ["Controledatum", "Kenteken", "Kilometerstand", "Vooras", None, "Achteras", None, "Uitgevoerd"]
    two = [None, None, None, "links", "rechts", "links", "rechts", None]
    said = {
        "moved": "voor en achter gewisseld",
        "all": "vier nieuwe banden",
        "front": "nieuwe voorbanden",
        "rear": "nieuwe achterbanden",
    }
    rows = [
        [
            f"{v.date.day} {months[v.date.month - 1]} {v.date.year}",
            v.vehicle,
            f"{v.km:,.0f}".replace(",", "."),
            *(_num(_u(_mean(v, w), "mm"), True) for w in WHEELS),
            ", ".join(said[x] for x in v.work.split(" + ") if x) if v.note["en"] else "",
        ]
        for v in log.visits
    ]
    holds = {
        "Controledatum": "date",
        "Kenteken": "vehicle",
        "Kilometerstand": "odometer",
        "Uitgevoerd": "note",
    }
    holds |= {
        f"{a} {s}": f"depth {w}"
        for (a, s), w in zip(
            (("Vooras", "links"), ("Vooras", "rechts"), ("Achteras", "links"), ("Achteras", "rechts")),
            WHEELS,
            strict=True,
        )
    }
    return (
        _book(top / "wagenpark.xlsx", {"Blad1": [one, two, *rows]}, {"Blad1": ["D1:E1", "F1:G1"]}),
        holds,
        {},
    )


@style
def odometer_in_thousands(log, top):
    head = [
        "Seen",
        "Taxi",
        "Miles (thousands)",
        "Tread 32nds FL",
        "Tread 32nds FR",
        "Tread 32nds RL",
        "Tread 32nds RR",
        "Jobs done",
    ]
    rows = [
        [
            v.date.strftime("%Y-%m-%d"),
            v.vehicle,
            f"{v.km / MILE / 1000:.2f}",
            *(_num(_u(_mean(v, w), "32nds")) for w in WHEELS),
            v.note["en"],
        ]
        for v in log.visits
    ]
    holds = {"Seen": "date", "Taxi": "vehicle", "Miles (thousands)": "odometer", "Jobs done": "note"}
    holds |= {name: f"depth {w}" for name, w in zip(head[3:7], WHEELS, strict=True)}
    return _csv(top / "taxis.csv", [head, *rows]), holds, {}


@style
def german_thousands(log, top):
    head = ["Datum", "Wagen-Nr.", "Tkm", "Profil VL", "Profil VR", "Profil HL", "Profil HR", "Was gemacht"]
    rows = [
        [
            v.date.strftime("%d.%m.%Y"),
            v.vehicle,
            f"{v.km / 1000:.1f}".replace(".", ","),
            *(_num(_u(_mean(v, w), "mm"), True) for w in WHEELS),
            v.note["de"],
        ]
        for v in log.visits
    ]
    holds = {"Datum": "date", "Wagen-Nr.": "vehicle", "Tkm": "odometer", "Was gemacht": "note"}
    holds |= {name: f"depth {w}" for name, w in zip(head[3:7], WHEELS, strict=True)}
    return _csv(top / "fuhrpark.csv", [head, *rows], ";"), holds, {}
