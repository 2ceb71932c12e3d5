"""Write a table as CSV or Parquet, whole or not at all."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tirelife.errors import misused
from tirelife.logbook import whole_file, write_csv
from tirelife.outlook.wrong import Wrong

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["plain_dates", "write_table"]


def plain_dates(table: pd.DataFrame) -> pd.DataFrame:
    """Copy of a table with its dates as ISO days, for text."""
    days = {str(name): table[name].dt.strftime("%Y-%m-%d") for name in table if table[name].dtype.kind == "M"}
    return table.assign(**days)


def write_table(table: pd.DataFrame, path: str | Path, *, for_spreadsheet: bool = False) -> None:
    """Write CSV or Parquet, by the name's ending.

    Parameters
    ----------
    table : DataFrame
    path : str or Path
        Ends in ``.csv`` or ``.parquet``.
    for_spreadsheet : bool
        Of CSV: see :func:`tirelife.logbook.csv_text`.

    Raises
    ------
    InputError
        If the ending is another one or the file cannot be written; what stood there is left as it was.
    """
    kind = Path(path).suffix.lower()
    if kind == ".csv":
        write_csv(plain_dates(table), path, for_spreadsheet=for_spreadsheet)
    elif kind == ".parquet":
        with whole_file(path) as part:
            table.to_parquet(part, index=False)
    else:
        raise misused(Wrong.TABLE_NAME, path=path)
