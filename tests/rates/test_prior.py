import copy
import json
import math
import pickle
import warnings
from dataclasses import replace

import numpy as np
import pytest

from tests.rates.made import frames
from tirelife.errors import FitError, InputError
from tirelife.outlook import walk_in
from tirelife.rates import PUBLISHED, fit_rates, load_prior, save_prior
from tirelife.rates.prior import _LIMITS, Belief, Prior


def test_published_life_is_the_prior_mean():
    # NHTSA, FMVSS 138 impact analysis: average tread life 45,000 miles; 8/32 in over it (our reading)
    spread2 = sum(math.exp(2 * PUBLISHED.spreads[name].mean) for name in ("block", "line", "unit"))
    mean_life_km = 8 * 25.4 / 32 * math.exp(-PUBLISHED.log_rate.mean + spread2 / 2)  # of a lognormal
    assert mean_life_km / 1.609344 == pytest.approx(45_000, rel=1e-9)


def test_best_and_worst_tenths_of_drivers_differ_two_fold():
    # Tire Science and Technology 1(2):202, 1973; 10 % and 90 % points of a normal lie 1.28155 sd from its mean
    sd = math.exp(PUBLISHED.spreads["block"].mean)
    assert math.exp(2 * 1.2815515655 * sd) == pytest.approx(2.0, abs=1e-9)


def test_lines_spread_as_in_comparative_tests():
    # Largest over least abrasion, and the expected range of so many normals in sd: 50 tires of 2023, 126 over 34.8
    # mg/km a tonne and 4.50; 160 tires of 2025, 3.6 and 5.36. 15 of one size (ADAC 2021): 1.84 and 3.47, 0.176.
    sd = math.exp(PUBLISHED.spreads["line"].mean)
    assert math.log(3.6) / 5.36 - 0.005 <= sd <= math.log(126 / 34.8) / 4.50 + 0.005
    assert sd > math.log(151 / 82) / 3.47


def test_one_spread_between_drivers():
    from tirelife.driving.answers import ANSWERS_LOG_SD, DEFAULT_LOG_SD

    drivers = math.exp(PUBLISHED.spreads["block"].mean)
    assert math.hypot(ANSWERS_LOG_SD, drivers) == pytest.approx(DEFAULT_LOG_SD)


def test_wear_is_held_straight_and_grades_are_not_lives():
    # Brenner, Scheiner and Kondo 1975: straight to r2 > 0.99; Grigoratos et al. 2018: grade predicts no mass loss
    assert PUBLISHED.bend.mean == 0
    assert -0.5 < PUBLISHED.grade.mean < 0


def test_a_saved_fit_comes_back_the_same(tmp_path):
    fit = fit_rates(*frames(vehicles=12, groups=(0.0, 0.2)))
    path = tmp_path / "shop.json"
    save_prior(fit, path)
    assert load_prior(path) == fit.posterior
    text = path.read_text("utf-8")
    assert not any(word in text for word in ("V0003", "2024-"))  # nobody's vehicle, no date
    assert json.loads(text)["version"] == 1
    assert [p.name for p in tmp_path.iterdir()] == ["shop.json"]


def test_a_saved_fit_is_never_surer_than_its_floor(tmp_path):
    fit = fit_rates(*frames(vehicles=12))
    assert all(belief.sd >= 0.15 for belief in fit.posterior.spreads.values())
    assert fit.posterior.log_rate.sd >= 0.03
    assert set(fit.posterior.lines) == {"Line A", "Line B"}


def change(**edits):
    def apply(made):
        for key, value in edits.items():
            *path, last = key.split("__")
            at = made
            for name in path:
                at = at[name]
            if value is None:
                del at[last]
            else:
                at[last] = value
        return json.dumps(made)

    return apply


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda made: "", "not valid JSON"),
        (lambda made: "[1, 2]", "is not a saved fit"),
        (lambda made: "[" * 100_000, "not valid JSON"),
        (lambda made: json.dumps(made).replace("0.35", "NaN"), "not valid JSON"),
        (change(format="other"), "is not a saved fit"),
        (change(version=2), "has version 2, this program reads 1"),
        (change(bend=None), "missing ['bend']"),
        (change(extra=1), "unknown ['extra']"),
        (change(bend__sd=0.0), "column bend: is not a mean"),
        (change(bend__sd=-1), "column bend: is not a mean"),
        (change(bend__mean="0"), "column bend: is not a mean"),
        (change(bend__mean=True), "column bend: is not a mean"),
        (change(log_rate__mean=1e300), "column log_rate: is not a mean"),
        (change(log_rate=[1, 2]), "column log_rate: is not a mean"),
        (change(lines=[]), "column lines: is not a table of up to 100,000 entries"),
        (change(lines={"A": {"mean": 0.1}}), "column lines.A: is not a mean"),
        (change(spreads__noise=None), "not complete"),
        (change(spreads__other={"mean": 0, "sd": 1}), "not complete"),
        (change(axle={}), "not complete"),
        (
            change(log_rate__mean=0.0),
            "column log_rate: is not a mean from -11.51 to -2.996 with an sd from 0.0001 to 3",
        ),
        (change(log_rate__sd=50.0), "column log_rate: is not a mean"),
        (change(bend__sd=1e-300), "column bend: is not a mean"),
        (change(new_depth__mean=-3.0), "column new_depth: is not a mean"),
        (change(new_depth__mean=1e5), "column new_depth: is not a mean"),
        (change(spreads__noise__mean=700.0), "column spreads.noise: is not a mean"),
        (change(spreads__drift__mean=-800.0), "column spreads.drift: is not a mean"),
        (change(starts={"Line A": {"mean": 50.0, "sd": 1.0}}), "column starts.Line A: is not a mean"),
        (change(lines={"": {"mean": 0.1, "sd": 0.1}}), "column lines: has a name that no logbook can have"),
        (change(lines={"A ": {"mean": 0.1, "sd": 0.1}}), "column lines: has a name that no logbook can have"),
        (change(lines={"A": {"mean": 0.1, "sd": 0.1, "x": 1}}), "column lines.A: is not a mean and an sd"),
        (change(source="x" * 2000), "column source: is not a text of up to 1000 letters"),
        (change(source=5), "column source: is not a text"),
    ],
)
def test_spoiled_files_are_refused(tmp_path, spoil, says):
    path = tmp_path / "shop.json"
    save_prior(PUBLISHED, path)
    path.write_text(spoil(json.loads(path.read_text("utf-8"))), "utf-8")
    with pytest.raises(InputError) as caught:
        load_prior(path)
    assert says in str(caught.value)
    assert str(caught.value).startswith("shop.json")


def test_every_problem_of_a_file_is_named_at_once(tmp_path):
    path = tmp_path / "shop.json"
    save_prior(PUBLISHED, path)
    path.write_text(
        change(bend__sd=0.0, new_depth__mean=-1.0, source=5)(json.loads(path.read_text("utf-8"))), "utf-8"
    )
    with pytest.raises(InputError) as caught:
        load_prior(path)
    assert [problem.column for problem in caught.value.problems] == ["new_depth", "bend", "source"]


@pytest.mark.parametrize(
    "kind", ["log_rate", "new_depth", "grade", "bend", "spreads", "axle", "starts", "lines"]
)
@pytest.mark.parametrize("end", [0, 1])
def test_at_its_limits_a_prior_still_gives_numbers_or_a_clear_refusal(kind, end, tmp_path):
    for big in (False, True):

        def law(name):
            low, high, sd = _LIMITS.get(name, _LIMITS[kind])
            return Belief((low, high)[end], sd if big else 1e-4)  # noqa: B023  called at once

        held = {"Line A": law(kind)} if kind in ("lines", "starts") else law(kind)
        if kind in ("spreads", "axle"):
            held = {name: law(f"{kind}.{name}") for name in getattr(PUBLISHED, kind)}
        save_prior(replace(PUBLISHED, **{kind: held}), tmp_path / "edge.json")
        prior = load_prior(tmp_path / "edge.json")
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            try:
                answer = walk_in([5.0] * 4, distance_km=20_000, prior=prior)
            except FitError:
                continue
        left = answer.forecast[[f"km_left_p{level}" for level in (10, 50, 90)]].to_numpy()
        assert not (left < 0).any()
        unknown = ~np.isfinite(left).all(axis=1)
        assert (answer.forecast["notes"].map(len) > 0)[unknown].all()  # what is not known has a reason


def test_files_that_are_not_there_or_not_text(tmp_path):
    with pytest.raises(InputError, match="cannot be read"):
        load_prior(tmp_path / "none.json")
    (tmp_path / "bytes.json").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="not valid JSON"):
        load_prior(tmp_path / "bytes.json")


def test_nothing_is_left_behind_where_it_cannot_be_written(tmp_path):
    with pytest.raises(InputError, match="cannot be written"):
        save_prior(PUBLISHED, tmp_path / "no such folder" / "shop.json")
    assert list(tmp_path.iterdir()) == []


def test_no_prior_can_be_written_into_and_it_keeps_nothing_of_what_it_was_given():
    given = {"Line A": Belief(0.1, 0.2)}
    own = Prior(lines=given)
    given["Line A"] = Belief(5.0, 0.2)
    assert own.lines == {"Line A": Belief(0.1, 0.2)}
    for prior in (PUBLISHED, own, pickle.loads(pickle.dumps(own)), copy.deepcopy(own)):
        for name in ("lines", "groups", "axle", "starts", "spreads"):
            with pytest.raises(TypeError):
                getattr(prior, name)["noise"] = Belief(0.0, 1.0)
    assert copy.deepcopy(own) == own
