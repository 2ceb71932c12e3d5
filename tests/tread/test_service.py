from types import SimpleNamespace

import numpy as np
import pytest

from tests.wear.books import make_book
from tirelife.driving import default_profile, profiles_from_habits
from tirelife.logbook import read_logbook
from tirelife.tread.service import cornering_ratios, load_capacity, load_ratios

VEHICLES = """vehicle_id,drive,placard_front_psi,placard_rear_psi,mass_kg,front_load_share
A,rear,35,30,2400,0.45
"""
TIRES = """tire_id,tire_line,new_depth_32nds,load_index
T1,Plain,10,91
T2,Plain,10,
T3,Plain,10,91
T4,Plain,10,95
"""


def test_what_a_load_index_may_carry():
    # Indices and loads from memory of ISO 4000-1; the rule is within 2 % of the rounded table.
    for index, kg in ((75, 387), (80, 450), (91, 615), (95, 690), (100, 800), (120, 1400)):
        assert load_capacity(index) == pytest.approx(kg, rel=0.02)
    assert load_capacity(59) != load_capacity(59)  # not known


def test_a_wheel_beyond_its_index_is_seen_and_nothing_is_assumed(tmp_path):
    # 2,400 kg, 55 % of it behind: 660 kg a rear wheel, on 615 kg at index 91 and 690 kg at 95.
    got = load_ratios(make_book(tmp_path, vehicles=VEHICLES, tires=TIRES))["A"]
    assert set(got) == {"LF", "LR", "RR"}
    assert got["LR"] == pytest.approx(660 / 615, rel=0.02)
    assert got["LR"] > 1 > got["RR"] > got["LF"]
    assert load_ratios(make_book(tmp_path, vehicles=VEHICLES)) == {}


def test_a_vehicle_s_turns_are_its_own_however_the_records_stand():
    book = read_logbook("data_synthetic/logbook")
    mixed = SimpleNamespace(habits=book.habits.sample(frac=1, random_state=1))
    found = cornering_ratios(mixed)
    assert found == pytest.approx(cornering_ratios(book))
    rows = profiles_from_habits(book.habits[book.habits["vehicle_id"] == "V03"])
    mean = np.average(rows["ay2"], weights=rows["distance_km"].fillna(rows["distance_km"].mean()).fillna(1.0))
    assert found["V03"] == pytest.approx(mean / default_profile().ay2)
