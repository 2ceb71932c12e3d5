"""Problems of a logbook in lines for people."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from tirelife.language import line_words, list_words, worded

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["problems_text"]


def problems_text(problems: pd.DataFrame, logbook: str, show: int, language: str = "en") -> str:
    """Problems as text: by kind, the first rows of each and how many more there are."""
    table = list_words(language)
    errors = problems[~problems["doubt"]]
    doubts = problems[problems["doubt"]]
    lines = []
    for title, part in (("errors", errors), ("doubts", doubts)):
        if not len(part):
            continue
        lines.append(f"{table[title]}: {len(part):,}")
        words = worded(part, language)
        for _, kind in words.groupby(["file", "column", "what"], sort=False):
            for p in kind.head(show).to_dict("records"):
                said = line_words(
                    p["file"], p["row"], p["column"], p["value"], (p["what"], p["advice"]), language
                )
                lines.append(f"  {said}")
            if len(kind) > show:
                more = table["more"].format(n=f"{len(kind) - show:,}", row=kind["row"].max())
                lines.append(f"  {more}")
        lines.append("")
    counts = [_count(len(part), what, table) for part, what in ((errors, "error"), (doubts, "doubt"))]
    verdict = f"{logbook}: {', '.join(counts)}."
    if len(errors):
        verdict += f" {table['correct']}"
    elif len(doubts):
        verdict += f" {table['kept']}"
    return "\n".join([*lines, verdict])


def _count(n: int, what: str, table: Mapping[str, str]) -> str:
    return table[f"{what}-{'one' if n == 1 else 'many'}"].format(n=f"{n:,}")
