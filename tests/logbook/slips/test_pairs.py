"""Visits of two cars written down under each other."""

from tests.logbook.slips.made import asked, log, visit
from tirelife.logbook import Slip


def test_two_cars_exchanged_on_one_day_are_named(tmp_path):
    tables = log()
    table = tables["depths"]
    worn = table["vehicle_id"] == "V5"
    table.loc[worn, "depth_mm"] -= 2.5
    tables["tires"].loc[tables["tires"]["tire_id"].str.startswith("V5"), "new_depth_mm"] = 5.5
    a, b = visit(table, "V2", 2), visit(table, "V5", 2)
    before = table.loc[[*a, *b], "depth_mm"].to_numpy().copy()
    table.loc[[*a, *b], "depth_mm"] = [*before[8:], *before[:8]]
    found = asked(tmp_path, tables)
    assert set(found["code"]) == {Slip.CARS_SWAPPED.value}
    assert {dict(v)["vehicle_id"] for v in found["values"]} == {"V2", "V5"}
