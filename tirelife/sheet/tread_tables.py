"""What the tread says, as tables of words for the notebook."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import pandas as pd

from tirelife.language import code_words, codes_words
from tirelife.sheet.language import texts
from tirelife.sheet.quantities import places
from tirelife.sheet.tread_words import evidence_words
from tirelife.tread import CAUSE_NAMES
from tirelife.units import LABELS, SHOWN, convert

__all__ = ["cause_table", "correction_table", "gauge_asks", "gauge_table", "profile_table"]

_INSIDE: Final = {"depth": "mm", "pressure": "kpa"}
_PARTS: Final = {
    "level": "Mean",
    "tilt": "Outer less inner",
    "crown": "Center less edges",
    "dip": "Second-rib dip",
    "around": "From spot to spot",
}


def profile_table(profiles: pd.DataFrame, units: str) -> pd.DataFrame:
    """Profiles in their parts, from :func:`tirelife.tread.tread_profiles`, give or take two errors."""
    unit = SHOWN[units]["depth"]
    rows = []
    for row in profiles.to_dict("records"):
        cells = []
        for part in _PARTS:
            value, error = (float(convert(row[f"{part}{end}_mm"], "mm", unit)) for end in ("", "_se"))
            cells.append("" if value != value else f"{places(value, 1)} ± {places(1.96 * error, 1)}")
        rows.append((_wheel(row["position"]), *cells, codes_words(str(row["reason"]))))
    heads = [f"{words}, {LABELS[unit]}" for words in _PARTS.values()]
    return pd.DataFrame(rows, columns=["Wheel", *heads, "Not known"])


def cause_table(causes: pd.DataFrame, units: str, least: float = 0.05) -> pd.DataFrame:
    """Causes of some weight at each wheel, from :func:`tirelife.tread.weigh_causes`, likeliest first."""
    rows = [
        (_wheel(row["position"]), CAUSE_NAMES[row["cause"]], f"{row['probability']:.0%}",
         evidence_words(row["evidence"], units), str(row["next_check"]).capitalize())
        for row in causes[causes["probability"] >= least].to_dict("records")
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=["Wheel", "Cause", "Chance", "Evidence", "Next check"])


def correction_table(ratios: pd.DataFrame) -> pd.DataFrame:
    """How much further each tire goes with a cause put right: :func:`tirelife.tread.remaining_ratios`."""
    rows = [
        (_wheel(row["position"]), CAUSE_NAMES[row["cause"]], f"{row['probability']:.0%}",
         str(row["groove_now"]).replace("_", " "), places(row["ratio"], 1),
         code_words(str(row["reason"] or "")))
        for row in ratios.to_dict("records")
    ]  # fmt: skip
    heads = [
        "Wheel",
        "Put right",
        "Chance that it is the cause",
        "Groove first down",
        "Goes on, times",
        "Note",
    ]
    return pd.DataFrame(rows, columns=heads)


def gauge_table(gauges: pd.DataFrame, units: str) -> pd.DataFrame:
    """Gauges against their masters, from :func:`tirelife.logbook.gauge_study`."""
    rows = []
    for row in gauges.to_dict("records"):
        kind = str(row["kind"])
        unit = SHOWN[units][kind]
        numbers = (
            places(float(convert(row[name], _INSIDE[kind], unit)), 2) if row[name] == row[name] else ""
            for name in ("bias", "bias_se", "repeatability")
        )
        asked = " ".join(code_words(code, values) for code, values in gauge_asks(row, units))
        rows.append((str(row["gauge_id"]), kind, str(row["comparisons"]), *numbers, LABELS[unit], asked))
    heads = ["Gauge", "Reads", "Comparisons", "Bias", "Its standard error", "Repeatability", "Unit"]
    return pd.DataFrame(rows, columns=[*heads, "What to do"])


def gauge_asks(row: Mapping[Any, Any], units: str) -> list[tuple[str, dict[str, object]]]:
    """What to do about a gauge, from its row of a study: codes with the arguments of their words."""
    if not row["comparisons"]:
        return [("gauge-not-compared", {})]
    asked: list[tuple[str, dict[str, object]]] = []
    if row["off"]:
        unit = SHOWN[units][str(row["kind"])]
        off = float(convert(abs(row["worst"]), _INSIDE[str(row["kind"])], unit))
        shown = f"{off:.2g}/32 in" if unit == "32nds" else f"{off:.2g} {LABELS[unit]}"
        asked.append((f"gauge-reads-{'high' if row['worst'] > 0 else 'low'}", {"off": shown}))
    if row["overdue"]:
        asked.append(("gauge-overdue", {"day": f"{row['last_date']:%Y-%m-%d}"}))
    return asked


def _wheel(position: str) -> str:
    return texts().get(position, position)
