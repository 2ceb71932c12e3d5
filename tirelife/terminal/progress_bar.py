"""How far long work has come, in one line of a terminal; nothing where the output is kept in a file."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final, TextIO

__all__ = ["progress"]

BAR: Final = 24
"""Length of the bar. [characters]"""


@contextmanager
def progress(what: str, stream: TextIO | None = None) -> Iterator[Callable[[int, int | None], None]]:
    """Give a function to call with what is done and, where it is known, what there is in all.

    Parameters
    ----------
    what : str
        What is counted, such as ``vehicles``.
    stream : text stream, optional
        Standard error by default. Nothing is written if it is no terminal. The line is wiped at the end, also
        after an error, so that it mixes with nothing.
    """
    out = sys.stderr if stream is None else stream
    if not out.isatty():
        yield lambda done, total: None
        return
    room, shown = shutil.get_terminal_size().columns - 1, ""

    def tell(done: int, total: int | None) -> None:
        nonlocal shown
        if total:
            full = BAR * done // total
            line = f"[{'#' * full}{'.' * (BAR - full)}] {done:,} of {total:,} {what}"[:room]
        else:
            line = f"{done:,} {what}"[:room]
        if line != shown:
            out.write("\r" + line.ljust(len(shown)))
            out.flush()
            shown = line

    try:
        yield tell
    finally:
        if shown:
            out.write("\r" + " " * len(shown) + "\r")
            out.flush()
