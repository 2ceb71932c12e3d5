"""Words of problems: the one place where what a logbook doubts becomes a sentence, a module a language.

This lies below all rooms, and is tables and nothing else, because an exception has to say something wherever
it is caught. Rooms hand over a code with arguments; :class:`tirelife.errors.Problem` and the edges ask here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "LANGUAGES",
    "check_words",
    "code_words",
    "codes_words",
    "doubt_words",
    "fault_words",
    "line_words",
    "list_words",
    "problem_words",
    "title_of",
    "worded",
]

LANGUAGES: Final = ("en", "es")
"""Languages there are words in, of problems and of all that is said in ``sheet``."""


def problem_words(
    code: str, ask: str = "", values: Sequence[tuple[str, object]] = (), language: str = "en"
) -> tuple[str, str]:
    """Say what is wrong or doubtful, and what to do about it.

    Parameters
    ----------
    code : str
        What is found.
    ask : str
        What to do, where that differs for one code; the code's own advice otherwise.
    values : sequence of (str, object)
        Arguments of both sentences.
    language : str
        One of :data:`LANGUAGES`.

    Raises
    ------
    KeyError
        If the language has no words for a code or lacks an argument.

    Examples
    --------
    >>> problem_words("key-twice", values=(("row", 2),))
    ('is there twice', 'It stands in row 2 already; each may stand once.')
    """
    misused: Mapping[str, str] = import_module(f"tirelife.language.wrong_{language}").WRONG
    if code in misused:
        told = {name: _listed(value, language) for name, value in values}
        return misused[code].format_map(told), ""
    tongue = _tongue(language)
    pieces: dict[str, Any] = tongue.pieces(dict(values))
    return tongue.WHAT[code].format_map(pieces), tongue.ADVICE[ask or code].format_map(pieces)


def worded(problems: pd.DataFrame, language: str = "en") -> pd.DataFrame:
    """Problems of a logbook with their words.

    Parameters
    ----------
    problems : DataFrame
        As from :func:`tirelife.logbook.check_logbook`.
    language : str

    Returns
    -------
    DataFrame
        file, row, column, value, what, advice, doubt, code, severity; without the arguments of the words.
    """
    said = [
        problem_words(code, ask, values, language)
        for code, ask, values in zip(problems["code"], problems["ask"], problems["values"], strict=True)
    ]
    out = problems.drop(columns=["ask", "values"])
    for at, name in enumerate(("what", "advice")):
        out[name] = [one[at] for one in said]
        out[name] = out[name].astype("str")
    names = ["file", "row", "column", "value", "what", "advice", "doubt", "code", "severity"]
    return out[names]


def list_words(language: str = "en") -> dict[str, str]:
    """Give what heads a list of problems and sums it up, by code."""
    return dict(_tongue(language).TEXT)


def line_words(
    file: str, row: int, column: str, value: str, said: tuple[str, str], language: str = "en"
) -> str:
    """Say where a problem is, what was found there, what is wrong and what to do, as one line.

    Parameters
    ----------
    file, row, column, value
        Of the problem; row 0, and empty texts, are left out.
    said : tuple of str
        From :func:`problem_words`.
    language : str

    Examples
    --------
    >>> line_words("depths.csv", 7, "depth_mm", "x", ("no es un número", "Corríjalo."), "es")
    "depths.csv, fila 7, columna depth_mm: no es un número (se encontró 'x'). Corríjalo."
    """
    table = list_words(language)
    where = file + (table["row"].format(row=row) if row else "")
    where += table["column"].format(column=column) if column else ""
    found = table["found"].format(value=value) if value else ""
    return f"{where}: {said[0]}{found}. {said[1]}".strip()


def title_of(code: str, language: str = "en") -> str:
    """Say what is doubted where its arguments are not at hand.

    Examples
    --------
    >>> title_of("slip-other-unit")
    'the visit may be in another unit'
    """
    tongue = _tongue(language)
    told: Mapping[str, str] = tongue.ANY
    title: str = tongue.WHAT[code].format_map(told)
    return title


def doubt_words(doubts: str, language: str = "en") -> str:
    """Say doubts of a record as they stand in the ``doubt`` column of its table: column and code, semicolons.

    Examples
    --------
    >>> doubt_words("depth_mm: slip-other-unit; no-tire-known")
    'depth_mm: the visit may be in another unit; no tire is known in this place on this day'
    """
    said = []
    for one in filter(None, doubts.split("; ")):
        column, between, code = one.rpartition(": ")
        said.append(f"{column}{between}{title_of(code, language)}")
    return "; ".join(said)


def code_words(code: str, values: Mapping[str, object] | None = None, language: str = "en") -> str:
    """Say what a room notes by a code; nothing for an empty one.

    Raises
    ------
    KeyError
        If the language has no words for the code or lacks an argument.

    Examples
    --------
    >>> code_words("fit-bends-slows", {"about": "0.31"})
    'Wear is bending: it slows as the tread goes (q = 0.31). Straight lines mislead here.'
    >>> code_words("")
    ''
    """
    if not code:
        return ""
    table: Mapping[str, str] = import_module(f"tirelife.language.problems_notes_{language}").NOTES
    return table[code].format_map(values or {})


def check_words(check: str, language: str = "en") -> str:
    """Say what is checked of a fit or of a comparison: a code, alone or before what it is about.

    Examples
    --------
    >>> check_words("lost-ranges"), check_words("own-kind: drive")
    ('ranges that could not be found', 'pairs of groups with their own drive layout')
    """
    code, _, about = check.partition(": ")
    table: Mapping[str, str] = import_module(f"tirelife.language.problems_notes_{language}").NOTES
    return code_words(f"check-{code}", {"about": table.get(f"kind-{about}", about)}, language)


def codes_words(codes: str, language: str = "en") -> str:
    """Say several codes that stand in one cell, semicolons between; nothing for an empty one.

    Examples
    --------
    >>> codes_words("lacks-dip; lacks-spots").split("; ")[0]
    'second-rib dip needs all five grooves'
    """
    return "; ".join(code_words(code, language=language) for code in filter(None, codes.split("; ")))


def fault_words(code: str, language: str = "en") -> tuple[str, str]:
    """Say what is wrong with recorded trips and what was done, and what to do.

    Examples
    --------
    >>> fault_words("left-out-mph")
    ('speeds look like mph', 'rename the column speed_mph')
    """
    table = import_module(f"tirelife.language.problems_notes_{language}").FAULTS
    what, advice = table[code]
    return what, advice


def _listed(value: object, language: str) -> object:
    """Several codes as one text, anything else as it is."""
    if isinstance(value, tuple):
        return "; ".join(": ".join(fault_words(code, language)) for code in value)
    return value


def _tongue(language: str) -> Any:
    return import_module(f"tirelife.language.problems_{language}")
