"""One fleet's answer by hand, for its page and its tables: nothing here is evidence of anything."""

from types import SimpleNamespace

import numpy as np
import pandas as pd

from tirelife.advice import Action, Decision, Kind, Reason, Soon
from tirelife.codes import Note, Severity
from tirelife.sheet.fleet import FleetAnswer

AS_OF = pd.Timestamp("2026-09-30")
MI, N32 = 1.609344, 0.79375
LEVELS = (10, 25, 50, 75, 90)


def days(n):
    return pd.NaT if n is None else AS_OF + pd.Timedelta(days=n)


def vehicle(
    name, severity=0, ahead=(100, 150, 200, 250, 300), miles=None, group="North", place="LF", read=5.0
):
    """A row of the list of vehicles: days and miles ahead at the five levels, the least depth in 32nds."""
    miles = miles or [30 * (np.nan if day is None else day) for day in ahead]
    return {
        "vehicle_id": name, "group": group, "place": place, "read_raw_mm": read * N32, "severity": severity,
        "read_date": AS_OF, **{f"km_left_p{q}": m * MI for q, m in zip(LEVELS, miles, strict=True)},
        **{f"date_p{q}": days(day) for q, day in zip(LEVELS, ahead, strict=True)},
    }  # fmt: skip


def buy(name="V1", by=10, scope="pair", count=2, cost=300.0, thrown=40.0, line="Fellside", action=0):
    return {
        "vehicle_id": name, "action": action, "positions": "LF RF", "scope": scope, "tire_line": line, "count": count,
        "cost": cost, "thrown_away": thrown, "by": days(by),
    }  # fmt: skip


def decision(name):
    inspect = Action(Kind.INSPECT, Severity.URGENT, ("LF",))
    both = Action(Kind.REPLACE, Severity.WARNING, ("LF", "RF"), Soon.NOW, by=AS_OF)
    look = Action(Kind.LOOK, Severity.NOTE, reasons=(Note(Reason.SERVICE, values=(("days", 90.0),)),))
    return Decision(name, AS_OF, (inspect, both, look))


def pair(ratio=1.25, lower=1.1, upper=1.4, *, different=True, apart=True, least=1.1):
    return {
        "group": "North", "other": "South", "ratio": ratio, "family_lower": lower, "family_upper": upper,
        "detectable_ratio": least, "different": different, "told_apart": apart,
    }  # fmt: skip


def comparison(*pairs, by="driver_group", hidden=0):
    return SimpleNamespace(by=by, hidden=hidden, pairs=pd.DataFrame(list(pairs)))


def fleet(**changes):
    base = {
        "name": "", "units": "us", "as_of": AS_OF, "vehicles": pd.DataFrame([vehicle("V1", 3), vehicle("V2")]),
        "decisions": {name: decision(name) for name in ("V1", "V2")},
        "hands": pd.DataFrame([("V1", 0)], columns=["vehicle_id", "action"]),
        "buy": pd.DataFrame([buy(action=1)]),
        "months": pd.DataFrame(), "lines": pd.DataFrame(columns=["tire_line", "expected", "lower", "upper"]),
        "wear": pd.DataFrame(), "comparison": None, "costs": pd.DataFrame(), "savings": pd.DataFrame(),
        "measure": pd.DataFrame([("V2", 40.0, 0.5)], columns=["vehicle_id", "days", "width"]),
        "why_no_groups": "no column names them",
    }  # fmt: skip
    return FleetAnswer(**{**base, **changes})
