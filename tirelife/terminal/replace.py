"""Ways to replace a vehicle's tires, as an object for a program and in lines for people."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

from tirelife.rotation import SURE
from tirelife.sheet import ranged
from tirelife.sheet.language import place_words, texts
from tirelife.terminal.decision import decision_rows
from tirelife.terminal.table import day_words, place, rows_table
from tirelife.terminal.values import plain, rows_of
from tirelife.tread import Verdict
from tirelife.units import LABELS, SHOWN, shown

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.advice import Decision
    from tirelife.logbook import Logbook
    from tirelife.rotation import SetNow

__all__ = ["replace_answer", "replace_text"]

_HEADS: Final = ("replace", "when", "kind of tire", "money a\n1,000 {}", "8 chances\nin 10", "first\nbill",
                 "tread\nthrown away", "chance that it\nis cheapest, %")  # fmt: skip
_TIE: Final = "not told from the cheapest"
_WHY_NOT: Final = {
    "match-axle": "the other tire of the axle would differ too much",
    "match-drive": "what stays would differ too much for all-wheel drive",
    "due-stays": "a tire at its limit would stay on",
}


def replace_answer(
    ways: pd.DataFrame, now: SetNow, decision: Decision | None, over_km: float, book: Logbook
) -> dict[str, Any]:
    """The answer for a program: ways with money a 1,000 of the logbook's distance, and the decision.

    Parameters
    ----------
    ways : DataFrame
        From :func:`tirelife.rotation.vehicle_ways`, over ``over_km``. [km]
    now : SetNow
    decision : Decision or None
    over_km : float
    book : Logbook
    """
    far = SHOWN[book.units]["distance"]
    why_not = [note.code.value if note else None for note in ways["note"].where(ways["note"].notna(), None)]
    table = ways.drop(columns="note")
    table.insert(list(table).index("allowed") + 1, "why_not", why_not)
    return {
        "vehicle_id": now.vehicle_id,
        "as_of": f"{book.as_of:%Y-%m-%d}",
        "over": {"distance": plain(over_km, "km", far), "unit": far},
        "decision": [] if decision is None else decision_rows(decision, book.units),
        "at_limit": [p for p, v in now.verdicts.items() if v == Verdict.AT_OR_UNDER],
        "ways": rows_of(shown(table, book.units)),
    }


def replace_text(answer: Mapping[str, Any]) -> str:
    """The same answer in lines for people."""
    far, over = answer["over"]["unit"], answer["over"]["distance"]
    miles, day = LABELS[far], day_words(answer["as_of"], "us" if far == "mi" else "metric")
    rows: list[tuple[str, ...]] = []
    closed: list[str] = []
    for way in answer["ways"]:
        what = place_words(tuple(way["positions"].split()), texts())
        if not way["allowed"]:
            closed.append(f"Not open: {what}, {way['when']}: {_WHY_NOT[way['why_not']]}.")
            continue
        cost = ranged(*(way[f"cost_per_1000{far}{end}"] for end in ("", "_p10", "_p90")))
        money = (f"{way[name]:,.0f}" for name in ("paid_now", "thrown_away"))
        tie = f", {_TIE}" if 0 < way["chance_dearer"] < SURE else ""
        chance = f"{100 * way['chance_cheapest']:.0f}{tie}"
        rows.append((what, way["when"], way["line"] or "as on the car", *cost, *money, chance))
    lines = [
        "What to do",
        *(f"  {action['words']}" for action in answer["decision"]),
        "",
        f"{answer['vehicle_id']}, {day}: cost a 1,000 {miles} over the next {over:,.0f}",
        "",
        rows_table([head.format(miles) for head in _HEADS], rows, right=range(3, 7)),
        *(["", *closed] if closed else []),
    ]
    if answer["at_limit"]:
        at = ", ".join(place(p) for p in answer["at_limit"])
        lines += ["", f"Read at or under the removal depth: {at}. Have it seen to now."]
    return "\n".join([*lines, "", "Money as in the prices. Local codes and the vehicle's placard rule."])
