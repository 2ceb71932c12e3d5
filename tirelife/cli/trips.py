"""``tirelife trips``: reduce recorded trips to driving habits."""

from __future__ import annotations

import argparse
import json
import sys
from typing import TYPE_CHECKING, Any

from tirelife.cli.numbers import number
from tirelife.cli.values import json_rows
from tirelife.cli.wrong import Wrong
from tirelife.errors import misused
from tirelife.units import GRAVITY

if TYPE_CHECKING:
    import pandas as pd

    from tirelife.driving import Thresholds, TripSummary

__all__ = ["add", "run"]

_EPILOG = """examples:
  tirelife trips LOGBOOK/trips.csv --out habits.csv
  tirelife trips TRIPS.parquet --trips-out trips_summary.csv --stop 0.3
  tirelife trips FOLDER --from-date 2026-01-01 --to-date 2026-06-30 --out habits.csv
  tirelife trips FOLDER --parts SUMS --workers 2 --out habits.csv
Put habits.csv into the logbook's folder. TRIPS has vehicle_id, trip_id, time_s, speed_mps (or speed_mph,
speed_kmh) at 1 Hz or faster, and if there are any longitudinal_mps2, lateral_mps2, heading_deg, date. Of
accelerations without speeds the events and their sizes are told, and no habits. What counts as hard changes
no wear: that comes from the size of all accelerations. Exit code 2 if no trip can be used."""


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.epilog = _EPILOG
    parser.add_argument("trips", metavar="TRIPS", help="CSV or Parquet file, or a folder of them")
    parser.add_argument("--out", metavar="FILE.csv", help="write the habits of each vehicle here")
    parser.add_argument("--trips-out", metavar="FILE.csv", help="write one row a trip here")
    parser.add_argument(
        "--problems-out", metavar="FILE.csv", help="write what was wrong with the samples here"
    )
    for name, what, g in (
        ("start", "speeding up", 0.20),
        ("stop", "slowing down", 0.25),
        ("turn", "lateral", 0.30),
    ):
        parser.add_argument(
            f"--{name}",
            type=number,
            default=g,
            metavar="G",
            help=f"{what} harder than this is hard (default {g} g)",
        )
    parser.add_argument(
        "--merge",
        type=number,
        default=1.5,
        metavar="S",
        help="a dip this short splits no event (default 1.5 s)",
    )
    parser.add_argument("--from-date", metavar="DATE", help="first day, if trips have no date")
    parser.add_argument("--to-date", metavar="DATE", help="last day, if trips have no date")
    parser.add_argument("--units", choices=("us", "metric"), default="us", help="for the rows of trips")
    parser.add_argument(
        "--parts",
        metavar="DIR",
        help="reduce a folder part by part, keep each part's sums here, go on after a stop",
    )
    parser.add_argument(
        "--workers", type=int, default=1, metavar="N", help="with --parts: Dask processes here"
    )
    parser.add_argument(
        "--scheduler", metavar="ADDRESS", help="with --parts: a Dask cluster, tcp://HOST:8786"
    )
    parser.add_argument("--json", action="store_true", help="print habits and problems as JSON")


def run(args: argparse.Namespace) -> int:
    """Reduce the trips, write the tables asked for, and print a summary."""
    from tirelife.cli.progress import progress
    from tirelife.driving import Thresholds, reduce_trips
    from tirelife.driving.habits import habits_table, in_units
    from tirelife.logbook.export import write_csv

    limits = Thresholds(args.start * GRAVITY, args.stop * GRAVITY, args.turn * GRAVITY, args.merge)
    days = [_day(args.from_date, "--from-date"), _day(args.to_date, "--to-date")]
    for name in (args.out, args.trips_out, args.problems_out):
        if name and not str(name).lower().endswith(".csv"):
            raise misused(Wrong.CSV, name=name)
    if args.parts:
        summary = _in_parts(args, limits)
    elif args.workers != 1 or args.scheduler:
        raise misused(Wrong.NEEDS_PARTS)
    else:
        done = 0
        with progress("samples") as tell:

            def count(samples: int) -> None:
                nonlocal done
                done += samples
                tell(done, None)

            summary = reduce_trips(args.trips, limits, progress=count)
    habits = habits_table(summary, *days)
    if args.out:
        write_csv(habits, args.out, for_spreadsheet=args.for_spreadsheet)
    if args.trips_out:
        write_csv(in_units(summary.trips, args.units), args.trips_out, for_spreadsheet=args.for_spreadsheet)
    if args.problems_out:
        write_csv(_worded(summary.problems), args.problems_out, for_spreadsheet=args.for_spreadsheet)
    if args.json:
        told = {"habits": habits, "problems": _worded(summary.problems)}
        print(
            json.dumps({name: json.loads(json_rows(rows)) for name, rows in told.items()}, ensure_ascii=False)
        )
    else:
        print(_shown(habits, summary))
    _tell(summary, habits)
    return 0


def _in_parts(args: argparse.Namespace, limits: Thresholds) -> TripSummary:
    from tirelife.cli.progress import progress
    from tirelife.driving.partitions import on_dask, reduce_parts

    if args.workers < 1:
        raise misused(Wrong.WORKERS, given=args.workers)
    if args.workers == 1 and not args.scheduler:
        with progress("parts") as tell:
            return reduce_parts(args.trips, args.parts, limits, progress=tell, tell=_parts)
    try:
        import distributed
    except ImportError:
        raise misused(Wrong.NEEDS_DASK) from None
    try:
        connect: Any = distributed.Client
        if args.scheduler:
            client = connect(args.scheduler)
        else:
            client = connect(n_workers=args.workers, threads_per_worker=1, dashboard_address=":0")
    except OSError as error:
        raise misused(Wrong.NO_CLUSTER, scheduler=args.scheduler, why=str(error)) from None
    with client, progress("parts") as tell:
        return reduce_parts(args.trips, args.parts, limits, run=on_dask(client), progress=tell, tell=_parts)


def _parts(done: object) -> None:
    print(f"{done}.", file=sys.stderr)


def _day(text: str | None, option: str) -> pd.Timestamp | None:
    import pandas as pd

    if text is None:
        return None
    day = pd.to_datetime(text, format="%Y-%m-%d", errors="coerce")
    if pd.isna(day):
        raise misused(Wrong.OPTION_DAY, option=option, text=text)
    return day


def _shown(habits: pd.DataFrame, summary: TripSummary) -> str:
    import pandas as pd

    from tirelife.logbook import BANDS
    from tirelife.units import convert

    t = summary.thresholds
    limits = ", ".join(f"{x / GRAVITY:.2f} g" for x in (t.start_mps2, t.stop_mps2, t.turn_mps2))
    if habits.empty:
        return f"{_events(summary.trips)}\nHard events beyond {limits}; without speeds there are no habits."
    out = pd.DataFrame(
        {
            "vehicle": habits["vehicle_id"],
            "trips": habits["trips"],
            "miles": convert(habits["distance_km"], "km", "mi").round(1),
        }
    )
    for band in BANDS:
        words = band.removeprefix("share_").replace("mph", " mph")
        label = words.replace("_", " " if "er_" in words else " to ")
        out[label] = (100 * habits[band]).round().astype(int).astype(str) + " %"
    for event in ("starts", "stops", "turns"):
        out[f"hard {event}"] = habits[f"hard_{event}_per_100mi"].round(1)
    return (
        f"{out.to_string(index=False)}\nShares of miles by speed; hard events per 100 miles, beyond {limits}."
    )


def _events(trips: pd.DataFrame) -> str:
    """Events of each trip: how many, and the largest of each kind in g."""
    import pandas as pd

    out: dict[str, Any] = {"vehicle": trips["vehicle_id"], "trip": trips["trip_id"]}
    for event in ("start", "stop", "turn"):
        out[f"hard {event}s"] = trips[f"hard_{event}s"].astype("Int64")
        out[f"largest {event}"] = (trips[f"largest_{event}_mps2"] / GRAVITY).map("{:.2f} g".format)
    return str(pd.DataFrame(out).to_string(index=False))


def _worded(problems: pd.DataFrame) -> pd.DataFrame:
    """Problems with their words beside the codes."""
    from tirelife.language import fault_words

    said = [fault_words(code) for code in problems["code"]]
    return problems.assign(what=[what for what, _ in said], advice=[advice for _, advice in said])


def _tell(summary: TripSummary, habits: pd.DataFrame) -> None:
    from tirelife.units import convert

    names = ["trips", "count", "km"]
    from tirelife.language import code_words, fault_words

    for (kind, code), group in summary.problems.groupby(["kind", "code"]):
        what, advice = fault_words(str(code))
        total, cars = group[names].sum(), group["vehicle_id"]
        size = f" ({convert(total['km'], 'km', 'mi'):.2f} miles)" if group["km"].notna().any() else ""
        where = f"{total['trips']:.0f} trips of {_cars(cars)}"
        print(f"{kind}: {total['count']:.0f}{size} in {where}: {what}. Advice: {advice}.", file=sys.stderr)
    for note, group in habits[habits["note"] != ""].groupby("note"):
        cars = group["vehicle_id"]
        print(f"{_cars(cars)}: {code_words(str(note))}.", file=sys.stderr)
    undated = habits.loc[(habits["from_date"] == "") | (habits["to_date"] == ""), "vehicle_id"]
    if len(undated):
        what = "trips without a date; fill in from_date and to_date, or pass --from-date and --to-date"
        print(f"{_cars(undated)}: {what}.", file=sys.stderr)


def _cars(names: pd.Series) -> str:
    return ", ".join(names) if len(names) <= 3 else f"{len(names)} vehicles"
