import numpy as np
import pandas as pd
import pytest

from tests.rates.made import frames
from tirelife.errors import InputError
from tirelife.rates import expected_rates, fit_rates


@pytest.fixture(scope="module")
def made():
    tables = frames(vehicles=60, lines=(0.0, 0.3), groups=(0.0, 0.3), vehicle_sd=0.12, seed=21)
    return tables, fit_rates(*tables)


def ask(fit, unseen="average", **row):
    return expected_rates(fit, pd.DataFrame([row]), unseen).iloc[0]


def test_a_known_tire_answers_by_itself(made):
    (_, tires, _), fit = made
    found = expected_rates(fit, tires[["tire_id"]])
    off = (found["log_wear"] - tires["true_log_rate"]) / found["log_wear_sd"]
    assert 0.78 < np.mean(np.abs(off) < 1.2816) < 0.98  # wide, for rates that may have wandered by now
    assert np.corrcoef(found["log_wear"], tires["true_log_rate"])[0, 1] > 0.95
    assert (found["reason"] == "its own readings").all()


def test_the_less_is_known_the_wider_the_range(made):
    _, fit = made
    spread = [
        ask(fit, vehicle_id="V0004", tire_line="Line A")["log_wear_sd"],
        ask(fit, driver_group="G1", tire_line="Line A")["log_wear_sd"],
        ask(fit, driver_group="G1")["log_wear_sd"],
        ask(fit, tire_line="Line nobody knows", driver_group="G7")["log_wear_sd"],
    ]
    assert spread == sorted(spread)
    assert spread[0] < 0.15 < spread[3]


def test_lines_and_groups_move_the_rate(made):
    _, fit = made
    a, b = (ask(fit, tire_line=f"Line {name}", driver_group="G0") for name in "AB")
    assert b["log_wear"] - a["log_wear"] == pytest.approx(0.3, abs=0.1)
    assert ask(fit, tire_line="Line A", driver_group="G1")["log_wear"] - a["log_wear"] == pytest.approx(
        0.3, abs=0.1
    )
    assert a["wear_mm_per_1000km"] == pytest.approx(1000 * np.exp(a["log_wear"]))
    assert a["lower"] < a["wear_mm_per_1000km"] < a["upper"]


def test_a_grade_moves_the_rate_by_its_exponent(made):
    _, fit = made
    low, high = (ask(fit, tire_line="Line A", treadwear_grade=grade)["log_wear"] for grade in (200.0, 600.0))
    assert high - low == pytest.approx(fit.posterior.grade.mean * np.log(3), abs=1e-9)


def test_new_vehicles_lie_in_their_range(made):
    # 400 more vehicles of the same kind: their tires' true rates against what the fit expects of new ones
    _, fit = made
    _, tires, cars = frames(
        vehicles=400, visits=1, lines=(0.0, 0.3), groups=(0.0, 0.3), vehicle_sd=0.12, seed=22
    )  # fmt: skip
    group = cars.set_index("vehicle_id")["driver_group"].reindex(tires["tire_id"].str[:5]).to_numpy()
    found = expected_rates(fit, pd.DataFrame({"tire_line": tires["tire_line"], "driver_group": group}))
    truth = 1000 * np.exp(tires["true_log_rate"].to_numpy())
    assert np.mean((found["lower"] < truth) & (truth < found["upper"])) == pytest.approx(0.8, abs=0.08)


@pytest.mark.parametrize(
    ("row", "name"),
    [
        ({"tire_id": "X1"}, "tire 'X1'"),
        ({"vehicle_id": "V9999"}, "vehicle 'V9999'"),
        ({"tire_line": "Line Z"}, "tire line 'Line Z'"),
        ({"driver_group": "G9"}, "driver group 'G9'"),
    ],
)
def test_the_caller_names_the_policy(made, row, name):
    _, fit = made
    with pytest.raises(InputError) as caught:
        ask(fit, unseen="error", **row)
    assert str(caught.value).startswith(f"{name}: not in the fit.")
    blank = ask(fit, unseen="missing", **row)
    assert np.isnan(blank["log_wear"])
    assert blank["reason"] == f"not in the fit: {name}"
    new = ask(fit, unseen="average", **row)
    assert np.isfinite(new["log_wear_sd"])
    assert new["reason"] == f"new: {name}"
    with pytest.raises(InputError, match="use 'error', 'average' or 'missing'"):
        ask(fit, unseen="prior", **row)
