"""What a person typed about a sheet."""

from dataclasses import fields

import pytest

from tirelife.errors import InputError
from tirelife.logbook.sheets.settings import Settings, settings_typed
from tirelife.logbook.wrong import Wrong

OPTIONS = (
    "depth_unit", "distance_unit", "day_first", "near_side", "points", "depth_commas", "hidden", "wheel_numbers",
    "odometer_in", "sheet_new_depth", "tab_vehicle",
)  # fmt: skip


def typed(column=(), work=(), **given):
    return settings_typed({**dict.fromkeys(OPTIONS), "column": column, "work": work, **given})


def test_each_option_is_its_setting():
    told = {name: f"said of {name}" for name in OPTIONS}
    found = typed(["Q1=depth LF"], ["AB 12 2026-03-14=4 new"], **told)
    assert found.new_depth == "said of sheet_new_depth"
    assert found.vehicle == "said of tab_vehicle"
    for name in OPTIONS[:-2]:
        assert getattr(found, name) == f"said of {name}", name
    assert found.columns == {"Q1": "depth LF"}
    assert found.work == {"AB 12 2026-03-14": "4 new"}
    assert {field.name for field in fields(Settings)} - {*OPTIONS, "new_depth", "vehicle"} == {
        "columns",
        "work",
    }


def test_nothing_typed_is_nothing_said():
    assert typed() == Settings()


def test_a_name_ends_at_the_last_sign_and_spaces_around_it_go():
    assert typed([" km = mi = odometer mi "]).columns == {"km = mi": "odometer mi"}


@pytest.mark.parametrize("text", ["depth LF", "=depth LF", " =depth LF", "Q1=", "Q1= ", ""])
def test_a_pair_without_a_name_or_a_word_is_refused(text):
    for given in ({"column": [text]}, {"work": [text]}):
        with pytest.raises(InputError) as caught:
            typed(**given)
        assert caught.value.problems[0].code == Wrong.NAME_WHAT
