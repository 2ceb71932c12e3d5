"""What a page always says, whatever the numbers are."""

from __future__ import annotations

from collections.abc import Mapping

from tirelife.sheet.language import texts

__all__ = ["cautions"]


def cautions(units: str, say: Mapping[str, str] | None = None) -> tuple[str, ...]:
    """Cautions in plain words.

    Parameters
    ----------
    units : str
        ``"us"`` or ``"metric"``.
    say : mapping, optional
        From :func:`tirelife.sheet.language.texts`; English by default.

    Notes
    -----
    A leak is a loss of more than 2 psi a month (a tire maker's user guide of 2023; GAO-07-246R).
    """
    say = say or texts()
    return tuple(say[f"care-{i}"].format(leak=say[f"leak-{units}"]) for i in range(1, 7))
