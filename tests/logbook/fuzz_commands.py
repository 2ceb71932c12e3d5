"""Put spoilt logbooks through the commands ``check``, ``forecast`` and ``sheet``, and look at all they say.

Run ``python -m tests.logbook.fuzz_commands --tables 20000 --seeds 1 2 3`` for the long one; a row for each seed
goes into ``tests/logbook/fuzz_results.csv`` when it is done. The suite runs a short one.
"""

from __future__ import annotations

import argparse
import gc
import html
import io
import json
import random
import re
import shutil
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.logbook import fuzz
from tests.logbook.mild import IDS, mild
from tests.stand_ins import standing_in
from tirelife.cli import main as main_command
from tirelife.logbook import Logbook, read_logbook
from tirelife.outlook import calibrated_fit
from tirelife.rates import WearFit
from tirelife.sheet import page, start_bundle, start_drawing
from tirelife.sheet.bundle import finish_bundle
from tirelife.sheet.drawing import specifications
from tirelife.tread import tire_visits

MILD = 0.22
"""Share of logbooks that are spoilt mildly; most of those are answered."""
REFITTED = 0.2
"""Share of pages for which the logbook is read and fitted anew, as a command on its own would."""
DRAWN = 0.1
"""Share of pages whose charts are drawn: they take as long as all the rest of a page."""
BARE = 0.75
"""Share of logbooks for which pandas keeps texts as it does where pyarrow is not installed."""
RAW = [word for word in IDS if "<" in word]
"""Names that must not stand on a page as they are."""
LEVELS = ("p10", "p25", "p50", "p75", "p90")


@dataclass
class Seen:
    """What the commands handled: the logbook that was read last, its fit, and what Python warned of."""

    book: Logbook | None = None
    fit: WearFit | None = None
    again: bool = False
    """Hand out what the command before read and fitted, for the same folder and day."""
    warned: list[str] = field(default_factory=list)
    fit_refused: bool = False
    """All readings are so near nothing, or so far apart, that the fit says it cannot be made."""
    words: tuple[str, ...] = ()
    """The command given last."""


@contextmanager
def watched(seen: Seen, rng: random.Random) -> Iterator[None]:
    """Look over the commands' shoulders.

    What they do is not changed, but for what would only be done again: the drawing code is fetched once, most
    pages are made from the reading and the fit of the forecast just before, and few have their charts drawn.
    """

    def read(*args, **kwargs):
        if not seen.again:
            seen.book = seen.fit = None
            seen.book = read_logbook(*args, **kwargs)
        return seen.book

    def fitted(book, prior=None):
        if not (seen.again and seen.fit is not None):
            seen.fit = calibrated_fit(book, prior)
        return seen.fit

    def drawn(answer):
        return specifications(answer) if rng.random() < DRAWN else {}

    others = {
        read_logbook: read,
        calibrated_fit: fitted,
        start_drawing: lambda: None,
        start_bundle: lambda: None,
        finish_bundle: lambda _started=None: bundle(),
        specifications: drawn,
    }
    with pytest.MonkeyPatch.context() as patch, standing_in(others):
        patch.setattr(page, "_sha256", cache(page._sha256))
        yield


@cache
def bundle() -> str:
    """The drawing code of a page, fetched once."""
    return finish_bundle()


def call(seen: Seen, *words: str) -> tuple[int, str, str]:
    """Run a command; return its exit code, what it printed, and its messages."""
    seen.words = words
    with (
        redirect_stdout(io.StringIO()) as out,
        redirect_stderr(io.StringIO()) as said,
        warnings.catch_warnings(record=True) as caught,
    ):
        warnings.simplefilter("always")
        code = main_command(words)
    for warning in caught:
        where = warning.filename.replace("\\", "/").split("/site-packages/")[-1].split("/main/")[-1]
        seen.warned.append(f"{warning.category.__name__} {where}:{warning.lineno} {warning.message}"[:160])
    assert code in (0, 2), f"{words[0]} ended with {code}: {said.getvalue()}"
    assert "Traceback" not in said.getvalue()
    return code, out.getvalue(), said.getvalue()


def _content(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def one(
    top: Path,
    files: dict[str, bytes],
    records: dict[str, int] | None,
    rng: random.Random,
    seen: Seen,
    counts: Counter[str],
) -> None:
    """Put one logbook through the three commands."""
    folder, out = top / "book", top / "out"
    for place in (folder, out):
        shutil.rmtree(place, ignore_errors=True)
        place.mkdir()
    for name, data in files.items():
        (folder / f"{name}.csv").write_bytes(data)
    before = _content(folder)
    options: list[str] = []
    if rng.random() < 0.2:
        options += ["--as-of", rng.choice(("2025-02-01", "2024-06-10", "2026-06-30", "2035-01-01"))]
    problems = _check(folder, options, rng, seen)
    refused = bool((~problems["doubt"]).any())
    counts["check " + ("refused" if refused else "answered")] += 1
    counts["errors"] += int((~problems["doubt"]).sum())
    counts["doubts"] += int(problems["doubt"].sum())
    if rng.random() < 0.2:
        options += ["--removal-depth", rng.choice(("4/32", "1.6mm", "0mm", "3 mm", "25mm", "0.1mm"))]
    elif rng.random() < 0.1:
        options += ["--place", rng.choice(("US", "EU/Austria"))]
    answered = _forecast(folder, out, options, problems, rng, seen)
    counts["forecast " + ("answered" if answered else "refused")] += 1
    book = seen.book
    counts["fit refused"] += seen.fit_refused
    if answered:
        assert book is not None
        _nothing_lost(book, problems, files, records, "--as-of" in options, counts)
    else:
        assert not _content(out), "a refused forecast wrote something"
    shutil.rmtree(out)
    out.mkdir()
    seen.again = answered and rng.random() > REFITTED
    paged = _sheet(folder, out, options, book if answered else None, rng, seen)
    counts["sheet " + ("answered" if paged else "refused")] += 1
    assert _content(folder) == before, "the logbook itself was changed"
    assert {p.name for p in top.iterdir()} == {"book", "out"}, "something was written elsewhere"


def _check(folder: Path, options: list[str], rng: random.Random, seen: Seen) -> pd.DataFrame:
    code, out, _ = call(seen, "check", str(folder), "--json", *options)
    listed = json.loads(out)["problems"]
    columns = ["file", "row", "column", "value", "what", "advice", "doubt"]
    problems = pd.DataFrame(listed, columns=columns).astype({"doubt": bool})
    assert (code == 2) == (~problems["doubt"]).any()
    assert (problems["what"] != "").all()
    assert (problems["advice"] != "").all()
    if rng.random() < 0.1:
        again, text, _ = call(seen, "check", str(folder), *options)
        assert again == code
        for title, where in (("Errors", ~problems["doubt"]), ("Doubts", problems["doubt"])):
            assert (f"{title}: {where.sum():,}" in text) == where.any()
    return problems


def _forecast(
    folder: Path, out: Path, options: list[str], problems: pd.DataFrame, rng: random.Random, seen: Seen
) -> bool:
    form = rng.choice(("json", "json", "print", "out.csv", "out.parquet", "parts/"))
    to = {"json": ["--json"], "print": []}.get(form, ["--out", f"{out}/{form}"])
    code, text, said = call(seen, "forecast", str(folder), *to, *options)
    errors = problems[~problems["doubt"]]
    if code:
        assert not text
        if len(errors):
            kinds = errors.groupby(["file", "column", "what"]).size()
            lines = int((kinds.clip(upper=3) + (kinds > 3)).sum())  # three of a kind, and how many more
            assert said.count("\n") == lines, f"{said.count(chr(10))} lines for {lines} to say"
            for row in errors.itertuples():
                assert row.what in said
        else:  # a sound logbook may lack what was asked for
            assert seen.book is not None
            bare = seen.book.mounts["position"].isin(["OFF"]).all()
            why = (
                "no tire is on a vehicle"
                if bare
                else "no limit is known there|covariance of the readings cannot"
            )
            assert re.search(why, said), f"refused, though the check is clean: {said}"
            seen.fit_refused = "covariance" in said
        return False
    assert errors.empty, "answered, though the check has errors"
    if form == "json":
        table = pd.DataFrame(json.loads(text)["tires"])
    elif form == "print":
        table = pd.read_csv(
            io.StringIO(text),
            dtype={c: "str" for c in ("vehicle_id", "tire_id", "note")},
            keep_default_na=False,
            na_values={c: [""] for c in ()},
        )
        table = _numbers(table)
    elif form == "out.csv":
        table = _numbers(pd.read_csv(out / form, dtype="str", keep_default_na=False))
    elif form == "out.parquet":
        table = pd.read_parquet(out / form)
    else:
        parts = sorted((out / "parts").glob("*.parquet"))
        table = pd.concat([pd.read_parquet(part) for part in parts]) if parts else pd.DataFrame()
    assert seen.book is not None
    _rows_fit(table, seen.book, quoted=form in ("print", "out.csv"))
    return True


def _numbers(table: pd.DataFrame) -> pd.DataFrame:
    names = [c for c in table if c.startswith(("odometer_", "depth_", "miles_", "km_"))]
    return table.assign(**{c: pd.to_numeric(table[c].replace("", np.nan)) for c in names})


def _rows_fit(table: pd.DataFrame, book: Logbook, quoted: bool) -> None:
    """Every tire on a vehicle now has its row, and its numbers are sane."""
    stretches = book.stretches
    there = stretches[stretches["open"]]
    if there.empty:
        assert table.empty
        return
    tires = table["tire_id"].astype(str)
    if quoted:  # a quote before what a spreadsheet would run
        risky = tires[tires.str.match(r"[=@+\-\t\r]")]
        assert pd.to_numeric(risky, errors="coerce").notna().all()  # a number is no formula
        tires = tires.str.removeprefix("'")
    assert sorted(tires) == sorted(there["tire_id"].str.removeprefix("'") if quoted else there["tire_id"]), (
        "a tire has no row"
    )
    distance = [next(c for c in table if re.fullmatch(rf"(miles|km)_left_{level}", c)) for level in LEVELS]
    far = table[distance].to_numpy(dtype=float)
    depth = table[next(c for c in table if c.startswith("depth_now_"))].to_numpy(dtype=float)
    note = table["note"].fillna("").astype(str)
    assert not np.isinf(far).any()
    assert not np.isinf(depth).any()
    unknown = np.isnan(far)
    assert (unknown.all(axis=1) == unknown.any(axis=1)).all(), "some of a row's quantiles are missing"
    assert (note[unknown.any(axis=1) | np.isnan(depth)] != "").all(), "unknown without a reason"
    known = far[~unknown.any(axis=1)]
    assert (known >= 0).all()
    assert (np.diff(known, axis=1) >= -1e-9).all(), "quantiles out of order"
    assert not (depth < 0).any(), "a negative depth"
    dates = pd.DataFrame(
        {
            level: pd.to_datetime(table[f"date_{level}"].replace("", None), format="ISO8601")
            for level in LEVELS
        }
    )
    day = dates.to_numpy(dtype="datetime64[D]")
    as_of = book.as_of.to_datetime64().astype("datetime64[D]")
    assert not (day < as_of).any(), "a date that is past"
    assert not (np.diff(day, axis=1).astype("timedelta64[D]") < np.timedelta64(0)).any(), "dates out of order"
    missing = np.isnat(day).any(axis=1)
    assert (note[missing] != "").all(), "no date, and no reason"


def _nothing_lost(
    book: Logbook,
    problems: pd.DataFrame,
    files: dict[str, bytes],
    records: dict[str, int] | None,
    as_of: bool,
    counts: Counter[str],
) -> None:
    """Rows in = rows used + rows flagged."""
    ahead = problems[problems["what"] == "is in the future"]
    aside = problems[problems["what"].isin(["is in the future", "stands twice"])]
    for name, data in files.items():
        flagged = aside.loc[aside["file"] == f"{name}.csv", "row"]
        held = len(set(book.tables[name]["row"]).union(flagged))
        there = fuzz.count_records(data) if records is None else records[name]
        counts["records"] += there
        if as_of or (name == "tires" and len(ahead)):
            assert held <= there
            continue  # what is dated after --as-of is left out, as asked; so are tires first mounted after it
        assert held == there, f"{name}: {there} records, {held} used or flagged"
    # Each reading is in a tire-visit, or flagged.
    used, doubted = int(tire_visits(book)["readings"].sum()), int((book.depths["doubt"] != "").sum())
    counts["readings used"] += used
    assert used + doubted >= len(book.depths), f"{len(book.depths)} readings, {used} used, {doubted} flagged"


def _sheet(
    folder: Path, out: Path, options: list[str], book: Logbook | None, rng: random.Random, seen: Seen
) -> bool:
    names = ["V1"] if book is None else sorted(set(book.vehicles["vehicle_id"]))
    vehicle = rng.choice(names) if names else "V1"
    words = ["--vehicle=" + vehicle, "--out", f"{out}/page.html", *options]
    if rng.random() < 0.1:
        words += ["--paper", "a4", "--date-order", rng.choice(("mdy", "dmy", "ymd"))]
    code, text, said = call(seen, "sheet", str(folder), *words)
    assert not text
    written = _content(out)
    if code:
        assert not written, "a refused page was written"
        assert said.strip()
        if book is not None:
            on = book.stretches
            on = on[on["open"] & (on["vehicle_id"] == vehicle) & (on["position"] != "SP")]
            assert on.empty, f"no page, though {vehicle} has tires on the road: {said}"
        return False
    assert book is not None, "a page, though the forecast was refused"
    assert set(written) == {"page.html"}
    page = written["page.html"].decode()
    own = page.replace(bundle(), "")
    for word in RAW:
        assert word not in own, f"{word} stands on the page"
    text = re.sub(r"<script.*?</script>", "", own, flags=re.S)
    for name in {vehicle, *book.tires["tire_line"], *book.tires["tire_id"]}:
        text = text.replace(html.escape(name), "")
    assert not re.search(r">[^<]*\b(nan|NaN|NaT|inf|None)\b[^<]*<", text), "a page that says nan"
    return True


def run(tables: int, seed: int, runs: int | None = None, share: float = MILD) -> Counter[str]:
    """Spoil logbooks until ``tables`` spoilt tables (or ``runs`` logbooks) went through all three commands."""
    counts: Counter[str] = Counter()
    with tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").exists() else None) as name:
        i = 0
        gc.collect()
        gc.freeze()
        while counts["spoilt files"] < tables if runs is None else i < runs:
            rng = random.Random(f"commands {seed}-{i}")
            records = None
            if rng.random() < share:
                spoilt = mild(rng)
                files, records = spoilt.files, spoilt.records
                counts["files"] += len(files)
                counts["spoilt files"] += len(files)
                counts["mild"] += 1
            else:
                files = fuzz.spoilt(rng, shares=(0.1, *[1.0] * 20))
                counts["files"] += len(files)
                counts["spoilt files"] += sum(fuzz.BASE[n].encode() != data for n, data in files.items())
            seen = Seen()
            (Path(name) / "book").mkdir(exist_ok=True)
            try:
                storage = "python" if rng.random() < BARE else "pyarrow"
                with watched(seen, rng), pd.option_context("mode.string_storage", storage):
                    one(Path(name), files, records, rng, seen, counts)
            except Exception as error:
                counts["crashes"] += 1
                where = traceback.extract_tb(error.__traceback__)[-1].lineno
                what = f"{type(error).__name__} in line {where}: {str(error)[:600]}"
                print(f"seed {seed}-{i}: {what}\n  after {' '.join(seen.words)}", file=sys.stderr, flush=True)
                keep = Path(tempfile.gettempdir()) / f"fuzz-{seed}-{i}"
                shutil.copytree(Path(name) / "book", keep, dirs_exist_ok=True)
            for warning in set(seen.warned):
                counts["warnings"] += 1
                print(f"seed {seed}-{i}: {warning}", file=sys.stderr, flush=True)
            i += 1
        counts["runs"] = i
    return counts


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tables", type=int, default=20_000, help="spoilt tables a seed")
    parser.add_argument("--runs", type=int, help="logbooks a seed, instead")
    parser.add_argument("--mild", type=float, default=MILD, help="share of logbooks that are spoilt mildly")
    parser.add_argument("--seeds", type=int, nargs="+", default=[1])
    parser.add_argument("--out", type=Path, default=Path(__file__).with_name("fuzz_results.csv"))
    args = parser.parse_args()
    for seed in args.seeds:
        begun = time.perf_counter()
        counts = run(args.tables, seed, args.runs, args.mild)
        row = {
            "date": pd.Timestamp.now().date(),
            "what": "commands",
            "seed": seed,
            **dict(sorted(counts.items())),
        }
        table = pd.DataFrame([{"crashes": 0, "warnings": 0, "mild share": args.mild, **row}])
        if args.out.exists():
            old = pd.read_csv(args.out)
            table = pd.concat([old[(old["what"] != "commands") | (old["seed"] != seed)], table])
        table.to_csv(args.out, index=False, lineterminator="\n")
        print(f"{seed}: {dict(counts)} in {time.perf_counter() - begun:.0f} s", flush=True)


if __name__ == "__main__":
    main()
