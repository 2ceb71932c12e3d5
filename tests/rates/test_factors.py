import dataclasses
import json

import numpy as np
import pandas as pd
import pytest
from scipy import integrate, optimize

import tirelife.rates.causes as causes_module
import tirelife.rates.factors as factors_module
import tirelife.rates.fit as fit_module
from tests.fleets import PLAIN
from tests.fleets import simulate as simulate_fleet
from tests.habit_fleets import Fleet, simulate
from tirelife.driving import default_profile
from tirelife.errors import InputError
from tirelife.logbook import read_logbook
from tirelife.rates import PUBLISHED, fit_logbook, load_prior, save_prior
from tirelife.rates.factors import Shares, among, ranges, share_spread
from tirelife.wear import CAUSES, Change, Vehicle, change_ratios, severity
from tirelife.wear.ahead import conditions_table
from tirelife.wear.cause import CAUSE_LOG_SD
from tirelife.wear.unknowns import FIGURE_SD


@pytest.fixture(scope="module")
def hard(tmp_path_factory):
    folder = tmp_path_factory.mktemp("hard")
    truth = simulate(folder, Fleet(40, {"corners": 3.0}), seed=5)
    book = read_logbook(folder)
    return book, fit_logbook(book), truth


def test_a_cause_that_wears_three_times_what_the_physics_says_is_found(hard):
    _, fit, _ = hard
    row = fit.factors.table().set_index("cause").loc["corners"]
    assert abs(np.log(3.0 / row["factor"])) < 2.326 * row["log_sd"]  # 98 %: one fleet, not many
    assert row["lower"] > 0.85
    assert row["log_sd"] < 0.6 * PUBLISHED.factors.log_sd["corners"]
    assert "recorded habits: " in str(fit)


def test_what_gentler_turns_buy_is_nearer_the_truth_with_learned_factors(hard):
    book, fit, truth = hard
    change = Change("gentler", turns=0.8)
    true = truth.set_index(["vehicle_id", "position"])["gain_corners"]

    def gain(factors):
        table = change_ratios(book, change, factors=factors).set_index(["vehicle_id", "position"])
        return (1 - table["ratio"]).reindex(true.index)

    learned, assumed = (np.abs(gain(f) - true).mean() for f in (fit.factors, PUBLISHED.factors))
    assert learned < 0.6 * assumed


def test_habits_of_somebody_else_are_not_believed(tmp_path):
    simulate(tmp_path, Fleet(40, useful=0.0), seed=6)
    assert fit_logbook(read_logbook(tmp_path)).factors.belief < 0.4


def test_no_more_of_the_recorded_differences_is_believed_than_all(tmp_path):
    # Recorded at half their size: belief would go past 1, and the mildest bends turn into less than none.
    simulate(tmp_path, Fleet(40, error=0.0), seed=6)
    habits = pd.read_csv(tmp_path / "habits.csv")
    for name in ("drive_a2", "brake_a2", "ay2", "slow_turn"):
        habits[name] = np.sqrt(habits[name] * habits[name].mean())
    habits.to_csv(tmp_path / "habits.csv", index=False)
    book = read_logbook(tmp_path)
    fit = fit_logbook(book)
    assert fit.factors.belief == pytest.approx(1.0)
    assert fit.factors.belief <= 1.0
    assert fit.factors.belief_sd > 0.02
    now = fit.factors.believed(conditions_table(book))
    assert now["ay2"].min() >= 0.999 * habits["ay2"].min()


def test_what_was_learned_is_saved_and_read(hard, tmp_path):
    _, fit, _ = hard
    save_prior(fit, tmp_path / "shop.json")
    back = load_prior(tmp_path / "shop.json").factors
    assert back.log_mean == pytest.approx(fit.factors.log_mean)
    assert back.covariance == pytest.approx(fit.factors.covariance)
    made = json.loads((tmp_path / "shop.json").read_text())
    made["factors"]["cov"][0][0] = -1.0
    (tmp_path / "bad.json").write_text(json.dumps(made))
    with pytest.raises(InputError, match="factors"):
        load_prior(tmp_path / "bad.json")


def test_what_factors_have_in_common_is_no_part_of_their_ranges(hard):
    # No log can tell it: severity is the same with all factors twice as large.
    _, fit, _ = hard
    own = np.array([CAUSE_LOG_SD[cause] for cause in CAUSES])
    for factors in (PUBLISHED.factors, fit.factors):
        level = 1 / np.linalg.inv(factors.covariance).sum()
        assert level < 0.1**2
        doubled = dataclasses.replace(factors, log_mean=tuple(np.array(factors.log_mean) + np.log(2)))
        assert doubled.weights == pytest.approx(factors.weights)
    cov = PUBLISHED.factors.covariance
    # What sets two causes apart is as wide as their sources say.
    apart = np.diag(cov)[:, None] + np.diag(cov) - 2 * cov
    assert apart[0, 1] == pytest.approx(own[0] ** 2 + own[1] ** 2)
    # Their median is 1, so that one cause three times as large does not make all others smaller.
    assert np.median(fit.factors.log_mean) == pytest.approx(0.0, abs=1e-12)
    table = fit.factors.table()
    assert ((table["lower"] < table["factor"]) & (table["factor"] < table["upper"])).all()


def test_the_search_settles_and_does_not_swing_between_two_points(tmp_path, monkeypatch):
    # Habits alike in all cars: one factor takes nearly all, and whole steps went to and fro by half a unit for ever.
    simulate_fleet(tmp_path, dataclasses.replace(PLAIN["well"], vehicles=300), 7)
    found, learn = [], factors_module.learn

    def twice(*args):
        for rounds in (factors_module._ROUNDS, factors_module._ROUNDS + 1):
            monkeypatch.setattr(factors_module, "_ROUNDS", rounds)
            found.append(learn(*args)[0])
        raise np.linalg.LinAlgError  # and nothing more of the fit

    monkeypatch.setattr(causes_module, "learn", twice)
    monkeypatch.setattr(fit_module, "_fit", lambda *_: None)
    with pytest.raises(AttributeError):
        fit_logbook(read_logbook(tmp_path))
    once, again = (np.array(one.log_mean) for one in found)
    assert np.abs(once - again).max() < 0.02


def test_a_fit_that_goes_on_from_the_learning_is_the_one_begun_anew(hard, monkeypatch):
    book, fit, _ = hard
    monkeypatch.setattr(causes_module.WarmStart, "of", lambda *_: None)
    anew = fit_logbook(book)
    off = (fit.tires["log_wear"] - anew.tires["log_wear"]) / anew.tires["log_wear_sd"]
    assert np.abs(off).max() < 0.1
    np.testing.assert_allclose(fit.tires["log_wear_sd"], anew.tires["log_wear_sd"], rtol=0.02)


def test_derivatives_of_the_clocks():
    rng = np.random.default_rng(1)
    count = len(CAUSES)
    own, usual = rng.uniform(1, 5, (2, 3, count)), rng.uniform(1, 5, (2, 3, count))
    shares = Shares(own, usual, rng.dirichlet(np.ones(count)))
    at = np.append(rng.normal(0, 0.3, count), 0.8)
    _, slope = shares.clocks(at[:-1], at[-1])
    for j in range(count + 1):
        step = np.zeros(count + 1)
        step[j] = 1e-6
        high, low = (shares.clocks((at + s)[:-1], (at + s)[-1])[0] for s in (step, -step))
        assert slope[:, j] == pytest.approx((high - low) / 2e-6, rel=1e-5, abs=1e-7)


def test_nothing_to_learn_from_leaves_what_was_held(hard):
    book, _, _ = hard
    bare = dataclasses.replace(book, tables={**book.tables, "depths": book.tables["depths"].head(0)})
    assert fit_logbook(bare).factors.log_mean == PUBLISHED.factors.log_mean


@pytest.fixture(scope="module")
def sure(tmp_path_factory):
    """Sixty cars whose bends wear three times what the physics says, said to be recorded exactly or not."""
    fits = []
    for said in (None, 0.0):
        folder = tmp_path_factory.mktemp("sure")
        simulate(folder, Fleet(60, {"corners": 3.0}), seed=21)
        if said is not None:
            habits = pd.read_csv(folder / "habits.csv").assign(log_sd=said)
            habits.to_csv(folder / "habits.csv", index=False)
        found = []
        with pytest.MonkeyPatch.context() as patch:
            learn = factors_module.learn

            def kept(*args, found=found, learn=learn):
                found.append((args, learn(*args)))
                return found[-1][1]

            patch.setattr(causes_module, "learn", kept)
            fits.append((fit_logbook(read_logbook(folder)), *found[0]))
    return fits


def test_errors_of_the_records_widen_factors_and_leave_exact_habits_alone(sure, monkeypatch):
    (_, off, unsure), (_, exact, learned) = sure
    monkeypatch.setattr(Shares, "doubt", lambda *_: None)
    # Said to be exact: the same, to the bit, as where nothing is made of errors at all.
    assert factors_module.learn(*exact)[0] == learned[0]
    # What else sets vehicles apart is less by what the records' errors make of it; the largest is known less.
    narrow, at = factors_module.learn(*off)
    assert unsure[0].log_sd["corners"] > narrow.log_sd["corners"]
    assert unsure[1].variances[6] < 0.9 * at.variances[6]  # of vehicles
    assert unsure[1].variances[7] < 0.9 * at.variances[7]  # of their axles


def test_errors_of_habits_are_what_they_do_to_the_wear_of_either_axle(sure):
    # Wear of front and rear where each habit is off by its error, against the variances of first order.
    (_, (blocks, _, _, shares, _), _), _ = sure
    at, small = np.log([1, 1, 1, 1, 3.0, 1, 1, 1]), 0.05
    error = np.where(shares.error > 0, small**2, 0.0)
    assert (error > 0).any(axis=0).tolist() == [False, True, True, True, True, True, False, False]
    shares = dataclasses.replace(shares, error=error)
    got = shares.doubt(blocks, at, 1.0)
    parts = shares.parts(at, 1.0)
    block = blocks.unit_block[blocks.row_unit]
    last = np.append(blocks.row_unit[1:] != blocks.row_unit[:-1], True)
    off = np.exp(
        np.where(error[last][0] > 0, small, 0.0) * np.random.default_rng(3).normal(size=(20_000, len(at)))
    )
    for car in (0, 17, 59):
        run = parts[:, last & (block == car)].sum(axis=1)
        front, rear = np.log(off @ run.T).T
        seen = np.cov((front + rear) / 2, front - rear)
        assert got[car] == pytest.approx([seen[0, 0], seen[1, 1], seen[0, 1]], rel=0.05, abs=2e-5)
    # Half of the recorded differences believed: what is left open is half as much.
    half = shares.doubt(blocks, at, 0.5)
    assert np.median(half[:, 0] / got[:, 0]) == pytest.approx(0.5, abs=0.1)
    assert dataclasses.replace(shares, error=0 * error).doubt(blocks, at, 1.0) is None


def test_ranges_beside_the_median_hold_what_is_drawn_from_their_law():
    # Three of eight well known, the others hardly: their median is not known either.
    rng = np.random.default_rng(8)
    sd = np.array([0.1, 0.1, 0.1, 0.8, 0.8, 0.8, 0.8, 0.8])
    cov, mode = np.diag(sd**2), np.array([0.5, -0.5, 0.0, 0.3, -0.8, 0.4, 0.1, -0.2])
    grid = mode[:, None] + sd[:, None] * np.linspace(-5, 5, 801)
    density = np.exp(-(((grid - mode[:, None]) / sd[:, None]) ** 2) / 2)
    below = np.cumsum(density, axis=1) / density.sum(axis=1, keepdims=True)
    low, high = among(grid, below, cov).T
    true = rng.normal(mode, sd, (40_000, 8))
    true = true - np.median(true, axis=1, keepdims=True)
    assert ((low < true) & (true < high)).mean(axis=0) == pytest.approx(0.8, abs=0.02)
    assert (high - low)[0] > 2 * 2 * 1.2816 * 0.1  # twice what is not known of it alone


@pytest.mark.parametrize(("share", "seen", "error"), [(0.2, 0.2, 0.03), (0.05, 0.02, 0.04), (0.3, 0.6, 0.2)])
def test_the_range_of_a_factor_is_that_of_its_share(share, seen, error):
    # A share seen with a normal error, the factor lognormal before: against the density integrated by another way.
    held_sd = 0.9
    base = np.log(share / (1 - share))

    def part(log_factor):
        return 1 / (1 + np.exp(-base - log_factor))

    def deviance(log_factor):
        return ((part(log_factor) - seen) / error) ** 2 + (log_factor / held_sd) ** 2

    mode = optimize.minimize_scalar(deviance, bounds=(-4, 4), method="bounded", options={"xatol": 1e-10}).x
    slope = part(mode) * (1 - part(mode))
    sd = 1 / np.sqrt((slope / error) ** 2 + 1 / held_sd**2)
    got = ranges(*(np.array([v]) for v in (mode, sd, 0.0, held_sd, part(mode))))[0]

    def below(at):
        return integrate.quad(lambda g: np.exp(-deviance(g) / 2), -8, at, limit=400)[0]

    whole = below(8)
    assert [below(at) / whole for at in got] == pytest.approx([0.1, 0.9], abs=0.01)
    if seen < share:  # a small share is hardly told from none: the range reaches further down than up
        assert mode - got[0] > 1.2 * (got[1] - mode)


@pytest.mark.parametrize(("share", "seen", "error"), [(0.2, 0.2, 0.03), (0.05, 0.02, 0.04), (0.04, 0.3, 9.0)])
def test_what_leans_on_a_factor_is_as_wide_as_its_share(share, seen, error):
    # What a change buys is near linear in the share: its 80 % range, integrated by another way, over the slope.
    held_sd, z80 = 0.9, 1.2815515655446004
    base = np.log(share / (1 - share))

    def part(log_factor):
        return 1 / (1 + np.exp(-base - log_factor))

    def deviance(log_factor):
        return ((part(log_factor) - seen) / error) ** 2 + (log_factor / held_sd) ** 2

    mode = optimize.minimize_scalar(deviance, bounds=(-4, 4), method="bounded", options={"xatol": 1e-10}).x
    slope = part(mode) * (1 - part(mode))
    sd = 1 / np.sqrt((slope / error) ** 2 + 1 / held_sd**2)
    one = [np.array([v]) for v in (mode, sd, 0.0, held_sd, part(mode))]

    def below(to):
        return integrate.quad(lambda g: np.exp(-deviance(g) / 2), -8, to, limit=400)[0]

    whole = below(8)
    low, high = (
        part(optimize.brentq(lambda g, p=p: below(g) / whole - p, -7, 7, xtol=1e-6)) for p in (0.1, 0.9)
    )
    assert 2 * z80 * share_spread(*one)[0] * slope == pytest.approx(high - low, rel=0.02)
    alone = np.ptp(ranges(*one)) / (2 * z80)
    if seen < share:  # told from none hardly: the logarithm's range reaches far down, the share's does not
        assert share_spread(*one)[0] < 0.95 * alone
    if error > 1:  # not told at all: three times a small share is further off than a third of it
        assert share_spread(*one)[0] > 1.1 * alone


def test_changes_take_a_factor_as_its_share_is_known_and_not_as_its_range_reaches(hard):
    book, fit, _ = hard
    table = fit.factors.table().set_index("cause")
    reach = np.log(table[["lower", "upper"]].to_numpy() / table[["factor"]].to_numpy()) * [-1, 1]
    down = reach[:, 0] > 1.3 * reach[:, 1]
    assert down.sum() >= 2
    # Their ranges' widths are no part of what a change of them may do.
    assert (np.array([fit.factors.log_sd[c] for c in CAUSES]) < 0.97 * table["log_sd"].to_numpy())[down].all()
    change = Change("toe", front_toe_mm=0.0)
    wide = np.diag(table["log_sd"].to_numpy() / np.array([fit.factors.log_sd[c] for c in CAUSES]))
    cov = wide @ fit.factors.covariance @ wide
    wider = dataclasses.replace(fit.factors, cov=tuple(tuple(row) for row in cov.tolist()))
    by, by_ranges = (change_ratios(book, change, factors=f)["log_sd"] for f in (fit.factors, wider))
    assert (by[by > 0] < by_ranges[by > 0]).all()


def test_what_is_not_known_of_the_axles_ratio_is_held_once(hard, monkeypatch):
    # What figures of a vehicle that are defaults do to front over rear, by differences: 0.10 and 0.14.
    left, held = [], []
    for drive in ("front", "rear"):
        car, square = Vehicle.of_drive(drive), 0.0
        for name, sd in FIGURE_SD.items():
            there = [
                severity(default_profile(), dataclasses.replace(car, **{name: getattr(car, name) + s * sd}))
                for s in (-1, 1)
            ]
            low, high = (np.log(t.loc["LF", "severity"] / t.loc["LR", "severity"]) for t in there)
            square += ((high - low) / 2) ** 2
        left.append(np.sqrt(square))
        table = severity(default_profile(), car)
        shares = table[list(CAUSES)].div(table["severity"], axis=0)
        held.append(float(PUBLISHED.factors.spread((shares.loc["LF"] - shares.loc["LR"]).to_numpy())))
    assert left == pytest.approx([0.10, 0.135], abs=0.005)
    assert pytest.approx(np.sqrt(np.mean(np.square(left))), abs=0.005) == causes_module.AXLES_LEFT
    # Factors hold more of it than the law of the ratio does where none are learned: both would count it twice.
    assert min(held) > PUBLISHED.axle["front"].sd
    book, fit, _ = hard
    monkeypatch.setattr(causes_module, "AXLES_LEFT", 9.0)
    twice = fit_logbook(book).factors.table()
    once = fit.factors.table()
    wide = (np.log(t["upper"] / t["lower"]).to_numpy() for t in (once, twice))
    base = CAUSES.index("base")
    narrow, broad = wide
    assert narrow[base] < 0.9 * broad[base]
    assert (narrow < 1.1 * broad).all()


def test_a_habit_of_a_fit_is_as_sure_as_its_range(hard):
    _, fit, _ = hard
    table = fit.factors.table()
    assert (np.log(table["upper"] / table["lower"]) / (2 * 1.2815515655446004)).to_numpy() == pytest.approx(
        table["log_sd"].to_numpy()
    )
