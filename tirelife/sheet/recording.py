"""A form in the customer notebook to record a visit: checked, shown beside the last one, then written."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from html import escape
from pathlib import Path
from typing import Any, Final

from tirelife.errors import InputError, misused
from tirelife.logbook import (
    ROTATIONS,
    STORE_NAME,
    Recorded,
    Visit,
    asked_once,
    connect,
    depth_words,
    moved_by_name,
    new_set,
    record_visit,
)
from tirelife.positions import ROAD
from tirelife.sheet.reopened import reopening
from tirelife.sheet.wrong import Wrong
from tirelife.units import LABELS, split_unit

__all__ = ["visit_form"]

WHEELS: Final = dict(zip(ROAD, ("Left front", "Right front", "Left rear", "Right rear"), strict=True))
GROOVES: Final = {1: ("center",), 3: ("outer", "center", "inner")}
STATES: Final = (("Cold", "cold"), ("Warm from the city", "city"), ("Warm from the highway", "highway"))


def visit_form(logbook: str | Path, written: Callable[[str], None] | None = None) -> Any:
    """Show a form that records a visit in a logbook of one file.

    Parameters
    ----------
    logbook : str or Path
        A logbook in one file, or a folder with ``logbook.sqlite`` in it.
    written : callable, optional
        Told the vehicle of each visit that was written.

    Returns
    -------
    ipywidgets.VBox
        The form; for a folder of tables a sentence that says how to make one file of it.

    Raises
    ------
    InputError
        If there is no logbook.

    Notes
    -----
    *Check* compares each reading with the one before it and writes nothing; *Write* follows it. A doubt has
    to be ticked as right first, and any change of the form asks for a new check.
    """
    import ipywidgets as widgets

    path = Path(logbook)
    if path.is_dir() and not (path / STORE_NAME).exists():
        said = widgets.HTML(
            "This form writes into a logbook that is one file; to make one, type "
            f"<code>tirelife convert {escape(str(path))} shop.sqlite</code> in a terminal, then put its name "
            "in place of the folder's here."
        )
        return reopening([said])
    path = path / STORE_NAME if path.is_dir() else path
    vehicles, units = _known(path)
    style, wide = {"description_width": "9.6em"}, widgets.Layout(width="20em")
    # Three a row beside the form of a walk-in, on a screen of 1280 px with the list of files open.
    deep, narrow = (
        {"style": {"description_width": name}, "layout": widgets.Layout(width=both)}
        for name, both in (("11.8em", "16em"), ("10.7em", "14.8em"))
    )

    def text(label: str, hint: str = "", **how: Any) -> Any:
        return widgets.Text(description=label, placeholder=hint, **(how or {"style": style, "layout": wide}))

    car = widgets.Dropdown(
        description="Vehicle",
        options=[("Choose …", ""), *((v, v) for v in vehicles)],
        style=style,
        layout=wide,
    )
    new_car = text("Or a new vehicle", "plate or number")
    line = text("New set of four", "line, as Line B")
    new_depth = text(f"When new, {units['depth']}")
    turn = widgets.Dropdown(
        description="Rotated",
        options=[("No", ""), *((n.replace("-", " "), n) for n in ROTATIONS)],
        style=style,
        layout=wide,
    )
    today = dt.date.today()  # noqa: DTZ011  a shop's own calendar
    day = widgets.DatePicker(description="Date", value=today, style=style, layout=wide)
    odometer = text(f"Odometer, {units['odometer']}")
    state = widgets.Dropdown(description="Tires were", options=STATES, style=style, layout=wide)
    depths = {p: text(f"{w} read, {units['depth']}", "7, 7.5, 7", **deep) for p, w in WHEELS.items()}
    found = {p: text(f"{w} found, {units['pressure']}", **narrow) for p, w in WHEELS.items()}
    set_to = {p: text(f"{w} set to, {units['set_to']}", "if new", **narrow) for p, w in WHEELS.items()}
    check = widgets.Button(description="Check")
    sure = widgets.Checkbox(description="I have read it again, and it is right", indent=False)
    write = widgets.Button(description="Write", disabled=True)
    status, table = widgets.HTML(), widgets.HTML()
    seen: dict[str, Any] = {"doubts": None}

    def visit() -> Visit:
        named = new_car.value.strip() or car.value
        if not named or not day.value or not odometer.value.strip():
            raise misused(Wrong.VISIT_HEAD)
        if line.value.strip() and turn.value:
            raise misused(Wrong.SET_ROTATED)
        date = day.value.isoformat()
        tires: list[tuple[str, str, str]] = []
        mounts: list[tuple[str, str]] = []
        if line.value.strip():
            tires, mounts = new_set(path, named, date, line.value.strip(), new_depth.value.strip())
        elif turn.value:
            mounts = moved_by_name(path, named, date, turn.value)
        unread = [WHEELS[p] for p in WHEELS if set_to[p].value.strip() and not found[p].value.strip()]
        if unread:
            raise misused(Wrong.PRESSURE_FOUND, wheels=", ".join(unread))
        return Visit(
            named,
            date,
            odometer.value.strip(),
            mounts=mounts,
            new_tires=tires,
            new_vehicle=("", "", "") if named == new_car.value.strip() else None,
            depths=[one for p, field in depths.items() for one in _depths(p, field.value)],
            pressures=[
                (p, found[p].value.strip(), set_to[p].value.strip()) for p in WHEELS if found[p].value.strip()
            ],
            state=state.value,
        )

    def afresh(_: Any = None) -> None:
        seen["doubts"], sure.value, write.disabled = None, False, True
        sure.layout.display = "none"
        status.value = table.value = ""

    def show(done: Recorded) -> None:
        seen["doubts"] = done.doubts
        table.value = done.changes.to_html(index=False, na_rep="", border=0) if len(done.changes) else ""
        asked = [escape(str(one)) for one in asked_once(done.doubts)]
        sure.layout.display = "" if asked else "none"
        write.disabled = bool(asked)
        said = "Nothing is written yet. Compare with the last visit, then choose Write."
        status.value = "<br>".join([*(f"<b>Is this right? {one}</b>" for one in asked), said])

    def attempt(step: Any) -> None:
        try:
            step()
        except InputError as error:
            afresh()
            status.value = f"<b>{escape(str(error)).replace(chr(10), '<br>')}</b>"

    def put() -> None:
        now = visit()
        done = record_visit(path, now)
        if not done.written and sure.value and done.doubts.equals(seen["doubts"]):
            done = record_visit(path, now, accept_doubts=True)
        if not done.written:  # somebody else wrote meanwhile: what is asked now was not ticked
            sure.value = False
            show(done)
            return
        if now.new_vehicle is not None:
            car.options = [*car.options, (now.vehicle_id, now.vehicle_id)]
            car.value = now.vehicle_id
        turn.value = ""
        for field in (
            odometer,
            new_car,
            line,
            new_depth,
            *depths.values(),
            *found.values(),
            *set_to.values(),
        ):
            field.value = ""
        said = f"Visit {done.visit} of {escape(now.vehicle_id)} is written."
        status.value = said if written else f"{said} Run the cells again to use it."
        if written:
            written(now.vehicle_id)

    def tick(_: Any) -> None:
        write.disabled = seen["doubts"] is None or not (sure.value or seen["doubts"].empty)

    afresh()
    for field in (
        car,
        new_car,
        line,
        new_depth,
        turn,
        day,
        odometer,
        state,
        *depths.values(),
        *found.values(),
        *set_to.values(),
    ):
        field.observe(afresh, names="value")
    sure.observe(tick, names="value")
    check.on_click(lambda _: attempt(lambda: show(record_visit(path, visit(), trial=True))))
    write.on_click(lambda _: attempt(put))
    note = widgets.HTML(
        "Depth: one value for the center groove, or outer, center, inner. Leave blank what was not read. "
        "Single tires are mounted with <code>tirelife record</code>."
    )
    wheels = [widgets.HBox([depths[p], found[p], set_to[p]]) for p in WHEELS]
    top = widgets.HBox(
        [widgets.VBox([car, new_car, day, turn]), widgets.VBox([odometer, state, line, new_depth])]
    )
    return reopening([note, top, *wheels, check, table, status, widgets.HBox([sure, write])])


def _known(path: Path) -> tuple[list[str], dict[str, str]]:
    """Vehicles of a logbook file, and the units of its columns as written for people."""
    units = {}
    with connect(path) as connection:
        vehicles = [str(one) for (one,) in connection.execute("select vehicle_id from vehicles order by 1")]
        for table in ("depths", "pressures"):
            for name, *_ in connection.execute(f"select * from {table} limit 0").description:
                base, unit = split_unit(name)
                if unit:
                    units[base] = LABELS[unit]
    return vehicles, units


def _depths(position: str, typed: str) -> list[tuple[str, str, str, str]]:
    values = depth_words(WHEELS[position], typed)
    if not values:
        return []
    if len(values) not in GROOVES:
        raise misused(Wrong.TYPED_DEPTHS, wheel=WHEELS[position], typed=typed)
    return [(position, groove, value, "") for groove, value in zip(GROOVES[len(values)], values, strict=True)]
