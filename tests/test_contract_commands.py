"""One contract for every command, as for every public function in ``tests/test_contract_functions.py``."""

import json
import math
import os
import re
import subprocess
import sys

import numpy as np
import pytest

from tests import contract
from tests.contract_commands import COMMANDS, NO_LOGBOOK, run
from tirelife.cli import COMMANDS as ALL

ALL_OF_IT = bool(os.environ.get("TIRELIFE_CONTRACT"))
"""Set by ``python -m tests.benchmarks contract``: pages and the back-test too, over more vehicles."""
LONG = ("sheet", "counter", "fleet", "backtest", "groups")
ASKED = [name for name in COMMANDS if ALL_OF_IT or name not in LONG]
AS_WRITTEN = ("audit", "check")
"""These tell times, digests and rows as they were written."""
VEHICLES = ("V03", "V07", "V09", "V14") if ALL_OF_IT else ("V03", "V07")
ELSEWHERE = {"PYTHONHASHSEED": "77", "TZ": "Pacific/Kiritimati", "LC_ALL": "C.UTF-8", "OMP_NUM_THREADS": "2", "OPENBLAS_NUM_THREADS": "2"}  # fmt: skip
IN_UNITS = [n for n in ASKED if "--json" in COMMANDS[n] and n not in (*AS_WRITTEN, "trips")]
"""All that print numbers for a program; recorded trips have units of their own."""
METRIC = {
    "32nds": ("mm", 0.79375),
    "miles": ("km", 1.609344),
    "mi": ("km", 1.609344),
    "1000mi": ("1000km", 1 / 1.609344),
    "psi": ("kpa", 6.894757293168361),
}
FAULT = re.compile("fault of the program|Traceback|Warning")


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """All commands over a logbook, and over the same with its rows in another order, in another environment."""
    top = tmp_path_factory.mktemp("commands")
    other, out = (
        contract.demo(top / "other" / "book", np.random.default_rng(3), vehicles=VEHICLES),
        top / "out.json",
    )
    words = [sys.executable, "-m", "tests.contract_commands", str(other), str(out), *ASKED]
    with (
        subprocess.Popen(words, env={**os.environ, **ELSEWHERE}) as elsewhere,
        pytest.MonkeyPatch.context() as patch,
    ):
        patch.setenv("XDG_CACHE_HOME", str(top))
        one = run(contract.demo(top / "one" / "book", vehicles=VEHICLES), ASKED)
    assert elsewhere.returncode == 0
    return {"one": one, "other": json.loads(out.read_text())}


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """The same commands where no table has a row, and where each has one."""
    top = tmp_path_factory.mktemp("small")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(top))
        asked = [name for name in ASKED if name not in NO_LOGBOOK]
        return {rows: run(contract.demo(top / f"rows {rows}", rows=rows), asked) for rows in (0, 1)}


def test_every_command_is_held_to_it():
    assert set(COMMANDS) == set(ALL)


@pytest.mark.parametrize("name", ASKED)
def test_it_answers_without_a_warning_and_leaves_the_logbook_as_it_was(name, told):
    for one in told.values():
        assert one[name]["code"] == 0, one[name]["err"]
        assert not FAULT.search(one[name]["err"])
        assert one[name]["kept"]


@pytest.mark.parametrize("name", [name for name in ASKED if name not in AS_WRITTEN])
def test_no_order_of_rows_seed_locale_time_zone_or_number_of_threads_changes_it(name, told):
    one, other = told["one"][name], told["other"][name]
    assert one["made"] == other["made"]
    if "--json" in COMMANDS[name]:
        assert near(json.loads(one["out"]), json.loads(other["out"])) == []
    else:
        assert re.sub(r"\S*/\S*", "", one["out"]) == re.sub(r"\S*/\S*", "", other["out"])


@pytest.mark.parametrize("name", [name for name in ASKED if name not in NO_LOGBOOK])
def test_no_row_or_one_row_is_answered_or_refused_in_words(name, small):
    for rows, ran in small.items():
        assert ran[name]["code"] in ((2,) if rows == 0 else (0, 2))
        assert not FAULT.search(ran[name]["err"])
        assert ran[name]["code"] == 0 or (ran[name]["err"] + ran[name]["out"]).strip()
        assert ran[name]["kept"]


@pytest.fixture(scope="module")
def metric(tmp_path_factory):
    """What commands tell of the same logbook in metric units."""
    top = tmp_path_factory.mktemp("metric")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(top))
        return run(contract.demo(top / "book", vehicles=VEHICLES, metric=True), IN_UNITS, "metric")


@pytest.mark.parametrize("name", IN_UNITS)
def test_a_logbook_in_metric_units_is_answered_alike(name, told, metric):
    assert metric[name]["code"] == 0, metric[name]["err"]
    one, other = (inside(json.loads(ran[name]["out"])) for ran in (told["one"], metric))
    assert len(str(one)) > 500  # it tells of wheels
    assert near(one, other, rtol=1e-9, atol=1e-9) == []


WORDS = (
    "words",
    "would_change_words",
    "evidence",
    "part",
    "verdict",
    "term",
    "not_known",
    "depth_unit",
    "units",
    "unit",
)
"""Sentences, and names that tell a distance: rounded, in the units of whoever reads them; and the units."""
BESIDE = (
    "estimate",
    "std_error",
    "lower",
    "upper",
    "weighted_interval",
    "sharpness",
    "bias",
    "median_error",
    "distance",
)
"""Numbers whose unit stands in the field of that name beside them."""


def inside(told, factor=1.0):
    """An answer in mm, km and kPa, whether a number's unit stands in its name or beside it; without its sentences."""
    if isinstance(told, list):
        return [inside(one, factor) for one in told]
    if not isinstance(told, dict):
        return told * factor if isinstance(told, float | int) and not isinstance(told, bool) else told
    out = {}
    for key, value in told.items():
        if key in WORDS and (isinstance(value, str) or key == "units"):
            continue
        parts = key.split("_")
        own = factor * math.prod(METRIC[one][1] for one in parts if one in METRIC)
        if key in BESIDE and "unit" in told:
            one, _, far = told["unit"].partition(" per 1000 ")
            own = METRIC.get(one, ("", 1.0))[1] / METRIC.get(far, ("", 1.0))[1]
        elif key in ("bound", "removal_depth"):
            own = METRIC.get(told["units"]["distance" if key == "bound" else "depth"], ("", 1.0))[1]
        if key == "log_score":  # of a density: its unit is added
            value += math.log(METRIC.get(told["unit"], ("", 1.0))[1])
        out["_".join(METRIC.get(one, (one,))[0] for one in parts)] = inside(value, own)
    return out


def near(one, other, at="", rtol=1e-8, atol=1e-6):
    """Where two answers differ by more than rounding does: 1e-8, and a millionth of a mm in differences of two."""
    if isinstance(one, dict) and isinstance(other, dict) and list(one) == list(other):
        return [found for key in one for found in near(one[key], other[key], f"{at}.{key}", rtol, atol)]
    if isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        pairs = zip(in_order(one), in_order(other), strict=True)
        return [found for i, (a, b) in enumerate(pairs) for found in near(a, b, f"{at}[{i}]", rtol, atol)]
    if isinstance(one, float) and isinstance(other, float):
        same = abs(one - other) <= max(rtol * abs(one), atol)
    else:
        same = one == other
    return [] if same else [(at, one, other)]


def in_order(rows):
    """Rows of a table by vehicle and tire: some tables tell them as the logbook has them."""
    if all(isinstance(row, dict) and "vehicle_id" in row for row in rows):
        return sorted(rows, key=lambda row: (row["vehicle_id"], row.get("tire_id", "")))
    return rows
