"""Where tires stand today, against what the gauge said last and the distance since; worked out from the tables."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tirelife.codes import Note, Severity
from tirelife.logbook import read_logbook
from tirelife.outlook import forecast, present_state
from tirelife.rates import fit_logbook
from tirelife.rates.verdict import FitReason, FitVerdict
from tirelife.tread import tire_visits

DEMO = Path(__file__).parents[2] / "data_synthetic" / "logbook"
SLIP_MM = 25.4 / 32  # what a gauge and one visit can be wrong by: 1/32 in, the module's own choice


@pytest.fixture(scope="module", params=[None, "2025-12-01"])
def book(request):
    return read_logbook(DEMO, as_of=request.param)


def road_km_since(book, tire, day, odometer):
    """Distance a tire ran on the road since a reading, from the mounts alone. [km]"""
    total = 0.0
    mounts = book.mounts[book.mounts["tire_id"] == tire].sort_values(["date", "odometer_km"])
    for i in range(len(mounts)):
        row = mounts.iloc[i]
        if row["position"] in ("SP", "OFF"):
            continue
        known = book.odometer[book.odometer["vehicle_id"] == row["vehicle_id"]]
        end = mounts["odometer_km"].iloc[i + 1] if i + 1 < len(mounts) else known["odometer_km"].max()
        begin = (
            max(row["odometer_km"], odometer)
            if row["date"] <= day or odometer > row["odometer_km"]
            else row["odometer_km"]
        )
        total += max(end - begin, 0.0)
    return total


@pytest.mark.parametrize("off_mm", [0.0, 2.5, -2.5], ids=["as fitted", "fit far above", "fit far below"])
def test_depth_today_is_what_was_read_less_what_the_distance_since_can_wear(book, off_mm):
    fit = fit_logbook(book)
    tires = fit.tires
    tires["depth_mm"] += off_mm  # a fit that has gone astray, or one that has not
    fit = replace(fit, frames={**fit.frames, "tires": tires})
    state = present_state(book, fit).set_index("tire_id")
    read = tire_visits(book).dropna(subset=["depth_mm"]).drop_duplicates("tire_id", keep="last")
    read = read.set_index("tire_id").reindex(state.index).dropna(subset=["depth_mm"])
    flagged = fit.visits.drop_duplicates("tire_id", keep="last").set_index("tire_id")["outlier"]
    read = read[~flagged.reindex(read.index).eq(True)]
    assert len(read) > 70
    now = state.loc[read.index]
    # A tire lives 10,000 miles at least: no tire of this log wears faster than a sixth of its tread in that.
    fastest = 8.0 / 16_000
    since = np.array(
        [road_km_since(book, tire, row["date"], row["odometer_km"]) for tire, row in read.iterrows()]
    )
    since = since + now["unread_km"].to_numpy()
    slip = max(SLIP_MM, 3 * float(np.hypot(*fit.components.set_index("term")["estimate"].iloc[:2])))
    assert (now["mean_depth_mm"] <= read["depth_mm"] + slip + 1e-9).all()
    assert (now["mean_depth_mm"] >= read["depth_mm"] - slip - fastest * since - 1e-9).all()
    if off_mm:
        assert not now["fits"].any()
    else:
        # The gauge and the fit agree, so it is much closer than that.
        assert (
            now["mean_depth_mm"] <= read["depth_mm"] + 3 * fit.components["estimate"].iloc[:2].max()
        ).all()


def test_an_astray_fit_moves_a_depth_toward_the_reading_and_not_past_it(book):
    fit = fit_logbook(book)
    tires = fit.tires
    tires["depth_mm"] += 2.5
    astray = replace(fit, frames={**fit.frames, "tires": tires})
    before, after = (present_state(book, one).set_index("tire_id") for one in (fit, astray))
    seen = before["visits"] > 0
    moved = (after["mean_depth_mm"] - before["mean_depth_mm"])[seen]
    assert (moved > 0).all()
    assert (moved < 1.25 + 0.3).all()
    assert (after.loc[seen, "mean_depth_sd_mm"] > before.loc[seen, "mean_depth_sd_mm"]).all()


def test_a_forecast_says_the_fits_verdict(book):
    fit = fit_logbook(book)
    assert set(forecast(book, fit)["fit"]) == {fit.verdict.trust.value} == {"good"}
    note = Note(FitReason.OUT_OF_SCALE, Severity.WARNING)
    assert set(forecast(book, replace(fit, verdict=FitVerdict((note,))))["fit"]) == {"refused"}
