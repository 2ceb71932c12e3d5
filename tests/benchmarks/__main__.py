"""Run the benchmarks, print one table and write it to a file.

Without a name it measures in the small size what has one, in some minutes; ``--all`` measures everything whole, for a
release, in many hours. A benchmark that is named is measured whole, or with ``--small`` in its small size.

Each module here measures one thing and has ``run() -> list[dict]`` with the keys ``name``, ``figure``,
``unit``, ``against`` and ``note``; and ``small()``, the same on less, where that says something. A comparison with
something that is not installed is skipped, and says so.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
import time
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import pandas as pd

HERE = Path(__file__).parent
MODULES = sorted(path.stem for path in HERE.glob("[a-z]*.py"))


def chosen(names: list[str], whole: bool, small: bool) -> dict[str, Callable[[], list[dict[str, Any]]]]:
    """What to measure, by benchmark: those named or all, whole or in the small size.

    Raises
    ------
    SystemExit
        If one that is named has no small size.
    """
    modules = {name: import_module(f"tests.benchmarks.{name}") for name in names or MODULES}
    if whole or (names and not small):
        return {name: module.run for name, module in modules.items()}
    if names and (without := [name for name, module in modules.items() if not hasattr(module, "small")]):
        raise SystemExit(f"no small size: {', '.join(without)}")
    return {name: module.small for name, module in modules.items() if hasattr(module, "small")}


def together(before: pd.DataFrame, now: pd.DataFrame, whole: bool) -> pd.DataFrame:
    """The table as it was with what was measured now: of a benchmark measured small, other rows stay.

    The size stands in a row's name, so that a small one takes no large one's place.
    """
    keys = ["benchmark"] if whole else ["benchmark", "name"]
    again = pd.MultiIndex.from_frame(before[keys]).isin(pd.MultiIndex.from_frame(now[keys]))
    return pd.concat([before[~again], now])


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"some of: {', '.join(MODULES)}")
    parser.add_argument("--all", action="store_true", help="measure all of them whole, for a release")
    parser.add_argument("--small", action="store_true", help="measure those named in the small size")
    parser.add_argument("--out", type=Path, default=HERE / "results.csv", help="where to write the table")
    args = parser.parse_args()
    if unknown := set(args.names) - set(MODULES):
        parser.error(f"no benchmark {', '.join(unknown)}: choose from {', '.join(MODULES)}")
    if args.all and (args.names or args.small):
        parser.error("--all goes with no name, and not with --small")
    rows = []
    for name, measure in chosen(args.names, whole=args.all, small=args.small).items():
        begun = time.perf_counter()
        print(f"{name} ...", file=sys.stderr, flush=True)
        rows += [{"benchmark": name, **row} for row in measure()]
        print(f"{name}: {time.perf_counter() - begun:.0f} s in all", file=sys.stderr)
    table = pd.DataFrame(rows, columns=["benchmark", "name", "figure", "unit", "against", "note"])
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 1024**3
    machine = (
        f"{os.cpu_count()} cores, {memory:.0f} GB, {platform.machine()}, Python {platform.python_version()}"
    )
    day = pd.Timestamp.now().date()
    table = table.assign(machine=machine, date=day)
    if args.out.exists():
        table = together(pd.read_csv(args.out), table, whole=args.all or bool(args.names and not args.small))
    table.sort_values("benchmark", kind="stable").to_csv(args.out, index=False, lineterminator="\n")
    print(f"{machine}, {day}")
    print(table[["name", "figure", "unit", "against", "note"]].to_string(index=False))


if __name__ == "__main__":
    main()
