"""What a notebook shows: a table of words without its index, and a page in a frame of its own."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["framed", "numeric", "show_lines", "show_page", "show_table"]


def show_table(table: pd.DataFrame, none: str = "Nothing to show.") -> Any:
    """Show a table of text: no index, words from the left, numbers to the right, long words wrapped.

    Parameters
    ----------
    table : DataFrame
        Under headings in words, such as :func:`tirelife.sheet.fleet_tables.fleet_table` makes.
    none : str
        What to say where there is no row.

    Returns
    -------
    IPython.display.HTML
    """
    from IPython.display import HTML

    if table.empty:
        return HTML(f"<p>{escape(none)}</p>")  # type: ignore[no-untyped-call]
    sides = ["right" if numeric(table.iloc[:, i]) else "left" for i in range(table.shape[1])]
    wrap = {"left": "normal", "right": "nowrap"}
    styles = [f"text-align:{side};padding:.25em .8em;max-width:34em" for side in sides]
    cells = [f"{style};white-space:{wrap[side]}" for style, side in zip(styles, sides, strict=True)]
    heads = "".join(
        f'<th scope="col" style="{style};white-space:normal;vertical-align:bottom">{escape(str(head))}</th>'
        for head, style in zip(table.columns, styles, strict=True)
    )
    rows = "".join(
        "<tr>"
        + "".join(f'<td style="{s}">{escape(_said(c))}</td>' for c, s in zip(row, cells, strict=True))
        + "</tr>"
        for row in table.itertuples(index=False, name=None)
    )
    return HTML(f"<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>")  # type: ignore[no-untyped-call]


def show_lines(*lines: str) -> Any:
    """Show sentences, each in a line of its own that wraps between words.

    Returns
    -------
    IPython.display.HTML
    """
    from IPython.display import HTML

    said = "".join(f'<p style="margin:.35em 0;max-width:52em">{escape(str(line))}</p>' for line in lines)
    return HTML(f"<div>{said}</div>")  # type: ignore[no-untyped-call]


def show_page(html: str, title: str, height: int = 900) -> Any:
    """Show a whole page in a frame.

    Parameters
    ----------
    html : str
    title : str
        What the frame is, for a reader of the screen.
    height : int
        [px]

    Returns
    -------
    IPython.display.HTML
    """
    from IPython.display import HTML

    return HTML(f"<div>{framed(html, title, height)}</div>")  # type: ignore[no-untyped-call]


def framed(html: str, title: str, height: int) -> str:
    """Mark up a page as a frame of a height in pixels."""
    return (
        f'<iframe title="{escape(title)}" srcdoc="{escape(html)}" '
        f'style="width:100%;height:{height}px;border:0"></iframe>'
    )


def numeric(column: pd.Series) -> bool:
    """Whether every cell with text in it begins as a number does."""
    texts = [text for text in map(_said, column) if text]
    return bool(texts) and all(text.lstrip("-+−±")[:1].isdigit() for text in texts)


def _said(cell: object) -> str:
    """A cell as text; nothing where it is not known."""
    return "" if cell != cell else str(cell)
