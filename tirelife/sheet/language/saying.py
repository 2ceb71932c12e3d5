"""Words for notes: the one place where a code becomes a sentence, a module a language.

Rooms below say codes with arguments (:class:`tirelife.codes.Note`); nothing anywhere decides by a sentence.
A language is a module here with ``SENTENCES`` (by the name of the enum and the code's value, with the note's
arguments in braces, their unit left off: ``depth_mm`` is ``{depth}``) and ``WORDS`` (of arguments that
are names, such as positions).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from functools import partial
from importlib import import_module
from typing import Final

from tirelife.codes import Note
from tirelife.errors import misused
from tirelife.language import LANGUAGES, codes_words
from tirelife.sheet import quantities
from tirelife.sheet.days import day_said, in_order
from tirelife.sheet.wrong import Wrong

__all__ = ["say", "say_all", "say_short", "scripted", "sentences", "texts", "upper_first"]

WITHIN: Final = ("middle_km", "least_km")
"""Arguments that are parts of a range as wide as ``spread_km``, and are rounded as it is."""
_SAID: Final[dict[str, Callable[[float, str, Mapping[str, str]], str]]] = {
    "_mm": quantities.depth,
    "_km": quantities.far,
    "_kpa": quantities.pressure,
}


ELSEWHERE: Final = (
    "fleet-", "none-", "head-", "fair-", "wear-", "mark-", "groups-", "page-", "try-", "how-", "walkin-",
    "air-", "change-", "cause-", "axle-", "saved-", "basis-", "care-", "chart-",
    "label-", "leak-",
)  # fmt: skip
"""How the codes of texts begin that no script of a page has a use for."""


def scripted(table: Mapping[str, str]) -> dict[str, str]:
    """Texts that a page's script is given: those of decisions, quantities and days."""
    return {code: text for code, text in table.items() if not code.startswith(ELSEWHERE)}


def texts(language: str = "en") -> Mapping[str, str]:
    """Texts of pages and decisions in a language, by their code.

    Raises
    ------
    InputError
        If there are no words in that language.
    """
    if language not in LANGUAGES:
        raise misused(Wrong.NO_LANGUAGE, language=language, known=" or ".join(LANGUAGES))
    module = import_module(f"tirelife.sheet.language.pages_{language}")
    found: Mapping[str, str] = module.TEXTS
    return found


def sentences(kind: str, language: str = "en") -> dict[str, str]:
    """Sentences of one enum of codes in a language, by the code's value."""
    return dict(import_module(f"tirelife.sheet.language.{language}").SENTENCES[kind])


def say(note: Note, units: str = "us", language: str = "en", order: str = "") -> str:
    """Say a note as a sentence.

    Parameters
    ----------
    note : Note
    units : str
        ``"us"`` or ``"metric"``.
    language : str
        One of :data:`LANGUAGES`.
    order : str
        Order of day, month and year; what goes with the units by default.

    Raises
    ------
    KeyError
        If the language has no sentence for the code.

    Examples
    --------
    >>> from tirelife.tread import Verdict
    >>> from tirelife.codes import Severity
    >>> values = (("position", "LF"), ("vehicle_id", ""), ("read_at_position", "LF"), ("groove", "outer"),
    ...           ("spot", ""), ("read_date", None), ("read_mm", 1.5), ("read_raw_mm", 1.5),
    ...           ("limit_mm", 1.6), ("moved", False), ("chance_at_limit", 0.6))
    >>> say(Note(Verdict.NEAR, Severity.WARNING, values), "metric").split(":")[0]
    'Left front'
    """
    tongue = import_module(f"tirelife.sheet.language.{language}")
    kind, table = type(note.code).__name__, texts(language)
    say_it = partial(_said, units=units, words=tongue.WORDS, table=table, order=order or in_order(units))
    said = {_bare(name): say_it(name, value) for name, value in note.values}
    values = dict(note.values)
    for name in WITHIN:
        if name in values:
            km, spread = (float(str(values[one])) for one in (name, "spread_km"))
            near = quantities.far(km, units, table, spread)
            said[_bare(name)] = table["hardly-less"] if near == said.get("over") else near
    if "reason" in values:  # codes of the fit
        said["reason"] = codes_words(str(values["reason"]), language)
    more = getattr(tongue, "PIECES", {}).get(kind)
    if more is not None:
        said |= more(said, values)
    sentence: str = tongue.SENTENCES[kind][note.code.value]
    return sentence.format(**said)


def say_all(notes: Iterable[Note], units: str = "us", language: str = "en") -> list[str]:
    """Say several notes, each once."""
    return list(dict.fromkeys(say(note, units, language) for note in notes))


def say_short(notes: Iterable[Note], units: str = "us", language: str = "en") -> str:
    """Say notes as parts of one line, the way a table has room for."""
    return "; ".join(said.rstrip(".") for said in say_all(notes, units, language))


def upper_first(text: str) -> str:
    """Return a text with its first letter as at the start of a sentence."""
    return text[:1].upper() + text[1:]


def _bare(name: str) -> str:
    return next((name.removesuffix(end) for end in _SAID if name.endswith(end)), name)


def _said(
    name: str, value: object, units: str, words: dict[str, str], table: Mapping[str, str], order: str
) -> str:
    for end, words_of in _SAID.items():
        if name.endswith(end) and isinstance(value, int | float):
            return words_of(float(value), units, table)
    if isinstance(value, dt.date):
        return "" if value != value else day_said(value, order, table)
    if isinstance(value, float) and name.startswith(("chance", "share")):
        return table["unknown"] if value != value else f"{quantities.places(100 * value, 0)}%"
    if isinstance(value, float):
        return f"{value:g}"
    return words.get(str(value), str(value))
