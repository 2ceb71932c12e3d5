"""Terms of the tires' own engine against nested and crossed data fitted by lme4, nlme and MixedModels.jl.

Vehicle and tire (rates, one within the other), line, visit (crossed with tires), axle and start, each driven through
``estimate`` with wandering switched off, flat priors, straight paths and a normal rate: what the fit of a logbook runs.
"""

import numpy as np
import pytest

from tests.rates.published import machines, pastes, penicillin, sleepstudy
from tirelife.rates.blocks import ENTRIES, VARIANCES, Blocks
from tirelife.rates.wearing import Priors, Readings, estimate, posterior_modes


def fit(y, unit, occasion, unit_block, *, rates=None, starts=None, axle=None, front=1.0, rear=0.0, guess):
    """Estimate by the engine; ``guess`` names the variances that are free, and where they begin.

    ``rates`` (units, ENTRIES) are the fixed effects on rates, ``starts`` those on starts, ``axle`` that on axles;
    one more effect, the curvature, is held at 0.
    """
    units, blocks_count = len(unit_block), int(unit_block.max()) + 1
    used = [e for e in (rates, starts, axle) if e is not None]
    p = 1 + int(max(np.max(e) for e in used)) + 1
    none = np.full(units, p)
    fixed = np.full((units, ENTRIES), p)
    if rates is not None:
        fixed[:, : rates.shape[1]] = rates
    blocks = Blocks(
        unit, occasion, unit_block, fixed, (fixed < p) * 1.0, none if starts is None else starts,
        np.zeros(units), np.full(blocks_count, p if axle is None else axle), np.ones(blocks_count), p - 1, p,
    )  # fmt: skip
    one = np.ones(len(y))
    data = Readings(y, front * one, rear * one, one, np.zeros(units), direction=1.0, log_link=False)
    precision = np.zeros(p)
    precision[-1] = 1e12
    begin = np.array([np.log(guess[name]) if name in guess else -np.inf for name in VARIANCES])
    # 1e5 standard deviations: flat
    priors = Priors(np.zeros(p), precision, begin, np.where(np.isfinite(begin), 1e5, 0.0))
    found = estimate(blocks, data, priors, robust=False, tolerance=1e-6)
    assert found.converged
    settled = posterior_modes(blocks, data, priors, found.variances, rounds=4, robust=False)
    return found, settled


def sd(found, name):
    return float(np.sqrt(found.variances[VARIANCES.index(name)]))


def test_tires_within_vehicles_as_casks_within_batches():
    # MixedModels.jl, test/plsdiag.jl, REML of strength ~ (1 | sample) + (1 | batch); lme4 prints 246.9907
    batch, cask, strength = pastes()
    unit_block = np.repeat(np.arange(10), 3)
    found, settled = fit(
        strength, cask, np.arange(60), unit_block, rates=np.zeros((30, 1), int),
        guess={"noise": 1.0, "unit": 4.0, "block": 4.0},
    )  # fmt: skip
    assert (unit_block[cask] == batch).all()
    assert found.criterion == pytest.approx(246.99074585, abs=1e-6)
    assert settled[0].mean[0] == pytest.approx(60.0533333, abs=1e-6)
    assert np.sqrt(settled[0].cov[0, 0]) == pytest.approx(0.67687009, rel=1e-5)
    assert sd(found, "unit") == pytest.approx(2.9040776, rel=1e-5)
    assert sd(found, "block") == pytest.approx(1.2873651, rel=1e-4)
    assert sd(found, "noise") == pytest.approx(0.82340665, rel=1e-5)


def test_visits_across_tires_as_plates_across_samples():
    # MixedModels.jl, test/plstwoscalar.jl, REML of diameter ~ (1 | plate) + (1 | sample)
    plate, sample, diameter = penicillin()
    order = np.argsort(sample, kind="stable")
    found, settled = fit(
        diameter[order], sample[order], plate[order], np.zeros(6, int), starts=np.zeros(6, int), front=0.0,
        guess={"noise": 1.0, "visit": 1.0, "start": 1.0},
    )  # fmt: skip
    assert found.criterion == pytest.approx(330.86058899, abs=1e-6)
    assert settled[0].mean[0] == pytest.approx(22.9722222, abs=1e-6)
    assert np.sqrt(settled[0].cov[0, 0]) == pytest.approx(0.80857232, rel=1e-4)
    assert sd(found, "visit") == pytest.approx(0.84670568, rel=1e-5)
    assert sd(found, "start") == pytest.approx(1.9315556, rel=1e-4)
    assert sd(found, "noise") == pytest.approx(0.54992301, rel=1e-5)


def test_vehicles_tires_and_lines_as_workers_on_machines():
    # nlme, lme(score ~ Machine, random = ~ 1 | Worker/Machine), Pinheiro and Bates 2000, section 1.3
    worker, machine, score = machines()
    unit = worker * 3 + machine
    order = np.argsort(unit, kind="stable")
    line = np.tile(np.arange(3), 6)
    found, settled = fit(
        score[order], unit[order], np.arange(54), np.repeat(np.arange(6), 3), rates=line[:, None],
        guess={"noise": 1.0, "unit": 4.0, "block": 4.0},
    )  # fmt: skip
    # nlme's contrasts (A, B - A, C - A) have a determinant of 1, so its criterion is that of three means
    assert -found.criterion / 2 == pytest.approx(-107.8438, abs=5e-5)
    assert sd(found, "block") == pytest.approx(4.781050, rel=1e-4)
    assert sd(found, "unit") == pytest.approx(3.729532, rel=1e-4)
    assert sd(found, "noise") == pytest.approx(0.9615771, rel=1e-5)
    means = settled[0].mean[:3]
    assert means == pytest.approx([score[machine == m].mean() for m in range(3)], abs=1e-6)  # balanced


def test_axles_and_starts_as_days_and_subjects():
    # lme4 1.1-31, Reaction ~ Days + (Days || Subject), REML: two clocks that run against each other, with a rate of
    # 1 on both, make the axle ratio a slope (2 sinh(a / 2) is a to 1e-9 for a slope of 10 over a clock of 1e5)
    frame = sleepstudy()
    far = 1e5
    days = frame["time"].to_numpy(float)
    subject = frame["unit"].factorize()[0]
    found, settled = slopes(frame["value"].to_numpy(float), days * far, subject)
    # its slope is per 1e5 days
    assert found.criterion - 2 * np.log(far) == pytest.approx(
        1743.669294, abs=5e-6
    )  # the rate is held to 1e-4
    assert settled[0].mean[0] == pytest.approx(251.405105, abs=1e-5)
    assert settled[0].mean[1] * far == pytest.approx(10.467286, abs=1e-5)
    assert sd(found, "start") == pytest.approx(25.051328, rel=1e-4)
    assert sd(found, "axle") * far == pytest.approx(5.988187, rel=1e-4)
    assert sd(found, "noise") == pytest.approx(25.565279, rel=1e-5)


def slopes(y, clock, unit):
    """One unit a block, its start and its axle ratio; all rates held at 1."""
    units = int(unit.max()) + 1
    p = 4  # start, axle, rate, curvature
    fixed = np.full((units, ENTRIES), p)
    fixed[:, 0] = 2
    blocks = Blocks(
        unit, np.arange(len(y)), np.arange(units), fixed, (fixed < p) * 1.0, np.zeros(units, int), np.zeros(units),
        np.ones(units, int), np.ones(units), 3, p,
    )  # fmt: skip
    one = np.ones(len(y))
    data = Readings(y, clock, -clock, one, np.zeros(units), direction=1.0, log_link=False)
    guess = {"noise": 400.0, "start": 400.0, "axle": 1e-9}
    begin = np.array([np.log(guess[name]) if name in guess else -np.inf for name in VARIANCES])
    priors = Priors(
        np.array([0.0, 0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1e8, 1e12]), begin,
        np.where(np.isfinite(begin), 1e5, 0.0),
    )  # fmt: skip
    found = estimate(blocks, data, priors, robust=False, tolerance=1e-6)
    assert found.converged
    return found, posterior_modes(blocks, data, priors, found.variances, rounds=6, robust=False)
