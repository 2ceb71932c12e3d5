"""Tables to arrays: who belongs to whom, which effects each tire has, and what is held of them."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tirelife.rates.assemble import assemble
from tirelife.rates.blocks import VARIANCES
from tirelife.rates.prior import PUBLISHED, Belief

DAY = pd.Timestamp("2026-01-01")
VEHICLES = pd.DataFrame(
    {"vehicle_id": ["V1", "V2", "V3"], "drive": ["front", "rear", "all"], "driver_group": ["", "night", None]}
)


def visits(*rows, **more):
    """Rows: vehicle, tire, day, odometer, depth; all at the front, at the reference's severity."""
    out = pd.DataFrame(rows, columns=["vehicle_id", "tire_id", "day", "odometer_km", "depth_mm"])
    out["date"] = DAY + pd.to_timedelta(out.pop("day"), unit="D")
    out = out.assign(position="LF", reference_km=out["odometer_km"], reference_rear_km=0.0)
    return out.assign(reference_front_km=out["reference_km"], **more)


def tires(names="A", lines="Line A", new=8.0, **more):
    return pd.DataFrame({"tire_id": list(names), "tire_line": lines, "new_depth_mm": new, **more})


def test_rows_go_by_tire_then_day_then_distance_and_tires_by_vehicle():
    read = visits(
        ("V2", "A", 30, 3_000.0, 7.0), ("V1", "B", 60, 6_000.0, 6.5), ("V2", "A", 10, 1_000.0, 7.6),
        ("V1", "B", 60, 5_900.0, 6.6), ("V1", "C", 60, 6_000.0, 6.4),
    )  # fmt: skip
    blocks, data, _, names, used = assemble(read, tires("ABC"), VEHICLES, PUBLISHED)
    assert names.table["tire_id"].tolist() == ["B", "C", "A"]
    assert names.fleet["vehicle_id"].tolist() == ["V1", "V2"]  # V3 has no tire
    assert blocks.unit_block.tolist() == [0, 0, 1]
    assert blocks.row_unit.tolist() == [0, 0, 1, 2, 2]
    assert used["odometer_km"].tolist() == [5_900.0, 6_000.0, 6_000.0, 1_000.0, 3_000.0]
    assert data.response.tolist() == [6.6, 6.5, 6.4, 7.6, 7.0]
    assert data.front_km.tolist() == used["reference_front_km"].tolist()
    assert data.rear_km.tolist() == [0.0] * 5
    assert data.start.tolist() == [8.0] * 3
    assert data.doubt is None


def test_a_row_without_a_date_comes_last():
    read = visits(("V1", "A", 10, 1_000.0, 7.6), ("V1", "A", 30, 3_000.0, 7.0))
    read.loc[0, "date"] = pd.NaT
    assert assemble(read, tires(), VEHICLES, PUBLISHED)[4]["depth_mm"].tolist() == [7.0, 7.6]


def test_a_tire_belongs_to_the_vehicle_that_it_was_read_on_last_or_else_was_on_last():
    read = visits(("V2", "A", 90, 500.0, 7.0), ("V1", "A", 10, 9_000.0, 7.6))
    some = tires("ABC", vehicle_id=["V1", "V3", "gone"])
    blocks, _, _, names, _ = assemble(read, some, VEHICLES, PUBLISHED)
    assert names.table["tire_id"].tolist() == ["A", "B"]  # of C no vehicle is known
    assert names.fleet["vehicle_id"].tolist() == ["V2", "V3"]
    assert blocks.unit_block.tolist() == [0, 1]
    assert blocks.row_unit.tolist() == [0, 0]


@pytest.mark.parametrize(
    ("column", "value"),
    [("depth_mm", np.nan), ("reference_km", np.inf), ("reference_front_km", np.nan), ("reference_rear_km", np.nan),
     ("tire_id", ""), ("vehicle_id", "gone")],
)  # fmt: skip
def test_rows_that_lack_a_tire_a_vehicle_a_depth_or_a_distance_are_left_out_and_counted(column, value):
    read = visits(("V1", "A", 10, 1_000.0, 7.6), ("V1", "A", 30, 3_000.0, 7.0))
    read.loc[0, column] = value
    _, data, _, names, used = assemble(read, tires(), VEHICLES, PUBLISHED)
    assert names.lost == 1
    assert data.response.tolist() == used["depth_mm"].tolist() == [7.0]


def test_no_rows_leave_the_tires_that_are_on_a_vehicle():
    blocks, data, _, names, used = assemble(
        visits(), tires("AB", vehicle_id=["V1", None]), VEHICLES, PUBLISHED
    )
    assert names.table["tire_id"].tolist() == ["A"]
    assert len(used) == len(data.response) == len(blocks.row_occasion) == names.lost == 0
    assert data.habit.shape == (3, 0)


def test_tires_read_on_one_vehicle_on_one_day_were_read_at_one_visit():
    read = visits(
        ("V1", "A", 10, 1_000.0, 7.6), ("V1", "B", 10, 1_000.0, 7.6), ("V1", "A", 30, 3_000.0, 7.0),
        ("V2", "B", 30, 3_000.0, 7.0), ("V1", "B", 50, 5_000.0, 6.0), ("V2", "C", 30, 3_000.0, 7.0),
    )  # fmt: skip
    blocks, _, _, names, used = assemble(read, tires("ABC"), VEHICLES, PUBLISHED)
    at = {
        (names.table["tire_id"][u], (d - DAY).days): o
        for u, d, o in zip(blocks.row_unit, used["date"], blocks.row_occasion, strict=True)
    }
    assert at["A", 10] == at["B", 10]
    # B belongs to V1, but was on V2 that day: another visit than A's, and than that of V2's own block.
    assert len({at["A", 10], at["A", 30], at["B", 30], at["B", 50]}) == 4
    assert sorted({at[key] for key in at if key[0] != "C"}) == list(range(1, 5))


def test_each_tire_has_the_level_its_line_its_group_and_its_grade():
    read = visits(("V1", "A", 10, 1_000.0, 7.6), ("V2", "B", 10, 1_000.0, 7.6), ("V3", "C", 10, 1_000.0, 7.6))
    some = tires("ABC", ["Brook", "Alder", "Brook"], treadwear_grade=[680.0, np.nan, 0.0])
    blocks, _, _, names, _ = assemble(read, some, VEHICLES, PUBLISHED)
    assert names.terms == [
        "wear", "line Alder", "line Brook", "group night", "axle all", "axle front", "axle rear", "start Alder",
        "start Brook", "treadwear grade", "q",
    ]  # fmt: skip
    assert (names.lines, names.groups, names.drives) == (
        ["Alder", "Brook"],
        ["night"],
        ["all", "front", "rear"],
    )
    none = len(names.terms)
    assert (blocks.fixed, blocks.bend_fixed) == (none, none - 1)
    assert blocks.unit_fixed.tolist() == [[0, 2, none, 9], [0, 1, 3, none], [0, 2, none, none]]
    assert blocks.unit_value.ravel() == pytest.approx(
        [1, 1, 0, math.log(2), 1, 1, 1, 0, 1, 1, 0, 0]
    )  # about 340
    assert [names.terms[i] for i in blocks.axle_fixed] == ["axle front", "axle rear", "axle all"]
    assert [names.terms[i] for i in blocks.start_fixed] == ["start Brook", "start Alder", "start Brook"]


def test_without_groups_and_grades_there_are_no_such_terms():
    read = visits(("V1", "A", 10, 1_000.0, 7.6))
    some = tires(lines=[None])
    blocks, _, priors, names, _ = assemble(read, some, VEHICLES.drop(columns="driver_group"), PUBLISHED)
    assert names.terms == ["wear", "line ", "axle front", "start ", "q"]
    assert blocks.unit_fixed[0].tolist() == [0, 1, 5, 5]
    assert [index.tolist() for index, _, _ in priors.groups] == [[1]]


def test_what_is_held_of_terms_is_the_priors():
    held = replace(
        PUBLISHED, log_rate=Belief(-9.0, 0.2), lines={"Known": Belief(0.1, 0.05)}, groups={},
        axle={"front": Belief(0.02, 0.3), "all": Belief(0.03, 0.4)}, starts={"Known": Belief(-0.2, 0.1)},
        grade=Belief(-0.3, 0.25), bend=Belief(0.1, 0.5), new_depth=Belief(8.3, 1.25),
    )  # fmt: skip
    read = visits(*((v, t, 10, 1_000.0, 7.6) for v, t in zip(("V1", "V2", "V2"), "ABC", strict=True)))
    some = tires("ABC", ["Known", "Bare", "Told"], [8.0, np.nan, 8.0], treadwear_grade=400.0)
    _, _, priors, names, _ = assemble(read, some, VEHICLES, held)
    at = {term: (float(priors.mean[i]), float(priors.precision[i])) for i, term in enumerate(names.terms)}
    assert at["wear"] == (-9.0, pytest.approx(25.0))
    assert at["line Known"] == (0.1, pytest.approx(400.0))
    assert at["line Told"] == at["group night"] == (0.0, 1.0)  # its precision is found: see the groups
    assert at["axle front"] == (0.02, pytest.approx(1 / 0.09))
    assert at["axle rear"] == (0.03, pytest.approx(1 / 0.16))  # of which nothing is held: as all wheels
    assert at["start Known"] == (-0.2, pytest.approx(100.0))
    assert at["start Told"] == (0.0, pytest.approx(1 / 0.15**2))  # about what is stated
    assert at["start Bare"] == (0.0, pytest.approx(1 / 1.25**2))
    assert at["treadwear grade"] == (-0.3, pytest.approx(16.0))
    assert at["q"] == (0.1, pytest.approx(4.0))
    assert names.stated == [False, True, True]  # Bare, Known, Told
    assert names.part_worn == names.over == [False] * 3


def test_variances_are_held_as_twice_what_is_held_of_log_spreads():
    spreads = {name: Belief(-0.1 * i, 0.2 + 0.1 * i) for i, name in enumerate(VARIANCES)}
    spreads |= {"line": Belief(math.log(0.3), 0.5), "group": Belief(math.log(0.2), 0.25)}
    held = replace(PUBLISHED, spreads=spreads, lines={"Old": Belief(0.0, 0.1)})
    read = visits(("V1", "A", 10, 1_000.0, 7.6), ("V2", "B", 10, 1_000.0, 7.6), ("V2", "C", 10, 1_000.0, 7.6))
    _, _, priors, names, _ = assemble(read, tires("ABC", ["New", "Old", "Newer"]), VEHICLES, held)
    assert priors.log_variance_mean == pytest.approx([-0.2 * i for i in range(9)])
    assert priors.log_variance_sd == pytest.approx([0.4 + 0.2 * i for i in range(9)])
    (lines, line_var, line_worth), (groups, group_var, group_worth) = priors.groups
    assert [names.terms[i] for i in lines] == ["line New", "line Newer"]  # Old has a law of its own
    assert [names.terms[i] for i in groups] == ["group night"]
    # A log variance known to an sd s is worth 2 / s² values of it.
    assert (line_var, line_worth) == (pytest.approx(0.09), pytest.approx(2.0))
    assert (group_var, group_worth) == (pytest.approx(0.04), pytest.approx(8.0))


def test_a_stated_error_counts_against_the_usual_one_within_bounds():
    rows = [("V1", "A", 10 * i, 1_000.0 * i, 8.0 - 0.1 * i) for i in range(1, 7)]
    read = visits(*rows, depth_se_mm=[0.1, 0.1, 0.15, 0.01, 1.0, np.nan], whose_mm2=0.04)
    _, data, _, _, _ = assemble(read, tires(), VEHICLES, PUBLISHED)
    assert data.noise == pytest.approx([1.0, 1.0, 2.25, 0.25, 4.0, 1.0])
    assert data.doubt.tolist() == [0.04] * 6
    silent = assemble(read.assign(depth_se_mm=0.0), tires(), VEHICLES, PUBLISHED)[1]
    assert silent.noise.tolist() == [1.0] * 6


def walk(j, u):
    """Karhunen and Loeve: term j of a Wiener process on 0 to 1."""
    c = (j + 0.5) * np.pi
    return np.sqrt(2) * np.sin(c * u) / c


def test_a_readings_part_in_its_vehicles_walk_is_the_mean_since_the_reading_before():
    read = visits(
        ("V1", "A", 10, 12_000.0, 7.6), ("V1", "A", 90, 20_000.0, 7.0), ("V1", "B", 90, 20_000.0, 7.0),
        tire_km=[2_000.0, 10_000.0, 5_000.0],
    )  # fmt: skip
    blocks, data, _, names, _ = assemble(read, tires("AB"), VEHICLES, PUBLISHED)
    assert blocks.block_km.tolist() == [10_000.0]  # from 10,000, where A was mounted, to 20,000
    assert names.place.tolist() == [0.2, 1.0, 1.0]
    for row, (a, b) in enumerate([(0.0, 0.2), (0.2, 1.0), (0.5, 1.0)]):
        u = a + (b - a) * (np.arange(4_000) + 0.5) / 4_000
        for j in range(3):
            assert data.habit[j, row] == pytest.approx(walk(j, u).mean(), abs=1e-6)
    # Three terms hold 93 % of the variance at the end.
    assert sum(walk(j, 1.0) ** 2 for j in range(3)) == pytest.approx(0.93, abs=0.005)


def test_a_reading_at_the_place_of_the_one_before_has_the_walk_there():
    read = visits(
        ("V1", "A", 10, 4_000.0, 7.6), ("V1", "A", 11, 4_000.0, 7.5), ("V1", "B", 90, 10_000.0, 7.0)
    )
    _, data, _, names, _ = assemble(read, tires("AB"), VEHICLES, PUBLISHED)
    assert names.place.tolist() == [0.4, 0.4, 1.0]
    assert data.habit[:, 1] == pytest.approx([walk(j, 0.4) for j in range(3)])


def test_where_no_odometer_is_known_the_reference_distance_stands_for_it():
    read = visits(("V1", "A", 10, np.nan, 7.6), ("V1", "A", 90, np.nan, 7.0))
    read = read.assign(reference_km=[2_000.0, 8_000.0], reference_front_km=[2_000.0, 8_000.0])
    blocks, _, _, names, _ = assemble(read, tires(), VEHICLES, PUBLISHED)
    assert blocks.block_km.tolist() == [8_000.0]
    assert names.place.tolist() == [0.25, 1.0]
    still = assemble(visits(("V1", "A", 0, 0.0, 8.0)), tires(), VEHICLES, PUBLISHED)
    assert still[0].block_km.tolist() == [1.0]
    assert np.isfinite(still[1].habit).all()
