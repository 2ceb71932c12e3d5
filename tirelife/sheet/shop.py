"""Who hands a page out: the shop's name and telephone, a note and the next appointment."""

from __future__ import annotations

import datetime as dt
import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Final

from tirelife.errors import InputError

__all__ = ["NO_SHOP", "Shop", "read_shop"]

LONGEST: Final = {"name": 60, "telephone": 40, "note": 280}
"""What a page has room for. [characters]"""


@dataclass(frozen=True)
class Shop:
    """What a shop puts on its pages; everything may be left out.

    Attributes
    ----------
    name, telephone : str
        One line each, at the head of the page.
    note : str
        A word to the customer, below what to do next.
    next_date : date, optional
        Of the next appointment.

    Raises
    ------
    InputError
        If a text has more than one line or is longer than the page has room for.

    Examples
    --------
    >>> Shop("Fellside Tire and Axle", "555 0100").head
    'Fellside Tire and Axle · 555 0100'
    """

    name: str = ""
    telephone: str = ""
    note: str = ""
    next_date: dt.date | None = None

    def __post_init__(self) -> None:
        """Refuse what no page has room for."""
        for what, most in LONGEST.items():
            text = getattr(self, what)
            if len(text) > most:
                raise InputError(
                    f"the shop's {what} has {len(text)} characters; a page has room for {most}. Shorten it."
                )
            if not all(letter.isprintable() for letter in text):
                raise InputError(f"the shop's {what} {text!r} must be one line of plain text.")

    @property
    def head(self) -> str:
        """Name and telephone on one line; empty if neither is known."""
        return " · ".join(text for text in (self.name, self.telephone) if text)


NO_SHOP: Final = Shop()
"""A page that names no shop."""


def read_shop(file: str | Path) -> Shop:
    """Read a shop's details from a TOML file with any of ``name``, ``telephone``, ``note``, ``next_date``.

    Raises
    ------
    InputError
        If the file is not there or is no TOML, has another key, or a value of another kind.
    """
    known = [field.name for field in fields(Shop)]
    try:
        data = tomllib.loads(Path(file).read_text(encoding="utf-8"))
    except OSError as error:
        raise InputError(f"{file}: cannot be read ({error.strerror or error}).") from None
    except UnicodeDecodeError:
        raise InputError(f"{file}: is not UTF-8 text. Save it as UTF-8.") from None
    except tomllib.TOMLDecodeError as error:
        raise InputError(f'{file}: {error}. Lines read like name = "Fellside Tire".') from None
    for key, value in data.items():
        if key not in known:
            raise InputError(f"{file}: {key!r} is not known here. Use {', '.join(known)}.")
        if key == "next_date" and (not isinstance(value, dt.date) or isinstance(value, dt.datetime)):
            raise InputError(
                f"{file}: next_date {value!r} is no day. Write it as 2026-03-14, without quotes."
            )
        if key != "next_date" and not isinstance(value, str):
            raise InputError(f"{file}: {key} {value!r} is no text. Put it in quotes.")
    return Shop(**data)
