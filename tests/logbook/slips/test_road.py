"""What a vehicle runs between two readings, held against laws written out and simulated."""

import numpy as np
import pytest
from scipy.stats import norm

from tirelife.logbook import Slip
from tirelife.logbook.slips.odometers import judge_odometers
from tirelife.logbook.slips.road import ANY_KM, Points, road_of

IDS = np.array([f"V{k}" for k in range(40)], dtype=object)


def fleet(cars=40, every=30.0, readings=30, sd=0.15, seed=2):
    """Cars of 30 to 70 km a day, read every month; how far each month is from the car's own, relative to it."""
    rng = np.random.default_rng(seed)
    pace = np.repeat(rng.uniform(30, 70, cars), readings)
    month = pace * every * rng.normal(1, sd, cars * readings)
    km = 20_000 + month.reshape(cars, readings).cumsum(axis=1).ravel()
    return Points(
        np.repeat(np.arange(cars), readings), np.tile(every * np.arange(readings), cars), km.round()
    )


def changed(points, shifts):
    km = points.km.copy()
    for i, by in shifts.items():
        km[i] += by
    return Points(points.vehicle, points.day, km)


def test_how_far_months_differ_is_learned_from_the_log():
    road = road_of(fleet())
    inside = np.isfinite(road.near)
    # A month of 0.15; 40 km of a reading (our assumption) are in it.
    assert np.median((road.sd / road.usual)[inside]) == pytest.approx(0.15, rel=0.1)
    went = np.array([fleet().km - road.near[0], road.near[1] - fleet().km])
    assert np.nanstd((went - road.usual) / road.sd) == pytest.approx(1.0, abs=0.08)
    assert road.tail < 1 / 200


def test_the_odds_of_a_digit_off_are_those_of_the_laws_written_out():
    wrong = changed(fleet(), {615: 4_000.0})
    road = road_of(wrong).at(615)
    before, after = wrong.km[614] + road.usual[0, 0], wrong.km[616] - road.usual[1, 0]

    def density(km):
        out = 0.0
        for said, sd, beyond, usual, far, fits in (
            (
                before,
                road.sd[0, 0],
                road.next[0, 0],
                road.next_usual[0, 0],
                road.next_sd[0, 0],
                road.fits[0, 0],
            ),
            (
                after,
                road.sd[1, 0],
                road.next[1, 0],
                -road.next_usual[1, 0],
                road.next_sd[1, 0],
                road.fits[1, 0],
            ),
        ):
            goes_on = (1 - road.tail) * norm.pdf(km, said, sd)
            if (km > wrong.km[614] - 120) if said == before else (km < wrong.km[616] + 120):
                goes_on += road.tail * norm.pdf(km, said, sd * road.wide)
            own = np.sqrt(far**2 - sd**2)
            other = norm.pdf(km, beyond + usual, far) / ANY_KM / (np.exp(fits) / np.sqrt(2 * np.pi) / own)
            out += np.log(goes_on + 0.01 * other + 1e-6 / ANY_KM)
        return out

    at = np.array([before, after, wrong.km[615], 0.5 * (before + after)])
    ours = [road.log_density(np.array([km]))[0] for km in at]
    assert ours - ours[0] * np.ones(4) == pytest.approx([density(km) - density(at[0]) for km in at], abs=1e-6)


def test_a_digit_is_asked_about_where_a_holiday_as_long_is_none():
    points = fleet()
    slipped = judge_odometers(changed(points, {615: 2_000.0}), "km", IDS)
    assert {i: note.code for i, note in slipped.items()} == {615: Slip.ODOMETER_DIGIT}
    assert float(dict(slipped[615].values)["meant"]) == pytest.approx(points.km[615], abs=1)
    away = changed(
        points, dict.fromkeys(range(615, 630), 2_000.0)
    )  # and on from there to the car's last reading
    assert judge_odometers(away, "km", IDS) == {}
    assert judge_odometers(points, "km", IDS) == {}


def test_a_last_reading_that_goes_back_may_be_another_instruments():
    points = fleet()
    back = changed(points, {629: 300.0 - points.km[629]})  # the last of a car
    assert 629 not in judge_odometers(back, "km", IDS)
    ahead = changed(points, {629: 20_000.0})
    assert judge_odometers(ahead, "km", IDS)[629].code is Slip.ODOMETER_DIGIT


def test_two_readings_of_a_day_are_one_and_both_are_told():
    points = fleet()
    twice = [np.insert(own, 616, own[615]) for own in (points.vehicle, points.day, points.km)]
    twice[2][615:617] += [20_000, 20_001]
    found = judge_odometers(Points(*twice), "km", IDS)
    assert {i: note.code for i, note in found.items()} == dict.fromkeys((615, 616), Slip.ODOMETER_DIGIT)


@pytest.mark.parametrize("many", [0, 1, 2])
def test_too_few_readings_say_nothing(many):
    points = Points(np.zeros(many, int), 30.0 * np.arange(many), 1_000.0 + 90_000.0 * np.arange(many))
    assert judge_odometers(points, "km", IDS) == {}
