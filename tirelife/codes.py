"""What the package has to say beside its numbers, as codes with arguments; words are made at the edge."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum, StrEnum

__all__ = ["Note", "Severity", "worst"]


class Severity(IntEnum):
    """How much a note matters, rising."""

    NOTE = 0
    """Worth knowing."""
    DOUBT = 1
    """A record or an answer is in question: look again."""
    WARNING = 2
    """Act soon."""
    URGENT = 3
    """A qualified person looks at it now; goes before everything else."""


@dataclass(frozen=True, slots=True)
class Note:
    """One thing to say: a code of the room's own enum, how much it matters, and what it is about.

    Attributes
    ----------
    code : StrEnum
        Member of an enum that the room defines; branches compare codes, never words.
    severity : Severity
    values : tuple of (str, object)
        Arguments of the sentence, in inside units, each named with its unit (``depth_mm``).

    Examples
    --------
    >>> class Limit(StrEnum):
    ...     AT = "limit-at"
    >>> Note(Limit.AT, Severity.URGENT, (("depth_mm", 1.5),)).value("depth_mm")
    1.5
    >>> str(Note(Limit.AT, Severity.URGENT, (("depth_mm", 1.5),)))
    'limit-at(depth_mm=1.5)'
    """

    code: StrEnum
    severity: Severity = Severity.NOTE
    values: tuple[tuple[str, object], ...] = ()

    def value(self, name: str) -> object:
        """Return one argument by its name; KeyError if the note has none such."""
        return dict(self.values)[name]

    def __str__(self) -> str:
        inside = ", ".join(f"{name}={value}" for name, value in self.values)
        return f"{self.code.value}({inside})" if inside else self.code.value


def worst(notes: Iterable[Note]) -> Severity:
    """Highest severity among notes; NOTE where there are none.

    Examples
    --------
    >>> worst([]).name
    'NOTE'
    """
    return max((note.severity for note in notes), default=Severity.NOTE)
