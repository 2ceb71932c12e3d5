"""Pages of all vehicles of a logbook from one fit, into a folder; what is there and unchanged is kept."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from tirelife.errors import InputError
from tirelife.logbook import claim_folder, content_digest, is_done, mark_of, write_part
from tirelife.sheet.limits import road_most
from tirelife.sheet.one_browser import printer
from tirelife.sheet.page import customer_page

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.logbook import Logbook
    from tirelife.rates import Prior, WearFit

__all__ = ["PagesDone", "write_pages"]


@dataclass(frozen=True)
class PagesDone:
    """Vehicles whose pages were kept and made, and by vehicle why there is none."""

    kept: int
    made: int
    without: dict[str, InputError]


def write_pages(
    book: Logbook,
    folder: str | Path,
    fit: Callable[[], WearFit],
    removal_mm: pd.Series,
    *,
    prior: Prior | None = None,
    pdfs: bool = False,
    progress: Callable[[int, int], None] = lambda done, total: None,
    **look: Any,
) -> PagesDone:
    """Write each vehicle's page, and its PDF where asked for; one fit and one start of the browser serve all.

    Parameters
    ----------
    book : Logbook
    folder : path
        Where nobody else's files are.
    fit : callable
        Gives the fit; asked only where a page is to be made.
    removal_mm : Series
        By position: :func:`tirelife.sheet.removal_limits`. [mm]
    prior : Prior, optional
        What the fit leans on: a page made with another one is made again.
    pdfs : bool
    progress : callable
        Called with the number of vehicles done and of all.
    **look
        ``rule, paper, order, language, shop`` of :func:`tirelife.sheet.customer_page`.

    Raises
    ------
    InputError
        If the folder cannot be used.
    """
    top, limit = Path(folder), road_most(removal_mm)
    claim_folder(top, {"what": "pages"})
    mark = mark_of(
        removal=limit, stored=repr(removal_mm.to_dict()), logbook=content_digest(book.tables.values()),
        prior=repr(prior), as_of=f"{book.as_of:%Y-%m-%d}", look=repr(look),
    )  # fmt: skip
    vehicles = sorted(book.vehicles["vehicle_id"])
    kept, made, without = 0, 0, {}
    with printer() if pdfs else nullcontext() as browser:
        for i, vehicle in enumerate(vehicles):
            progress(i, len(vehicles))
            files = [top / f"{quote(vehicle, safe=' ')}{end}" for end in (".html", ".pdf")[: 1 + pdfs]]
            if all(is_done(file, mark) for file in files):
                kept += 1
                continue
            try:
                html = customer_page(book, vehicle, fit(), removal_mm=limit, stored_mm=removal_mm, **look)
            except InputError as error:
                without[vehicle] = error
                continue
            write_part(files[0], mark, partial(_write, html.encode()))
            if browser is not None:
                write_part(files[1], mark, partial(_write, browser.pdf(html)))
            made += 1
        progress(len(vehicles), len(vehicles))
    return PagesDone(kept, made, without)


def _write(data: bytes, part: Path) -> int:
    return part.write_bytes(data)
