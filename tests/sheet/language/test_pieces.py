"""Parts of sentences: said where they are so, left out where not."""

import pytest

from tirelife.sheet.language.pieces import fit_pieces, measured_pieces

WORDS = {"read": "R{read_raw}", "corrected": " C{read}", "groove": " G{groove}", "spot": " S{spot}",
         "moved": " M{read_at_position}", "date": " D{read_date}"}  # fmt: skip
SAID = {"vehicle_id": "V1", "position": "left front", "read_raw": "4", "read": "5", "groove": "inner", "spot": "2",
        "read_at_position": "right rear", "read_date": "May 2"}  # fmt: skip


def pieces(read_mm=3.0, raw_mm=3.0, moved=False, **said):
    values = {"read_mm": read_mm, "read_raw_mm": raw_mm, "moved": moved}
    return measured_pieces(WORDS)(SAID | said, values)


@pytest.mark.parametrize(
    ("how", "read"),
    [
        ({}, "R4 Ginner S2 DMay 2"),
        ({"read_mm": 3.5}, "R4 C5 Ginner S2 DMay 2"),
        ({"raw_mm": 3.5}, "R4 C5 Ginner S2 DMay 2"),
        ({"read_mm": 3.01}, "R4 Ginner S2 DMay 2"),  # a fiftieth of a millimetre is no bias worth a word
        ({"read_mm": 3.025}, "R4 C5 Ginner S2 DMay 2"),
        ({"groove": ""}, "R4 S2 DMay 2"),
        ({"spot": ""}, "R4 Ginner DMay 2"),
        ({"moved": True}, "R4 Ginner S2 Mright rear DMay 2"),
        ({"read_date": "None"}, "R4 Ginner S2"),
        ({"read_date": ""}, "R4 Ginner S2"),
    ],
)
def test_what_was_read_where(how, read):
    assert pieces(**how) == {"tire": "V1 left front", "read": read}


def test_without_a_vehicle_the_place_begins_the_sentence():
    assert pieces(vehicle_id="")["tire"] == "Left front"


def test_a_number_of_a_fit_is_whole_and_a_share():
    assert fit_pieces({}, {"value": 1234.4}) == {"value": "1,234", "share": "123440%"}
    assert fit_pieces({}, {"value": 0.256})["share"] == "26%"
    assert fit_pieces({}, {}) == {"value": "0", "share": "0%"}
