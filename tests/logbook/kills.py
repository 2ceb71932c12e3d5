"""Kill commands at random moments: what they were making is whole or not there, and the next run makes it whole.

``run`` mixes ``convert``, ``forecast`` and ``trips`` in parts, and ``import`` into a new folder and into one that is
there; ``endurance.kill`` does the recorder. The long run is ``python -m tests.benchmarks damage``, the suite runs a
short one.
"""

from __future__ import annotations

import contextlib
import io
import os
import random
import shutil
import signal
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from tests.logbook.folders import folder
from tests.logbook.fuzz import BASE
from tirelife.cli import main as command
from tirelife.logbook import check_logbook, read_logbook

SHOP = "Date,Van,Mileage,LF,RF,LR,RR\n"
VISITS = [
    f"2024-0{m}-14,{van},{40000 + 3000 * m},{d},{d},{d},{d}\n"
    for van in "ABC"
    for m, d in ((1, 10), (4, 9), (8, 8))
]


@dataclass(frozen=True)
class Job:
    """A command, what it makes, and what must be so after it was killed at any moment."""

    words: list[str]
    made: Path
    prepare: Callable[[], object]
    held: Callable[[bool], object]
    """Called with whether the command was let go on to its end; what it returns then is the same each time."""


def jobs(top: Path) -> dict[str, Job]:
    """The commands to kill, their inputs made in ``top``."""
    book = folder(top / "book", **BASE)
    trips, shop, grown = top / "trips", top / "shop.csv", top / "grown.csv"
    trips.mkdir()
    lines = (
        Path(__file__)
        .parents[2]
        .joinpath("data_synthetic", "trips.csv")
        .read_text()
        .splitlines(keepends=True)
    )
    for i in range(3):
        rows = [line.replace("V03-", f"V03-{i}-") for line in lines[1:400]]
        (trips / f"{i}.csv").write_text("".join([lines[0], *rows]))
    shop.write_text(SHOP + "".join(VISITS[:7]))
    grown.write_text(SHOP + "".join(VISITS))
    at = top / "at"

    def fresh() -> None:
        shutil.rmtree(at, ignore_errors=True)
        at.mkdir()

    def in_use() -> None:
        fresh()
        _run(["import", str(shop), "--out", str(at / "mine")])
        (at / "mine" / "notes.csv").write_text("of somebody's own\n")

    def converted(done: bool) -> object:
        if not (at / "book.sqlite").exists():
            assert not done
            return None
        assert (~check_logbook(at / "book.sqlite")["doubt"]).sum() == 0
        return [len(t) for t in read_logbook(at / "book.sqlite").tables.values()]

    def imported(most: int, least: int) -> Callable[[bool], object]:
        def held(done: bool) -> object:
            if not (at / "mine").exists():
                # Between two renames nothing may be lost: the folder before stands beside.
                assert not done
                assert least == 0 or (at / ".mine.before" / "depths.csv").exists()
                return None
            depths = len(read_logbook(at / "mine").depths)
            assert depths in ({most} if done else {most, least})
            return depths

        return held

    def parts(done: bool) -> object:
        if done:
            return sorted(
                (p.name, p.read_bytes())
                for p in (at / "parts").glob("*")
                if p.is_file() and p.name[0] not in "._"
            )
        for part in (at / "parts").glob("[!.]*.parquet"):  # one that begins with a dot is half written
            pd.read_parquet(part)
        return None

    def habits(done: bool) -> object:
        if not (at / "habits.csv").exists():
            assert not done
            return None
        return (at / "habits.csv").read_bytes()

    depths = 4 * len(VISITS)
    return {
        "convert": Job(["convert", str(book), str(at / "book.sqlite")], at, fresh, converted),
        "forecast in parts": Job(["forecast", str(book), "--out", f"{at}/parts/", "--chunk", "1", "--fresh"], at, fresh, parts),
        "trips in parts": Job(["trips", str(trips), "--parts", str(at / "sums"), "--out", str(at / "habits.csv")], at, fresh, habits),
        "import": Job(["import", str(grown), "--out", str(at / "mine")], at, fresh, imported(depths, 0)),
        "import again": Job(["import", str(grown), "--out", str(at / "mine")], at, in_use, imported(depths, 28)),
    }  # fmt: skip


def _run(words: list[str]) -> int:
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        return command(words)


def _killed(words: list[str], after_s: float) -> bool:
    """Run a command in a process of its own and kill it; whether it came to its end before."""
    child = os.fork()
    if child == 0:
        try:
            os._exit(_run(words))
        finally:
            os._exit(9)
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0, f"{words} failed by itself"
    return not os.WIFSIGNALED(status)


def _hidden(place: Path) -> list[str]:
    return sorted(str(p) for p in place.rglob(".*"))


def run(times: int, top: Path, seed: int = 1) -> dict[str, int]:
    """Kill the commands in turn, ``times`` in all; one that ended before it was killed does not count."""
    rng = random.Random(seed)
    counts: Counter[str] = Counter()
    top.mkdir(parents=True, exist_ok=True)
    todo = jobs(top)
    lasts, right = {}, {}
    for name, job in todo.items():
        for _ in range(2):  # the first loads what every later one has
            job.prepare()
            begun = time.perf_counter()
            assert _run(job.words) == 0
            lasts[name] = time.perf_counter() - begun
        right[name] = job.held(True)
    names, done = list(todo), 0
    while done < times:
        name = names[(done + counts["ended before the kill"]) % len(names)]
        job = todo[name]
        job.prepare()
        ended = _killed(job.words, rng.uniform(0, 1) * lasts[name])
        counts["ended before the kill" if ended else f"kills of {name}"] += 1
        done += not ended
        job.held(False)
        begun = time.perf_counter()
        again = _run(job.words)
        if not ended:  # a machine is quicker at one time than at another
            lasts[name] = 0.5 * (lasts[name] + time.perf_counter() - begun)
        assert again == 0 or (name == "convert" and again == 2), f"{name} does not go on after a kill"
        assert job.held(True) == right[name], f"{name} is not what it is without a kill"
        assert _hidden(job.made) == [], f"{name} leaves {_hidden(job.made)}"
    return {"kills of commands": done, **counts, "lost": 0, "half": 0, "hidden files left": 0, "seed": seed}
