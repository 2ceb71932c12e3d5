import warnings

import numpy as np
import pandas as pd
import pytest

from tests.rates.made import frames
from tirelife.codes import Note, Severity
from tirelife.rates import PUBLISHED, FitReason, FitVerdict, Trust, fit_rates

KM = ["reference_km", "reference_front_km", "reference_rear_km", "odometer_km", "tire_km"]


def codes(fit):
    return {note.code for note in fit.verdict.reasons}


def test_the_gravest_reason_decides_and_stands_first():
    assert FitVerdict().trust is Trust.GOOD
    both = FitVerdict((Note(FitReason.BENDS), Note(FitReason.UNSOLVED, Severity.WARNING)))
    assert both.trust is Trust.REFUSED
    assert both.reasons[0].code is FitReason.UNSOLVED


def test_a_good_fit_is_good():
    fit = fit_rates(*frames(vehicles=12, visits=5, seed=3))
    assert fit.verdict.trust is Trust.GOOD


def test_bent_wear_and_one_visit_are_worth_knowing_and_no_fault():
    bent = fit_rates(*frames(vehicles=60, visits=9, q=0.6, rate=7e-5, seed=5))
    assert FitReason.BENDS in codes(bent)
    once = fit_rates(*frames(vehicles=12, visits=1, seed=5))
    assert {FitReason.STARTS_UNIDENTIFIED} <= codes(once)
    assert (bent.verdict.trust, once.verdict.trust) == (Trust.GOOD, Trust.GOOD)


def test_gross_errors_make_it_rough():
    visits, tires, vehicles = frames(vehicles=20, seed=6)
    visits.loc[::15, "depth_mm"] += 2.5
    fit = fit_rates(visits, tires, vehicles)
    assert fit.verdict.trust is Trust.ROUGH
    assert FitReason.FAR_READINGS in codes(fit)


def test_a_new_depth_stated_wrong_makes_it_rough_and_the_readings_rule():
    visits, tires, vehicles = frames(vehicles=12, visits=4, seed=3)
    for stated in (5.5, 10.5):  # 8.0 in truth
        fit = fit_rates(visits, tires.assign(new_depth_mm=stated), vehicles)
        last = visits.drop_duplicates("tire_id", keep="last").set_index("tire_id")["depth_mm"]
        off = fit.tires.set_index("tire_id")["depth_mm"] - last
        assert off.abs().max() < 0.45
    assert FitReason.NEW_DEPTH_OFF in codes(fit_rates(visits, tires.assign(new_depth_mm=5.5), vehicles))


NONSENSE = {
    "depths without sense": lambda v: v.assign(depth_mm=np.random.default_rng(5).uniform(0, 12, len(v))),
    "depths that rise": lambda v: v.assign(depth_mm=16 - v["depth_mm"]),
    "a hundredth of the distance": lambda v: v.assign(**{name: v[name] / 100 for name in KM}),
    "all read as nothing": lambda v: v.assign(depth_mm=0.0),
}


@pytest.mark.parametrize("case", NONSENSE)
def test_a_fit_that_does_not_hold_is_refused_and_the_prior_answers(case):
    visits, tires, vehicles = frames(vehicles=12, visits=4, seed=3)
    visits = NONSENSE[case](visits)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        fit = fit_rates(visits, tires, vehicles)
    assert fit.verdict.trust is Trust.REFUSED
    assert any(note.severity >= Severity.WARNING for note in fit.verdict.reasons)
    found = fit.tires.set_index("tire_id")
    last = visits.drop_duplicates("tire_id", keep="last").set_index("tire_id")
    assert found["depth_mm"].to_dict() == last["depth_mm"].to_dict()
    assert (found["visits"] == 4).all()
    assert (found["position"] == last["position"].reindex(found.index)).all()
    assert (found["last_odometer_km"] == last["odometer_km"].reindex(found.index)).all()
    # mean life 45,000 miles from 10/32 to 2/32 (NHTSA, FMVSS 138 analysis); variances as in PUBLISHED
    assert np.allclose(found["log_wear"], PUBLISHED.log_rate.mean)
    assert found["log_wear_sd"].between(0.4, 0.6).all()
    assert (found["depth_sd_mm"] == 0.25).all()
    assert np.isfinite(found.drop(columns=["straight_line_mm_per_1000km"]).select_dtypes("number")).all(
        axis=None
    )
    assert fit.posterior is fit.prior
    assert len(fit.visits) == len(visits)
    assert fit.visits["fitted_mm"].isna().all()
    assert "Trust:   REFUSED" in str(fit)


def test_what_cannot_be_solved_is_refused_too(monkeypatch):
    from tirelife.rates import fit as module

    solve = module._solve

    def broken(*model):
        if len(model[4]):  # any reading
            raise np.linalg.LinAlgError
        return solve(*model)

    monkeypatch.setattr(module, "_solve", broken)
    visits, tires, vehicles = frames(vehicles=2, visits=2)
    fit = fit_rates(visits, tires, vehicles)
    assert codes(fit) == {FitReason.UNSOLVED}
    assert fit.tires["depth_mm"].notna().all()


def test_a_second_start_is_said(monkeypatch):
    from tirelife.rates import fit as module

    solve = module._solve

    def only_firm(*model):
        if not model[-1]:
            raise np.linalg.LinAlgError
        return solve(*model)

    monkeypatch.setattr(module, "_solve", only_firm)
    fit = fit_rates(*frames(vehicles=8, visits=4))
    assert fit.verdict.trust is Trust.ROUGH
    assert FitReason.SECOND_START in codes(fit)
    assert fit.checks.set_index("check").loc["converged", "passed"]


def test_a_gauge_that_reads_in_steps_has_at_least_their_error():
    visits, tires, vehicles = frames(vehicles=8, visits=4, gauge_sd=0.0, visit_sd=0.0, tire_sd=0.0)
    step = 25.4 / 32
    stepped = visits.assign(resolution_mm=step, readings=1)
    noise = fit_rates(stepped, tires, vehicles).components.set_index("term")["estimate"]["reading"]
    assert noise >= step / np.sqrt(12) - 1e-9
    assert fit_rates(visits, tires, vehicles).components.set_index("term")["estimate"]["reading"] < 0.1


def test_every_reason_of_a_check_is_a_code():
    fit = fit_rates(*frames(vehicles=3, visits=2))
    assert set(fit.checks["code"]) - {""} <= set(FitReason)
    assert isinstance(pd.Series(fit.checks["code"]).iloc[0], str)
