"""Paths that bend: as cracks grow, published and made up."""

from functools import cache

import numpy as np
import pytest

from tests.rates.published import cracks
from tirelife.errors import FitError
from tirelife.rates import fit_paths
from tirelife.rates.curved import CurvedPaths


def terms(frame):
    return frame.set_index("term")["estimate"]


@pytest.mark.parametrize(
    ("scale", "exponent", "rate", "variances", "cov", "residual", "criterion"),
    [  # nlme 3.1.162, ML, on the log and on the raw crack length; Meeker and Escobar 1998 print for the
        # first m 5.17, C 3.73, variances .251 and .519, covariance -.194, with m twice our exponent
        ("log", 5.16561, 3.72971, (0.251108, 0.519223), -0.19318, 0.0058398, -2 * 876.145),
        ("raw", 5.22674, 3.71633, (0.252891, 0.505618), -0.171998, 0.0069359, None),
    ],
)
def test_cracks_grow_as_published(scale, exponent, rate, variances, cov, residual, criterion):
    fit = fit_paths(cracks(), "crack", "cycles", "path", curved=True, start=0.9, scale=scale, method="ML")
    found, spread = terms(fit.estimates), terms(fit.components)
    assert 2 * found["exponent"] == pytest.approx(exponent, abs=1e-5)
    assert found["rate"] == pytest.approx(rate, abs=1e-5)
    assert 4 * spread["variance of exponent"] == pytest.approx(variances[0], abs=2e-6)
    assert spread["variance of rate"] == pytest.approx(variances[1], abs=2e-6)
    assert 2 * spread["covariance of rate and exponent"] == pytest.approx(cov, rel=1e-3)
    assert np.sqrt(spread["variance of a reading"]) == pytest.approx(residual, abs=5e-8)
    if criterion:
        assert fit.criterion == pytest.approx(criterion, abs=2e-3)


def test_cracks_reach_the_end_when_they_did():
    # Lu and Meeker 1993: crossings of 1.6 in spread as F(.10) = .1293, F(.12) = .5056, F(.14) = .7919, Monte
    # Carlo from the published parameters; here from the fitted ones
    fit = fit_paths(cracks(), "crack", "cycles", "path", curved=True, start=0.9, scale="log", method="ML")
    found, spread = terms(fit.estimates), terms(fit.components)
    cov = [
        [spread["variance of rate"], spread["covariance of rate and exponent"]],
        [spread["covariance of rate and exponent"], spread["variance of exponent"]],
    ]
    draws = np.random.default_rng(1993).multivariate_normal([found["rate"], found["exponent"]], cov, 100_000)
    power = 1 - draws[:, 1]
    crossing = (1.6**power - 0.9**power) / (power * draws[:, 0])
    share = [np.mean(crossing <= t) for t in (0.10, 0.12, 0.14)]
    assert share == pytest.approx([0.1293, 0.5056, 0.7919], abs=0.006)


def test_cracks_without_a_known_start_find_it():
    frame = cracks()[lambda f: f["path"].astype(int) % 2 == 0].query(
        "cycles > 0"
    )  # all began at 0.90: left out
    fit = fit_paths(frame, "crack", "cycles", "path", curved=True, start="random")
    found = fit.estimates.set_index("term")
    assert found.loc["start", "estimate"] == pytest.approx(0.9, abs=0.01)
    # with the start known twice the exponent is 5.23, nlme ML on the raw length
    assert 2 * found.loc["exponent", "estimate"] == pytest.approx(
        5.23, abs=3 * 2 * found.loc["exponent", "std_error"]
    )
    at = fit.predict(["2", "20"], [0.0, 0.0])
    assert at["mean"].to_numpy() == pytest.approx([0.9, 0.9], abs=0.02)


def test_a_second_start_finds_what_the_first_does_not(monkeypatch):
    first = CurvedPaths._first
    frame = cracks()
    plain = fit_paths(frame, "crack", "cycles", "path", curved=True, start=0.9, scale="log", method="ML")
    # a best guess that leads nowhere: the next one counts
    monkeypatch.setattr(
        CurvedPaths, "_first", lambda self, *a: [np.array([1e-9, 90.0]), *first(self, *a)[:1]]
    )
    again = fit_paths(frame, "crack", "cycles", "path", curved=True, start=0.9, scale="log", method="ML")
    assert again.criterion == pytest.approx(plain.criterion, abs=1e-4)


def level(t, rate, exponent, start):
    """dy/dt = rate y**exponent, solved."""
    power = 1 - exponent
    return (start**power + power * rate * t) ** (1 / power)


RATES, EXPONENTS = np.array([1.0, 1.2, 0.9, 1.1, 1.05]), np.array([1.6, 1.4, 1.5, 1.45, 1.55])


def made(start=0.9, noise=1e-3, sign=1.0, seed=0):
    """Five units read eleven times, each with a rate and an exponent of its own."""
    rng = np.random.default_rng(seed)
    t = np.tile(np.linspace(0.0, 0.4, 11), 5)
    group = np.repeat(np.arange(5), 11)
    y = level(t, sign * RATES[group], EXPONENTS[group], start) * np.exp(noise * rng.normal(size=len(t)))
    return y, t, group


@cache
def fitted(scale, sign=1.0):
    return CurvedPaths(*made(sign=sign), 0.9, scale, "REML")


@pytest.mark.parametrize(("scale", "sign"), [("log", 1.0), ("raw", 1.0), ("log", -1.0)])
def test_each_unit_has_its_own_rate_and_exponent(scale, sign):
    found = fitted(scale, sign)
    assert found.rates == pytest.approx(sign * RATES, rel=0.03)
    assert found.own[:, 1] == pytest.approx(EXPONENTS, abs=0.12)
    assert found.starts.tolist() == [0.9] * 5
    said = terms(found.estimates)
    assert said.index.tolist() == ["rate", "exponent"]
    assert said["rate"] == pytest.approx(sign * RATES.mean(), rel=0.02)
    assert found.estimates["std_error"][0] == pytest.approx(RATES.std(ddof=1) / np.sqrt(5), rel=0.25)
    spread = terms(found.components)
    assert spread["variance of rate"] == pytest.approx(RATES.var(ddof=1), rel=0.4)
    # Fast units bend less: among falling ones the rate, counted as falling, goes the other way.
    assert np.sign(spread["covariance of rate and exponent"]) == -sign
    assert spread["variance of a reading"] == pytest.approx(1e-6 * (1 if scale == "log" else 0.9**2), rel=1.0)


@pytest.mark.parametrize("scale", ["log", "raw"])
def test_predictions_follow_the_curve_and_widen_ahead(scale):
    found = fitted(scale)
    mean, error, sd = found.predict(np.array([1, 1, -1]), np.array([0.2, 0.6, 0.2]))
    assert mean[:2] == pytest.approx(level(np.array([0.2, 0.6]), 1.2, 1.4, 0.9), rel=0.01)
    typical = level(0.2, RATES.mean(), EXPONENTS.mean(), 0.9)
    assert mean[2] == pytest.approx(typical, rel=0.01)  # a unit never seen goes as units do on average
    assert error[1] > error[0]
    assert (sd >= error).all()
    assert sd[2] > 5 * sd[0]
    # What units spread by is what a new one may be off by, and a log is a share of the level.
    spread = np.std(level(0.2, RATES, EXPONENTS, 0.9), ddof=1)
    assert sd[2] == pytest.approx(spread * np.sqrt(1.2), rel=0.3)


def test_paths_on_which_nothing_settles_are_refused():
    y, t, group = made()
    with np.errstate(all="ignore"), pytest.raises(FitError):
        CurvedPaths(np.full_like(y, 1e300), t, group, 0.9, "raw", "REML")


@pytest.mark.parametrize("scale", ["log", "raw"])
def test_units_that_all_go_alike_are_met_at_the_first_guess(scale):
    # No noise, and one exponent of those that are tried: the path through them all is exact.
    t, group = np.tile(np.linspace(0.0, 0.4, 11), 2), np.repeat([0, 1], 11)
    guesses = fitted(scale)._first(level(t, 1.1, 1.5, 0.9), t, group, np.array([0.9, 0.9]))
    assert guesses[0] == pytest.approx([1.1, 1.5], rel=1e-9)
    assert all(abs(other[1] - 1.5) >= 1 for other in guesses[1:])
