"""Short forms of the proofs in ``fuzz`` and ``endurance``; the long ones' counts stand in their results files."""

import os

import pandas as pd
import pytest

from tests.logbook import endurance, fuzz
from tests.logbook.folders import folder

POSIX = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes that fork")


def test_spoilt_logbooks_are_read_or_refused_and_no_record_is_lost():
    counts = fuzz.run(20, seed=20, store_every=10, shares=(0.1, 1.0))
    assert counts["runs"] == 20
    assert counts["read"] > 0
    assert counts["refused"] > 0


@POSIX
def test_a_killed_recorder_loses_nothing(tmp_path):
    assert endurance.kill(4, tmp_path / "kill", seed=2)["lost visits"] == 0


@POSIX
def test_two_recorders_lose_nothing(tmp_path):
    assert endurance.two_writers(4, tmp_path / "two", vehicles=4)["visits found"] == 8


def test_a_logbook_recorded_day_by_day_is_the_logbook(tmp_path):
    log = (
        "date,vehicle_id,odometer_mi,position,pressure_psi,state,set_to_psi,ambient_f,gauge_id\n"
        "2025-03-10,V1,4000,LF,31,cold,33,50,P1\n2025-03-10,V1,4000,RF,33,city,,50,P1\n"
    )
    counts = endurance.replay(folder(tmp_path / "book", pressures=log), tmp_path / "again")
    assert counts["depths"] == 72


def test_the_long_proofs_were_run():
    # Issue: 200,000 mutated files; 500 kills; two processes x 2,000 visits.
    fuzzed = pd.read_csv(fuzz.__file__.replace("fuzz.py", "fuzz_results.csv"))
    assert fuzzed["spoilt files"].sum() >= 200_000
    assert (fuzzed["crashes"] == 0).all()
    proofs = pd.read_csv(endurance.__file__.replace("endurance.py", "endurance_results.csv"))
    counts = proofs.set_index("count")["value"]
    assert counts["kills"] >= 500
    assert counts["visits each"] >= 2000
    assert (counts["lost visits"] == 0).all()
