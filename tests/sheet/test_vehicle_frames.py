"""One vehicle's frames for charts: its own records, in words of both languages, under a finding that holds."""

import numpy as np
import pytest

from tirelife import read_logbook
from tirelife.driving import speed_shares
from tirelife.inflation import cold_pressures
from tirelife.logbook import BANDS
from tirelife.outlook import kept_fit
from tirelife.sheet.vehicle_frames import pressure_rows, rotation_rows, speed_rows


@pytest.fixture(scope="module")
def book():
    return read_logbook("data_synthetic/logbook")


def test_speeds_are_the_recorded_shares_weighted_by_days(book):
    rows, said = speed_rows(book, "V03")
    mine = book.habits[book.habits["vehicle_id"] == "V03"]
    days = (mine["to_date"] - mine["from_date"]).dt.days
    want = np.average(mine[list(BANDS)].to_numpy(float), axis=0, weights=days)
    assert rows["percent"].to_numpy() == pytest.approx(100 * want)
    assert rows["percent"].sum() == pytest.approx(100, abs=2)
    assert rows["label"].tolist()[0] == "under 25 mph"
    assert rows["label"].iloc[int(np.argmax(want))] in said
    assert "menos de 25 mph" in speed_rows(book, "V03", "es")[0]["label"].tolist()


def test_nothing_is_made_up_where_nothing_is_recorded(book):
    assert speed_shares(book.habits, "no such car")["share"].isna().all()
    assert speed_rows(book, "no such car")[1] == ""


def test_pressures_are_the_cold_ones_and_the_finding_their_mean(book):
    rows, said = pressure_rows(book, "V13")
    read = cold_pressures(book).query("vehicle_id == 'V13' and position != 'SP'")
    assert len(rows) == len(read)
    low = (read["placard_kpa"] - read["cold_kpa"]).mean() / 6.894757
    assert said == f"Found {abs(low):.1f} psi {'under' if low > 0 else 'over'} the placard on average"


def test_the_finding_on_rotation_is_the_decision_s_direction(book):
    rows, said = rotation_rows(book, kept_fit(book), "V15", 8_000.0)  # new fronts, old rears
    assert rows["label"].tolist() == ["Left front", "Right front", "Left rear", "Right rear"]
    assert said.startswith("Rotated, the first tire should be due about ")
    assert said.endswith(" sooner")
