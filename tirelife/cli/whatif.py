"""``tirelife whatif``: distance and months that a change would buy, for a vehicle or a whole fleet."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tirelife import advice, outlook, terminal
from tirelife.cli.asked import asked
from tirelife.cli.numbers import number
from tirelife.cli.options import option
from tirelife.cli.printed import aside, deliver, in_parts

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.advice import FleetDecisions
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

EVENTS = ("starts", "stops", "turns")
OPTIONS = (
    "for-spreadsheet", "logbook", "vehicles",
    option("--pressures-kept", "pressures kept at the placard"),
    option("--wheels-straight", "toe of both axles set to zero"),
    *(option(f"--{event} F", f"factor on the acceleration of every {event[:-1]}, such as 0.8", type=number)
      for event in EVENTS),
    option("--top-speed SPEED", "no faster than this, such as 65mph or 105kmh"),
    option("--slower SPEED", "slower by this where it is above 55 mph, such as 5mph"),
    option("--rotate-every DISTANCE", "between axles, such as 5000mi; 0mi: never"),
    option("--a-year DISTANCE", "distance a year, such as 12000mi"),
    option("--off-at DEPTH", "another removal depth, such as 4/32"),
    option("--together", "all of these at once, as one change"),
    "as-of", "limits", "shares", "prior", "fresh", "parts", "csv", "json",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Work the changes out and write the table."""
    changes, parts, on = terminal.changes_of(vars(args)), in_parts(args), asked(args)
    book, units = on.book, on.book.units
    aside(*terminal.first_lines(terminal.told_verdicts(book, on.removal, args.vehicle)))

    def decided(
        part: Logbook, known: WearFit, vehicles: list[str] | None = None
    ) -> tuple[FleetDecisions, dict[str, FleetDecisions]]:
        then = {
            change.name: advice.decisions_otherwise(
                part, known, change, vehicles, removal_depth_mm=on.removal
            )
            for change in changes
        }
        return advice.fleet_decisions(part, known, vehicles, removal_depth_mm=on.removal), then

    def shape(table: pd.DataFrame, part: Logbook, known: WearFit) -> pd.DataFrame:
        told = terminal.whatif_data(table, units)
        return terminal.with_changed(told, *decided(part, known), units) if args.decisions == "yes" else told

    if parts:
        with terminal.progress("vehicles") as tell:
            tell(0, len(book.vehicles))
            done = outlook.what_if_fleet(
                book, on.fit, changes, args.out, removal_depth_mm=on.removal, chunk=args.chunk, shape=shape,
                shaped=str(args.decisions), progress=tell,
            )  # fmt: skip
        aside(*terminal.fit_lines(on.fit.verdict), f"{len(book.vehicles)} vehicles in {done}.")
        return 0
    aside(*terminal.fit_lines(on.fit.verdict))
    found = outlook.what_ifs(book, on.fit, changes, args.vehicle, on.removal)
    table = terminal.whatif_data(found, units).assign(fit=on.fit.verdict.trust.value)
    if args.decisions == "no":
        deliver(table, args, "rows", lambda: terminal.whatif_text(found, units))
    else:
        now, then = decided(book, on.fit, args.vehicle)
        more: dict[str, object] = {}
        if args.json:
            by_change = {name: terminal.all_rows(one, units) for name, one in then.items()}
            more = {"decisions": terminal.all_rows(now, units), "decisions_then": by_change}
        else:
            table = terminal.with_changed(table, now, then, units)
        deliver(table, args, "rows", lambda: terminal.whatif_text(found, units, now, then), **more)
    aside(on.rule)
    return 0
