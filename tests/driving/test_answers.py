import math

import numpy as np
import pandas as pd
import pytest

from tirelife import InputError
from tirelife.driving import (
    MOMENTS,
    Thresholds,
    answer_matrix,
    default_profile,
    profile_from_answers,
    profile_from_row,
    profiles_from_habits,
    profiles_to_frame,
)
from tirelife.driving.profile import EVENTS
from tirelife.logbook import BANDS

MIX = [0.1, 0.2, 0.3, 0.3, 0.1]


def moments(profile):
    return np.array([getattr(profile, m) for m in MOMENTS])


def test_every_moment_is_linear_in_the_answers():
    matrix = answer_matrix()
    assert list(matrix.index) == [*BANDS, *EVENTS]
    answers = np.array([*MIX, 4, 9, 16])
    assert moments(profile_from_answers(MIX, 4, 9, 16)) == pytest.approx(answers @ matrix.to_numpy())


# The 16 cars with more than 20 miles of the Chicago 2007 household survey (CMAP; Transportation Secure Data Center,
# NREL; one-second speeds as shipped with FASTSim 2.1.5): km; shares of distance by band; starts and stops beyond
# 0.25 g per 100 km; parts of the mean of a² over distance, driving and braking [m²/s⁴].
CARS = np.array([
    (240.9, 0.0663, 0.1528, 0.4957, 0.2852, 0.0000, 0.000, 3.736, 0.0929, 0.1252),
    (38.9, 0.1683, 0.3337, 0.4655, 0.0324, 0.0000, 0.000, 5.140, 0.1011, 0.1391),
    (466.6, 0.1219, 0.2852, 0.2614, 0.1970, 0.1345, 0.214, 3.643, 0.1128, 0.1207),
    (1358.4, 0.0500, 0.0813, 0.1333, 0.3583, 0.3772, 0.000, 0.736, 0.0299, 0.0320),
    (281.1, 0.1179, 0.3130, 0.4390, 0.1300, 0.0000, 0.711, 3.201, 0.1000, 0.1199),
    (149.5, 0.1721, 0.3511, 0.4332, 0.0436, 0.0000, 0.669, 4.681, 0.1922, 0.2342),
    (122.7, 0.1178, 0.2385, 0.3350, 0.3087, 0.0000, 0.000, 1.630, 0.0869, 0.0893),
    (39.2, 0.2740, 0.5609, 0.1652, 0.0000, 0.0000, 0.000, 7.658, 0.1653, 0.2001),
    (55.2, 0.1277, 0.2744, 0.2494, 0.2756, 0.0728, 1.813, 1.813, 0.1101, 0.1190),
    (195.8, 0.2499, 0.2352, 0.1684, 0.3432, 0.0034, 0.511, 0.511, 0.0845, 0.0901),
    (116.8, 0.1124, 0.1885, 0.3716, 0.3210, 0.0065, 0.000, 1.713, 0.0849, 0.0948),
    (105.5, 0.0694, 0.1652, 0.1431, 0.4838, 0.1385, 3.791, 2.843, 0.0782, 0.0765),
    (56.8, 0.1082, 0.3073, 0.3085, 0.0445, 0.2315, 1.761, 1.761, 0.1279, 0.1232),
    (110.7, 0.1036, 0.1253, 0.3045, 0.2582, 0.2084, 0.000, 0.000, 0.1041, 0.0999),
    (105.2, 0.1380, 0.3298, 0.5322, 0.0000, 0.0000, 0.000, 2.851, 0.0984, 0.1101),
    (36.3, 0.2738, 0.2820, 0.2359, 0.1653, 0.0429, 0.000, 0.000, 0.1158, 0.1354),
])  # fmt: skip


def above_mix(event):
    """By car: how far a² lies above what its speed mix predicts, and hard events per 100 km."""
    column, moment = {"starts": (6, "drive_a2"), "stops": (7, "brake_a2")}[event]
    usual, band = default_profile(), answer_matrix().loc[list(BANDS), moment].to_numpy()
    whole = band * getattr(usual, moment) / (usual.shares @ band)  # with what ordinary events mark
    return CARS[:, column + 2] - CARS[:, 1:6] @ whole, CARS[:, column]


@pytest.mark.parametrize(("event", "by_km", "alike"), [("starts", 0.0079, 0.0084), ("stops", 0.0109, 0.0054)])
def test_a_hard_event_marks_a_style_as_in_household_cars(event, by_km, alike):
    above, rate = above_mix(event)
    weighted = np.polyfit(rate, above, 1, w=np.sqrt(CARS[:, 0]))[0]
    even = np.polyfit(rate, above, 1)[0]
    # As we fitted them, the event term aside, from the unrounded rates.
    assert weighted == pytest.approx(by_km, abs=2e-4)
    assert even == pytest.approx(alike, abs=2e-4)
    # What we use is nine tenths of their mean, to 6 %.
    moment = "drive_a2" if event == "starts" else "brake_a2"
    used = answer_matrix().loc[f"hard_{event}_per_100km", moment]
    assert used == pytest.approx(0.9 * (weighted + even) / 2, rel=0.06)
    # Knowing the count must predict these cars better than not knowing it.
    ordinary = getattr(default_profile(), f"hard_{event}_per_100km")
    km = CARS[:, 0]

    def miss(residual):
        return np.average((residual - np.average(residual, weights=km)) ** 2, weights=km)

    assert miss(above - used * (rate - ordinary)) < miss(above)


def test_a_hard_stop_marks_more_than_its_own_integral():
    # From 30 mph at 0.25 g instead of 1.02 m/s², over 100 km: (2.4517 - 1.02) * 13.4112² / 2 / 1e5, 5.5 times.
    none, ten = (profile_from_answers(MIX, 0, n, 0) for n in (0, 10))
    assert ten.brake_a2 - none.brake_a2 == pytest.approx(
        5.5 * 10 * (2.4516625 - 1.02) * 13.4112**2 / 2 / 1e5, rel=1e-6
    )
    assert ten.drive_a2 == none.drive_a2


def test_speed_gained_is_speed_lost_whatever_the_events():
    for events in ((0, 0, 0), (8, 0, 0), (0, 15, 0), (8, 15, 20)):
        p = profile_from_answers(MIX, *events)
        assert p.drive_a + p.brake_a == pytest.approx(0, abs=0.02 * p.drive_a)
        assert p.drive_av2 + p.brake_av2 == pytest.approx(0, abs=0.02 * p.drive_av2)


def test_ordinary_answers_give_the_household_cars_own_moments():
    # The 22 cars over the shares .11 .19 .26 .26 .18: means of a² by band as in the module, FASTSim 2.1.5 data.
    p = default_profile()
    assert p.drive_a2 == pytest.approx(
        0.11 * 0.35460 + 0.19 * 0.13326 + 0.26 * (0.03885 + 0.01631) + 0.18 * 0.0056
    )
    assert p.brake_a2 == pytest.approx(
        0.11 * 0.39141 + 0.19 * 0.17006 + 0.26 * (0.04661 + 0.00849) + 0.18 * 0.00073
    )


@pytest.mark.parametrize("threshold", [1.5, 2.4516625, 4.9])
def test_no_hard_events_are_gentler_than_ordinary_and_never_below_zero(threshold):
    limits = Thresholds(start_mps2=threshold, stop_mps2=threshold, turn_mps2=threshold + 1.5)
    usual = default_profile()
    none = profile_from_answers(usual.shares, 0, 0, 0, thresholds=limits)
    for moment in ("drive_a2", "brake_a2", "ay2"):
        assert 0.72 < getattr(none, moment) / getattr(usual, moment) < 0.99
    for i in range(5):
        one = profile_from_answers(np.eye(5)[i], 0, 0, 0, thresholds=limits)
        assert min(one.drive_a2, one.brake_a2, one.ay2) > 0
        # Cauchy-Schwarz: a mean of squares is at least the square of the mean.
        assert one.drive_a2 * one.drive_share >= one.drive_a**2
        # Speed lost more gently takes as much more distance, which the shares do not follow.
        ordinary = answer_matrix().loc[BANDS[i], "brake_a2"] / (none.brake_a2 / usual.brake_a2)
        assert ordinary * one.brake_share >= one.brake_a**2


def test_a_threshold_below_an_ordinary_event_says_nothing():
    soft = Thresholds(start_mps2=0.8, stop_mps2=1.0, turn_mps2=1.9)
    none, many = (profile_from_answers(MIX, n, n, n, thresholds=soft) for n in (0, 50))
    assert moments(none) == pytest.approx(moments(many), rel=1e-12)
    usual = default_profile()
    same = profile_from_answers(usual.shares, 50, 50, 50, thresholds=soft)
    assert moments(same) == pytest.approx(moments(usual), rel=1e-12)


def test_harder_meaning_of_hard_adds_more():
    soft = profile_from_answers(MIX, 0, 0, 10, thresholds=Thresholds(turn_mps2=3.0))
    hard = profile_from_answers(MIX, 0, 0, 10, thresholds=Thresholds(turn_mps2=6.0))
    assert (hard.ay2 - profile_from_answers(MIX, 0, 0, 0).ay2) / (
        soft.ay2 - profile_from_answers(MIX, 0, 0, 0).ay2
    ) == pytest.approx((36 - 4) / (9 - 4))


def test_plain_answers_carry_at_least_thirty_percent():
    # driving-and-wear, caution 12: any projection from habits alone carries at least +-30 %.
    assert profile_from_answers(MIX, 0, 0, 0).log_sd >= 0.30
    assert default_profile().log_sd > 0.30


def test_default_is_near_the_22_household_cars():
    # CMAP 2007, 22 vehicles (data-and-oracles 1.4): E+ of the 1500 kg car is 393 to 520 kJ/km; here from the
    # moments: m drive_a + m g 0.009 share + 0.5 rho CdA v² of the drive phase.
    p = default_profile()
    force = 1500 * p.drive_a + 1500 * 9.80665 * 0.009 * p.drive_share + 0.5 * 1.2 * 0.65 * p.drive_v2
    assert 393 <= force <= 520


def test_answers_that_make_no_sense():
    for wrong in ([0.5, 0.5, 0.5, 0, 0], [1, 0, 0], [-0.1, 0.5, 0.6, 0, 0], [math.nan, 1, 0, 0, 0]):
        with pytest.raises(InputError, match="sum to 1"):
            profile_from_answers(wrong, 0, 0, 0)
    with pytest.raises(InputError, match="0 or more"):
        profile_from_answers(MIX, -1, 0, 0)
    assert profile_from_answers([0.1, 0.2, 0.3, 0.3, 0.11], 0, 0, 0).share_under_25mph == pytest.approx(
        0.1 / 1.01
    )


def habits(**more):
    row = dict(zip(BANDS, MIX, strict=True)) | dict(zip(EVENTS, (4.0, 9.0, 16.0), strict=True))
    days = {"from_date": pd.Timestamp("2026-01-01"), "to_date": pd.Timestamp("2026-06-30")}
    return pd.DataFrame([{"vehicle_id": "V1"} | days | row | more])


def test_habits_of_a_logbook_are_answers():
    out = profiles_from_habits(habits())
    assert profile_from_row(out.iloc[0]).drive_a2 == profile_from_answers(MIX, 4, 9, 16).drive_a2
    assert out.loc[0, "source"] == "answers"
    assert out["from_date"].dtype.kind == "M"
    assert len(profiles_from_habits(habits().iloc[:0])) == 0


def test_habits_with_moments_use_them():
    from dataclasses import replace

    driven = replace(
        profile_from_answers(MIX, 4, 9, 16, distance_km=900), brake_a2=0.5, source="trips", log_sd=0.2
    )
    written = (
        profiles_to_frame([driven]).iloc[0].drop("source").astype(str).to_dict()
    )  # as a reader keeps them
    both = pd.concat([habits(vehicle_id="V2"), habits(**written)], ignore_index=True)
    out = profiles_from_habits(both)
    assert list(out["source"]) == ["trips", "answers"]
    assert profile_from_row(out.iloc[0]) == driven
