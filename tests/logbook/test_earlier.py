from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.logbook import known_on, of_vehicles, read_logbook

DEMO = Path(__file__).parents[2] / "data_synthetic" / "logbook"


@pytest.fixture(scope="module")
def book():
    return read_logbook(DEMO)


@pytest.fixture(scope="module")
def slipped(tmp_path_factory):
    """The demo with slips that only later records tell from what they spoil: odometers, depths, records twice."""
    folder = tmp_path_factory.mktemp("slipped")
    rng = np.random.default_rng(5)
    for file in DEMO.glob("*.csv"):
        table = pd.read_csv(file, dtype=str, keep_default_na=False)
        for column in [name for name in table if name.startswith(("odometer", "depth"))]:
            if file.stem in ("odometer", "depths", "pressures"):
                rows = rng.choice(len(table), len(table) // 60, replace=False)
                off = rng.choice([0.7, 0.97, 1.1, 1.4], len(rows))
                table.loc[rows, column] = [
                    f"{float(v or 0) * k:.1f}" for v, k in zip(table.loc[rows, column], off, strict=True)
                ]
        if file.stem in ("odometer", "depths"):
            table = pd.concat([table, table.iloc[rng.choice(len(table), 5, replace=False)]])
        table.to_csv(folder / file.name, index=False)
    return folder


@pytest.fixture(scope="module")
def whole(slipped):
    return read_logbook(slipped)


def alike(known, read):
    assert known.as_of == read.as_of
    for name, table in read.tables.items():
        pd.testing.assert_frame_equal(known.tables[name], table, check_dtype=False)
    pd.testing.assert_frame_equal(known.stretches, read.stretches)
    pd.testing.assert_frame_equal(known.odometer, read.odometer)
    pd.testing.assert_frame_equal(known.problems, read.problems)


@pytest.mark.parametrize("day", ["2025-03-01", "2025-09-01", "2026-04-30"])
def test_it_is_the_logbook_read_as_of_that_day(book, day):
    alike(known_on(book, day), read_logbook(DEMO, as_of=day))


@pytest.mark.parametrize("day", ["2025-03-01", "2026-04-30"])
def test_doubts_that_later_records_raised_are_not_known_before_them(slipped, whole, day):
    known, read = known_on(whole, day), read_logbook(slipped, as_of=day)
    alike(known, read)
    early = whole.depths[whole.depths["date"] <= day].set_index("row")
    both = early.index.intersection(read.depths["row"])
    assert (early.loc[both, "codes"] != read.depths.set_index("row").loc[both, "codes"]).any()


def test_a_part_of_a_logbook_keeps_its_own_doubts_of_that_day(slipped, whole):
    part = of_vehicles(whole, {"V03", "V07", "V11"})
    known = known_on(part, "2025-09-01")
    read = of_vehicles(read_logbook(slipped, as_of="2025-09-01"), {"V03", "V07", "V11"})
    assert set(known.depths["vehicle_id"]) == {"V03", "V07", "V11"}
    assert (known.odometer["odometer_km"].to_numpy() == read.odometer["odometer_km"].to_numpy()).all()


def test_a_logbook_that_was_not_kept_as_read_keeps_the_doubts_of_the_whole(whole):
    known = known_on(replace(whole, as_read=None), "2025-03-01")
    both = known.depths.set_index("row")["codes"]
    pd.testing.assert_series_equal(both, whole.depths.set_index("row")["codes"].loc[both.index])


def test_nothing_of_a_later_day_is_in_it_and_the_logbook_stays(book):
    before = {name: table.copy() for name, table in book.tables.items()}
    known = known_on(book, pd.Timestamp("2025-09-01"))
    for name, table in known.tables.items():
        for column in table.select_dtypes("datetime"):
            if (name, column) != ("habits", "from_date"):
                assert not (table[column] > known.as_of).any()
    assert len(known.depths) < len(book.depths)
    assert len(known.tires) < len(book.tires)
    for name, table in before.items():
        pd.testing.assert_frame_equal(book.tables[name], table)


def test_a_placard_assumed_from_later_pressures_is_assumed_anew(book):
    vehicles = book.vehicles
    vehicles["assumed"] = "placard_front"
    vehicles["placard_front_kpa"] = 999.0
    changed = replace(book, tables={**book.tables, "vehicles": vehicles})
    known = known_on(changed, "2025-03-01").vehicles
    assert known["assumed"].eq("placard_front").all()
    assert known["placard_front_kpa"].between(180, 350).all()


def test_a_day_must_be_one_and_not_after_the_last(book):
    with pytest.raises(InputError, match="not a day as YYYY-MM-DD"):
        known_on(book, "2025-13-01")
    with pytest.raises(InputError, match="ends on 2026-11-01; give an earlier day"):
        known_on(book, "2027-01-01")


def test_part_of_a_logbook_is_about_its_vehicles(book):
    part = of_vehicles(book, {"V03", "V07"})
    assert set(part.vehicles["vehicle_id"]) == set(part.depths["vehicle_id"]) == {"V03", "V07"}
    assert len(part.tires) == len(book.tires)
