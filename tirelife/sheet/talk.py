"""The customer talk in a notebook: pick a car or enter a walk-in, and the page appears."""

from __future__ import annotations

import re
from html import escape
from pathlib import Path
from typing import Any, Final

from tirelife.errors import FitError, InputError
from tirelife.sheet.reopened import reopening
from tirelife.units import LABELS, SHOWN, convert

__all__ = ["customer_talk"]

HEIGHT: Final = 1400
"""Height of the page's frame. [px]"""
WHEELS: Final = ("Left front", "Right front", "Left rear", "Right rear")


def customer_talk(
    logbook: str | Path, removal_depth_mm: float | None = None, paper: str | None = None
) -> Any:
    """Show the talk: a list of cars, a form for a walk-in, the page with its sliders, a button to save it.

    Parameters
    ----------
    logbook : str or Path
        A folder (or SQLite file) with the tables.
    removal_depth_mm : float, optional
        Depth at which a tire comes off; 2/32 inch by default. [mm]
    paper : str, optional
        ``"letter"`` or ``"a4"``; by default what goes with the logbook's units.

    Returns
    -------
    ipywidgets.VBox
        The page is in a frame of its own, so its sliders need no answer from here.

    Raises
    ------
    InputError
        If the logbook cannot be read.
    """
    import ipywidgets as widgets

    from tirelife.logbook import read_logbook, whole_file
    from tirelife.outlook import calibrated_fit
    from tirelife.sheet.page import customer_page
    from tirelife.sheet.walkin import walkin_page

    book = read_logbook(logbook)
    fit = calibrated_fit(book)
    depth, distance = SHOWN[book.units]["depth"], SHOWN[book.units]["distance"]
    shown = {"name": "", "html": ""}
    frame, status = widgets.HTML(), widgets.HTML()
    save = widgets.Button(description="Save this page", disabled=True)

    def show(name: str, make: Any) -> None:
        status.value = "Working …"
        try:
            html = make()
        except (InputError, FitError) as error:
            status.value = f"<b>{escape(str(error))}</b>"
            return
        shown.update(name=name, html=html)
        frame.value = (
            f'<iframe title="{escape(name)}: how long the tires should last" srcdoc="{escape(html)}" '
            f'style="width:100%;height:{HEIGHT}px;border:0"></iframe>'
        )
        save.disabled = False
        status.value = f"Showing {escape(name)}."

    def pick(change: Any) -> None:
        if change["new"]:
            name = str(change["new"])
            show(
                name,
                lambda: customer_page(book, name, fit, removal_mm=removal_depth_mm, paper=paper),
            )

    def keep(_: Any) -> None:
        file = Path("page-" + re.sub(r"[^A-Za-z0-9_-]+", "-", shown["name"]) + ".html")
        try:
            with whole_file(file) as part:
                part.write_text(shown["html"], encoding="utf-8")
        except InputError as error:
            status.value = f"<b>{escape(str(error))}</b>"
            return
        status.value = f"Saved as {escape(file.name)}, beside this notebook. It opens in any browser."

    vehicles = [str(name) for name in book.vehicles["vehicle_id"]]
    car = widgets.Dropdown(description="Car", options=[("Choose …", ""), *((v, v) for v in vehicles)])
    car.observe(pick, names="value")
    save.on_click(keep)
    style = {"description_width": "11em"}
    wheels = [widgets.FloatText(description=f"{w}, {LABELS[depth]}", style=style) for w in WHEELS]
    new = widgets.FloatText(description=f"When new, {LABELS[depth]}", style=style)
    run = widgets.FloatText(description=f"{LABELS[distance].capitalize()} on them", style=style)
    year = widgets.FloatText(description=f"{LABELS[distance].capitalize()} a year", style=style)
    go = widgets.Button(description="Show the answer")

    def walk(_: Any) -> None:
        def told(field: Any, unit: str, to: str) -> float | None:
            return float(convert(float(field.value), unit, to)) if field.value else None

        if not any(wheel.value for wheel in wheels):
            status.value = "<b>Enter the depth of each tire first.</b>"
            return
        show(
            "walk-in",
            lambda: walkin_page(
                [float(convert(float(wheel.value), depth, "mm")) for wheel in wheels],
                units=book.units,
                removal_mm=removal_depth_mm,
                paper=paper,
                new_depth_mm=told(new, depth, "mm"),
                distance_km=told(run, distance, "km"),
                km_per_year=told(year, distance, "km"),
                prior=fit.posterior,
            ),
        )

    go.on_click(walk)
    note = widgets.HTML("The depth of each tire as read. Leave 0 at the right where a fact is not known.")
    form = widgets.VBox([note, widgets.HBox([widgets.VBox(wheels), widgets.VBox([new, run, year, go])])])
    tabs = widgets.Tab([widgets.VBox([car]), form], titles=["A car in the logbook", "A walk-in"])
    return reopening([tabs, widgets.HBox([save, status]), frame])
