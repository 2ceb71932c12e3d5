"""The counter's odds of slips against the log's own rule, over random visits, in a real browser."""

import math

import numpy as np
import pandas as pd
import pytest

from tests.browser.counters import open_counter
from tirelife.logbook.codes import Slip
from tirelife.logbook.slips.depths import odds_alone
from tirelife.logbook.slips.predict import Law, leave_out
from tirelife.logbook.slips.visits import Visits
from tirelife.outlook.asking import slip_rule
from tirelife.sheet.counter import counter_page

COUNT = 250
MM = 25.4 / 32
JUDGE = """pairs => pairs.map(([now, before]) => {
  const law = tirelife.slipper.expect(now, before), found = tirelife.slipper.judge(now, law);
  return { expected: law.expected, found };
})"""


def random_pairs(rng, count):
    """A visit and, for most, the one before it, of a car each: in order, or with a slip made."""
    pairs = []
    for i in range(count):
        fresh = [float(rng.uniform(6, 10))] * 4 if rng.random() < 0.5 else [None] * 4
        run, km = float(rng.uniform(0, 40_000)), float(rng.uniform(500, 25_000))
        level = max((fresh[0] or 8.5) - 8.8e-5 * run, 2.0)
        wheels = level + rng.normal(0, 0.3, 4)
        then = np.maximum(wheels - 8.8e-5 * km + rng.normal(0, 0.15, 4), 0)
        kind = i % 8
        then = [then, then / MM, then * MM, then * 10, then / 10, then * 0, then[[1, 0, 3, 2]], then][kind]
        if kind == 7:
            then = then + np.array([3.0, 3.0, 0, 0]) + rng.normal(0, 0.2, 4)
        if i % 16 == 14:
            then = rng.uniform(0.5, 20, 4)
        step = float(rng.choice([0.1, MM / 2]))
        then = np.round(then / step) * step
        grooves = int(rng.integers(1, 4))
        read = [None if rng.random() < 0.05 else float(d) for d in then]
        read = read if any(d is not None for d in read) else [float(d) for d in then]
        readings = grooves * sum(d is not None for d in read)
        unit = "mm" if step == 0.1 else "32nds"
        now = {
            "depth": read, "grooves": [grooves] * 4, "km": km, "run": [run + km] * 4, "fresh": fresh,
            "step": step, "off": int(rng.integers(0, readings + 1)), "readings": readings, "unit": unit,
            "alike": len({d for d in read if d is not None}) == 1,
        }  # fmt: skip
        before = {
            "depth": [float(d) for d in wheels], "grooves": [3] * 4, "km": 0.0, "run": [run] * 4,
            "fresh": fresh,
        }  # fmt: skip
        pairs.append((now, before if rng.random() < 0.85 else None))
    return pairs


def as_visits(now, before):
    rows = [v for v in (before, now) if v is not None]
    depth = np.array([[np.nan if d is None else d for d in v["depth"]] for v in rows], dtype=float)
    cells = np.full((*depth.shape, 5), np.nan)
    cells[:, :, 0] = depth
    n = len(rows)
    return Visits(
        vehicle=np.zeros(n, dtype=np.intp), day=np.arange(n), km=np.array([v["km"] for v in rows]),
        moved=np.zeros(n, dtype=bool), life=np.where(np.isfinite(depth), np.arange(4), -1), depth=depth,
        run=np.array([v["run"] for v in rows]),
        new=np.array([[np.nan if d is None else d for d in v["fresh"]] for v in rows], dtype=float),
        grooves=np.array([v["grooves"] for v in rows]), records=np.zeros(0, dtype=np.intp),
        visit=np.zeros(0, dtype=np.intp), off_halves=np.array([v.get("off", 0) for v in rows], dtype=float),
        readings=np.array([v.get("readings", 0) for v in rows], dtype=float), step=now["step"], cells=cells,
        counts=np.isfinite(cells).astype(np.intp), place=np.zeros(0, dtype=np.intp),
    )  # fmt: skip


@pytest.fixture(scope="module")
def pairs():
    return random_pairs(np.random.default_rng(75), COUNT)


def test_odds_slips_and_what_is_expected_are_the_packages_own(browser, tmp_path, pairs):
    file = tmp_path / "counter.html"
    file.write_text(counter_page(made=pd.Timestamp("2026-03-01")), encoding="utf-8")
    context = browser.new_context(offline=True)
    ours = open_counter(context, file).evaluate(JUDGE, pairs)
    context.close()
    law = Law(**slip_rule()["law"])
    asked = set()
    for (now, before), said in zip(pairs, ours, strict=True):
        visits = as_visits(now, before)
        none = np.zeros(len(visits), dtype=bool)
        left = leave_out(visits, law, none, ~none)
        np.testing.assert_allclose(
            [np.nan if d is None else d for d in said["expected"]], left.expected[-1], rtol=1e-6, atol=1e-9
        )
        # The rule looks at all visits of a log for how gauges are marked: here there is none to learn from.
        alone = as_visits(now, None)
        last = type(left)(left.expected[-1:], left.precision[-1:])
        note, odds = odds_alone(alone, law, last, now["unit"])[0]
        if note is None:
            assert said["found"] is None or math.isclose(odds, np.log(100), rel_tol=1e-6)
            continue
        asked.add(note.code)
        assert note.code.value == "slip-" + said["found"]["slip"]
        assert said["found"]["odds"] == pytest.approx(odds, rel=1e-6)
        for name, value in note.values:
            assert said["found"]["values"][name] == value
    assert {Slip.OTHER_UNIT, Slip.TENFOLD, Slip.ALL_ZERO, Slip.SWAPPED, Slip.NEW_TIRES, Slip.UNFIT} <= asked
