"""The contributor's guide says what is so: its tables of types and of symbols, held to the code."""

import dataclasses
import re
from importlib import import_module
from pathlib import Path

import pytest

GUIDE = (Path(__file__).parents[1] / "DEVELOPERS.md").read_text("utf-8")


def rows(heading):
    """Cells of the table under a heading, its head and rule left out."""
    part = GUIDE.split(f"\n## {heading}\n")[1].split("\n## ")[0]
    lines = [line for line in part.splitlines() if line.startswith("| ")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


TYPES = rows("The types that carry the state")
SYMBOLS = rows("Symbols")


@pytest.mark.parametrize(
    ("name", "door", "fields"), [row[:3] for row in TYPES], ids=[row[0] for row in TYPES]
)
def test_a_type_of_the_guide_is_frozen_and_has_the_fields_that_it_names(name, door, fields):
    found = getattr(import_module(f"tirelife.{door.strip('`')}"), name.strip("`"))
    assert found.__dataclass_params__.frozen
    if not fields.startswith("see"):
        assert fields.strip("`").split(", ") == [one.name for one in dataclasses.fields(found)]


MAKERS = sorted(
    {name for row in rows("What passes between rooms") for name in re.findall(r"`([a-z_.]+)\(", row[1])}
)


@pytest.mark.parametrize("name", [name for name in MAKERS if "." in name])
def test_what_makes_a_frame_is_where_the_guide_says(name):
    home, _, made = name.rpartition(".")
    assert callable(getattr(import_module(f"tirelife.{home}"), made))


def known(module, name):
    """Whether a module holds a name, or a type of it a field of that name."""
    first, _, rest = name.partition(".")
    found = getattr(import_module(f"tirelife.{module}"), first, None)
    if found is None or not rest:
        return found is not None
    return rest in {one.name for one in dataclasses.fields(found)}


@pytest.mark.parametrize("row", SYMBOLS, ids=[row[0] for row in SYMBOLS])
def test_a_symbol_of_the_guide_is_where_it_says(row):
    _, code, _, _, where = row
    modules = re.findall(r"`([\w.]+)`", where)
    spoken = code.partition(";")[0].partition(":")
    for name in re.findall(r"`([\w.]+)`", spoken[0]):
        homes = [*modules, "rates.result", "rates.blocks"]
        assert any(known(module, name) for module in homes), name
    variances = set(import_module("tirelife.rates.blocks").VARIANCES)
    assert set(re.findall(r"`(\w+)`", spoken[2])) <= variances


def test_the_symbols_name_every_variance():
    told = {name for row in SYMBOLS for name in re.findall(r"`(\w+)`", row[1].partition(":")[2])}
    assert told == set(import_module("tirelife.rates.blocks").VARIANCES)
