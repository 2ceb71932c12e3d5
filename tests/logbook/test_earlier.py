from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.logbook import known_on, of_vehicles, read_logbook

DEMO = Path(__file__).parents[2] / "data_synthetic" / "logbook"


@pytest.fixture(scope="module")
def book():
    return read_logbook(DEMO)


@pytest.mark.parametrize("day", ["2025-03-01", "2025-09-01", "2026-04-30"])
def test_it_is_the_logbook_read_as_of_that_day(book, day):
    known, read = known_on(book, day), read_logbook(DEMO, as_of=day)
    assert known.as_of == read.as_of
    for name, table in read.tables.items():
        # Doubts are worked out by comparing records; those of the whole log may know more.
        pd.testing.assert_frame_equal(
            known.tables[name].drop(columns=["doubt", "codes"]),
            table.drop(columns=["doubt", "codes"]),
            check_dtype=False,
        )
    pd.testing.assert_frame_equal(known.stretches, read.stretches)
    pd.testing.assert_frame_equal(known.odometer, read.odometer)
    late = set(zip(read.problems["file"], read.problems["row"], strict=True))
    assert set(zip(known.problems["file"], known.problems["row"], strict=True)) <= late | {
        (file, 0) for file in book.problems["file"]
    }


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
