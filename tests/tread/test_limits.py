"""Removal depths by place, axle and season; the federal truck rule."""

import math

import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.sheet import removal_limits
from tirelife.tread import removal_depth, removal_depths

N32 = 25.4 / 32


@pytest.mark.parametrize(
    ("place", "options", "depth_mm"),
    [
        ("US", {}, 2 * N32),  # 49 CFR 570.9 (from memory)
        ("US/California", {}, 1 * N32),  # Modern Tire Dealer 2008: one of two states at 1/32
        ("US/Maryland", {}, 2 * N32),  # COMAR 11.22.04.06
        ("US/Maryland", {"vehicles": "motorcycle"}, 1 * N32),  # COMAR 11.14.03.05
        ("US", {"vehicles": "truck or bus", "axle": "front"}, 4 * N32),  # 49 CFR 393.75(b)
        ("US", {"vehicles": "truck or bus", "axle": "rear"}, 2 * N32),  # 49 CFR 393.75(c)
        ("US/Army", {"axle": "front"}, 4 * N32),  # TM 9-2610-200-14, section 2-24: steering axle
        ("US/Army", {"axle": "rear"}, 2 * N32),  # same: others
        ("US/Army", {"vehicles": "truck or bus", "axle": "rear"}, 4 * N32),  # same: military and truck tires
        ("EU", {}, 1.6),  # 89/459/EEC
        ("EU/Austria", {"on": "2026-11-01"}, 4.0),  # 1 Nov to 15 Apr
        ("EU/Austria", {"on": "2026-04-15"}, 4.0),
        ("EU/Austria", {"on": "2026-04-16"}, 1.6),
        ("EU/Austria", {}, 1.6),
        ("EU/Sweden", {"on": "2026-01-15"}, 3.0),  # 1 Dec to 31 Mar
        ("EU/Sweden", {"on": "2026-11-30"}, 1.6),
        ("EU/Finland", {"on": "2026-01-15"}, 3.0),  # ECC-Net 2013
        ("EU/Slovenia", {"on": "2026-01-15"}, 3.0),  # ECC-Net 2013
        ("Norway", {"on": "2026-01-15"}, 3.0),
        ("UK", {}, 1.6),  # Construction and Use Regulations, reg. 27
        ("UK", {"vehicles": "truck or bus"}, 1.0),  # same, second-hand
    ],
)
def test_each_rule_is_found(place, options, depth_mm):
    assert removal_depth(place, **options).depth_mm == pytest.approx(depth_mm, abs=1e-12)


def test_advice_is_not_law():
    found = removal_depth("US")
    # AAA 2018 compared new tires with 4/32; the entry is advice and never the limit.
    assert found.advised_mm == pytest.approx(4 * N32)
    assert found.depth_mm < found.advised_mm
    winter = removal_depth("Canada/Quebec", on="2026-01-15")
    assert math.isnan(winter.depth_mm)
    assert winter.advised_mm == pytest.approx(4.8)
    assert found.rule
    assert not winter.rule


def test_every_entry_has_a_source_and_a_standing():
    table = removal_depths()
    assert (table[["source", "standing", "place", "kind"]] != "").all(axis=None)
    assert table["depth_mm"].between(0.7, 5).all()


def test_a_user_adds_a_place_and_overrules_an_entry(tmp_path):
    file = tmp_path / "mine.csv"
    file.write_text(
        "place,axle,depth,unit,source,dated\nUS/Ohio,any,2,32nds,state code 4513,2026-01-01\n"
        "EU/Austria,any,5,mm,my reading,\n",
        encoding="utf-8",
    )
    table = removal_depths(file)
    assert removal_depth("US/Ohio", limits=table).source == "state code 4513"
    assert removal_depth("EU/Austria", limits=table).depth_mm == 5.0
    again = tmp_path / "again.csv"
    again.write_text(
        "place,vehicles,depth,unit,source\nUS/California,car,2,32nds,later code\n", encoding="utf-8"
    )
    assert removal_depth("US/California", limits=removal_depths(again)).depth_mm == pytest.approx(2 * N32)


def test_bad_files_say_each_row(tmp_path):
    file = tmp_path / "bad.csv"
    file.write_text(
        "place,axle,season_from,season_to,depth,unit,source\n"
        ",middle,13-40,,two,furlongs,\n"
        "US/Ohio,any,11-01,,88,mm,code\n",
        encoding="utf-8",
    )
    with pytest.raises(InputError) as error:
        removal_depths(file)
    seen = {(p.row, p.column) for p in error.value.problems}
    assert {(2, "place"), (2, "axle"), (2, "season_from"), (2, "unit"), (2, "source"), (3, "depth")} <= seen
    (tmp_path / "short.csv").write_text("place,depth\nX,1\n", encoding="utf-8")
    with pytest.raises(InputError, match="is missing"):
        removal_depths(tmp_path / "short.csv")
    with pytest.raises(InputError, match="cannot be read"):
        removal_depths(tmp_path / "absent.csv")


def test_an_unknown_place_is_refused():
    with pytest.raises(InputError, match="Atlantis"):
        removal_depth("Atlantis")


@pytest.mark.parametrize(
    ("options", "front", "rear"),
    [
        # 49 CFR 393.75(b), (c), as quoted in USPS PO-515 section 452.1: 4/32 front, 2/32 elsewhere.
        ({"rules_for": "truck or bus"}, 4, 2),
        ({"place": "US/Army", "rules_for": "truck or bus"}, 4, 4),  # TM 9-2610-200-14 section 2-24
        ({"place": "US"}, 2, 2),
        ({}, 2, 2),
    ],
)
def test_heavier_vehicles_have_their_own_depth_by_axle(options, front, rear):
    depth, _ = removal_limits(pd.Timestamp("2026-06-30"), **options)
    assert depth["LF"] == depth["RF"] == pytest.approx(front * N32)
    assert depth["LR"] == depth["RR"] == pytest.approx(rear * N32)
