"""What a logbook's region and kinds of tire have us hold of its wear, worked out from the published lives."""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tests.habit_fleets import Fleet, simulate
from tirelife.logbook import read_logbook
from tirelife.rates.lives import Life
from tirelife.rates.local_prior import prior_for
from tirelife.rates.prior import PUBLISHED, Belief

WORN_MM = 8 * 25.4 / 32  # 10/32 to 2/32 in
SPREADS = {
    "block": Belief(math.log(0.3), 0.1),
    "line": Belief(math.log(0.2), 0.1),
    "unit": Belief(math.log(0.1), 0.1),
}
HELD = replace(PUBLISHED, spreads={**PUBLISHED.spreads, **SPREADS})
OURS = (
    ("AA", "", 60_000.0, 0.2, "2026", "a log"),
    ("AA", "winter", 30_000.0, 0.35, "2026", "a log"),
    ("AA", "summer", 45_000.0, 0.1, "2026", "a log"),
)


def book(regions=("AA",), **lines):
    """A logbook's vehicles and tires: one tire a season named, of each line."""
    tires = [(line, season) for line, seasons in lines.items() for season in seasons]
    return SimpleNamespace(
        vehicles=pd.DataFrame({"region": list(regions)}),
        tires=pd.DataFrame(tires, columns=["tire_line", "season"]),
    )


def test_the_level_is_the_log_rate_of_which_the_mean_life_is_that_published():
    # A lognormal life with mean m and log-variance v has the middle m exp(-v/2): rates are as much faster.
    held = prior_for(book(), replace(HELD, lives=OURS)).log_rate
    assert held.mean == pytest.approx(math.log(WORN_MM / 60_000) + (0.09 + 0.04 + 0.01) / 2)
    assert held.sd == 0.2


def test_a_kind_wears_as_much_faster_as_its_life_is_shorter_and_is_doubted_what_it_adds():
    held = prior_for(book(Cold=["winter"], Warm=["summer"], Plain=[""]), replace(HELD, lives=OURS)).lines
    assert set(held) == {"Cold", "Warm"}
    assert held["Cold"].mean == pytest.approx(math.log(2.0))
    # Lines of one kind differ by 0.24; the place is doubted by 0.2 already, the kind there by 0.35.
    assert held["Cold"].sd == pytest.approx(math.sqrt(0.24**2 + 0.35**2 - 0.2**2))
    assert held["Warm"].mean == pytest.approx(math.log(60 / 45))
    assert held["Warm"].sd == pytest.approx(0.24)  # never surer than that


def test_of_several_seasons_of_a_line_the_commonest_counts():
    held = prior_for(book(Mixed=["winter", "winter", "summer"]), replace(HELD, lives=OURS)).lines
    assert held["Mixed"].mean == pytest.approx(math.log(2.0))


def test_what_is_held_of_a_line_already_stays():
    known = replace(HELD, lives=OURS, lines={"Cold": Belief(0.05, 0.1)})
    assert prior_for(book(Cold=["winter"]), known).lines == {"Cold": Belief(0.05, 0.1)}
    assert known.lines == {"Cold": Belief(0.05, 0.1)}


def test_without_lives_a_prior_is_handed_back_and_without_seasons_only_the_level_moves():
    assert prior_for(book(Cold=["winter"]), replace(HELD, lives=())).lines == HELD.lines
    bare = SimpleNamespace(
        vehicles=pd.DataFrame({"vehicle_id": ["V1"]}), tires=pd.DataFrame({"tire_line": ["A"]})
    )
    told = prior_for(bare, PUBLISHED)
    assert told.log_rate.mean == pytest.approx(PUBLISHED.log_rate.mean, abs=1e-4)
    assert told.lines == PUBLISHED.lines


@pytest.mark.parametrize(
    ("regions", "life_km"),
    [(["EU"], 50_050), (["eu"], 50_050), (["EU", "eu ", None, ""], 50_050), (["EU/Austria"], 50_050),
     (["EU", "US"], 72_420), (["", None], 72_420), (["Mars"], 72_420)],
)  # fmt: skip
def test_one_region_counts_whatever_its_capitals_and_several_are_none(regions, life_km):
    held = prior_for(book(regions), HELD).log_rate
    assert held.mean == pytest.approx(math.log(WORN_MM / life_km) + 0.07)


def test_published_rows_are_lives():
    assert all(Life(*row).life_km > 0 for row in PUBLISHED.lives)


def test_region_and_kind_of_a_logbook_move_its_prior(tmp_path):
    simulate(tmp_path, Fleet(4), seed=1)
    tires = pd.read_csv(tmp_path / "tires.csv")
    tires.assign(season=np.where(tires["tire_line"] == "Brook", "winter", "")).to_csv(
        tmp_path / "tires.csv", index=False
    )
    vehicles = pd.read_csv(tmp_path / "vehicles.csv")
    vehicles.assign(region="EU").to_csv(tmp_path / "vehicles.csv", index=False)
    held = prior_for(read_logbook(tmp_path), PUBLISHED)
    assert held.log_rate.mean - PUBLISHED.log_rate.mean == pytest.approx(math.log(72_420 / 50_050), abs=1e-4)
    assert set(held.lines) == {"Brook"}
    assert held.lines["Brook"].mean == pytest.approx(math.log(50_050 / 27_300))
    saved = replace(PUBLISHED, lives=())
    assert prior_for(read_logbook(tmp_path), saved) is saved
    vehicles.assign(region=["EU", "US"] * 2).to_csv(tmp_path / "vehicles.csv", index=False)
    assert prior_for(read_logbook(tmp_path), PUBLISHED).log_rate.mean == pytest.approx(
        PUBLISHED.log_rate.mean
    )
