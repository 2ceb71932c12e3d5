import numpy as np
import pytest

from tests.rates.made import frames
from tirelife.rates import fit_rates
from tirelife.rates.exponent import profile_exponent


def test_the_power_that_made_the_wear_is_found():
    visits, tires, vehicles = frames(vehicles=80, visits=6, vehicle_sd=0.1, rate=4e-5, seed=18)
    severity = visits["vehicle_id"].map(
        lambda name: np.exp(0.5 * np.sin(int(name[1:])))
    )  # modelled, 0.6 to 1.65
    real = 8 - (8 - visits["depth_mm"]) * severity**0.5  # wear went with its root

    def criterion(power):
        table = visits.assign(depth_mm=real)
        for name in ("reference_km", "reference_front_km", "reference_rear_km"):
            table[name] = visits[name] * severity**power
        return fit_rates(table, tires, vehicles).criterion

    found = profile_exponent(criterion).iloc[0]
    assert found["lower"] < 0.5 < found["upper"]
    assert found["estimate"] == pytest.approx(0.5, abs=0.15)
    assert found["std_error"] < 0.15
    assert found["source"] == "fitted"


def test_a_parabola_gives_its_own_vertex_and_width():
    found = profile_exponent(lambda at: 40 + (at - 0.8) ** 2 / 0.1**2).iloc[0]
    # sd 0.1 about 0.8, with the law of sd 0.5 about 1
    assert found["estimate"] == pytest.approx((0.8 / 0.01 + 1 / 0.25) / (1 / 0.01 + 1 / 0.25), abs=1e-6)
    assert found["std_error"] == pytest.approx((1 / 0.01 + 1 / 0.25) ** -0.5, abs=1e-6)


def test_where_nothing_tells_the_prior_answers():
    found = profile_exponent(lambda at: 40.0).iloc[0]
    assert (found["estimate"], found["std_error"]) == pytest.approx((1.0, 0.5), abs=1e-6)
    assert found["source"] == "prior"
