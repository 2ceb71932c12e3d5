"""In words: what is assumed of a vehicle for want of a record, and what telling it would narrow."""

from __future__ import annotations

import pandas as pd

from tirelife.outlook import Fact
from tirelife.sheet import words
from tirelife.sheet.language import texts
from tirelife.sheet.quantities import depth, far, pressure

__all__ = ["fact_words"]

LEAST_KM = 80.0
"""A range that would be narrower by less is as good as the same; 50 miles, our choice. [km]"""


def fact_words(unknown: pd.DataFrame, units: str, language: str = "en") -> tuple[str, ...]:
    """Say what is assumed, and in which order it is worth telling; nothing where all is recorded.

    Parameters
    ----------
    unknown : DataFrame
        From :func:`tirelife.outlook.worth_of_facts`; means over several vehicles do as well.
    units : str
    """
    if unknown.empty:
        return ()
    say = texts(language)
    held, gains, idle = [], [], []
    for row in unknown.to_dict("records"):
        fact = str(row["fact"])
        if fact == Fact.NEW_DEPTH:
            deep = (depth(row[name], units, say) for name in ("assumed_mm", "low_mm", "high_mm"))
            held.append(
                say["assumed-new-depth"].format(**dict(zip(("about", "low", "high"), deep, strict=True)))
            )
        elif fact == Fact.PLACARDS:
            cold = (pressure(row[name], units, say) for name in ("assumed_kpa", "low_kpa", "high_kpa"))
            held.append(
                say["assumed-placards"].format(**dict(zip(("about", "low", "high"), cold, strict=True)))
            )
        else:
            held.append(say["assumed-drive"].format(drive=say[f"drive-{row['assumed']}"]))
        name, gain = say[f"fact-{fact}"], float(row["narrows_km"])
        if gain >= LEAST_KM:
            gains.append(say["would-narrow"].format(what=name, far=far(gain, units, say)))
        else:
            idle.append(name)
    out = [say["assumed"].format(what="; ".join(held))]
    if gains:
        out.append(say["telling"].format(what="; ".join(gains)))
    if idle:
        out.append(say["telling-idle"].format(what=words.joined(idle, say["and"])))
    return tuple(out)
