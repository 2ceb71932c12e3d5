"""A comparison of groups, as an object for a program and in lines for people."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from tirelife.sheet import (
    budget_table,
    check_table,
    cost_table,
    group_table,
    group_texts,
    pair_table,
    pair_words,
    saving_table,
    why_table,
    worth_words,
)
from tirelife.sheet.language import upper_first
from tirelife.terminal.table import day_words, framed
from tirelife.terminal.values import rows_of
from tirelife.units import shown

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.groups import GroupComparison
    from tirelife.logbook import Logbook

__all__ = ["group_answer", "group_data", "group_text"]


def group_answer(
    book: Logbook, comparison: GroupComparison, tables: Mapping[str, pd.DataFrame], language: str = "en"
) -> dict[str, Any]:
    """The answer for a program.

    Parameters
    ----------
    book : Logbook
    comparison : GroupComparison
    tables : mapping of DataFrame
        From :func:`tirelife.groups.comparison_tables`.
    language : str
    """
    return {
        "by": comparison.by,
        "adjusted_for": list(comparison.adjusted_for),
        "level": comparison.level,
        "as_of": f"{book.as_of:%Y-%m-%d}",
        "units": book.units,
        "groups_not_shown": comparison.hidden,
        **{name: rows_of(table) for name, table in group_data(tables, book.units, language).items()},
        "cautions": _cautions(language),
    }


def group_data(
    tables: Mapping[str, pd.DataFrame], units: str, language: str = "en"
) -> dict[str, pd.DataFrame]:
    """Tables in the logbook's units, with the words of their codes beside them."""
    say = group_texts(language)
    out = {name: shown(table, units) for name, table in tables.items()}
    out["pairs"] = out["pairs"].assign(words=pair_words(out["pairs"], language))
    if "break_even" in out:
        out["break_even"] = out["break_even"].assign(words=worth_words(out["break_even"], language))
    if "savings" in out:
        rows = out["savings"].to_dict("records")
        said = [say[row["change"]].format(other=row["other"]) for row in rows]
        out["savings"] = out["savings"].assign(words=said)
    return out


def group_text(
    book: Logbook, comparison: GroupComparison, tables: Mapping[str, pd.DataFrame], language: str = "en"
) -> str:
    """The answer in lines for people, then what it rests on."""
    units, say = book.units, group_texts(language)

    def column(name: str) -> str:
        return say.get(f"column-{name}", name.replace("_", " "))

    lines = [
        say["said-first"].format(
            by=upper_first(column(comparison.by)),
            day=day_words(book.as_of, units, language),
            adjusted=", ".join(map(column, comparison.adjusted_for)) or say["said-nothing"],
        ),
        "",
        *pair_words(comparison.pairs, language),
    ]
    if comparison.hidden:
        lines.append(say["said-hidden"].format(n=comparison.hidden))
    parts = {
        "groups": group_table(comparison, units, language),
        "pairs": pair_table(comparison, language),
        "why": why_table(comparison, language),
    }
    if "costs" in tables:
        parts["costs"] = cost_table(tables["costs"], units, language)
    if "savings" in tables:
        parts["savings"] = saving_table(tables["savings"], language)
    if "budget" in tables:
        parts["budget"] = budget_table(tables["budget"], language)
    parts["checks"] = check_table(comparison.checks, failed=True, language=language)
    for name, table in parts.items():
        if len(table):
            lines += ["", say[f"part-{name}"], framed(table)]
    if "break_even" in tables:
        lines += ["", say["part-even"], *worth_words(tables["break_even"], language)]
    if comparison.checks["passed"].astype(bool).all():
        lines += ["", say["said-passed"]]
    return "\n".join([*lines, "", *_cautions(language)])


def _cautions(language: str) -> list[str]:
    """What is said beside every comparison."""
    return [text for code, text in group_texts(language).items() if code.startswith("caution-")]
