"""``tirelife trips``: reduce recorded trips to driving habits."""

from __future__ import annotations

import argparse

from tirelife import driving, logbook, terminal
from tirelife.cli.asked import day, file_name
from tirelife.cli.numbers import number
from tirelife.cli.options import option
from tirelife.cli.printed import aside, print_json
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import GRAVITY

HARD = (("start", "speeding up", 0.2), ("stop", "slowing down", 0.25), ("turn", "lateral", 0.3))
OPTIONS = (
    "for-spreadsheet", option("trips TRIPS", "CSV or Parquet file, or a folder of them"),
    option("--out FILE.csv", "write the habits of each vehicle here"),
    option("--trips-out FILE.csv", "write one row a trip here"),
    option("--problems-out FILE.csv", "write what was wrong with the samples here"),
    *(option(f"--{name} G", f"{what} harder than this is hard (default {g} g)", type=number, default=g)
      for name, what, g in HARD),
    option("--merge S", "a dip this short splits no event (default 1.5 s)", type=number, default=1.5),
    option("--from-date DATE", "first day, if trips have no date"),
    option("--to-date DATE", "last day, if trips have no date"),
    option("--units", "for the rows of trips", choices=("us", "metric"), default="us"),
    option("--parts DIR", "reduce a folder part by part, keep each part's sums here, go on after a stop"),
    option("--workers N", "with --parts: Dask processes here", type=int, default=1),
    option("--scheduler ADDRESS", "with --parts: a Dask cluster, tcp://HOST:8786"), "json",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Reduce the trips, write the tables asked for, and print a summary."""
    limits = driving.Thresholds(args.start * GRAVITY, args.stop * GRAVITY, args.turn * GRAVITY, args.merge)
    days = [day(args.from_date, "--from-date"), day(args.to_date, "--to-date")]
    for name in (args.out, args.trips_out, args.problems_out):
        file_name(name, ".csv")
    if args.parts:
        summary = _in_parts(args, limits)
    elif args.workers != 1 or args.scheduler:
        raise misused(Wrong.NEEDS_PARTS)
    else:
        with terminal.progress("samples") as tell:
            done = 0

            def count(samples: int) -> None:
                nonlocal done
                done += samples
                tell(done, None)

            summary = driving.reduce_trips(args.trips, limits, progress=count)
    habits, faults = driving.habits_table(summary, *days), terminal.faults_worded(summary.problems)
    trips = driving.in_units(summary.trips, args.units)
    for table, name in ((habits, args.out), (trips, args.trips_out), (faults, args.problems_out)):
        if name:
            logbook.write_csv(table, name, for_spreadsheet=args.for_spreadsheet)
    if args.json:
        print_json({"habits": terminal.rows_of(habits), "problems": terminal.rows_of(faults)})
    else:
        print(terminal.trips_text(habits, summary))
    aside(*terminal.trip_notes(summary, habits))
    return 0


def _in_parts(args: argparse.Namespace, limits: driving.Thresholds) -> driving.TripSummary:
    if args.workers < 1:
        raise misused(Wrong.WORKERS, given=args.workers)
    with (
        driving.cluster(args.workers, args.scheduler) as run,
        terminal.progress("parts") as tell,
    ):
        return driving.reduce_parts(
            args.trips, args.parts, limits, run=run, progress=tell, tell=lambda done: aside(f"{done}.")
        )
