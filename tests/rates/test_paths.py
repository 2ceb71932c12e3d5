import numpy as np
import pandas as pd
import pytest

from tests.rates.published import boys, cracks, laser, sleepstudy
from tirelife.errors import FitError, InputError
from tirelife.rates import fit_paths


def terms(frame):
    return frame.set_index("term")["estimate"]


def test_plain_linear_paths_are_the_published_mixed_model():
    # lme4 1.1-31, Reaction ~ Days + (Days | Subject)
    fit = fit_paths(sleepstudy(), "value", "time", "unit", link="identity", wander=False)
    assert fit.criterion == pytest.approx(1743.628272, abs=1e-6)
    assert terms(fit.estimates).to_dict() == pytest.approx({"start": 251.405105, "rate": 10.467286}, abs=6e-7)
    assert terms(fit.components)["covariance of start and rate"] == pytest.approx(9.6044, abs=0.02)
    at = fit.predict(["308", "309", "335"], [12, 12, 12])
    assert at["mean"].to_numpy() == pytest.approx([489.658797, 233.177631, 247.652886], rel=3e-6)
    assert at["sd"].to_numpy() == pytest.approx(32.517577, rel=3e-6)
    new = fit.predict(["somebody"], [12], unseen="average").iloc[0]
    assert (new["mean"], new["std_error"], new["sd"]) == pytest.approx(
        (377.012536, 18.863511, 83.088537), rel=3e-6
    )


def test_sleepers_whose_rates_go_both_ways_get_the_identity_link():
    fit = fit_paths(sleepstudy(), "value", "time", "unit")
    assert fit.link == "identity"


def test_lasers_give_the_published_rates():
    frame = laser()
    frame["thousand_h"] = frame["hours"] / 1000
    fit = fit_paths(frame, "rise", "thousand_h", "unit", link="identity", wander=False)
    # lme4 REML, increase ~ 0 + t + (0 + t | unit), hours > 0
    assert fit.criterion == pytest.approx(15.26133, abs=5e-6)
    assert terms(fit.estimates)["rate"] == pytest.approx(2.046652, abs=6e-7)
    expected = (
        2.696245, 2.395368, 1.779483, 1.672317, 1.840911, 2.766398, 1.629189, 1.559762, 1.974175, 3.021311,
        1.898713, 2.020951, 2.091390, 1.719068, 1.634504,
    )  # fmt: skip
    assert fit.units["rate"].to_numpy() == pytest.approx(expected, abs=5e-5)
    with_start = fit_paths(frame, "rise", "thousand_h", "unit", link="identity", wander=False, start="random")
    assert with_start.criterion == pytest.approx(-24.37802, abs=5e-6)
    assert terms(with_start.estimates).to_dict() == pytest.approx(
        {"start": 0.009493725, "rate": 2.0432}, abs=5e-5
    )


def covered(until, **options):
    """How many of the 15 lasers lie in their 90 % range at 4000 h, trained on readings up to ``until``."""
    frame = laser()
    fit = fit_paths(frame[frame["hours"] <= until], "rise", "hours", "unit", **options)
    units = fit.units["unit"]
    at = fit.predict(units, [4000.0] * 15)
    truth = frame[frame["hours"] == 4000].set_index("unit")["rise"].reindex(units).to_numpy()
    return int(((truth >= at["lower"]) & (truth <= at["upper"])).sum())


@pytest.mark.parametrize("until", [1000, 2000, 3000])
def test_laser_ranges_hold_because_rates_wander(until):
    # 80 to 97 % of 15 units; Meeker and Escobar 1998, Table C.17, trained on the first hours only
    assert 12 <= covered(until) <= 14


@pytest.mark.parametrize(("until", "units"), [(1000, 8), (2000, 5), (3000, 10)])
def test_fixed_rates_would_cover_far_too_few_lasers(until, units):
    # 53, 33 and 67 %, by random slopes with independent errors
    assert covered(until, link="identity", wander=False) == units


def test_paths_that_bend_are_said_to():
    bent = fit_paths(cracks(), "crack", "cycles", "path").checks.iloc[0]
    assert not bent["passed"]
    assert bent["advice"] == "paths-bend"
    assert fit_paths(cracks(), "crack", "cycles", "path", curved=True).checks["passed"].all()
    rng = np.random.default_rng(5)
    time, unit = np.tile(np.arange(8.0), 12), np.repeat(np.arange(12), 8)
    level = 5 - np.exp(rng.normal(-1, 0.2, 12))[unit] * time + rng.normal(0, 0.1, 96)
    straight = pd.DataFrame({"unit": unit, "time": time, "level": level})
    assert fit_paths(straight, "level", "time", "unit").checks["passed"].all()


def test_times_before_zero_are_times_like_others():
    frame = boys()
    early = fit_paths(frame, "value", "time", "unit").predict(["1", "9"], [1.5, 1.5])
    late = fit_paths(frame.assign(time=frame["time"] + 1), "value", "time", "unit").predict(
        ["1", "9"], [2.5, 2.5]
    )
    assert early["mean"].to_numpy() == pytest.approx(late["mean"].to_numpy(), rel=1e-6)
    assert early["sd"].to_numpy() == pytest.approx(late["sd"].to_numpy(), rel=1e-4)


def test_a_new_unit_needs_a_policy():
    fit = fit_paths(laser(), "rise", "hours", "unit")
    with pytest.raises(InputError, match="unit 'X' was not in the data"):
        fit.predict(["X"], [1000])
    new = fit.predict(["X", "101"], [1000, 1000], unseen="average")
    assert new["mean"].iloc[0] == pytest.approx(fit.units["rate"].mean() * 1000, rel=0.05)
    assert new["sd"].iloc[0] > new["sd"].iloc[1]


def test_ranges_widen_with_the_time_ahead():
    frame = laser()
    fit = fit_paths(frame[frame["hours"] <= 2000], "rise", "hours", "unit")
    sd = fit.predict(["101"] * 4, [2000, 2250, 3000, 4000])["sd"].to_numpy()
    assert (np.diff(sd) > 0).all()
    assert sd[3] > 2 * sd[0]


def test_hours_or_days_give_the_same_answer():
    frame = laser()
    hours = fit_paths(frame, "rise", "hours", "unit")
    days = fit_paths(frame.assign(days=frame["hours"] / 24), "rise", "days", "unit")
    a, b = hours.predict(["103"], [5000]).iloc[0], days.predict(["103"], [5000 / 24]).iloc[0]
    assert (a["mean"], a["sd"]) == pytest.approx((b["mean"], b["sd"]), rel=1e-3)


def test_falling_paths_are_rising_ones_upside_down():
    frame = laser().assign(left=lambda f: 20 - f["rise"])
    up, down = fit_paths(frame, "rise", "hours", "unit"), fit_paths(frame, "left", "hours", "unit")
    a, b = up.predict(["103"], [5000]).iloc[0], down.predict(["103"], [5000]).iloc[0]
    assert b["mean"] == pytest.approx(20 - a["mean"], rel=1e-6)
    assert b["sd"] == pytest.approx(a["sd"], rel=1e-4)


def leaning(lean=0.3, units=20, visits=10, seed=1):
    """Straight paths read at common times, where all readings of a time err alike too; and the truth."""
    rng = np.random.default_rng(seed)
    time = np.arange(1.0, visits + 1)
    rate, start = np.exp(rng.normal(0, 0.2, units)), rng.normal(20, 0.3, units)
    level = start[:, None] - rate[:, None] * time
    read = level + rng.normal(0, lean, visits) + rng.normal(0, 0.15, level.shape)
    frame = pd.DataFrame(
        {"level": read.ravel(), "time": np.tile(time, units), "unit": np.repeat(range(units), visits)}
    )
    return frame, start, rate


def test_what_an_inspection_shares_is_found():
    found = [
        terms(
            fit_paths(leaning(seed=s)[0], "level", "time", "unit", wander=False, inspection="time").components
        )
        for s in range(6)
    ]
    lean = np.sqrt(np.mean([one["variance shared by an inspection"] for one in found]))
    assert lean == pytest.approx(0.3, abs=0.06)  # 60 inspections: a standard error of 9 %
    noise = np.sqrt(np.mean([one["variance of a reading"] for one in found]))
    assert noise == pytest.approx(0.15, abs=0.01)


def test_ranges_know_that_an_inspection_leans():
    inside, criteria = {"apart": [], "shared": []}, {"apart": [], "shared": []}
    for seed in range(3, 9):
        frame, start, rate = leaning(seed=seed)
        truth = start - rate * 13.0
        for name, column in (("apart", None), ("shared", "time")):
            fit = fit_paths(frame, "level", "time", "unit", wander=False, inspection=column)
            at = fit.predict(range(20), [13.0] * 20)
            inside[name].append(((at["mean"] - truth).abs() < 1.645 * at["std_error"]).mean())
            criteria[name].append(fit.criterion)
    # 90 % of 120 paths that lean together by fleet
    assert np.mean(inside["shared"]) > 0.75
    assert np.mean(inside["apart"]) < np.mean(inside["shared"])
    assert max(np.subtract(criteria["shared"], criteria["apart"])) < -50


def test_the_likelier_scale_is_taken_whatever_the_unit():
    rng = np.random.default_rng(8)
    time, unit = np.tile(np.arange(1.0, 9), 15), np.repeat(np.arange(15), 8)
    fall = np.exp(rng.normal(-2, 0.2, 15))[unit] * time
    even = pd.DataFrame({"time": time, "unit": unit, "level": 9 - 4 * fall + rng.normal(0, 0.1, len(time))})
    bent = even.assign(level=9 * np.exp(-1.5 * fall + rng.normal(0, 0.05, len(time))))
    for times in (1.0, 25.4):
        chosen = [
            fit_paths(frame.assign(level=frame["level"] * times), "level", "time", "unit", scale="auto").scale
            for frame in (even, bent)
        ]
        assert chosen == ["raw", "log"]
    at = fit_paths(bent, "level", "time", "unit", scale="log").predict([3, 3], [4.0, 20.0])
    mine = bent[(bent["unit"] == 3) & (bent["time"] == 4)]["level"].iloc[0]
    assert at["mean"].iloc[0] == pytest.approx(mine, rel=0.1)
    assert (at["lower"] > 0).all()  # an exponential never reaches nothing


def test_scales_are_compared_with_the_jacobian():
    frame = cracks()[lambda f: f["path"].isin(list("12345678"))]
    fit = {
        scale: fit_paths(frame, "crack", "cycles", "path", curved=True, start=0.9, scale=scale, method="ML")
        for scale in ("raw", "log", "auto")
    }
    # a density of logs is that of the readings times the reading, each
    log = fit["log"].criterion + 2 * np.log(frame.query("cycles > 0")["crack"]).sum()
    assert fit["auto"].scale == ("log" if log < fit["raw"].criterion else "raw")


def test_frames_are_copies_and_options_are_checked():
    fit = fit_paths(laser(), "rise", "hours", "unit")
    mine = fit.units
    mine.loc[0, "rate"] = 99
    assert fit.units.loc[0, "rate"] < 1
    with pytest.raises(InputError, match="column 'loss' is not in the frame"):
        fit_paths(laser(), "loss", "hours", "unit")
    with pytest.raises(InputError, match="need a start and readings over 0"):
        fit_paths(laser(), "rise", "hours", "unit", curved=True)
    with pytest.raises(InputError, match="independent errors"):
        fit_paths(cracks(), "crack", "cycles", "path", curved=True, inspection="cycles")
    with pytest.raises(FitError, match="no reading"):
        fit_paths(laser().head(0), "rise", "hours", "unit")
