"""Arguments of problems as they stand in sentences: units and lists in words, numbers as they are written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

__all__ = ["Words", "pieces_in"]


class Words(NamedTuple):
    """What a language says where a sentence depends on what its arguments are."""

    units: Mapping[str, str]
    named: Mapping[str, Mapping[str, str]]  # by argument: the words of its codes
    times: Mapping[str, str]  # ``before`` and ``after``
    both: str  # between two things that both are so
    either: str  # between two things of which one is so
    held: str  # between units that a column may be in
    no_name: str
    rows_above: tuple[str, str]  # one, several
    which: str
    hidden: tuple[str, str]  # rows of a tab, a whole tab
    left_out: tuple[str, str]  # one row, several
    notes: Mapping[str, str]  # of rows that are left out


def pieces_in(words: Words) -> Callable[[Mapping[str, Any]], dict[str, Any]]:
    """A function that brings a problem's arguments to how a language says them."""

    def pieces(values: Mapping[str, Any]) -> dict[str, Any]:
        told: dict[str, Any] = {
            name: f"{value:g}" if isinstance(value, float) else value for name, value in values.items()
        }
        for name in ("unit", "column_unit", "usual"):
            if name in told:
                told[f"{name}_code"] = told[name]
                told[name] = words.units.get(told[name], told[name])
        if "before" in told:
            sides = [f"{told[when]} {said}" for when, said in words.times.items() if told[when]]
            told["around"] = words.both.join(sides)
        if "names" in told:
            names = [name or words.no_name for name in told["names"]]
            told["names"], told["either"] = ", ".join(names), words.either.join(names)
        for name, codes in words.named.items():
            if name in told:
                told[name] = codes[told[name]]
        if "choices" in told:
            told["choices"] = ", ".join(told["choices"])
        if "below" in told:
            told["rows_above"] = _counted(words.rows_above, told["below"])
            told["header_row"] = told["below"] + 1
        if "options" in told:
            told["which"] = words.which.format(options=words.either.join(told["options"]))
        if "held" in told:
            told["held"] = words.held.join(told["held"])
        if "hidden" in told:
            told["hidden"] = ", ".join(_tab(words.hidden, tab, rows) for tab, rows in told["hidden"])
        if "left_out" in told:
            told["left_out"] = "; ".join(
                f"{_counted(words.left_out, n)}: {_all(words.notes, notes)}" for n, notes in told["left_out"]
            )
        if "high" in told and told.get("column_unit"):
            told["high"] = f"{told['high']} {told['column_unit']}"
        return told

    return pieces


def _counted(one_or_several: tuple[str, str], n: int) -> str:
    return one_or_several[n > 1].format(n=n)


def _tab(hidden: tuple[str, str], tab: str, rows: tuple[int, ...]) -> str:
    return hidden[not rows].format(tab=repr(tab), rows=", ".join(map(str, rows)))


def _all(words: Mapping[str, str], notes: tuple[tuple[str, tuple[tuple[str, object], ...]], ...]) -> str:
    return "; ".join(words[code].format_map(dict(values)) for code, values in notes)
