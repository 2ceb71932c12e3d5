"""A tire that is read deeper at each visit."""

from dataclasses import replace

import numpy as np
import pytest

from tests.logbook.slips.made import asked, log, visits
from tirelife.logbook import Slip
from tirelife.logbook.slips.growing import judge_growing
from tirelife.logbook.slips.predict import Law


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


def test_odds_of_growth_beyond_all_doubt_are_told_as_e_to_the_fifty(tmp_path):
    # Two millimeters deeper at each visit, where readings err by a quarter.
    made = visits(tmp_path / "log", log(cars=1, visits=4))
    grown = replace(made, depth=made.depth + [[0, 0, 0, 2.6 * k] for k in range(4)])
    notes = judge_growing(grown, Law(1e-4, 8.0), np.zeros(4, dtype=bool))
    assert sorted(notes) == [3, 7, 11, 15]
    assert [dict(note.values)["odds"] for note in notes.values()] == pytest.approx([np.exp(50)] * 4)
