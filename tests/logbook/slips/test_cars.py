"""A car that is always read in one wrong way, against the others."""

import pytest

from tests.logbook.slips.made import asked, log, visit
from tirelife.logbook import Slip

CHANGES = {
    Slip.CAR_UNIT: lambda d: (d / 0.79375 * 2).round() / 2,
    Slip.CAR_TENFOLD: lambda d: (d / 10).round(2),
    Slip.CAR_ZERO: lambda d: 0 * d,
}


@pytest.mark.parametrize("slip", CHANGES)
def test_a_whole_car_is_asked_about_by_name(tmp_path, slip):
    tables = log()
    rows = visit(tables["depths"], "V3", None)
    tables["depths"].loc[rows, "depth_mm"] = CHANGES[slip](tables["depths"].loc[rows, "depth_mm"])
    found = asked(tmp_path, tables)
    assert slip.value in set(found["code"])
    assert set(found["row"]) <= set(rows + 2)
