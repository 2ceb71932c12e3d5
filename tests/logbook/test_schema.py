"""The tables of a logbook hold together: limits, doubts, keys and the names of their columns."""

import pytest

from tirelife.logbook.schema import BANDS, GROOVES, KEPT_BESIDE, KEYS, REQUIRED, SCHEMA, Column, inside_name
from tirelife.positions import POSITIONS
from tirelife.units import INSIDE, KINDS, convert, split_unit

COLUMNS = [(table, column) for table, columns in SCHEMA.items() for column in columns]


def of(table, name):
    (found,) = [column for column in SCHEMA[table] if column.name == name]
    return found


def test_a_quantity_carries_its_inside_unit_in_its_name_and_nothing_else_does():
    assert inside_name(Column("hard_stops", "frequency")) == "hard_stops_per_100km"
    assert inside_name(Column("date", "date")) == "date"
    for _, column in COLUMNS:
        kinds = [column.kind] if column.kind in KINDS else None
        assert split_unit(inside_name(column), kinds)[0] == column.name


@pytest.mark.parametrize("table", SCHEMA)
def test_columns_of_a_table_differ_with_and_without_their_units(table):
    names = [column.name for column in SCHEMA[table]]
    assert len(names) == len(set(names))
    assert not KEPT_BESIDE.get(table, frozenset()) & set(map(inside_name, SCHEMA[table]))


@pytest.mark.parametrize(("table", "column"), COLUMNS, ids=lambda one: getattr(one, "name", one))
def test_kinds_and_limits_make_sense(table, column):
    assert column.kind in {"text", "date", "number", "count", *INSIDE}
    limits = [column.low, column.doubt_low, column.doubt_high, column.high]
    known = [limit for limit in limits if limit is not None]
    assert known == sorted(known)
    assert not (known and column.kind in ("text", "date"))
    assert not (column.one_of and column.kind != "text")
    assert column.required or column.blank


def test_what_is_required():
    assert set(REQUIRED) == {"vehicles", "tires", "mounts", "depths"}
    for table, keys in KEYS.items():
        assert all(of(table, key).required and not of(table, key).blank for key in keys)


# What cars and trucks have: placards of 26 to 120 psi, tread of 8 to 20/32 inch, 49 CFR 575.104 grades of 60 to 800,
# load indexes of 65 to 130, masses of 700 kg to 7.5 t; depths new and worn are no doubt, and impossible ones an error.
@pytest.mark.parametrize(
    ("table", "name", "plain", "doubtful", "wrong"),
    [
        ("vehicles", "placard_front", convert(33, "psi", "kpa"), convert(15, "psi", "kpa"), 2000),
        ("vehicles", "placard_rear", convert(120, "psi", "kpa"), 950, 33),
        ("tires", "new_depth", convert(10, "32nds", "mm"), 3.0, 0.5),
        ("tires", "treadwear_grade", 500, 1500, 5000),
        ("tires", "load_index", 91, 140, 300),
        ("vehicles", "mass", 1500, 300, 100),
        ("vehicles", "front_load_share", 0.55, 0.3, 1.2),
        ("depths", "depth", 1.6, 30, 41),
        ("depths", "odometer", 400_000, 3_000_000, 6_000_000),
        ("pressures", "pressure", 230, 30, 1200),
        ("pressures", "ambient", 20, 55, 100),
        ("habits", "hard_stops", 10, 600, 20_000),
        ("alignment", "toe", 2, 30, 200),
        ("alignment", "camber_left", -1.5, 8, 45),
    ],
)
def test_ordinary_values_are_taken_odd_ones_doubted_and_impossible_ones_refused(
    table, name, plain, doubtful, wrong
):
    column = of(table, name)

    def inside(value, low, high):
        return (low is None or value >= low) and (high is None or value <= high)

    assert inside(plain, column.doubt_low, column.doubt_high)
    assert inside(plain, column.low, column.high)
    assert not inside(doubtful, column.doubt_low, column.doubt_high)
    assert inside(doubtful, column.low, column.high)
    assert not inside(wrong, column.low, column.high)


def test_a_bald_tire_and_a_dead_vehicle_can_be_recorded():
    assert of("depths", "depth").low == of("pressures", "pressure").low == of("depths", "odometer").low == 0


def test_shares_by_speed_are_of_the_whole():
    assert [of("habits", name).high for name in BANDS] == [1] * 5
    assert [of("habits", name).low for name in BANDS] == [0] * 5
    assert len(BANDS) == len(GROOVES) == 5


def test_a_tire_may_be_mounted_anywhere_and_is_read_where_it_can_run():
    assert of("mounts", "position").one_of == POSITIONS
    assert set(of("depths", "position").one_of) == set(POSITIONS) - {"OFF"}


def test_a_depth_can_be_as_deep_as_a_new_tread_and_two_as_far_apart_as_one_is_deep():
    highs = [
        of(table, name).high
        for table, name in (("tires", "new_depth"), ("depths", "depth"), ("depths", "apart"))
    ]
    assert highs == [40, 40, 40]
