"""Of what may be wrong with a visit one thing is asked: the likeliest, at each reading that it is of."""

import pandas as pd
import pytest

from tests.logbook.slips.made import asked, log, visit
from tirelife.logbook import Found, Slip, asked_once, check_logbook


@pytest.fixture
def tables():
    return log(cars=8, visits=6)


def in_32nds(depths):
    return (depths / 0.79375 * 2).round() / 2


def test_nothing_is_asked_of_an_even_log(tables, tmp_path):
    assert asked(tmp_path / "book", tables).empty


def test_a_slip_of_a_visit_is_asked_at_each_of_its_readings_and_stands_for_lesser_doubts(tables, tmp_path):
    rows = visit(tables["depths"], "V3", 4)
    tables["depths"].loc[rows, "depth_mm"] /= 10
    asked(tmp_path / "book", tables)
    problems = check_logbook(tmp_path / "book")
    here = problems[(problems["file"] == "depths.csv") & problems["row"].isin(rows + 2)]
    assert here["code"].tolist() == [Slip.TENFOLD.value] * 8
    assert set(here["column"]) == {"depth_mm"}
    assert here["value"].astype(float).tolist() == pytest.approx(
        tables["depths"].loc[rows, "depth_mm"].tolist()
    )
    lesser = {Found.DEPTH_GROWS, Found.DEPTH_UNFIT, Found.UNUSUALLY_LOW, Found.UNUSUALLY_HIGH}
    assert not lesser & set(problems["code"])


def test_of_a_car_that_is_always_read_so_no_visit_is_asked_about_by_itself(tables, tmp_path):
    rows = visit(tables["depths"], "V3", None)
    tables["depths"].loc[rows, "depth_mm"] = in_32nds(tables["depths"].loc[rows, "depth_mm"])
    found = asked(tmp_path / "book", tables)
    assert set(found["code"]) == {Slip.CAR_UNIT.value}
    assert set(found["row"]) <= set(rows + 2)


def test_another_car_is_still_asked_about_beside_it(tables, tmp_path):
    rows, others = visit(tables["depths"], "V3", None), visit(tables["depths"], "V6", 3)
    tables["depths"].loc[rows, "depth_mm"] = in_32nds(tables["depths"].loc[rows, "depth_mm"])
    tables["depths"].loc[others, "depth_mm"] /= 10
    found = asked(tmp_path / "book", tables)
    assert set(found["code"]) == {Slip.CAR_UNIT.value, Slip.TENFOLD.value}
    assert sorted(found.loc[found["code"] == Slip.TENFOLD, "row"]) == sorted(others + 2)


def test_one_digit_that_explains_a_visit_is_asked_about_and_the_visit_is_not(tables, tmp_path):
    row = visit(tables["depths"], "V3", 4)[2]
    meant = tables["depths"].loc[row, "depth_mm"]
    tables["depths"].loc[row, "depth_mm"] = round(meant - 4, 1)
    found = asked(tmp_path / "book", tables)
    assert set(found["code"]) == {Slip.DIGIT.value}
    assert {row + 2} <= set(found["row"]) <= {row + 2, row + 3}  # two grooves: it may be either
    first = found[found["row"] == row + 2].iloc[0]
    assert float(dict(first["values"])["meant"]) == pytest.approx(meant, abs=0.5)


def test_an_exchange_of_two_cars_stands_for_what_each_would_be_asked(tables, tmp_path):
    table = tables["depths"]
    table.loc[table["vehicle_id"] == "V5", "depth_mm"] -= 2.5
    tables["tires"].loc[tables["tires"]["tire_id"].str.startswith("V5"), "new_depth_mm"] = 5.5
    a, b = visit(table, "V2", 2), visit(table, "V5", 2)
    before = table.loc[[*a, *b], "depth_mm"].to_numpy().copy()
    table.loc[[*a, *b], "depth_mm"] = [*before[8:], *before[:8]]
    found = asked(tmp_path / "book", tables)
    assert sorted(found["row"]) == sorted([*(a + 2), *(b + 2)])
    other = {"V2": "V5", "V5": "V2"}
    for row, values in zip(found["row"], found["values"], strict=True):
        assert dict(values)["vehicle_id"] == other[table.loc[row - 2, "vehicle_id"]]


def test_a_car_whose_odometers_are_in_another_unit_is_asked_about_at_its_odometers(tables, tmp_path):
    rows = visit(tables["depths"], "V3", None)
    km = tables["depths"].loc[rows, "odometer_km"]
    tables["depths"].loc[rows, "odometer_km"] = (km / 1.609344).round()
    mounts = tables["mounts"]["vehicle_id"] == "V3"
    tables["mounts"].loc[mounts, "odometer_km"] = (
        tables["mounts"].loc[mounts, "odometer_km"] / 1.609344
    ).round()
    found = asked(tmp_path / "book", tables)
    assert set(found["code"]) <= {Slip.CAR_DISTANCE.value}
    assert set(found["column"]) <= {"odometer_km"}
    assert set(found["row"]) <= set(rows + 2)


def test_a_tire_that_grows_is_asked_about_at_its_own_readings(tables, tmp_path):
    table = tables["depths"]
    mine = table.index[(table["vehicle_id"] == "V3") & (table["position"] == "RF")]
    table.loc[mine, "depth_mm"] = table.loc[mine, "depth_mm"].to_numpy()[::-1]
    found = asked(tmp_path / "book", tables)
    grows = found[found["code"] == Slip.GROWS.value]
    assert len(grows) > 0
    assert set(grows["row"]) <= set(mine + 2)


def pressures(tables, change):
    """A log with cold pressures at the placard, those of V3's third visit changed."""
    one = tables["depths"].drop_duplicates(["date", "vehicle_id", "position"])
    table = one[["date", "vehicle_id", "position"]].assign(pressure_kpa=230.0, state="cold", ambient_c=15.0)
    table = table.reset_index(drop=True)
    rows = visit(table, "V3", 2)
    table.loc[rows] = change(table.loc[rows])
    return {**tables, "pressures": table}, rows


def test_absolute_pressures_are_asked_about_at_each_wheel(tables, tmp_path):
    made, rows = pressures(tables, lambda rows: rows.assign(pressure_kpa=331.0))
    found = asked(tmp_path / "book", made)
    assert found[["row", "code", "column"]].to_numpy().tolist() == [
        [r + 2, Slip.ABSOLUTE.value, "pressure_kpa"] for r in rows
    ]


def test_a_temperature_in_another_unit_is_asked_about_where_it_stands(tables, tmp_path):
    made, rows = pressures(tables, lambda rows: rows.assign(ambient_c=59.0))
    found = asked(tmp_path / "book", made)
    assert set(found["code"]) == {Slip.TEMPERATURE_UNIT.value}
    assert set(found["column"]) == {"ambient_c"}
    assert sorted(found["row"]) == sorted(rows + 2)


def doubt(code, row, column="depth_mm", values=(), file="depths.csv", ask=""):
    return {"file": file, "row": row, "column": column, "value": str(row), "code": code, "severity": 1, "doubt": True,
            "ask": ask, "values": values}  # fmt: skip


def test_what_is_asked_of_a_visit_as_a_whole_is_shown_once():
    doubts = pd.DataFrame([
        doubt(Slip.TENFOLD.value, 2, values=(("factor", 10),)), doubt(Slip.TENFOLD.value, 3, values=(("factor", 10),)),
        doubt(Slip.TENFOLD.value, 4, values=(("factor", 100),)), doubt(Found.NOT_WHOLE.value, 5),
        doubt(Found.NOT_WHOLE.value, 6), doubt(Slip.UNFIT.value, 2),
    ])  # fmt: skip
    shown = asked_once(doubts)
    assert [(one.code, one.row, one.column, one.value) for one in shown] == [
        (Slip.TENFOLD, 0, "", ""), (Slip.TENFOLD, 0, "", ""), (Slip.UNFIT, 0, "", ""),
        (Found.NOT_WHOLE, 5, "depth_mm", "5"), (Found.NOT_WHOLE, 6, "depth_mm", "6"),
    ]  # fmt: skip
    assert asked_once(doubts.iloc[:0]) == []
