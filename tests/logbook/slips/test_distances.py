"""A car whose odometers are all in miles, among cars that run and wear alike."""

from tests.logbook.slips.made import asked, log
from tirelife.logbook import Slip


def test_a_car_in_miles_among_forty_alike_is_asked_about(tmp_path):
    tables = log(cars=40, visits=5)
    assert asked(tmp_path / "clean", tables).empty
    for name in ("depths", "mounts"):
        own = tables[name]["vehicle_id"] == "V7"
        tables[name].loc[own, "odometer_km"] = (
            (tables[name].loc[own, "odometer_km"] / 1.609344).round().astype(int)
        )
    found = asked(tmp_path / "miles", tables)
    assert set(found["code"]) == {Slip.CAR_DISTANCE.value}
    assert {dict(v)["unit"] for v in found["values"]} == {"mi"}
