"""A mapping goes into a small TOML file and comes back as the settings it was."""

import pytest

from tirelife.errors import InputError
from tirelife.logbook.refused import NoSheet
from tirelife.logbook.sheets.columns import Column, Table
from tirelife.logbook.sheets.decide import Conventions
from tirelife.logbook.sheets.files import Grid
from tirelife.logbook.sheets.headers import Field
from tirelife.logbook.sheets.importing import Plan, Settings
from tirelife.logbook.sheets.mapping import mapping_text, read_mapping
from tirelife.logbook.sheets.told import How


def plan(tmp_path, settings=None, columns=(), **how):
    tables = [(Table(Grid("Log", []), list(columns), (0,), 1), "")]
    return Plan(tmp_path / "shop.csv", tables, Conventions(**how), settings or Settings(), [])


def back(tmp_path, plan):
    path = tmp_path / "shop.toml"
    path.write_text(mapping_text(plan), encoding="utf-8")
    return read_mapping(path)


def test_what_was_settled_and_told_comes_back(tmp_path):
    settings = Settings(
        points="thousands",
        new_depth=8.5,
        vehicle='Van "7"',
        hidden="use",
        work={"AB 12 2026-03-14": "4 new é"},
    )
    how = {"depth_unit": "mm", "distance_unit": "km", "day_first": False, "near_side": "left", "commas": "grooves",
           "wheel_numbers": "lf-rf-rr-lr"}  # fmt: skip
    columns = [Column(0, "Régler = 1", Field("depth", "LF", "outer", "mm"), How.NAME), Column(1, "", Field("date"), How.NAME),
               Column(2, "?", Field(""), How.NAME)]  # fmt: skip
    found = back(tmp_path, plan(tmp_path, settings, columns, **how))
    assert found == Settings(
        depth_unit="mm", distance_unit="km", day_first=False, near_side="left", points="thousands",
        depth_commas="grooves", new_depth=8.5, vehicle='Van "7"', hidden="use",
        columns={"Régler = 1": "depth LF outer mm", "B": "date", "?": "?"}, work=settings.work,
        wheel_numbers="lf-rf-rr-lr",
    )  # fmt: skip


def test_what_is_open_or_blank_is_left_out(tmp_path):
    text = mapping_text(plan(tmp_path))
    assert text.splitlines() == ["", "[columns]  # a header, or a column's letter: what it holds"]
    assert back(tmp_path, plan(tmp_path)) == Settings()


@pytest.mark.parametrize(
    ("times", "told", "said"), [(1000.0, None, "thousands"), (1.0, "full", "full"), (1.0, None, None)]
)
def test_whether_odometers_are_in_thousands_is_what_was_found_or_told(tmp_path, times, told, said):
    found = back(tmp_path, plan(tmp_path, Settings(odometer_in=told), odometer_times=times))
    assert found.odometer_in == said


def test_the_first_of_two_columns_of_one_name_is_told(tmp_path):
    columns = [
        Column(0, "Depth", Field("depth", "LF"), How.NAME),
        Column(1, "Depth", Field("depth", "RF"), How.NAME),
    ]
    assert back(tmp_path, plan(tmp_path, columns=columns)).columns == {"Depth": "depth LF"}


@pytest.mark.parametrize("text", ["depth_unit = ", "depth_unit = mm", b"\xff\xfe"])
def test_what_is_no_mapping_is_refused(tmp_path, text):
    path = tmp_path / "shop.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(InputError) as caught:
        read_mapping(path)
    assert caught.value.problems[0].code == NoSheet.NO_MAPPING
    with pytest.raises(InputError):
        read_mapping(tmp_path / "none.toml")


def test_a_part_that_says_nothing_known_is_named(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text('depth_unit = "mm"\ndeep = 3\n')
    with pytest.raises(InputError) as caught:
        read_mapping(path)
    (problem,) = caught.value.problems
    assert (problem.code, problem.column) == (NoSheet.MAPPING_PART, "deep")
    assert "depth_unit" in dict(problem.values)["names"]
