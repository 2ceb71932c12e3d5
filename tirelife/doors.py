"""Doors of rooms: what a room offers stands once, in the stub beside its ``__init__``.

A name loads the one module that defines it, when it is first asked for, so that a door costs no start time.
Type checkers and editors read the stub as it is. Of the two lists in it the first is for users and becomes
``__all__``; the second, under ``if FOR_OTHER_ROOMS:``, is for other rooms alone.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any, Final, NamedTuple

__all__ = ["FOR_OTHER_ROOMS", "Listing", "door", "listing"]

FOR_OTHER_ROOMS: Final = True
"""Heads what a stub lists for other rooms and for no user."""


class Listing(NamedTuple):
    """What a door offers: the module that defines each name, by the name."""

    users: dict[str, str]
    rooms: dict[str, str]


def listing(room: str, stub: Path) -> Listing:
    """Read what a room offers from its stub, which holds lines ``from .module import name as name``.

    Parameters
    ----------
    room : str
        Full name of the package, such as ``"tirelife.rates"``.
    stub : Path
        Its ``__init__.pyi``.
    """
    users: dict[str, str] = {}
    rooms: dict[str, str] = {}
    for statement in ast.parse(stub.read_text("utf-8")).body:
        if isinstance(statement, ast.If):
            for inner in statement.body:
                rooms |= _offered(room, inner)
        else:
            users |= _offered(room, statement)
    return Listing(users, rooms)


def _offered(room: str, statement: ast.stmt) -> dict[str, str]:
    if not isinstance(statement, ast.ImportFrom) or statement.level != 1:
        return {}
    return {alias.name: f"{room}.{statement.module}" for alias in statement.names}


def door(room: str, file: str) -> tuple[Callable[[str], Any], Callable[[], list[str]], list[str]]:
    """Make the door of a room: a name loads the one module that defines it, when it is first asked for.

    Parameters
    ----------
    room, file : str
        ``__name__`` and ``__file__`` of the package.

    Returns
    -------
    tuple
        What the package calls ``__getattr__``, ``__dir__`` (PEP 562) and ``__all__``.

    Raises
    ------
    AttributeError
        From the first, if a name is in neither list of the stub.

    Examples
    --------
    >>> import tirelife.tread
    >>> ask, names, for_users = door("tirelife.tread", tirelife.tread.__file__)
    >>> ask("tire_visits").__module__
    'tirelife.tread.visits'
    >>> "tire_visits" in for_users, "tire_visits" in names()
    (True, True)
    """
    offered = listing(room, Path(file).with_name("__init__.pyi"))
    where = offered.users | offered.rooms

    def ask(name: str) -> Any:
        if name not in where:
            raise AttributeError(f"module {room!r} has no attribute {name!r}")
        found = getattr(import_module(where[name]), name)
        setattr(sys.modules[room], name, found)  # asked once
        return found

    return ask, lambda: sorted(where), sorted(offered.users)
