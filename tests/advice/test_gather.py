"""What a decision is told of a vehicle, from the log."""

import pytest

from tests.logbook.folders import folder
from tirelife.advice.gather import _placard_stated
from tirelife.logbook import read_logbook

HEAD = "vehicle_id,drive,placard_front_psi,placard_rear_psi\n"


@pytest.mark.parametrize(
    ("first", "stated"), [("33,33", {"V1", "V2"}), ("33,", {"V2"}), (",33", {"V2"}), (",", {"V2"})]
)
def test_a_placard_is_stated_where_the_log_has_it_for_both_axles(tmp_path, first, stated):
    book = read_logbook(folder(tmp_path, vehicles=f"{HEAD}V1,front,{first}\nV2,rear,35,38\n"))
    assert _placard_stated(book) == stated
