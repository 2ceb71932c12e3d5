"""``tirelife forecast``: miles left and replacement dates, a row a tire."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tirelife import advice, logbook, outlook, terminal
from tirelife.cli.asked import asked
from tirelife.cli.printed import aside, deliver, in_parts

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

OPTIONS = (
    "for-spreadsheet", "logbook", "vehicles", "as-of", "shares", "limits", "prior", "fresh", "parts", "csv",
    "json",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Forecast and write the table."""
    parts, on = in_parts(args), asked(args)
    book, units = on.book, on.book.units
    logbook.known_vehicles(book, args.vehicle or ())
    aside(*terminal.first_lines(terminal.told_verdicts(book, on.removal, args.vehicle)))

    def shape(table: pd.DataFrame, part: Logbook, known: WearFit) -> pd.DataFrame:
        told = terminal.forecast_data(table, units, on.rule)
        if args.decisions != "yes":
            return told
        return terminal.with_decisions(
            told, advice.fleet_decisions(part, known, removal_depth_mm=on.removal), units
        )

    if parts:
        with terminal.progress("vehicles") as tell:
            tell(0, len(book.vehicles))
            done = outlook.forecast_fleet(
                book, on.fit, args.out, removal_depth_mm=on.removal, chunk=args.chunk, shape=shape,
                shaped=f"{on.rule} {args.decisions}", progress=tell,
            )  # fmt: skip
        aside(*terminal.fit_lines(on.fit.verdict), f"{len(book.vehicles)} vehicles in {done}.")
        return 0
    aside(*terminal.fit_lines(on.fit.verdict))
    found = outlook.forecast(book, on.fit, removal_depth_mm=on.removal)
    if args.vehicle:
        found = found[found["vehicle_id"].isin(args.vehicle)].reset_index(drop=True)
    table = terminal.forecast_data(found, units, on.rule)
    if found.empty:
        aside(f"no tire is on a vehicle on {book.as_of:%Y-%m-%d}: nothing to forecast")
    if args.decisions == "no" or found.empty:
        deliver(table, args, "tires", lambda: terminal.forecast_text(found, units, on.rule))
        return 0
    decisions = advice.fleet_decisions(book, on.fit, args.vehicle, removal_depth_mm=on.removal)
    more = {"decisions": terminal.all_rows(decisions, units)} if args.json else {}
    if not more:
        table = terminal.with_decisions(table, decisions, units)
    deliver(table, args, "tires", lambda: terminal.forecast_text(found, units, on.rule, decisions), **more)
    return 0
