"""Spoil logbooks in many ways and see that reading them never crashes and never loses a record in silence.

Run ``python -m tests.logbook.fuzz --runs 25000 --seed 1`` for the long one; its counts go into
``tests/logbook/fuzz_results.csv``. The suite runs a short one. ``fuzz_commands`` puts logbooks through the commands.
"""

from __future__ import annotations

import argparse
import csv
import io
import random
import shutil
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

import pandas as pd
import pytest

from tests.logbook.folders import HABITS, TABLES
from tirelife.errors import InputError
from tirelife.language import worded
from tirelife.logbook import check_logbook, read_logbook, textfile
from tirelife.logbook.convert import convert_logbook
from tirelife.logbook.findings import Findings
from tirelife.logbook.parse import parse
from tirelife.logbook.textfile import read_csv_text

BASE = {
    **TABLES,
    "odometer": "date,vehicle_id,odometer_mi\n2025-04-01,V1,5000\n2025-06-01,V2,8000\n",
    "pressures": "date,vehicle_id,position,pressure_psi,state,odometer_mi,ambient_f,set_to_psi,gauge_id\n"
    "2025-03-10,V1,LF,31,cold,4000,50,33,P1\n2025-03-10,V1,RF,33,city,4000,50,,P1\n2025-05-10,V2,RR,36,cold,,,,\n",
    "habits": HABITS + "V1,2025-01-10,2025-06-30,0.2,0.3,0.2,0.2,0.1,5,6,7\n",
    "gauges": "gauge_id,date,kind,reading,master,unit\nD1,2025-02-01,depth,8.5,8,32nds\nP1,2025-02-01,pressure,32,32,psi\n",
    "alignment": "date,odometer_mi,vehicle_id,axle,toe_mm,camber_left_deg\n2025-03-10,4000,V1,front,1.5,-0.5\n",
}  # fmt: skip
NASTY = [
    "", " ", "nan", "NaN", "NA", "None", "inf", "-inf", "1e400", "1e-400", "-0", "0", "-1", "1e9", "0x1F", "1_000", "1,5",
    "1.234,5", "1,234", "1 234", "7/32", "7 mm", "７", "٧", "½", "45667", "2025-02-30", "0000-00-00", "9999-12-31", "1899-12-31",
    "2025-1-5", "05/06/2025", "20250105", "2025-01-05T10:00:00Z", "=1+1", "@SUM(A1)", "-1+1", "<script>alert(1)</script>",
    "../../etc/passwd", "C:\\x", "V1\n", "\"", "'", "a\"b", "a,b", "a;b", "\t", "\u200b", "\ufeff", "é", "😀", "\x7f", "\x01",
    "lf", "FL", "OFF", "SP", "outer ", "True", "1" * 400, "x" * 5000, "V1", "V2", "T1", "T5", "\u2212 7", "7.5 ", "+7.5", ".5", "5.",
    "2262-04-12", "0001-01-01", "2925-01-01", "10000000", "4999999", "99999999999999999999", "1e308", "\r", "0024", "5399", "NULL", "%s", "{}",
]  # fmt: skip
HEADERS = ["", " ", "date", "row", "doubt", "depth_mm", "depth_32nds", "depth_cm", "odometer_km", "odometer", "Vehicle_ID", "é", "=x", "x" * 300, "tire_id"]  # fmt: skip


def spoil_cells(text: str, rng: random.Random) -> str:
    """Spoil the table: cells, rows, columns or its header."""
    rows = list(csv.reader(io.StringIO(text, newline="")))
    for _ in range(rng.choice((1, 1, 1, 2, 3, 8))):
        if not rows or not any(rows):
            break
        deed = rng.randrange(13)
        i = rng.randrange(len(rows))
        j = rng.randrange(max(map(len, rows)))
        if deed < 4:
            rows[i] = [*rows[i], *[""] * (j - len(rows[i]) + 1)]
            rows[i][j] = rng.choice(NASTY)
        elif deed == 4:
            rows[i] = rows[i][: rng.randrange(len(rows[i]) + 1)]
        elif deed == 5:
            rows.insert(i, list(rows[rng.randrange(len(rows))]))
        elif deed == 6:
            del rows[i]
        elif deed == 7:
            rows = [row[:j] + row[j + 1 :] for row in rows]
        elif deed == 8 and rows[0]:
            rows[0][min(j, len(rows[0]) - 1)] = rng.choice(HEADERS)
        elif deed == 9:
            word = rng.choice(NASTY)
            rows = [rows[0]] + [[*row[:j], word, *row[j + 1 :]] for row in rows[1:]]
        elif deed == 10:
            body = rows[1:]
            rng.shuffle(body)
            rows = [rows[0], *body]
        elif deed == 11:
            rows = [row[:j] + [""] * rng.choice((1, 3, 300)) + row[j:] for row in rows]
        else:
            k = rng.randrange(len(rows))
            if j < len(rows[i]) and j < len(rows[k]):
                rows[i][j], rows[k][j] = rows[k][j], rows[i][j]
    out = io.StringIO()
    mark = rng.choice(",,,,,;\t")
    csv.writer(out, delimiter=mark, lineterminator=rng.choice(("\n", "\r\n"))).writerows(rows)
    return out.getvalue()


def spoil_bytes(data: bytes, rng: random.Random) -> bytes:
    """Spoil the file: its bytes, encoding, length."""
    deed = rng.randrange(9)
    at = rng.randrange(len(data) + 1)
    if deed == 0:
        return data[:at]
    if deed == 1:
        return data[:at] + bytes([rng.randrange(256)]) + data[at + 1 :]
    if deed == 2:
        return data[:at] + rng.randbytes(rng.choice((1, 2, 8))) + data[at:]
    if deed == 3:
        return data.decode().encode(rng.choice(("utf-16", "utf-8-sig", "utf-32")))
    if deed == 4:
        return data + data[at:]
    if deed == 5:
        return data.replace(b"\n", rng.choice((b"\r", b"\n\n", b",\n", b"\r\n")))
    if deed == 6:
        return data.replace(b",", rng.choice((b";", b"\t", b" , ", b"|", b",,")))
    if deed == 7:
        return data[:at] + rng.choice((b'"', b"\x00", b"\xe9", b"\x1a", b",", b"\n", b"=")) + data[at:]
    return b"Title,,\n\n" + data


SHARES = (0.15, 1.0, 1.0, 1.0)
"""Share of a logbook's tables that are spoilt, one of these at a time."""


def spoilt(rng: random.Random, shares: tuple[float, ...] = SHARES) -> dict[str, bytes]:
    """Return a logbook with every one of its tables spoilt, or most of them left whole."""
    out = {}
    share = rng.choice(shares)
    for name, text in BASE.items():
        data = text.encode()
        if rng.random() < share:
            data = spoil_cells(text, rng).encode() if rng.random() < 0.7 else spoil_bytes(data, rng)
        if rng.random() > 0.003:
            out[name] = data
    return out


def count_records(data: bytes) -> int:
    """How many records with something in them a file holds, counted apart from the reader."""
    text = data.decode("utf-8-sig")
    if text.lower().startswith("sep="):
        text = text.split("\n", 1)[1]
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=_mark(text)))
    return sum(any(cell.strip() for cell in row) for row in rows[1:])


def _mark(text: str) -> str:
    head = text.split("\n")[0]
    return max(",;\t", key=head.count)


def one(folder: Path, tables: dict[str, bytes], counts: Counter[str]) -> None:
    """Read one spoilt logbook; an AssertionError or any error but InputError is a find."""
    for old in folder.iterdir():
        old.unlink()
    for name, data in tables.items():
        (folder / f"{name}.csv").write_bytes(data)
    counts["files"] += len(tables)
    counts["spoilt files"] += sum(BASE[name].encode() != data for name, data in tables.items())
    problems = check_logbook(folder)
    assert (worded(problems)["what"] != "").all()
    assert (worded(problems)["advice"] != "").all()
    errors = int((~problems["doubt"]).sum())
    counts["errors"] += errors
    counts["doubts"] += len(problems) - errors
    if errors:
        counts["refused"] += 1
        if counts["refused"] % 4:
            return
        with pytest.raises(InputError) as caught:
            read_logbook(folder)
        assert len(caught.value.problems) == errors
        return
    book = read_logbook(folder)
    counts["read"] += 1
    assert len(book.problems) == len(problems)
    for name, data in tables.items():
        aside = worded(problems)["what"].isin(["is in the future", "stands twice"])
        rows = problems.loc[aside & (problems["file"] == f"{name}.csv"), "row"]
        held, there = len(set(book.tables[name]["row"]).union(rows)), count_records(data)
        counts["records"] += there
        if name == "tires" and (worded(problems)["what"] == "is in the future").any():
            continue  # a tire first mounted on a day ahead is left out with its mount, which is flagged
        assert held == there, f"{name}: {there} records, {held} used or flagged"
    assert not book.stretches["to_km"].lt(book.stretches["from_km"]).any()


def run(runs: int, seed: int, store_every: int = 40, shares: tuple[float, ...] = SHARES) -> Counter[str]:
    """Spoil ``runs`` logbooks; every so often copy one that reads into a file and back."""
    counts: Counter[str] = Counter()
    usual = textfile._SMALL
    with tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").exists() else None) as name:
        folder = Path(name) / "book"
        folder.mkdir()
        for i in range(runs):
            tables = spoilt(random.Random(f"{seed}-{i}"), shares)
            # Most by the way of small files, a quarter by that of large ones.
            textfile._SMALL = 100_000 if i % 4 else 0
            try:
                one(folder, tables, counts)
                if i % store_every == 0:
                    _through_a_file(Path(name), folder, counts)
            except InputError:
                counts["refused"] += 1
            except Exception:
                print(f"seed {seed}-{i}", file=sys.stderr)
                shutil.copytree(folder, Path(tempfile.gettempdir()) / f"fuzz-{seed}-{i}", dirs_exist_ok=True)
                raise
        textfile._SMALL = usual
        counts["runs"] = runs
    return counts


def run_tables(runs: int, seed: int) -> Counter[str]:
    """Spoil one table at a time, alone in its folder: quicker, for what one file can do to its reader."""
    counts: Counter[str] = Counter()
    with tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").exists() else None) as name:
        folder = Path(name)
        for i in range(runs):
            rng = random.Random(f"table {seed}-{i}")
            table = rng.choice(list(BASE))
            data = spoil_cells(BASE[table], rng).encode()
            if rng.random() < 0.3:
                data = spoil_bytes(data, rng)
            (folder / f"{table}.csv").write_bytes(data)
            try:
                found = Findings()
                text = read_csv_text(folder / f"{table}.csv", table, found)
                parsed = None if text is None else parse(text, found)
                if i % 10 == 0:  # the table of problems, and the records counted apart
                    counts["listed"] += 1
                    assert (worded(found.frame())["advice"] != "").all()
                    if parsed is not None and not found.has_errors:
                        assert len(parsed.frame()) == count_records(data)
                        counts["records"] += len(parsed)
            except Exception:
                print(f"table {seed}-{i}", file=sys.stderr)
                raise
            assert text is not None or found.has_errors
            counts["refused" if found.has_errors else "read"] += 1
    counts.update({"runs": runs, "files": runs, "spoilt files": runs})
    return counts


def _through_a_file(top: Path, folder: Path, counts: Counter[str]) -> None:
    store, back = top / "logbook.sqlite", top / "back"
    store.unlink(missing_ok=True)
    shutil.rmtree(back, ignore_errors=True)
    convert_logbook(folder, store)
    convert_logbook(store, back)
    there, again = read_logbook(folder), read_logbook(back)
    counts["through a file"] += 1
    for name, table in there.tables.items():
        left = table.drop(columns=["row", "doubt"]).reset_index(drop=True)
        right = again.tables[name].drop(columns=["row", "doubt"]).reset_index(drop=True)
        pd.testing.assert_frame_equal(left, right)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=25_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--tables", action="store_true", help="one table at a time, alone in its folder")
    parser.add_argument("--out", type=Path, default=Path(__file__).with_name("fuzz_results.csv"))
    args = parser.parse_args()
    begun = time.perf_counter()
    what, deed = "whole logbooks", run
    if args.tables:
        what, deed = "single tables", run_tables
    counts = deed(args.runs, args.seed)
    row = {"date": pd.Timestamp.now().date(), "what": what, "seed": args.seed}
    row = {**row, **dict(sorted(counts.items())), "crashes": 0}
    table = pd.DataFrame([row])
    if args.out.exists():
        table = pd.concat([pd.read_csv(args.out), table])
    table.to_csv(args.out, index=False, lineterminator="\n")
    print(f"{dict(counts)} in {time.perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main()
