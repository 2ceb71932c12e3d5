"""Who hands a page out: the shop's name and telephone, a note and the next appointment."""

from __future__ import annotations

import datetime as dt
import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Final

from tirelife.errors import misused
from tirelife.sheet.wrong import Wrong

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
                raise misused(Wrong.SHOP_LONG, what=what, n=len(text), most=most)
            if not all(letter.isprintable() for letter in text):
                raise misused(Wrong.SHOP_LINE, what=what, text=text)

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
        raise misused(Wrong.SHOP_UNREAD, file=file, why=error.strerror or error) from None
    except UnicodeDecodeError:
        raise misused(Wrong.SHOP_TEXT, file=file) from None
    except tomllib.TOMLDecodeError as error:
        raise misused(Wrong.SHOP_LINES, file=file, why=str(error)) from None
    for key, value in data.items():
        if key not in known:
            raise misused(Wrong.SHOP_KEY, file=file, key=key, known=", ".join(known))
        if key == "next_date" and (not isinstance(value, dt.date) or isinstance(value, dt.datetime)):
            raise misused(Wrong.SHOP_DATE, file=file, given=value)
        if key != "next_date" and not isinstance(value, str):
            raise misused(Wrong.SHOP_QUOTES, file=file, key=key, given=value)
    return Shop(**data)
