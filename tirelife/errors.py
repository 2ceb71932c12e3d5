"""Errors that say what is wrong, where, and what to do about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tirelife.language import line_words, list_words, problem_words

__all__ = ["FitError", "InputError", "Problem", "misused", "refusal", "said_by_system", "unfit"]

_SHOWN = 3


@dataclass(frozen=True)
class Problem:
    """One thing wrong, or doubtful, in the input.

    Rows count as a spreadsheet does: the header is row 1, so the first record is row 2.
    ``row`` is 0 where the whole file is meant. A problem with a ``code`` is made without words: its
    own in English stand in ``what`` and ``advice``, so that an error says something wherever it is caught;
    :func:`tirelife.language.problem_words` has them in other languages.
    """

    file: str
    row: int
    column: str
    value: str
    what: str = ""
    advice: str = ""
    doubt: bool = False
    code: str = ""
    ask: str = ""
    values: tuple[tuple[str, object], ...] = ()

    def __post_init__(self) -> None:
        if self.code and not self.what:
            for name, words in zip(
                ("what", "advice"), problem_words(self.code, self.ask, self.values), strict=True
            ):
                object.__setattr__(self, name, words)

    def said(self, language: str = "en") -> tuple[str, str]:
        """Say what is wrong and what to do in a language, where it has a code; else as it was said."""
        return (
            problem_words(self.code, self.ask, self.values, language)
            if self.code
            else (self.what, self.advice)
        )

    def __str__(self) -> str:
        return line_words(self.file, self.row, self.column, self.value, (self.what, self.advice))


class InputError(ValueError):
    """Input that cannot be used, with every problem found at once.

    Attributes
    ----------
    problems : tuple of Problem
        All of them, in file and row order. ``file``, ``row``, ``column`` and ``value`` are those of
        the first. The message shows the first three of each kind and says how many more there are.
    """

    def __init__(self, problems: Problem | str | Sequence[Problem]) -> None:
        if isinstance(problems, str):
            problems = Problem("", 0, "", "", problems, "")
        self.problems = (problems,) if isinstance(problems, Problem) else tuple(problems)
        first = self.problems[0]
        self.file, self.row, self.column, self.value = first.file, first.row, first.column, first.value
        super().__init__(self.said())

    def __reduce__(self) -> tuple[type[InputError], tuple[tuple[Problem, ...]]]:
        return type(self), (self.problems,)

    def said(self, language: str = "en") -> str:
        """Say all of it in a language, a line a problem; what has no code stays as it was said."""
        return "\n".join(_lines(self.problems, language))


def refusal(
    file: str | Path,
    code: str,
    row: int = 0,
    column: str = "",
    value: str = "",
    *,
    ask: str = "",
    **values: object,
) -> InputError:
    """Give the error of one problem, made of its code and the arguments of its words.

    Parameters
    ----------
    file, row, column, value, code, ask
        As of :class:`Problem`.
    **values : object
        Arguments of the words.

    Examples
    --------
    >>> str(refusal("old.sqlite", "store-unusable", why="no such device"))
    'old.sqlite: cannot be used: no such device. Nothing was changed.'
    """
    told = tuple(values.items())
    return InputError(Problem(str(file), row, column, value, code=code, ask=ask, values=told))


def said_by_system(error: OSError) -> str:
    """Give what the system says of a file that it refuses, in its words.

    Examples
    --------
    >>> said_by_system(OSError(28, "No space left on device"))
    'no space left on device'
    """
    return (error.strerror or type(error).__name__).lower()


class FitError(ValueError):
    """A model that cannot be fitted to these data; the message names the parameter and says why.

    Attributes
    ----------
    code : str
        Why, where it is said by a code; ``values`` are the arguments of its words.
    """

    def __init__(self, what: str = "", code: str = "", values: tuple[tuple[str, object], ...] = ()) -> None:
        self.what, self.code, self.values = what, code, values
        super().__init__(self.said())

    def __reduce__(self) -> tuple[type[FitError], tuple[str, str, tuple[tuple[str, object], ...]]]:
        return type(self), (self.what, self.code, self.values)

    def said(self, language: str = "en") -> str:
        """Say it in a language."""
        return problem_words(self.code, "", self.values, language)[0] if self.code else self.what


def misused(code: str, /, **values: object) -> InputError:
    """Give the error of an argument that cannot be used, of no file.

    Parameters
    ----------
    code : str
        Of the room's own enum.
    **values : object
        Arguments of the words, as they are to stand there.

    Examples
    --------
    >>> error = misused("units-unit", unit="ell", known="mm, km")
    >>> str(error)
    "unknown unit 'ell': use one of mm, km"
    >>> error.said("es")
    "unidad desconocida 'ell': use una de mm, km"
    """
    return InputError(Problem("", 0, "", "", code=code, values=tuple(values.items())))


def unfit(code: str, /, **values: object) -> FitError:
    """Give the error of a model that cannot be fitted, as :func:`misused` does."""
    return FitError("", code, tuple(values.items()))


def _lines(problems: Sequence[Problem], language: str) -> list[str]:
    kinds: dict[tuple[str, str, str], list[Problem]] = {}
    for problem in problems:
        kinds.setdefault((problem.file, problem.column, problem.what), []).append(problem)
    lines: list[str] = []
    for alike in kinds.values():
        lines.extend(_line(problem, language) for problem in alike[:_SHOWN])
        if len(alike) > _SHOWN:
            more = list_words(language)["more"]
            lines.append(more.format(n=len(alike) - _SHOWN, row=alike[-1].row) + ".")
    return lines


def _line(problem: Problem, language: str) -> str:
    said = problem.said(language)
    if problem.file:
        return line_words(problem.file, problem.row, problem.column, problem.value, said, language)
    return " ".join(filter(None, said))
