"""A digit off in one reading: found by the grooves beside it, named with the depth that was meant."""

import numpy as np
import pandas as pd
import pytest

from tests.fleets import WELL
from tests.logbook.slips import made
from tests.slipped import clean
from tirelife.logbook import Slip, check_logbook
from tirelife.logbook.slips.predict import Law, leave_out
from tirelife.logbook.slips.readings import judge_readings, words_of


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    return clean(tmp_path_factory.mktemp("digits"), WELL, 3, 1)


def spoilt(book, target, change):
    """The logbook with readings of V00021's third visit changed: (position, groove) to a new depth."""
    target.mkdir()
    for file in book.glob("*.csv"):
        (target / file.name).write_bytes(file.read_bytes())
    depths = pd.read_csv(book / "depths.csv")
    day = sorted(depths.loc[depths["vehicle_id"] == "V00021", "date"].unique())[2]
    depths["depth_32nds"] = depths["depth_32nds"].astype(float)
    rows, was = [], []
    for (position, groove), to in change.items():
        at = depths.index[
            (depths["vehicle_id"] == "V00021") & (depths["date"] == day)
            & (depths["position"] == position) & (depths["groove"] == groove)
        ]  # fmt: skip
        was.append(float(depths.loc[at, "depth_32nds"].item()))
        depths.loc[at, "depth_32nds"] = to(was[-1])
        rows.append(int(at[0]) + 2)
    depths.to_csv(target / "depths.csv", index=False)
    problems = check_logbook(target)
    return rows, was, problems[problems["file"] == "depths.csv"]


def asked(problems):
    return problems.loc[problems["code"] == Slip.DIGIT]


def test_a_digit_that_is_off_is_named_with_what_was_meant(book, tmp_path):
    rows, was, problems = spoilt(book, tmp_path / "one", {("LR", "center"): lambda depth: depth % 1 + 1})
    one = asked(problems)
    assert one["row"].tolist() == rows
    assert float(dict(one["values"].iloc[0])["meant"]) == pytest.approx(was[0], abs=1.0)
    assert dict(one["values"].iloc[0])["odds"] > 100


def test_a_digit_is_named_though_it_makes_its_whole_visit_fit_nothing(book, tmp_path):
    rows, _, problems = spoilt(book, tmp_path / "far", {("LR", "outer"): lambda depth: depth * 10})
    assert asked(problems)["row"].tolist() == rows
    assert Slip.UNFIT not in set(problems["code"])


def test_a_weakly_odd_wheel_beside_it_hides_no_digit(book, tmp_path):
    change = {("LR", "center"): lambda depth: depth % 1, ("RF", "inner"): lambda depth: depth - 2.0}
    rows, _, problems = spoilt(book, tmp_path / "two", change)
    assert asked(problems)["row"].tolist() == rows[:1]


def test_as_odd_a_reading_at_another_wheel_is_no_slip_of_one_digit(book, tmp_path):
    change = {(wheel, "center"): lambda depth: depth % 1 + 1 for wheel in ("LF", "RR")}
    assert asked(spoilt(book, tmp_path / "both", change)[2]).empty


def test_a_reading_within_what_gauges_err_is_not_asked_about(book, tmp_path):
    assert asked(spoilt(book, tmp_path / "near", {("LF", "center"): lambda depth: depth - 1.0})[2]).empty


def test_gauges_that_err_far_now_and_then_are_not_taken_for_slips(book, tmp_path):
    # The same reading is asked about in a log of good gauges, and not where every tenth reading is as far off.
    depths = pd.read_csv(book / "depths.csv")
    rng = np.random.default_rng(3)
    bad = rng.random(len(depths)) < 0.1
    size = np.where(rng.random(len(depths)) < 0.5, 2.0, -2.0)
    depths["depth_32nds"] = np.where(
        bad, (depths["depth_32nds"] + size).clip(lower=0.5), depths["depth_32nds"]
    )
    loose = tmp_path / "loose"
    loose.mkdir()
    for file in book.glob("*.csv"):
        (loose / file.name).write_bytes(file.read_bytes())
    depths.to_csv(loose / "depths.csv", index=False)
    change = {("LR", "center"): lambda depth: depth - 4.0}
    assert len(asked(spoilt(book, tmp_path / "good", change)[2])) == 1
    rows, _, problems = spoilt(loose, tmp_path / "bad", change)
    assert not asked(problems)["row"].isin(rows).any()


def test_words_that_one_finger_makes():
    found = words_of("7.5")
    assert {"1.5", "7.0", "75", "0.75"} <= set(found)
    assert "7.5" not in found
    assert words_of("about 7") == []


def test_errors_that_are_usual_in_a_log_are_no_slips_though_its_gauges_were_thought_better(tmp_path):
    tables = made.log()
    rng = np.random.default_rng(1)
    table = tables["depths"]
    table["depth_mm"] = (table["depth_mm"] + rng.normal(0, 0.2, len(table))).round(1)
    law = Law(1e-4, 8.0, scale=0.1)

    def found(name):
        visits = made.visits(tmp_path / name, tables)
        none = np.zeros(len(visits), dtype=bool)
        depths = made.parsed(tmp_path / name, tables)["depths"]
        left = leave_out(visits, law, none, ~none)
        return [
            record for record, _, _ in judge_readings(depths, visits, law, left, np.zeros(len(table), bool))
        ]

    assert found("usual") == []
    table.loc[8, "depth_mm"] %= 1
    assert found("slip") == [8, 9]  # of two grooves either may be it
