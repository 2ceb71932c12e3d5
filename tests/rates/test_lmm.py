import numpy as np
import pytest

from tests.rates.published import RAILS, boys, dental, laser, sleepstudy
from tirelife.errors import FitError
from tirelife.rates import fit_lmm


def straight(frame, method="REML", **options):
    time = frame["time"].to_numpy(float)
    group = frame["unit"].factorize()[0]
    design = np.column_stack([np.ones(len(time)), time])
    return fit_lmm(frame["value"].to_numpy(float), design, design, group, method, **options)


def spreads(fit):
    sd = np.sqrt(np.diag(fit.random_cov))
    return sd, fit.random_cov[0, 1] / sd.prod(), np.sqrt(fit.residual_var)


@pytest.mark.parametrize(
    ("method", "criterion", "fixed", "error", "cov", "residual"),
    [  # lme4 1.1-31, Reaction ~ Days + (Days | Subject); Bates et al. 2015 print 1743.6, 612.10, 35.07, 654.94
        (
            "REML",
            1743.628272,
            (251.405105, 10.467286),
            (6.824597, 1.545790),
            (612.1002, 35.0717, 9.6044),
            654.9400,
        ),
        (
            "ML",
            1751.939344,
            (251.405105, 10.467286),
            (6.632123, 1.502230),
            (565.4770, 32.6818, 11.0551),
            654.9457,
        ),
    ],
)
def test_sleepstudy_agrees_with_lme4(method, criterion, fixed, error, cov, residual):
    fit = straight(sleepstudy(), method)
    assert fit.criterion == pytest.approx(criterion, abs=1e-6)
    assert fit.fixed == pytest.approx(fixed, abs=6e-7)  # half a unit of the last digit printed
    assert np.sqrt(np.diag(fit.fixed_cov)) == pytest.approx(error, rel=3e-5)
    found = (fit.random_cov[0, 0], fit.random_cov[1, 1], fit.random_cov[0, 1])
    assert found[:2] == pytest.approx(cov[:2], rel=1e-4)
    assert found[2] == pytest.approx(cov[2], abs=0.02)  # a flat optimum: nlme, lme4 and statsmodels differ so
    assert fit.residual_var == pytest.approx(residual, rel=1e-4)
    assert fit.gradient < 1e-4
    assert not fit.singular


def test_uncorrelated_effects_agree_with_lme4():
    fit = straight(sleepstudy(), correlated=False)
    assert fit.criterion == pytest.approx(1743.669294, abs=1e-6)
    sd, corr, residual = spreads(fit)
    assert (*sd, residual) == pytest.approx((25.051328, 5.988187, 25.565279), rel=1e-4)
    assert corr == 0


def test_predicted_effects_of_subjects_agree_with_lme4():
    fit = straight(sleepstudy())
    expected = {
        0: (2.258551, 9.198976),
        1: (-40.398738, -8.619681),
        7: (-7.232615, 1.074582),
        9: (34.890487, 8.628265),
    }
    for subject, effects in expected.items():
        assert fit.effects[subject] == pytest.approx(effects, abs=1e-3)
    sd = np.sqrt(np.diag(fit.effects_cov[0]))
    assert sd == pytest.approx((12.070857, 2.304839), abs=1e-3)
    assert fit.effects_cov[0, 0, 1] == pytest.approx(-21.444504, abs=1e-2)


@pytest.mark.parametrize(
    ("subject", "day", "mean", "error", "deviation"),
    [  # by inverting the mixed-model equations in R and by conditional normals in Python, lme4's components
        (0, 9, 430.660011, 13.856893, 29.102465),
        (0, 12, 489.658797, 20.061226, 32.517577),
        (1, 9, 227.634815, 13.856893, 29.102465),
        (1, 12, 233.177631, 20.061226, 32.517577),
        (8, 12, 247.652886, 20.061226, 32.517577),
        (-1, 12, 377.012536, 18.863511, 83.088537),
    ],
)
def test_predictions_and_their_sd_for_sleepstudy(subject, day, mean, error, deviation):
    row = [[1.0, day]]
    found = straight(sleepstudy()).predict(row, row, [subject])
    # the components agree to 2e-5 only (a flat optimum), and so do these
    assert [v[0] for v in found] == pytest.approx((mean, error, deviation), rel=3e-6)


def test_first_five_days_of_sleepstudy():
    frame = sleepstudy()
    fit = straight(frame[frame["time"] <= 4])
    assert fit.criterion == pytest.approx(810.6254, abs=5e-5)
    assert fit.fixed == pytest.approx((255.131881, 8.249149), abs=6e-7)
    assert fit.random_cov[0, 0] == pytest.approx(766.970905, rel=1e-4)
    assert fit.residual_var == pytest.approx(222.827150, rel=1e-4)


@pytest.mark.parametrize(
    ("data", "criterion", "fixed", "error", "sd", "corr", "residual"),
    [  # lme4 1.1-31, REML
        (
            dental,
            442.636686,
            (16.761111, 0.660185),
            (0.775275, 0.071255),
            (2.327359, 0.226449),
            -0.609427,
            1.310022,
        ),
        (
            boys,
            724.090951,
            (149.371753, 6.525469),
            (1.585421, 0.336298),
            (8.081095, 1.680707),
            0.641265,
            0.659888,
        ),
    ],
)
def test_growth_data_agree_with_lme4(data, criterion, fixed, error, sd, corr, residual):
    fit = straight(data())
    assert fit.criterion == pytest.approx(criterion, abs=1e-6)
    assert fit.fixed == pytest.approx(fixed, abs=6e-7)
    assert np.sqrt(np.diag(fit.fixed_cov)) == pytest.approx(error, rel=2e-4)
    assert spreads(fit)[0] == pytest.approx(sd, rel=2e-4)
    assert spreads(fit)[1] == pytest.approx(corr, abs=2e-3)
    assert spreads(fit)[2] == pytest.approx(residual, rel=1e-4)


def test_rails_agree_with_the_book():
    # Pinheiro and Bates, Mixed-Effects Models in S and S-PLUS, 2000: 66.5 (10.171), 24.805, 4.0208
    one = np.ones((18, 1))
    fit = fit_lmm(RAILS.ravel(), one, one, np.repeat(np.arange(6), 3))
    assert fit.fixed[0] == pytest.approx(66.5, abs=1e-7)
    assert np.sqrt(fit.fixed_cov[0, 0]) == pytest.approx(10.171037, rel=1e-5)
    assert np.sqrt(fit.random_cov[0, 0]) == pytest.approx(24.805465, rel=1e-4)
    assert np.sqrt(fit.residual_var) == pytest.approx(4.020779, rel=1e-4)
    assert -fit.criterion / 2 == pytest.approx(-61.088500, abs=1e-6)


def test_pigs_agree_with_lme4_and_with_statsmodels():
    import pandas as pd
    import statsmodels.regression.mixed_linear_model as mixed
    from statsmodels.regression.tests.results import lme_r_results

    frame = pd.read_csv(lme_r_results.__file__.replace("lme_r_results.py", "dietox.csv"))
    frame = frame.rename(columns={"Pig": "unit", "Time": "time", "Weight": "value"})
    fit = straight(frame)
    # lme4 1.1-31 with bobyqa run down to 1e-10; at its defaults it stops 1e-7 higher
    assert fit.criterion == pytest.approx(4434.094918291, abs=1e-7)
    assert fit.fixed == pytest.approx((15.738650, 6.939014), abs=6e-7)
    assert np.diag(fit.random_cov) == pytest.approx((19.492939, 0.416058), rel=1e-4)
    assert fit.residual_var == pytest.approx(6.037469, rel=1e-4)
    design = np.column_stack([np.ones(len(frame)), frame["time"]])
    # at its default optimiser it stops at 4440.778, not converged
    other = mixed.MixedLM(frame["value"], design, frame["unit"], design).fit(method="lbfgs")
    assert other.converged
    assert fit.criterion == pytest.approx(-2 * other.llf, abs=1e-4)
    assert fit.fixed == pytest.approx(other.fe_params.to_numpy(), rel=1e-6)
    assert fit.random_cov == pytest.approx(other.cov_re.to_numpy(), rel=3e-3)


def test_units_of_time_change_nothing():
    frame = sleepstudy()
    plain, hours = straight(frame), straight(frame.assign(time=frame["time"] * 24e3))
    assert hours.fixed[1] * 24e3 == pytest.approx(plain.fixed[1], rel=1e-9)
    assert hours.criterion - 2 * np.log(24e3) == pytest.approx(plain.criterion, abs=1e-6)


def test_zero_variance_is_found_and_said():
    rng = np.random.default_rng(3)
    y = rng.normal(size=60)
    y -= np.repeat(y.reshape(12, 5).mean(axis=1), 5)  # groups less alike than chance
    one = np.ones((60, 1))
    fit = fit_lmm(y, one, one, np.repeat(np.arange(12), 5))
    assert fit.singular
    assert fit.random_cov[0, 0] == 0


def test_known_parameters_come_back():
    rng = np.random.default_rng(11)
    group = np.repeat(np.arange(2000), 6)
    time = np.tile(np.arange(6.0), 2000)
    cov = np.array([[0.25, -0.06], [-0.06, 0.09]])
    own = rng.multivariate_normal([8, -1], cov, 2000)
    y = own[group, 0] + own[group, 1] * time + rng.normal(0, 0.5, len(time))
    design = np.column_stack([np.ones(len(time)), time])
    fit = fit_lmm(y, design, design, group)
    assert fit.fixed == pytest.approx((8, -1), abs=4 * np.sqrt(np.diag(fit.fixed_cov)).max())
    assert fit.random_cov == pytest.approx(cov, abs=0.025)
    assert fit.residual_var == pytest.approx(0.25, rel=0.04)


def test_what_cannot_be_fitted_is_refused():
    one = np.ones((4, 1))
    with pytest.raises(FitError, match="cannot fix 2 effects"):
        fit_lmm(np.arange(4.0), np.ones((4, 2)), one, [0, 0, 1, 1])
    with pytest.raises(FitError, match="not finite"):
        fit_lmm([1, np.nan, 2, 3], one, one, [0, 0, 1, 1])
    with pytest.raises(FitError, match="REML or ML"):
        fit_lmm(np.arange(4.0), one, one, [0, 0, 1, 1], method="reml")


def test_lasers_give_the_published_rates():
    frame = laser()
    frame = frame[frame["hours"] > 0]
    time = frame["hours"].to_numpy(float)[:, None] / 1000
    fit = fit_lmm(frame["rise"].to_numpy(), time, time, frame["unit"].factorize()[0])
    # lme4 REML, increase ~ 0 + t + (0 + t | unit)
    assert fit.criterion == pytest.approx(15.26133, abs=5e-6)
    assert fit.fixed[0] == pytest.approx(2.046652, abs=6e-7)
    assert np.sqrt(fit.fixed_cov[0, 0]) == pytest.approx(0.119450, rel=1e-4)
    assert np.sqrt(fit.random_cov[0, 0]) == pytest.approx(0.4621399, rel=1e-4)
    assert np.sqrt(fit.residual_var) == pytest.approx(0.2054332, rel=1e-4)
