"""Damage logbook files and see that no command takes damage for data, or for a fault of its own.

The long one is ``python -m tests.benchmarks damage``: 2,000 damaged files and 1,000 single flipped bits. The suite runs
a short one.
"""

from __future__ import annotations

import contextlib
import csv
import io
import random
import shutil
import sqlite3
from collections import Counter
from pathlib import Path

import pandas as pd

from tests.logbook.folders import folder
from tests.logbook.fuzz import BASE
from tirelife.cli import main as command
from tirelife.errors import InputError
from tirelife.logbook import Visit, correct_record, read_logbook, record_visit, withdraw_record
from tirelife.logbook.convert import convert_logbook

FOREIGN = {
    "a view for a table": "drop table depths; create view depths as with recursive t(x) as (select 1 union all select x + 1 from t) select x as date, x as odometer_mi, x as vehicle_id, x as position, x as groove, x as depth_32nds, x as _row, null as _superseded_by from t",
    "a view beside": "create view more as select * from depths",
    "a trigger of its own": "create trigger own after insert on odometer begin update tires set new_depth_32nds = 3; end",
    "a trigger in another's place": "drop trigger depths_in; create trigger depths_in after insert on depths begin select 1; end",
    "a trigger gone": "drop trigger tires_change",
    "a table beside": "create table more (x)",
    "a table gone": "drop table audit",
    "a virtual table": "create virtual table more using fts5(x)",
    "a column more": "alter table depths add column more text",
    "a column computed": "alter table tires add column more real generated always as (new_depth_32nds * 2)",
    "an index of its own": "create index own on depths (abs(depth_32nds))",
    "another version": "pragma user_version = 9",
    "another program's file": "pragma application_id = 5",
}  # fmt: skip
"""What other programs may do to a file, as SQL."""
BEHIND = {
    "a record gone": "delete from depths where _row = 20",
    "a record changed": "update depths set depth_32nds = 3 where _row = 20",
    "a record put in": "insert into odometer (date, vehicle_id, odometer_mi) values ('2025-08-01', 'V1', 10500)",
    "a record in use again": "update depths set _superseded_by = null where _row = 73",
    "a record out of use": "update depths set _superseded_by = -1 where _row = 20",
    "a header changed": "update tables set header = '[\"date\"]' where name = 'depths'",
    "a visit's note changed": "update visits set note = 'x'",
}  # fmt: skip
"""What they may do after they took the triggers away, which they put back."""


def tamper(path: Path, what: str) -> None:
    """Do to a file what other hands may do."""
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        if what in FOREIGN:
            connection.executescript(FOREIGN[what])
            return
        triggers = connection.execute("select name, sql from sqlite_master where type = 'trigger'").fetchall()
        for name, _ in triggers:
            connection.execute(f"drop trigger {name}")
        connection.execute(BEHIND[what])
        for _, sql in triggers:
            connection.execute(sql)


def sound_file(top: Path) -> Path:
    """A logbook file with a visit, a correction, a withdrawal and a changed tire in its history."""
    path = top / "sound.sqlite"
    convert_logbook(folder(top / "book", **BASE), path)
    depths = [("LF", "center", "7.9", ""), ("RF", "outer", "7.8", "2")]
    assert record_visit(
        path, Visit("V1", "2025-08-10", "11000", depths, note="é"), accept_doubts=True
    ).written
    assert correct_record(path, "depths", 73, {"depth_32nds": "8.4"}, accept_doubts=True).written
    assert withdraw_record(path, "depths", 40, accept_doubts=True).written
    assert correct_record(path, "tires", 2, {"tire_line": "Line Z"}, accept_doubts=True).written
    with contextlib.closing(sqlite3.connect(path)) as connection:
        connection.execute("pragma journal_mode=delete")
    return path


def answers(path: Path) -> dict[str, pd.DataFrame] | None:
    """Every table that an answer could rest on, and the doubts; None if the file is refused."""
    try:
        book = read_logbook(path)
    except InputError:
        return None
    problems = book.problems.assign(file=book.problems["file"].str.rsplit(": ", n=1).str[-1])
    return {**book.tables, "problems": problems}


def flips(times: int, seed: int, top: Path) -> dict[str, int]:
    """Flip one bit of the file at a time: it is refused, or doubted, or nothing that is read has changed."""
    rng = random.Random(seed)
    sound = sound_file(top)
    data, right = sound.read_bytes(), answers(sound)
    counts: Counter[str] = Counter()
    path = top / "flipped.sqlite"
    for _ in range(times):
        at = rng.randrange(8 * len(data))
        flipped = bytearray(data)
        flipped[at // 8] ^= 1 << at % 8
        path.write_bytes(flipped)
        given = answers(path)
        if given is None:
            counts["refused"] += 1
        elif len(given["problems"]) > len(right["problems"]):
            counts["doubted"] += 1
        elif all(given[name].equals(right[name]) for name in right):
            counts["as before"] += 1
        else:
            counts["changed unseen"] += 1
            print("bit", at, "changes an answer unseen", flush=True)
    return {"flips": times, "changed unseen": 0, **counts, "seed": seed}


def _damaged(data: bytes, rng: random.Random) -> tuple[str, bytes]:
    out = bytearray(data)
    deed = rng.randrange(5)
    if deed == 0:
        for _ in range(rng.choice((1, 3, 10, 100))):
            out[rng.randrange(len(out))] ^= 1 << rng.randrange(8)
        return "bits flipped", bytes(out)
    if deed == 1:
        return "cut", bytes(out[: rng.randrange(len(out))])
    page = 4096 * rng.randrange(len(out) // 4096)
    if deed == 2:
        out[page : page + 4096] = bytes(4096)
        return "a page of zeros", bytes(out)
    if deed == 3:
        other = 4096 * rng.randrange(len(out) // 4096)
        out[page : page + 4096] = data[other : other + 4096]
        return "a page in another's place", bytes(out)
    start = rng.randrange(len(out))
    out[start : start + 50] = rng.randbytes(50)
    return "fifty bytes of noise", bytes(out)


def run(words: list[str]) -> tuple[int, str]:
    """Run a command; its exit code and what it said."""
    said = io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        try:
            code = command(words)
        except SystemExit as stop:
            code = int(stop.code or 0)
    return code, said.getvalue()


def rows_of(place: Path) -> set[tuple[str, ...]]:
    """Every record of an exported folder."""
    out = set()
    for file in place.glob("*.csv"):
        if file.stem in BASE:
            with file.open(newline="", encoding="utf-8") as lines:
                records = [{k: v for k, v in row.items() if v} for row in csv.DictReader(lines)]
                out |= {(file.stem, *sorted(record.items())) for record in records}
    return out


def damage(times: int, seed: int, top: Path) -> dict[str, int]:
    """Damage files in many ways; check and convert must answer or refuse, and save nothing but sound records."""
    rng = random.Random(seed)
    sound = sound_file(top)
    data = sound.read_bytes()
    convert_logbook(sound, top / "whole")
    whole = rows_of(top / "whole") | rows_of(top / "book")  # with those corrected since
    counts: Counter[str] = Counter(
        {
            "faults": 0,
            "changed by a refused visit": 0,
            "records saved that were not there": 0,
            "hidden files left": 0,
        }
    )
    at = top / "at"
    for i in range(times):
        shutil.rmtree(at, ignore_errors=True)
        at.mkdir()
        path = at / "book.sqlite"
        if i % 10 == 9:
            hands = [*FOREIGN, *BEHIND]
            what = hands[(i // 10) % len(hands)]
            path.write_bytes(data)
            tamper(path, what)
        else:
            what, spoilt = _damaged(data, rng)
            path.write_bytes(spoilt)
        before = path.read_bytes()
        for words in (["check", str(path)], ["audit", str(path)], ["convert", str(path), str(at / "saved")]):
            code, said = run(words)
            if code not in (0, 2) or "fault of the program" in said or "Traceback" in said:
                counts["faults"] += 1
                print(i, what, words[0], said, flush=True)
            counts[f"{words[0]} {'refused' if code else 'answered'}"] += 1
        record = [
            "record",
            str(path),
            "--vehicle",
            "V1",
            "--date",
            "2025-09-01",
            "--odometer",
            "12000",
            "--yes",
        ]
        code, said = run(record)
        counts["faults"] += code not in (0, 2) or "fault of the program" in said
        if code and path.read_bytes()[100:] != before[100:]:  # the header tells how the file is written
            counts["changed by a refused visit"] += 1
        if (at / "saved").exists():
            found = rows_of(at / "saved")
            counts["saved"] += 1
            counts["records saved"] += len(found)
            counts["records saved that were not there"] += len(found - whole)
            if found - whole:
                print(i, what, found - whole, flush=True)
        left = [name.name for name in at.iterdir() if name.name.startswith(".")]
        counts["hidden files left"] += len(left)
        counts[what] += 1
    return {"damaged files": times, **counts, "seed": seed}
