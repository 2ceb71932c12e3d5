import numpy as np
import pytest

from tirelife.errors import FitError
from tirelife.groups.mixed import fit_mixed


def dummies(labels):
    kinds = np.unique(labels)
    return (np.asarray(labels)[:, None] == kinds).astype(float)


def unbalanced(seed, between=0.3, within=0.2):
    rng = np.random.default_rng(seed)
    vehicle = np.repeat(np.arange(12), rng.integers(2, 6, 12))
    x = np.column_stack([dummies(vehicle % 3), rng.normal(size=len(vehicle))])
    y = x @ [1, 1.2, 0.9, 0.3] + rng.normal(0, between, 12)[vehicle] + rng.normal(0, within, len(vehicle))
    return y, x, vehicle, rng


def test_brands_on_cars_with_the_car_as_the_random_vehicle():
    # Ugarte, Militino and Arnholt, Probability and Statistics with R, example 11.8 (TIREWEAR): brand F(3, 9) 27.947
    # (facts/standards-and-trade.md 9.3); residual MS 0.396; car MS 10.896 (facts/data-and-oracles.md 2.1), so the car's
    # variance is (10.896 - 0.396) / 4 = 2.625.
    wear = np.array([[10, 9, 8, 6], [8, 8, 7, 5], [7, 7, 5, 3], [7, 5, 3, 3]], float)
    brand, car = np.tile(np.arange(4), 4), np.repeat(np.arange(4), 4)
    fit = fit_mixed(wear.ravel(), dummies(brand), car)
    f, q, df = fit.joint(np.array([[1, -1, 0, 0], [0, 1, -1, 0], [0, 0, 1, -1.0]]))
    assert (f, q, df) == (pytest.approx(27.947, abs=5e-4), 3, pytest.approx(9, abs=1e-6))
    assert fit.within == pytest.approx(0.396, abs=5e-4)
    assert fit.between == pytest.approx(2.625, abs=5e-4)
    assert fit.beta == pytest.approx([8.0, 7.25, 5.75, 4.25])


def test_latin_square_with_the_car_random_and_the_position_fixed():
    # R HH::tires (Heiberger and Holland): brand F 11.419, 6 df; REML with car random: 2.99996, residual 0.89583
    # (facts/data-and-oracles.md 2.2).
    wear = np.array([12, 14, 17, 13, 11, 12, 14, 14, 13, 11, 10, 13, 8, 13, 9, 9], float)
    brand = np.array([3, 2, 1, 4, 4, 3, 2, 1, 1, 4, 3, 2, 2, 1, 4, 3])
    car, place = np.repeat(np.arange(4), 4), np.tile(np.arange(4), 4)
    fit = fit_mixed(wear, np.hstack([dummies(brand), dummies(place)[:, 1:]]), car)
    rows = np.zeros((3, 7))
    rows[:, :4] = [[1, -1, 0, 0], [0, 1, -1, 0], [0, 0, 1, -1]]
    f, q, df = fit.joint(rows)
    assert (f, q, df) == (pytest.approx(11.419, abs=5e-4), 3, pytest.approx(6, abs=1e-6))
    assert fit.within == pytest.approx(0.89583, abs=5e-6)
    assert fit.between == pytest.approx(
        2.99996, abs=1e-4
    )  # the book's optimiser stopped at 2.99996, exact is 3


def test_agrees_with_a_general_mixed_model_library():
    sm = pytest.importorskip("statsmodels.api")
    y, x, vehicle, _ = unbalanced(1)
    fit = fit_mixed(y, x, vehicle)
    other = sm.MixedLM(y, x, vehicle).fit(reml=True, method="lbfgs")
    assert fit.beta == pytest.approx(np.asarray(other.fe_params), abs=5e-6)
    assert fit.between == pytest.approx(float(other.cov_re.squeeze()), rel=3e-4)
    assert fit.within == pytest.approx(float(other.scale), rel=3e-4)


def test_kenward_roger_by_blocks_is_the_papers_with_full_matrices():
    y, x, vehicle, rng = unbalanced(3)
    known = rng.uniform(0.001, 0.02, len(y))
    fit = fit_mixed(y, x, vehicle, known)
    j = (vehicle[:, None] == vehicle[None, :]).astype(float)
    one = np.eye(len(y))
    inverse = np.linalg.inv(fit.between * j + fit.within * one + np.diag(known))
    phi = np.linalg.inv(x.T @ inverse @ x)
    parts = [j, one]
    p = [-x.T @ inverse @ a @ inverse @ x for a in parts]
    q = [[x.T @ inverse @ a @ inverse @ b @ inverse @ x for b in parts] for a in parts]
    info = np.array(
        [
            [
                0.5
                * (
                    np.trace(inverse @ parts[i] @ inverse @ parts[k])
                    - 2 * np.trace(phi @ q[i][k])
                    + np.trace(phi @ p[i] @ phi @ p[k])
                )
                for k in (0, 1)
            ]
            for i in (0, 1)
        ]
    )
    w = np.linalg.inv(info)
    middle = sum(w[i, k] * (q[i][k] - p[i] @ phi @ p[k]) for i in (0, 1) for k in (0, 1))
    assert fit.covariance == pytest.approx(phi + 2 * phi @ middle @ phi, rel=1e-8, abs=1e-14)
    c = np.array([1.0, -1, 0, 0])
    g = np.array([c @ phi @ p[i] @ phi @ c for i in (0, 1)])
    assert fit.df(c) == pytest.approx(2 * (c @ phi @ c) ** 2 / (g @ w @ g), rel=1e-8)


def test_between_vehicle_contrasts_have_the_vehicles_degrees_of_freedom():
    # 3 groups x 6 vehicles x 4 tires, balanced: exactly 18 - 3 = 15, however many tires.
    rng = np.random.default_rng(2)
    vehicle = np.repeat(np.arange(18), 4)
    y = rng.normal(0, 0.3, 18)[vehicle] + rng.normal(0, 0.1, 72)
    fit = fit_mixed(y, dummies(vehicle % 3), vehicle)
    mean = y.reshape(18, 4).mean(axis=1)
    group = np.arange(18) % 3
    s2 = sum(((mean[group == g] - mean[group == g].mean()) ** 2).sum() for g in range(3)) / 15
    value, se, df = fit.contrast(np.array([1.0, -1, 0]))
    assert df == pytest.approx(15, rel=1e-4)
    assert se == pytest.approx(np.sqrt(2 * s2 / 6), rel=1e-4)
    assert value == pytest.approx(mean[group == 0].mean() - mean[group == 1].mean())


def test_repeated_columns_leave_only_their_sum_estimable():
    y, x, vehicle, _ = unbalanced(4)
    doubled = np.column_stack([x, x[:, 0] + x[:, 1]])
    fit, plain = fit_mixed(y, doubled, vehicle), fit_mixed(y, x, vehicle)
    assert not fit.estimable(np.array([1.0, 0, -1, 0, 0]))
    assert np.isnan(fit.contrast(np.array([1.0, 0, -1, 0, 0]))).all()
    both = np.array([1.0, -1, 0, 0, 0])
    assert fit.contrast(both) == pytest.approx(plain.contrast(both[:4]), rel=1e-5)


def test_weights_give_the_estimate_and_are_linear():
    y, x, vehicle, _ = unbalanced(5)
    fit = fit_mixed(y, x, vehicle)
    c = np.array([0.0, 1, -1, 0])
    assert fit.weights(c) @ y == pytest.approx(fit.contrast(c)[0])
    assert fit.weights(c) @ (x @ [4.0, 7, 2, 1]) == pytest.approx(5.0)


def test_tires_of_one_row_a_vehicle_are_plain_regression():
    rng = np.random.default_rng(6)
    group = np.arange(20) % 2
    y = rng.normal(size=20) + group
    fit = fit_mixed(y, dummies(group), np.arange(20))
    _, se, df = fit.contrast(np.array([1.0, -1]))
    pooled = np.sqrt((y[group == 0].var(ddof=1) + y[group == 1].var(ddof=1)) / 2)
    assert se == pytest.approx(pooled * np.sqrt(2 / 10), rel=1e-4)
    assert df == pytest.approx(18, rel=1e-6)


def test_too_few_rows_are_refused_with_words():
    with pytest.raises(FitError, match="2 tires on 2 vehicles are too few for 2 coefficients"):
        fit_mixed(np.array([1.0, 2]), np.eye(2), np.array(["a", "b"]))
