import numpy as np
import pandas as pd
import pytest

from tests.rates.published import laser
from tirelife.errors import FitError
from tirelife.rates.lines import projections, straight_line

# Tamhane and Dunlop, Statistics and Data Analysis, 2000, Table 10.1 (attribution from memory): groove depth
# [mils] at 0, 4 ... 32 thousand miles.
MILES = np.arange(0, 33, 4.0)
MILS = np.array([394.33, 329.50, 291.00, 255.17, 229.33, 204.83, 179.00, 163.83, 150.33])


def test_nine_points_give_the_textbook_line():
    line = straight_line(MILES, MILS)
    assert line.slope == pytest.approx(-7.280625, abs=1e-6)
    assert line.intercept == pytest.approx(360.636667, abs=1e-6)
    assert line.r2 == pytest.approx(0.952610, abs=5e-7)
    assert line.residual_sd == pytest.approx(19.01702, abs=5e-6)
    assert line.slope_se == pytest.approx(0.613772, abs=5e-7)
    assert line.at(25) == pytest.approx(178.62104, abs=5e-6)
    assert line.reaches(62.5) * 1000 == pytest.approx(40_949, abs=0.5)
    assert line.reaches(62.0) * 1000 == pytest.approx(41_018, abs=0.5)


def test_nine_points_projected_by_every_line_spread_by_half():
    found = projections(MILES, MILS, 62.5).set_index("method")["distance"] * 1000
    assert found["straight-all"] == pytest.approx(40_949, abs=0.5)
    assert found["straight-last-5"] == pytest.approx(48_716, abs=0.5)
    assert found["straight-last-4"] == pytest.approx(51_074, abs=0.5)
    assert found["straight-last-3"] == pytest.approx(56_430, abs=0.5)
    assert found["through-logs"] == pytest.approx(60_150, abs=0.5)
    assert found.max() / found.min() == pytest.approx(1.47, abs=0.005)  # the 47 % spread stated
    assert straight_line(MILES[-3:], MILS[-3:]).slope == pytest.approx(-3.58375, abs=1e-5)
    logs = straight_line(MILES, np.log(MILS))
    assert np.exp(logs.intercept) == pytest.approx(374.6354, abs=5e-5)
    assert logs.slope == pytest.approx(-0.02977203, abs=5e-9)
    assert logs.r2 == pytest.approx(0.992881, abs=5e-7)


def test_sixteen_tires_by_two_methods():
    # Stiehler, Steel, Richey and Mandel, Rubber Age 73(2), 1953: tread life [1000 miles] by weight and by groove
    weight = [45.9, 41.9, 37.5, 33.4, 31.0, 30.5, 30.9, 31.9, 30.4, 27.3, 20.4, 24.5, 20.9, 18.9, 13.7, 11.4]
    groove = [35.7, 39.2, 31.1, 28.1, 24.0, 28.7, 25.9, 23.3, 23.1, 23.7, 20.9, 16.1, 19.9, 15.2, 11.5, 11.2]
    assert (np.mean(weight), np.mean(groove)) == pytest.approx((28.15625, 23.6), abs=1e-9)
    line = straight_line(groove, weight)
    assert (line.intercept, line.slope) == pytest.approx((1.326480, 1.136855), abs=5e-7)
    assert (line.intercept_se, line.slope_se) == pytest.approx((2.536749, 0.102201), abs=5e-7)
    assert np.sqrt(line.r2) == pytest.approx(0.947817, abs=5e-7)
    assert line.residual_sd == pytest.approx(3.143483, abs=5e-7)
    back = straight_line(weight, groove)
    assert (back.intercept, back.slope, back.residual_sd) == pytest.approx(
        (1.350586, 0.790212, 2.620780), abs=5e-7
    )
    gap = np.subtract(weight, groove)
    assert gap.mean() / (gap.std(ddof=1) / 4) == pytest.approx(5.650257, abs=5e-7)
    # two careful methods disagree by 12 % on one tire's life: no wear rate is surer than that
    assert np.log(np.divide(weight, groove)).std(ddof=1) == pytest.approx(0.118, abs=5e-4)


def test_prediction_intervals_of_the_stopping_cars():
    # R's cars data (Ezekiel 1930): stopping distance [ft] against speed [mph]; R 4.2.2
    speed = [4, 4, 7, 7, 8, 9, 10, 10, 10, 11, 11, 12, 12, 12, 12, 13, 13, 13, 13, 14, 14, 14, 14, 15, 15, 15, 16, 16,
             17, 17, 17, 18, 18, 18, 18, 19, 19, 19, 20, 20, 20, 20, 20, 22, 23, 24, 24, 24, 24, 25]  # fmt: skip
    dist = [2, 10, 4, 22, 16, 10, 18, 26, 34, 17, 28, 14, 20, 24, 28, 26, 34, 34, 46, 26, 36, 60, 80, 20, 26, 54, 32,
            40, 32, 40, 50, 42, 56, 76, 84, 36, 46, 68, 32, 48, 52, 56, 64, 66, 54, 70, 92, 93, 120, 85]  # fmt: skip
    line = straight_line(speed, dist)
    assert (line.intercept, line.slope) == pytest.approx((-17.57909489, 3.93240876), abs=5e-9)
    assert (line.intercept_se, line.slope_se) == pytest.approx((6.75844017, 0.41551278), abs=5e-9)
    assert line.residual_sd == pytest.approx(15.3795867, abs=5e-8)
    low, high = line.interval([10, 20, 30])
    assert low == pytest.approx([-9.80960079, 29.60308863, 66.86529334], abs=5e-9)
    assert high == pytest.approx([53.2995862, 92.5350720, 133.9210424], abs=5e-8)
    low, high = line.interval([10, 20, 30], 0.90)
    assert low == pytest.approx([-4.57710658, 34.82089058, 72.42500399], abs=5e-9)
    assert high == pytest.approx([48.067092, 87.317270, 128.361332], abs=5e-7)


def test_the_projection_of_the_trade_article():
    # mwsmag.com, tire evaluations part 2: fitted at 40,000 miles, 26/32 to 20/32 at 64,000: 4,000 miles per 1/32
    line = straight_line([40_000, 64_000], [26, 20])
    assert -1 / line.slope == pytest.approx(4000, abs=1e-9)
    assert line.reaches(6) == pytest.approx(120_000, abs=1e-6)  # 80,000 miles after fitting
    assert np.isnan(line.residual_sd)


def test_average_car_tire():
    # NHTSA FMVSS 138: 45,000 miles; from 10/32 to 2/32 that is 5,625 miles per 1/32
    line = straight_line([0, 45_000], [10, 2])
    assert -1 / line.slope == pytest.approx(5625, abs=1e-9)


def test_certified_regression():
    # NIST StRD Norris, certified to 15 digits; first 12 of its 36 points will not do, so the whole set
    x = [0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0,
         447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3,
         229.2, 669.1, 448.9, 0.5]  # fmt: skip
    y = [0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3,
         448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6,
         228.9, 668.4, 449.2, 0.2]  # fmt: skip
    line = straight_line(x, y)
    assert line.intercept == pytest.approx(-0.262323073774029, abs=1e-12)
    assert line.slope == pytest.approx(1.00211681802045, abs=1e-13)
    assert line.residual_sd == pytest.approx(0.884796396144373, abs=1e-12)


def test_brands_and_cars_wear_alike_much():
    # Ugarte, Militino and Arnholt, Probability and Statistics with R, Example 11.8: tread loss of 4 brands on 4
    # cars after 10,000 miles; F 27.95 for brands and 27.53 for cars: the vehicle matters as much as the tire
    import statsmodels.api as sm
    from statsmodels.formula.api import ols

    loss = [[10, 9, 8, 6], [8, 8, 7, 5], [7, 7, 5, 3], [7, 5, 3, 3]]
    table = pd.DataFrame(
        [(c, b, loss[c][b]) for c in range(4) for b in range(4)], columns=["car", "brand", "loss"]
    )
    found = sm.stats.anova_lm(ols("loss ~ C(car) + C(brand)", table).fit())
    assert found["F"].iloc[:2].to_numpy() == pytest.approx([27.526, 27.947], abs=5e-4)
    assert found["sum_sq"].to_numpy() == pytest.approx([32.6875, 33.1875, 3.5625], abs=1e-9)


def test_what_cannot_have_a_line_is_refused():
    for x, y in (([1], [2]), ([1, 1], [2, 3]), ([1, np.nan], [2, 3]), ([1, 2], [1, 2, 3])):
        with pytest.raises(FitError, match="two finite points"):
            straight_line(x, y)


def test_lasers_fail_when_the_book_says():
    # Meeker and Escobar 1998, ch. 13: pseudo failure times [h], each unit's own line extended to 10 %
    published = [3702, 4194, 5847, 6172, 5301, 3592, 6051, 6538, 5110, 3306, 5326, 4995, 4721, 5689, 6102]
    units = laser().groupby("unit")
    found = [straight_line(unit["hours"], unit["rise"]).reaches(10.0) for _, unit in units]
    assert np.round(found).tolist() == published


def test_degradation_by_temperature():
    # NIST/SEMATECH e-Handbook 8.4.2.3: per cent change at 200, 500, 1000 h of five units at 65, 85 and 105 C;
    # activation energy 0.8188 eV (SE 0.0564), sigma 0.5611, ln A = -18.94337 with failure at 30 %
    change = {
        65: "0.87 1.48 2.81 0.33 0.96 2.13 0.94 2.91 5.67 0.72 1.98 4.28 0.66 0.99 2.14",
        85: "1.41 2.47 5.71 3.61 8.99 17.69 2.13 5.72 11.54 4.36 9.82 19.55 6.91 17.37 34.84",
        105: "24.58 62.02 124.10 9.73 24.07 48.06 4.74 11.53 23.72 23.61 58.21 117.20 10.90 27.85 54.97",
    }
    x = np.repeat([100_000 / (8.617 * (celsius + 273.16)) for celsius in change], 15)
    y = np.log(np.concatenate([np.array(text.split(), float) for text in change.values()]))
    line = straight_line(x, y - np.log(np.tile([200, 500, 1000], 15)))
    assert line.slope == pytest.approx(-0.8188, abs=5e-5)
    assert line.slope_se == pytest.approx(0.0564, abs=5e-5)
    assert line.residual_sd == pytest.approx(0.5611, abs=5e-5)
    assert np.log(30) - line.intercept == pytest.approx(-18.94337, abs=5e-6)
