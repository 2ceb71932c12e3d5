"""Which rows of the table of depths are readings that can be laid to a wheel and a moment."""

import numpy as np
import pytest

from tests.logbook.slips.made import log
from tirelife.logbook.depthrows import depth_rows
from tirelife.logbook.findings import Findings
from tirelife.logbook.parse import parse
from tirelife.logbook.schema import GROOVES
from tirelife.logbook.sources import read_texts
from tirelife.positions import POSITIONS, ROAD


def rows(folder, change=lambda depths: depths, positions=ROAD):
    tables = log(2, 2)
    tables["depths"] = change(tables["depths"].astype(object))
    for name, table in tables.items():
        table.to_csv(folder / f"{name}.csv", index=False)
    found = Findings()
    texts, _ = read_texts(folder, found)
    return depth_rows(parse(texts["depths"], found), np.array(["V1", "V2"], dtype=object), positions)


def test_every_reading_has_its_place_and_moment(tmp_path):
    got = rows(tmp_path)
    assert len(got.records) == 2 * 2 * 8
    assert got.records.tolist() == list(range(32))
    assert got.vehicle.tolist() == [0] * 16 + [1] * 16
    assert [ROAD[w] for w in got.wheel[:4]] == ["LF", "LF", "RF", "RF"]
    assert [GROOVES[g] for g in got.groove[:2]] == ["outer", "inner"]
    assert got.km[0] == 16_000
    assert got.depth[0] == pytest.approx(8 - 0.6 - 0.1)
    assert (
        np.diff(got.moment[[0, 8]]) == np.diff(got.day[[0, 8]]) * (got.moment[0] // got.day[0]) + 6_000
    ).all()


@pytest.mark.parametrize(
    ("column", "value"),
    [("vehicle_id", "V3"), ("position", ""), ("position", "SP"), ("groove", "middle"), ("date", "soon"),
     ("odometer_km", ""), ("depth_mm", "")],
)  # fmt: skip
def test_a_row_that_lacks_one_of_them_is_none(tmp_path, column, value):
    def change(depths):
        depths.loc[3, column] = value
        return depths

    assert rows(tmp_path, change).records.tolist() == [0, 1, 2, *range(4, 32)]


def test_the_positions_asked_for_are_those_taken(tmp_path):
    def spare(depths):
        depths.loc[3, "position"] = "SP"
        return depths

    got = rows(tmp_path, spare, POSITIONS)
    assert len(got.records) == 32
    assert POSITIONS[got.wheel[3]] == "SP"


@pytest.mark.parametrize("column", ["vehicle_id", "position", "groove", "date", "odometer_km", "depth_mm"])
def test_without_a_column_there_are_none(tmp_path, column):
    assert rows(tmp_path, lambda depths: depths.drop(columns=column)) is None


def test_without_a_reading_there_are_none(tmp_path):
    assert rows(tmp_path, lambda depths: depths.assign(depth_mm="")) is None
    (tmp_path / "empty").mkdir()
    assert rows(tmp_path / "empty", lambda depths: depths.iloc[:0]) is None
