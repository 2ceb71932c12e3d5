"""Short forms of the proofs in ``fuzz`` and ``endurance``; the long ones' counts stand in their results files."""

import os

import pandas as pd
import pytest

from tests.logbook import endurance, fuzz, fuzz_commands, kills
from tests.logbook.folders import folder, swap
from tirelife.logbook import read_logbook
from tirelife.rates import fit_logbook

POSIX = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes that fork")


def test_commands_answer_or_refuse_spoilt_logbooks_and_lose_nothing():
    counts = fuzz_commands.run(0, seed=30, runs=10, share=0.4)
    assert counts["runs"] == counts["check answered"] + counts["check refused"] == 10
    assert counts["crashes"] == counts["warnings"] == 0
    assert (
        min(counts[f"{name} {what}"] for name in ("forecast", "sheet") for what in ("answered", "refused"))
        > 0
    )


def test_spoilt_logbooks_are_read_or_refused_and_no_record_is_lost():
    counts = fuzz.run(20, seed=20, store_every=10, shares=(0.1, 1.0))
    assert counts["runs"] == 20
    assert counts["read"] > 0
    assert counts["refused"] > 0


@POSIX
def test_a_killed_recorder_loses_nothing(tmp_path):
    assert endurance.kill(4, tmp_path / "kill", seed=2)["lost visits"] == 0


@POSIX
@pytest.mark.long
def test_killed_commands_leave_all_or_nothing_and_go_on(tmp_path):
    assert kills.run(3, tmp_path / "kills", seed=2)["lost"] == 0


@POSIX
def test_two_recorders_lose_nothing(tmp_path):
    assert endurance.two_writers(4, tmp_path / "two", vehicles=4)["visits found"] == 8


def test_a_logbook_recorded_day_by_day_is_the_logbook_and_gives_the_same_fit(tmp_path):
    # A pressure with no odometer beside it is nothing that a visit can record.
    tables = {
        **fuzz.BASE,
        "pressures": fuzz.BASE["pressures"].replace(
            "2025-05-10,V2,RR,36,cold,,", "2025-05-10,V2,RR,36,cold,7000,"
        ),
    }
    counts = endurance.replay(folder(tmp_path / "book", **tables), tmp_path / "again")
    assert counts["depths"] == 72
    assert counts["numbers of the fit compared"] > 250
    assert counts["largest relative difference"] <= 1e-9


def test_fits_of_readings_a_thousandth_apart_are_not_the_same(tmp_path):
    fits = [
        fit_logbook(read_logbook(folder(tmp_path / name, depths=swap("depths", "8.5", depth))))
        for name, depth in (("one", "8.5"), ("other", "8.501"))
    ]
    assert endurance.same_fit(fits[0], fits[0])["largest relative difference"] == 0
    with pytest.raises(AssertionError, match=r"estimates: .* is .* and "):
        endurance.same_fit(*fits)


def test_the_long_proofs_were_run():
    # Issue: 200,000 mutated files through check, forecast and sheet; 500 kills; two processes x 2,000 visits; a
    # 24-month demo replayed day by day gives the same fit.
    fuzzed = pd.read_csv(fuzz.__file__.replace("fuzz.py", "fuzz_results.csv"))
    assert (fuzzed["crashes"] == 0).all()
    commands = fuzzed[fuzzed["what"] == "commands"]
    assert commands["spoilt files"].sum() >= 200_000
    assert commands["seed"].is_unique
    assert (commands["warnings"] == 0).all()
    for command in ("check", "forecast", "sheet"):
        done = commands[[f"{command} answered", f"{command} refused"]].sum(axis=1)
        assert (done == commands["runs"]).all()
        assert commands[f"{command} answered"].sum() > 3000
    proofs = pd.read_csv(endurance.__file__.replace("endurance.py", "endurance_results.csv"))
    counts = proofs.set_index("count")["value"]
    assert counts["kills"] >= 500
    assert counts["visits each"] >= 2000
    assert (counts["lost visits"] == 0).all()
    assert counts["days"] >= 250
    assert counts["numbers of the fit compared"] > 3000
    assert counts["largest relative difference"] <= 1e-9
