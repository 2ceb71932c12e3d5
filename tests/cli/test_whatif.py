"""What-ifs from the command line: the options' meaning, units, and folders of parts that outlive a kill."""

import argparse
import json
import signal
import subprocess
import sys
import time
from pathlib import Path

import pandas as pd
import pytest

from tirelife.cli import main
from tirelife.cli.options import declare
from tirelife.cli.whatif import OPTIONS
from tirelife.errors import InputError
from tirelife.logbook import read_logbook
from tirelife.outlook import Otherwise, calibrated_fit, what_if
from tirelife.terminal import changes_of
from tirelife.wear import Change

DEMO = str(Path(__file__).parents[2] / "data_synthetic" / "logbook")
MILE = 1.609344
ASKED = [
    "--pressures-kept",
    "--stops",
    "0.8",
    "--slower",
    "5mph",
    "--wheels-straight",
    "--rotate-every",
    "8000km",
]


def options(*words):
    parser = argparse.ArgumentParser()
    declare(parser, OPTIONS)
    return vars(parser.parse_args(["book", *words]))


def test_each_option_is_a_change_of_its_own_or_all_are_one():
    apart = changes_of(options(*ASKED, "--off-at", "4/32", "--a-year", "10000 mi"))
    assert [c.wear for c in apart if c.wear] == [
        Change("pressures at the placard", pressure_kept=True),
        Change("wheels set straight", front_toe_mm=0.0, rear_toe_mm=0.0),
        Change("stops at 0.8 of the acceleration", stops=0.8),
        Change("5mph slower above 55 mph", by_mps=5 * 0.44704),
    ]
    assert [(c.rotation_km, c.km_per_year, c.removal_depth_mm) for c in apart[4:]] == [
        (8000.0, None, None),
        (None, 16093.44, None),
        (None, None, 3.175),
    ]
    (whole,) = changes_of(
        options("--starts", "0.7", "--top-speed", "100 km/h", "--off-at", "3mm", "--together")
    )
    assert whole.name == "starts at 0.7 of the acceleration, no faster than 100 km/h, removal at 3mm"
    assert (whole.wear.starts, whole.wear.cap_mps) == (0.7, pytest.approx(100 / 3.6))
    assert whole.removal_depth_mm == 3.0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "what would be otherwise"),
        (["--stops", "-1"], "--stops -1"),
        (["--slower", "5"], "number with its unit"),
        (["--slower", "5mph", "--top-speed", "65mph"], "one of them"),
        (["--off-at", "4"], "not a depth"),
    ],
)
def test_what_cannot_be_is_refused(words, said):
    with pytest.raises(InputError, match=said):
        changes_of(options(*words))


def test_the_answer_is_that_of_the_package_in_the_logbooks_units(capsys):
    assert main(["whatif", DEMO, "--vehicle", "V03", "--stops", "0.8", "--off-at", "4/32", "--json"]) == 0
    rows = pd.DataFrame(json.loads(capsys.readouterr().out)["rows"])
    book = read_logbook(DEMO)
    fit = calibrated_fit(book)
    for change in (
        Change("stops at 0.8 of the acceleration", stops=0.8),
        Otherwise("removal at 4/32", removal_depth_mm=3.175),
    ):
        want = what_if(book, fit, change, ["V03"])
        got = rows[rows["change"] == change.name]
        assert got["position"].tolist() == want["position"].tolist() == ["LF", "RF", "LR", "RR", "set"]
        assert (got["miles_gained_p50"] * MILE).to_numpy() == pytest.approx(want["km_gained_p50"].to_numpy())
        assert got["months_gained_p90"].to_numpy() == pytest.approx(want["months_gained_p90"].to_numpy())


@pytest.mark.parametrize(
    "command",
    [["forecast", DEMO], pytest.param(["whatif", DEMO, *ASKED[:3]], marks=pytest.mark.long)],
    ids=lambda words: words[0],
)
def test_a_killed_run_goes_on_and_ends_as_one_that_was_not(command, tmp_path):
    cut, whole = tmp_path / "cut", tmp_path / "whole"
    words = [*command, "--chunk", "4", "--out", f"{cut}/"]
    process = subprocess.Popen([sys.executable, "-m", "tirelife", *words], stderr=subprocess.DEVNULL)
    second = cut / "part-00001.parquet"
    while process.poll() is None and not second.exists():
        time.sleep(0.005)
    process.send_signal(signal.SIGKILL)
    assert process.wait() == -signal.SIGKILL
    held = {file.name: file.stat().st_mtime_ns for file in cut.glob("part-*")}
    assert 2 <= len(held) < 6
    assert main(words) == 0
    assert main([*command, "--chunk", "4", "--out", f"{whole}/"]) == 0
    # The part under way when it was killed may not have been entered yet, and is made again.
    assert sum((cut / name).stat().st_mtime_ns == at for name, at in held.items()) >= len(held) - 1
    assert len(list(cut.glob("part-*"))) == 6
    pd.testing.assert_frame_equal(pd.read_parquet(cut), pd.read_parquet(whole))
    assert pd.read_parquet(cut)["vehicle_id"].nunique() == 24


def test_a_folder_of_another_run_is_refused_and_a_bad_chunk_too(tmp_path, capsys):
    out = ["--out", f"{tmp_path / 'parts'}/"]
    assert main(["whatif", DEMO, "--stops", "0.8", *out]) == 0
    assert main(["whatif", DEMO, "--stops", "0.7", *out]) == 2
    assert "another run" in capsys.readouterr().err
    assert main(["whatif", DEMO, "--stops", "0.7", "--chunk", "0", "--out", f"{tmp_path / 'more'}/"]) == 2
    assert not (tmp_path / "more").exists()
