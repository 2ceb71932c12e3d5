"""Write tables for people: whole or not at all and, where asked for, safe to open in a spreadsheet."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pandas as pd

from tirelife.logbook.whole import whole_file

__all__ = ["csv_text", "safe_cell", "write_csv"]

_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
"""A cell that begins so may be run as a formula by a spreadsheet."""


def safe_cell(text: str) -> str:
    """Quote a text that a spreadsheet would take for a formula, with a leading apostrophe.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        The text itself if it is safe, or a number.

    Examples
    --------
    >>> safe_cell("=1+1")
    "'=1+1"
    >>> safe_cell("-7.5"), safe_cell("Ann's van")
    ('-7.5', "Ann's van")
    """
    if not text.lstrip(" ").startswith(_STARTS):
        return text
    try:
        float(text)
    except ValueError:
        return f"'{text}"
    return text


def _one_row(text: object, safe: bool) -> object:
    if not isinstance(text, str):
        return text
    # A lone carriage return would be left unquoted, and end the row for whoever reads the file.
    return (safe_cell(text) if safe else text).replace("\r\n", "\n").replace("\r", "\n")


def write_csv(frame: pd.DataFrame, path: str | Path, *, for_spreadsheet: bool = False) -> None:
    """Write a table as CSV (UTF-8).

    Parameters
    ----------
    frame : DataFrame
    path : str or Path
    for_spreadsheet : bool
        As for :func:`csv_text`.

    Raises
    ------
    InputError
        If the file cannot be written.
    """
    text = csv_text(frame, for_spreadsheet=for_spreadsheet)
    with whole_file(path) as part:
        part.write_bytes(text.encode())


def csv_text(frame: pd.DataFrame, *, for_spreadsheet: bool = False) -> str:
    """Set a table as CSV; what :func:`write_csv` writes.

    Parameters
    ----------
    frame : DataFrame
    for_spreadsheet : bool
        Put an apostrophe before each text that a spreadsheet would run as a formula. An id such as ``=1+1``
        is then no longer the id in other tables, so it is done only where it is asked for.
    """
    safe = frame.copy()
    for name in safe.select_dtypes(["str", "object"]).columns:
        safe[name] = safe[name].map(partial(_one_row, safe=for_spreadsheet), na_action="ignore")
    if for_spreadsheet:
        safe.columns = [safe_cell(str(name)) for name in safe.columns]
    return str(safe.to_csv(index=False, lineterminator="\n"))
