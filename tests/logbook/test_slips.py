"""Visits and vehicles that are likelier slips than as typed: on simulated fleets of known truth."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.benchmarks.slips import asked, count
from tests.fleets import WELL
from tests.logbook.folders import TABLES, folder
from tests.slipped import FLEETS, SLIPS, clean, slip
from tirelife.language import worded
from tirelife.logbook import Visit, asked_once, check_logbook, convert_logbook, read_logbook, record_visit
from tirelife.logbook.codes import Slip


@pytest.fixture(scope="module")
def fleet(tmp_path_factory):
    return clean(tmp_path_factory.mktemp("fleet"), replace(WELL, vehicles=20), 3, 11)


@pytest.mark.parametrize("name", ["one groove", "whole 32nds", "0.1 mm", "another", "unknown", "one car"])
def test_a_clean_log_is_hardly_asked_about(name, tmp_path):
    fleet, grooves = {
        "another": FLEETS["habits change"],
        "unknown": FLEETS["new depth unknown"],
    }.get(name) or FLEETS[name]
    book = clean(tmp_path, replace(fleet, vehicles=min(fleet.vehicles, 12)), grooves, 4)
    doubts = asked(book)
    visits = len(pd.read_csv(book / "depths.csv")[["vehicle_id", "date"]].drop_duplicates())
    assert doubts["row"].nunique() <= 0.01 * visits * 12


@pytest.mark.parametrize("kind", ["zeros", "tenth", "car: other unit", "absolute"])
def test_a_slip_is_asked_about_and_named(kind, fleet, tmp_path):
    named = 0
    for seed in range(5):
        spoilt = slip(fleet, tmp_path / str(seed), kind, seed)
        doubts = asked(tmp_path / str(seed))
        mine = doubts[doubts["file"] == ("pressures.csv" if kind == "absolute" else "depths.csv")]
        assert mine["row"].isin(spoilt["row"]).all()  # and nothing else is
        named += set(mine["code"]) == {SLIPS[kind]}
    assert named == 5


@pytest.mark.long
def test_most_visits_in_mm_are_asked_about_and_rightly(tmp_path):
    # Not all can be: 0.79 of a worn tread's depth is within what a visit and the wear since may be off.
    counts = count(tmp_path, (replace(WELL, vehicles=20), 3), turns=6, seeds=(5,)).set_index("slip")
    assert counts.loc["none", "asked"] == 0
    assert counts.loc["other unit", "named"] >= 0.75 * counts.loc["other unit", "cases"]


def test_places_swapped_are_named_where_their_tires_differ(tmp_path):
    rows = [
        f"2025-0{3 + k}-10,{3000 + 1000 * k},V1,{p},{g},{d - 0.2 * k}\n"
        for k in range(6)
        for p, d in (
            {"LF": 9.5, "RF": 8.0, "LR": 6.0, "RR": 5.0}
            if k != 3
            else {"LF": 8.0, "RF": 9.5, "LR": 5.0, "RR": 6.0}
        ).items()
        for g in ("outer", "center", "inner")
    ]
    head = TABLES["depths"].split("\n")[0] + "\n"
    tires = TABLES["tires"].replace("10,0724", ",0724")
    problems = check_logbook(folder(tmp_path, depths=head + "".join(rows), tires=tires))
    mine = problems[problems["code"] == Slip.SWAPPED]
    assert mine["row"].tolist() == list(range(38, 50))
    assert set(worded(mine)["advice"]) == {
        "It fits with left and right swapped. Was it typed in the order of the form?"
    }


def test_a_newest_visit_above_all_that_came_before_is_asked_about(fleet, tmp_path):
    table = pd.read_csv(fleet / "depths.csv")
    last = table[table["vehicle_id"] == table["vehicle_id"].iloc[-1]]
    last = last[last["date"] == last["date"].max()]
    for file in fleet.glob("*.csv"):
        (tmp_path / file.name).write_bytes(file.read_bytes())
    table.loc[last.index, "depth_32nds"] = 12.5
    table.to_csv(tmp_path / "depths.csv", index=False)
    doubts = asked(tmp_path)
    assert set(last.index + 2) <= set(doubts["row"])


@pytest.mark.parametrize("depth", ["2.5", "11.0"])
def test_one_depth_all_over_a_visit_that_does_not_fit_is_asked_about(tmp_path, depth):
    # Grooves of a worn car read alike only where one value was filled in; where it fits, it may well be so.
    for file in Path("data_synthetic/logbook").glob("*.csv"):
        (tmp_path / file.name).write_bytes(file.read_bytes())
    table = pd.read_csv(tmp_path / "depths.csv", dtype=str)
    own = table[table["vehicle_id"] == "V03"]
    rows = own.index[own["date"] == own["date"].max()]
    table.loc[rows, "depth_32nds"] = depth
    table.to_csv(tmp_path / "depths.csv", index=False)
    doubts = asked(tmp_path)
    assert set(rows + 2) <= set(doubts.loc[doubts["code"] == Slip.ALL_ALIKE, "row"])
    table.loc[rows, "depth_32nds"] = "5.0"  # what the car reads, give or take half a 32nd
    table.to_csv(tmp_path / "depths.csv", index=False)
    assert not (asked(tmp_path)["code"] == Slip.ALL_ALIKE).any()


def test_recording_a_visit_of_zeros_or_absolute_pressures_asks_first(tmp_path):
    store = tmp_path / "log.sqlite"
    convert_logbook(folder(tmp_path / "book"), store)
    zeros = [(p, g, "0", "") for p in ("LF", "RF", "LR", "RR") for g in ("outer", "center", "inner")]
    done = record_visit(store, Visit("V1", "2025-08-10", "11500", depths=zeros))
    assert not done.written
    assert Slip.ALL_ZERO in set(done.doubts["code"])
    high = [(p, "47.7", "") for p in ("LF", "RF", "LR", "RR")]
    done = record_visit(store, Visit("V1", "2025-08-10", "11500", pressures=high))
    assert not done.written
    assert done.doubts["code"].tolist() == [Slip.ABSOLUTE] * 4
    assert record_visit(store, Visit("V1", "2025-08-10", "11500", pressures=high), accept_doubts=True).written
    assert (read_logbook(store).pressures["doubt"] != "").all()


def test_a_pressure_of_330_kpa_where_the_placard_has_230_may_be_absolute(tmp_path):
    vehicles = "vehicle_id,drive,placard_front_kpa,placard_rear_kpa\nV1,front,230,230\nV2,rear,230,230\n"
    head = "date,vehicle_id,position,pressure_kpa,state\n"
    rows = "".join(
        f"2025-05-10,V1,{p},330,cold\n2025-05-10,V2,{p},240,cold\n" for p in ("LF", "RF", "LR", "RR")
    )
    problems = check_logbook(folder(tmp_path, vehicles=vehicles, pressures=head + rows))
    assert problems["row"].tolist() == [2, 4, 6, 8]
    assert problems["code"].tolist() == [Slip.ABSOLUTE] * 4
    assert worded(problems)["advice"].iloc[0] == (
        "As gauge pressure it would be 228.7 kPa. Logbooks hold gauge pressure."
    )


def test_the_order_of_rows_and_of_vehicles_changes_nothing(fleet, tmp_path):
    spoilt = slip(fleet, tmp_path / "a", "other unit", 3)
    assert len(spoilt)
    first = asked(tmp_path / "a")
    (tmp_path / "b").mkdir()
    for file in (tmp_path / "a").glob("*.csv"):
        table = pd.read_csv(file, dtype=str)
        order = np.random.default_rng(1).permutation(len(table)) if file.stem == "depths" else slice(None)
        table.iloc[order].to_csv(tmp_path / "b" / file.name, index=False)
        if file.stem == "depths":
            back = dict(zip(range(2, len(table) + 2), np.asarray(order) + 2, strict=True))
    again = asked(tmp_path / "b")
    assert sorted(again["row"].map(back)) == sorted(first["row"])


def test_what_is_asked_of_a_visit_stands_once_and_not_at_each_reading(tmp_path):
    store = tmp_path / "log.sqlite"
    convert_logbook(folder(tmp_path / "book"), store)
    high = [(p, "47.7", "") for p in ("LF", "RF", "LR", "RR")]
    done = record_visit(store, Visit("V1", "2025-08-10", "11500", pressures=high))
    assert len(done.doubts) == 4
    (said,) = asked_once(done.doubts)
    assert "may be absolute pressure" in str(said)
