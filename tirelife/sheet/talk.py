"""The customer talk in a notebook: the cars due next, the page of one, a walk-in, a visit recorded."""

from __future__ import annotations

import re
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from tirelife.errors import FitError, InputError
from tirelife.logbook import convert_logbook, read_logbook, whole_file
from tirelife.outlook import calibrated_fit
from tirelife.sheet.due import due_next
from tirelife.sheet.notebook import framed
from tirelife.sheet.page import customer_page
from tirelife.sheet.recording import visit_form
from tirelife.sheet.reopened import reopening
from tirelife.sheet.walkin import walkin_page
from tirelife.units import LABELS, SHOWN, convert

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["customer_talk"]

HEIGHT: Final = 1400
"""Height of the page's frame. [px]"""
DUE: Final = 8
"""Cars in the list of those due next."""
WHEELS: Final = ("Left front", "Right front", "Left rear", "Right rear")
_TITLE: Final = '<h3 style="margin:1.2em 0 .3em">{}</h3>'


def customer_talk(
    logbook: str | Path,
    removal_depth_mm: float | None = None,
    paper: str | None = None,
    *,
    copy: str | Path | None = None,
) -> Any:
    """Show the talk: the cars due next, the page of the one picked, a form for a walk-in, one for a visit.

    Parameters
    ----------
    logbook : str or Path
        A folder (or SQLite file) with the tables.
    removal_depth_mm : float, optional
        Depth at which a tire comes off; 2/32 inch by default. [mm]
    paper : str, optional
        ``"letter"`` or ``"a4"``; by default what goes with the logbook's units.
    copy : str or Path, optional
        A name that ends in ``.sqlite``. A logbook in a folder takes no visits from a form: it is copied into
        this file where there is none yet, and the talk goes on in the copy.

    Returns
    -------
    ipywidgets.VBox
        The page is in a frame of its own, so its sliders need no answer from here.

    Raises
    ------
    InputError
        If the logbook cannot be read, or not copied.
    """
    source = Path(logbook)
    if copy is not None:
        source = Path(copy)
        if not source.exists():
            convert_logbook(logbook, source)
    return _Talk(source, removal_depth_mm, paper).shown()


class _Talk:
    """Widgets of one talk, and the page that is shown."""

    def __init__(self, source: Path, removal_mm: float | None, paper: str | None) -> None:
        import ipywidgets as widgets

        self.source, self.removal_mm, self.paper = source, removal_mm, paper
        self.name = self.html = ""
        self.frame, self.status, self.due = widgets.HTML(), widgets.HTML(), widgets.VBox()
        self.save = widgets.Button(description="Save this page", disabled=True)
        self.save.on_click(self.keep)
        self.car = widgets.Dropdown(description="Any car")
        self.car.observe(lambda change: self.pick(change["new"]), names="value")
        self.book, self.fit = self.read()

    def read(self) -> tuple[Logbook, WearFit]:
        """Read the logbook, fit it, and list the cars due next."""
        book = read_logbook(self.source)
        fit = calibrated_fit(book)
        vehicles = [str(name) for name in book.vehicles["vehicle_id"]]
        self.car.options = [("Choose …", ""), *((v, v) for v in vehicles)]
        self.due.children = [self.listed(book, fit)]
        return book, fit

    def listed(self, book: Logbook, fit: WearFit) -> Any:
        """The cars due next, each a button that shows its page, beside its window."""
        import ipywidgets as widgets

        table = due_next(book, fit, DUE, removal_depth_mm=self.removal_mm)
        cells: list[Any] = [widgets.HTML(f"<b>{escape(head)}</b>") for head in table.columns]
        for vehicle, (name, *texts) in zip(table.index, table.to_numpy().tolist(), strict=True):
            button = widgets.Button(description=name, tooltip=f"Show the page of {vehicle}")
            button.layout.width = "100%"
            button.on_click(lambda _, vehicle=str(vehicle): self.pick(vehicle))
            cells += [button, *(widgets.HTML(_cell(text)) for text in texts)]
        columns = "7em minmax(7em, 1fr) 6em minmax(11em, 1.4fr) minmax(14em, 2.6fr)"
        layout = widgets.Layout(grid_template_columns=columns, grid_gap="2px 14px", align_items="center")
        return widgets.GridBox(cells, layout=layout)

    def shown(self) -> Any:
        """Everything, in its order."""
        import ipywidgets as widgets

        wrap = widgets.Layout(flex_flow="row wrap", align_items="flex-start", grid_gap="0 12px")
        visit = visit_form(self.source, written=self.afresh)
        forms = widgets.HBox(
            [
                widgets.VBox([widgets.HTML(_TITLE.format("A walk-in")), self.walk_in()]),
                widgets.VBox(
                    [widgets.HTML(_TITLE.format("Record a visit")), visit],
                    layout=widgets.Layout(flex="1 1 42em", min_width="0"),
                ),
            ],
            layout=wrap,
        )
        first = widgets.HTML(_TITLE.format("Due next"))
        bar = widgets.HBox([self.car, self.save, self.status], layout=widgets.Layout(flex_flow="row wrap"))
        return reopening([first, self.due, bar, self.frame, forms])

    def show(self, name: str, make: Any) -> None:
        """Make a page and show it, or say why there is none."""
        self.status.value = "Working …"
        try:
            html = make()
        except (InputError, FitError) as error:
            self.status.value = f"<b>{escape(str(error))}</b>"
            return
        self.name, self.html = name, html
        self.frame.value = framed(html, f"{name}: how long the tires should last", HEIGHT)
        self.save.disabled = False
        self.status.value = f"Showing {escape(name)}."

    def pick(self, vehicle: str) -> None:
        """Show the page of one car of the logbook."""
        if vehicle:
            self.show(
                vehicle,
                lambda: customer_page(
                    self.book, vehicle, self.fit, removal_mm=self.removal_mm, paper=self.paper
                ),
            )

    def keep(self, _: Any) -> None:
        """Save the page that is shown."""
        file = Path("page-" + re.sub(r"[^A-Za-z0-9_-]+", "-", self.name) + ".html")
        try:
            with whole_file(file) as part:
                part.write_text(self.html, encoding="utf-8")
        except InputError as error:
            self.status.value = f"<b>{escape(str(error))}</b>"
            return
        self.status.value = f"Saved as {escape(file.name)}, beside this notebook. It opens in any browser."

    def afresh(self, vehicle: str) -> None:
        """Answer anew with the visit that was just recorded, and show its car."""
        self.book, self.fit = self.read()
        self.pick(vehicle)

    def walk_in(self) -> Any:
        """The form for a car that is in no logbook."""
        import ipywidgets as widgets

        depth, distance = (LABELS[SHOWN[self.book.units][kind]] for kind in ("depth", "distance"))
        style, wide = {"description_width": "9.8em"}, widgets.Layout(width="16em")

        def field(label: str) -> Any:
            return widgets.FloatText(description=label, style=style, layout=wide)

        wheels = [field(f"{wheel}, {depth}") for wheel in WHEELS]
        new = field(f"When new, {depth}")
        run, year = (field(f"{distance.capitalize()} {which}") for which in ("on them", "a year"))
        go = widgets.Button(description="Show the answer")
        go.on_click(lambda _: self.walk(wheels, new, run, year))
        note = widgets.HTML("The depth of each tire as read.<br>Leave 0 where a fact is not known.")
        return widgets.VBox([note, *wheels, new, run, year, go])

    def walk(self, wheels: list[Any], new: Any, run: Any, year: Any) -> None:
        """Show the page of a walk-in."""
        deep, far = (SHOWN[self.book.units][kind] for kind in ("depth", "distance"))

        def told(field: Any, unit: str, to: str) -> float | None:
            return float(convert(float(field.value), unit, to)) if field.value else None

        if not all(wheel.value for wheel in wheels):
            self.status.value = "<b>Enter the depth of each tire first.</b>"
            return
        self.show(
            "walk-in",
            lambda: walkin_page(
                [float(convert(float(wheel.value), deep, "mm")) for wheel in wheels],
                units=self.book.units,
                removal_mm=self.removal_mm,
                paper=self.paper,
                new_depth_mm=told(new, deep, "mm"),
                distance_km=told(run, far, "km"),
                km_per_year=told(year, far, "km"),
                prior=self.fit.posterior,
            ),
        )


def _cell(text: str) -> str:
    return f'<span style="display:block;line-height:1.35">{escape(text)}</span>'
