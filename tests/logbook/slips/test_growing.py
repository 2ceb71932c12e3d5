"""A tire that is read deeper at each visit."""

import pytest

from tests.logbook.slips.made import asked, log
from tirelife.logbook import Slip


@pytest.mark.parametrize(("step", "grows"), [(0.8, True), (-0.1, False)])
def test_a_tire_that_gains_a_32nd_a_visit_is_asked_about(tmp_path, step, grows):
    tables = log()
    table = tables["depths"]
    own = (table["vehicle_id"] == "V2") & (table["position"] == "LR")
    nth = table.loc[own, "date"].rank(method="dense") - 1
    table.loc[own, "depth_mm"] = 4.0 + step * nth
    found = asked(tmp_path, tables)
    rows = set(found.loc[found["code"] == Slip.GROWS, "row"])
    assert bool(rows) is grows
    assert rows <= set(table.index[own] + 2)
