"""Run the benchmarks, print one table and write it to a file.

Each module here measures one thing and has ``run() -> list[dict]`` with the keys ``name``, ``figure``,
``unit``, ``against`` and ``note``. A comparison with something that is not installed is skipped, and says so.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
import time
from importlib import import_module
from pathlib import Path

import pandas as pd

HERE = Path(__file__).parent
MODULES = sorted(path.stem for path in HERE.glob("[a-z]*.py"))


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"some of: {', '.join(MODULES)}")
    parser.add_argument("--out", type=Path, default=HERE / "results.csv", help="where to write the table")
    args = parser.parse_args()
    if unknown := set(args.names) - set(MODULES):
        parser.error(f"no benchmark {', '.join(unknown)}: choose from {', '.join(MODULES)}")
    rows = []
    for name in args.names or MODULES:
        begun = time.perf_counter()
        print(f"{name} ...", file=sys.stderr, flush=True)
        rows += [{"benchmark": name, **row} for row in import_module(f"tests.benchmarks.{name}").run()]
        print(f"{name}: {time.perf_counter() - begun:.0f} s in all", file=sys.stderr)
    table = pd.DataFrame(rows, columns=["benchmark", "name", "figure", "unit", "against", "note"])
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 1024**3
    machine = (
        f"{os.cpu_count()} cores, {memory:.0f} GB, {platform.machine()}, Python {platform.python_version()}"
    )
    day = pd.Timestamp.now().date()
    table = table.assign(machine=machine, date=day)
    if args.out.exists():
        before = pd.read_csv(args.out)
        table = pd.concat([before[~before["benchmark"].isin(table["benchmark"])], table])
    table.sort_values("benchmark", kind="stable").to_csv(args.out, index=False, lineterminator="\n")
    print(f"{machine}, {day}")
    print(table[["name", "figure", "unit", "against", "note"]].to_string(index=False))


if __name__ == "__main__":
    main()
