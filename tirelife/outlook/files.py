"""Write a table whole, or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from tirelife.errors import InputError

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["write_table"]


def write_table(table: pd.DataFrame, path: str | Path) -> None:
    """Write CSV or Parquet, by the name's ending, through a temporary file in the same folder.

    Parameters
    ----------
    table : DataFrame
    path : str or Path
        Ends in ``.csv`` or ``.parquet``.

    Raises
    ------
    InputError
        If the ending is another one or the folder cannot be written; what stood there is left as it was.
    """
    target = Path(path)
    kind = target.suffix.lower()
    if kind not in (".csv", ".parquet"):
        raise InputError(f"{target}: the name must end in .csv or .parquet.")
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
        os.close(handle)
        if kind == ".csv":
            days = {str(c): table[c].dt.strftime("%Y-%m-%d") for c in table if table[c].dtype.kind == "M"}
            table.assign(**days).to_csv(temporary, index=False)
        else:
            table.to_parquet(temporary, index=False)
        os.replace(temporary, target)
    except OSError as error:
        raise InputError(f"{target}: cannot be written ({error.strerror}). Choose another folder.") from None
    finally:
        if temporary and os.path.exists(temporary):
            os.unlink(temporary)
