"""What holds for a logbook's own tables; for functions and commands see the other tests of the contract."""

import warnings
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tests.logbook.folders import TABLES, folder
from tests.logbook.fuzz import BASE
from tirelife import tread
from tirelife.logbook import read_logbook

FRAMES = {
    **{
        name: (lambda book, name=name: getattr(book, name))
        for name in ("vehicles", "tires", "mounts", "depths", "odometer", "pressures", "habits", "gauges", "alignment", "stretches")
    },
    "tire_visits": tread.tire_visits,
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
    pd.testing.assert_frame_equal(one[numbers], other[numbers], check_exact=False, rtol=1e-9, atol=1e-9)


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
