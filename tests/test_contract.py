"""What holds for every public function that answers from a logbook: copies, units, order, no side effects."""

import os
import subprocess
import sys
import warnings
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tests.logbook.folders import TABLES, folder
from tests.logbook.fuzz import BASE
from tirelife import tread
from tirelife.inflation import pressure_path
from tirelife.logbook import read_logbook
from tirelife.outlook import forecast, present_state
from tirelife.rates import fit_logbook
from tirelife.wear import stretch_severity

FRAMES = {
    **{
        name: (lambda book, name=name: getattr(book, name))
        for name in ("vehicles", "tires", "mounts", "depths", "odometer", "pressures", "habits", "gauges", "alignment", "stretches")
    },
    "tire_visits": tread.tire_visits,
    "pressure_path": pressure_path,
    "stretch_severity": stretch_severity,
    "fit.tires": lambda book: fit_logbook(book).tires,
    "fit.estimates": lambda book: fit_logbook(book).estimates,
    "present_state": lambda book: present_state(book, fit_logbook(book)),
    "forecast": forecast,
}  # fmt: skip


def whole(book):
    return {name: table.copy() for name, table in book.tables.items()}


@pytest.mark.parametrize("name", FRAMES)
def test_a_frame_handed_out_is_a_copy_and_the_logbook_stays_as_it_was(name, tmp_path):
    book = read_logbook(folder(tmp_path / "book", **BASE))
    before = whole(book)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        first = FRAMES[name](book)
    kept = first.copy()
    for column in first:
        first[column] = None
    pd.testing.assert_frame_equal(FRAMES[name](book), kept)
    for table, frame in before.items():
        pd.testing.assert_frame_equal(book.tables[table], frame)


US = {"depth_32nds": ("depth_mm", 0.79375), "odometer_mi": ("odometer_km", 1.609344), "new_depth_32nds": ("new_depth_mm", 0.79375),
      "placard_front_psi": ("placard_front_kpa", 6.894757293168361), "placard_rear_psi": ("placard_rear_kpa", 6.894757293168361)}  # fmt: skip


def in_metric(path):
    for name in TABLES:
        table = pd.read_csv(path / f"{name}.csv", dtype={"made_week": "str"})
        for us, (metric, factor) in US.items():
            if us in table:
                table[us] = [repr(value * factor) for value in table[us]]
                table = table.rename(columns={us: metric})
        table.to_csv(path / f"{name}.csv", index=False)
    return path


@pytest.mark.parametrize("name", FRAMES)
def test_units_change_no_answer(name, tmp_path):
    one = FRAMES[name](read_logbook(folder(tmp_path / "us")))
    other = FRAMES[name](read_logbook(in_metric(folder(tmp_path / "metric"))))
    numbers = [c for c in one.select_dtypes("number") if c not in ("gradient",)]
    pd.testing.assert_frame_equal(one[numbers], other[numbers], check_exact=False, rtol=1e-6, atol=1e-6)


@pytest.mark.parametrize("name", ["tire_visits", "fit.tires", "forecast"])
def test_the_order_of_rows_changes_no_answer(name, tmp_path):
    rng = np.random.default_rng(3)
    book = folder(tmp_path / "book")
    one = FRAMES[name](read_logbook(book))
    for table in ("vehicles", "tires", "depths"):
        lines = (book / f"{table}.csv").read_text().splitlines()
        (book / f"{table}.csv").write_text("\n".join([lines[0], *rng.permutation(lines[1:])]) + "\n")
    other = FRAMES[name](read_logbook(book))
    key = ["tire_id", "date"] if name == "tire_visits" else ["tire_id"]
    left, right = (frame.sort_values(key, ignore_index=True) for frame in (one, other))
    numbers = list(one.select_dtypes("number"))
    assert left["tire_id"].tolist() == right["tire_id"].tolist()
    pd.testing.assert_frame_equal(left[numbers], right[numbers], check_exact=False, rtol=1e-6, atol=1e-6)


def test_an_answer_depends_on_no_hash_seed_locale_time_zone_or_number_of_threads(tmp_path):
    book = folder(tmp_path / "book")
    said = set()
    for more in (
        {
            "PYTHONHASHSEED": "0",
            "TZ": "UTC",
            "LC_ALL": "C",
            "OMP_NUM_THREADS": "1",
            "OPENBLAS_NUM_THREADS": "1",
        },
        {"PYTHONHASHSEED": "77", "TZ": "Pacific/Kiritimati", "LC_ALL": "C.UTF-8", "OMP_NUM_THREADS": "2"},
    ):
        words = [sys.executable, "-m", "tirelife", "forecast", str(book), "--csv", "--fresh"]
        done = subprocess.run(words, env={**os.environ, **more}, capture_output=True, text=True, check=True)
        said.add(done.stdout)
    assert len(said) == 1


def test_a_logbook_with_other_tables_answers_from_those_and_the_first_as_before(tmp_path):
    book = read_logbook(folder(tmp_path / "book"))
    asked = {
        name: make(book) for name, make in FRAMES.items() if name in ("tire_visits", "stretches", "odometer")
    }
    deeper = book.depths.assign(depth_mm=book.depths["depth_mm"] + 0.5)
    further = book.mounts.assign(odometer_km=book.mounts["odometer_km"] + 10.0)
    other = replace(book, tables={**book.tables, "depths": deeper, "mounts": further})
    more = FRAMES["tire_visits"](other)["depth_mm"] - asked["tire_visits"]["depth_mm"]
    np.testing.assert_allclose(more, 0.5)
    assert (FRAMES["stretches"](other)["from_km"] - asked["stretches"]["from_km"] == 10.0).all()
    assert not FRAMES["odometer"](other).equals(asked["odometer"])
    same = replace(book)
    for name, frame in asked.items():
        pd.testing.assert_frame_equal(FRAMES[name](book), frame)
        pd.testing.assert_frame_equal(FRAMES[name](same), frame)
