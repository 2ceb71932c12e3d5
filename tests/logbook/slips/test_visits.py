"""Depths as a block a visit, held against the tables by pandas alone."""

import numpy as np
import pandas as pd
import pytest

from tests.logbook.slips import made
from tirelife.logbook.chain import DAY, NEVER, Chain
from tirelife.logbook.slips.visits import _lives
from tirelife.positions import POSITIONS


@pytest.fixture(scope="module")
def tables():
    """Three cars; the first's tires change axles at the third visit's day, and a groove of the second is not read."""
    book = made.log(cars=3, visits=5)
    depths = book["depths"]
    day = sorted(depths["date"].unique())[2]
    here = (depths["vehicle_id"] == "V1") & (depths["date"] == day)
    km = depths.loc[here, "odometer_km"].iloc[0]
    moves = pd.DataFrame(
        [{"date": day, "odometer_km": km, "vehicle_id": "V1", "tire_id": f"V1{p}", "position": q}
         for p, q in zip(made.WHEELS, ("LR", "RR", "LF", "RF"), strict=True)]
    )  # fmt: skip
    gone = (depths["vehicle_id"] == "V2") & (depths["position"] == "RF") & (depths["groove"] == "inner")
    return {**book, "mounts": pd.concat([book["mounts"], moves]), "depths": depths[~gone]}


@pytest.fixture(scope="module")
def visits(tables, tmp_path_factory):
    return made.visits(tmp_path_factory.mktemp("visits") / "log", tables)


def test_depths_are_means_of_the_grooves_by_wheel(tables, visits):
    means = tables["depths"].pivot_table(
        "depth_mm", ["vehicle_id", "date"], "position", aggfunc=["mean", "size"]
    )
    for name, ours in (("mean", visits.depth), ("size", visits.grooves)):
        assert ours == pytest.approx(means[name][list(made.WHEELS)].to_numpy())
    assert len(visits) == 15
    assert (np.diff(visits.vehicle) >= 0).all()
    assert visits.step == pytest.approx(0.1)


def test_each_reading_stands_in_its_cell(tables, visits):
    typed = tables["depths"]["depth_mm"].to_numpy()[visits.records]
    assert visits.cells.reshape(len(visits), -1)[visits.visit, visits.place] == pytest.approx(typed)
    assert visits.counts.sum() == len(typed) == visits.readings.sum()
    off = np.abs(2 * typed - np.round(2 * typed)) > 1e-6
    assert visits.off_halves.sum() == off.sum()


def test_distance_is_the_tires_own_through_a_change_of_axles(visits):
    # 10,000 km at first, 700 more a car, 6,000 a visit (the log's own arithmetic).
    since = np.tile(6_000.0 * np.arange(1, 6), 3)
    assert visits.run == pytest.approx(np.repeat(since[:, None], 4, axis=1))
    assert (visits.new == 8.0).all()
    assert visits.moved.tolist() == [False, False, True, *[False] * 12]
    first = visits.life[:5]
    # Read as found on the day of the move: the places change with the visit after.
    assert (first[:3] == first[0]).all()
    assert (first[3:] == first[0][[2, 3, 0, 1]]).all()
    assert len(np.unique(visits.life)) == 12


def test_a_log_without_odometers_has_no_visits(tables, tmp_path):
    bare = {**tables, "depths": tables["depths"].drop(columns="odometer_km")}
    assert made.visits(tmp_path / "bare", bare) is None


@pytest.mark.parametrize("as_left", [False, True])
def test_depths_on_a_day_of_moves_are_of_the_tires_with_which_none_grows(tmp_path, as_left):
    # Half a millimetre apart from wheel to wheel, so that a tire of another axle is seen to be another.
    book = made.log(cars=1, visits=5, uneven=0.5)
    depths = book["depths"]
    days = sorted(depths["date"].unique())
    to = dict(zip(made.WHEELS, ("LR", "RR", "LF", "RF"), strict=True))
    moved = depths["date"] >= days[2 if as_left else 3]
    depths.loc[moved, "position"] = depths.loc[moved, "position"].map(to)
    km = depths.loc[depths["date"] == days[2], "odometer_km"].iloc[0]
    moves = book["mounts"].assign(date=days[2], odometer_km=km, position=book["mounts"]["position"].map(to))
    life = made.visits(tmp_path / "log", {**book, "mounts": pd.concat([book["mounts"], moves])}).life
    before = 2 if as_left else 3
    assert (life[:before] == life[0]).all()
    assert (life[before:] == life[0][[2, 3, 0, 1]]).all()


def test_a_tire_goes_on_where_it_takes_turns_and_begins_anew_on_another_vehicle():
    # Tire, vehicle, position, day and km of each record; the last of a tire is where it still is.
    records = [
        (0, 0, "LF", 1, 1_000),
        (1, 1, "LF", 1, 20_000),
        (1, 1, "RR", 9, 26_000),
        (2, 1, "RR", 1, 20_000),
        (2, 0, "LF", 9, 5_000),
    ]
    tire, vehicle, position, day, km = (np.array(column) for column in zip(*records, strict=True))
    start = day * DAY + km
    end = np.array([NEVER, start[2], NEVER, 9 * DAY, NEVER])
    place = np.array([POSITIONS.index(one) for one in position])
    life, before = _lives(Chain(np.arange(5), tire, vehicle, place, start, end))
    assert np.unique(life, return_inverse=True)[1].tolist() == [0, 1, 1, 2, 3]
    assert before.tolist() == [0, 0, 6_000, 0, 0]
