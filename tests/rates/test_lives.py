"""Lives by region and kind of tire: what they have us hold before a log, and figures that must agree."""

import math
import re
from dataclasses import astuple, replace

import numpy as np
import pytest

from tests.habit_fleets import Fleet, simulate
from tirelife import InputError
from tirelife.cli import main
from tirelife.logbook import read_logbook
from tirelife.outlook import walk_in
from tirelife.rates import PUBLISHED
from tirelife.rates.lives import (
    ABRASION_RANGE,
    LIVES,
    SEASONS,
    abrasion,
    grams_per_mm,
    life_of,
    read_lives,
)

INCH = 25.4 / 32


def left(**told):
    answer = walk_in([8 * INCH] * 4, as_of="2026-01-01", **told)
    return answer.forecast["km_left_p50"].to_numpy(float), answer


def test_every_row_has_a_source_and_a_year():
    for one in LIVES:
        assert len(one.source) > 20
        assert one.year
        assert one.season in ("", *SEASONS)


def test_life_times_abrasion_times_tread_agree():
    # Consumer test of 50 summer tires, 2023: best 71,500 km at 34.8 mg/km a tonne, worst 23,100 km at 126: 2.49 and
    # 2.91 kg a tonne. With a 1.4 t car and 0.7 of the wear in front, 190 to 225 g a mm of a front tire, against 217
    # published (Lorenčič 2023: 1.3 kg over about 6 mm).
    for km, lost, kg in ((71_500, 34.8, 2.49), (23_100, 126, 2.91)):
        assert km * lost / 1e6 == pytest.approx(kg, abs=0.005)
        assert 190 <= grams_per_mm(km, lost) <= 225
    assert pytest.approx(217, abs=0.5) == 1300 / 6


def test_abrasion_of_the_published_lives_is_that_measured_of_cars():
    # 45,000 miles over 8/32 in at 217 g a mm: 76 mg/km a car; joint research centre 2024: 110.
    assert abrasion(math.log(8 * INCH / 72_420)) == pytest.approx(76, abs=0.5)
    low, high = ABRASION_RANGE
    for one in LIVES:
        assert low < abrasion(math.log(8 * INCH / one.life_km)) < high
    eu = next(one for one in LIVES if (one.region, one.season) == ("EU", ""))
    assert abrasion(math.log(8 * INCH / eu.life_km)) == pytest.approx(110, abs=0.5)


def test_kinds_of_tire_are_told_apart_and_a_kind_nobody_tested_is_doubted_no_more_than_all():
    us = life_of("US", "")
    assert math.exp(us[0]) == pytest.approx(72_420)
    assert life_of("", "") == us
    assert life_of("Atlantis", "") == us
    assert life_of("EU/Austria", "winter") == life_of("EU", "winter")
    assert math.exp(life_of("EU", "winter")[0]) == pytest.approx(27_300)
    # Between summer and winter tires in Europe, as all cars in the US; surer than neither (judgement, from memory).
    kinds = {kind: life_of("EU", kind) for kind in ("summer", "winter", "all_season")}
    middle = (kinds["summer"][0] + kinds["winter"][0]) / 2
    assert kinds["all_season"][0] == pytest.approx(middle, abs=1e-3)
    assert kinds["all_season"][1] > kinds["winter"][1]
    assert life_of("US", "all_season")[0] == us[0]
    assert life_of("US", "all_season")[1] > us[1]
    # A kind known elsewhere: its ratio there, with more doubt.
    carried, sd, _ = life_of("US", "winter")
    assert carried - us[0] == pytest.approx(life_of("EU", "winter")[0] - life_of("EU", "")[0])
    assert sd > life_of("EU", "winter")[1]


def test_the_american_all_season_life_is_as_unsure_as_a_makers_figure_is_away():
    # A car maker's 60,000 miles against 45,000: 0.288 in the log, to a twentieth 0.30.
    away = math.log(60_000 / 45_000)
    assert life_of("US", "all_season")[1] == pytest.approx(round(20 * away) / 20)


def test_a_winter_tire_in_europe_is_not_held_to_last_as_an_american_average():
    usual, _ = left()
    winter, answer = left(region="EU", season="winter")
    # 27,300 km over 72,420 km, both over 8/32 in; the depths are the same.
    assert np.median(winter / usual) == pytest.approx(27_300 / 72_420, rel=0.08)
    assert "195/65" in answer.assumptions.set_index("assumption").loc["walkin-prior", "about"]["life"]


def test_knowing_more_narrows_and_the_answer_says_by_how_much():
    from tirelife.driving import default_profile, profile_from_answers

    usual = default_profile()
    answered = profile_from_answers(usual.shares, 0.3, 1.8, 5)
    _, bare = left()
    _, told = left(profile=answered)
    assert math.isnan(bare.narrowed)
    wide, narrow = (a.forecast["km_left_p90"] / a.forecast["km_left_p10"] for a in (bare, told))
    assert (narrow < wide).all()
    assert told.narrowed == pytest.approx(1 - float((np.log(narrow)).mean() / np.log(wide).mean()), abs=1e-6)
    assert told.narrowed > 0.01
    _, measured = left(profile=replace(answered, source="trips", log_sd=0.2))
    assert measured.narrowed > told.narrowed
    _, worn = left(profile=answered, new_depth_mm=10 * INCH, distance_km=20_000, rotated=True)
    assert worn.narrowed > 0.3
    assert worn.assumptions.set_index("assumption").loc["walkin-width", "value"] == "walkin-is-narrower"


def test_capitals_do_not_matter_in_a_regions_name():
    # Typed "eu", a car was held to American lives.
    assert life_of("eu", "winter") == life_of("EU", "winter")
    assert life_of(" eu / austria", "") == life_of("EU/Austria", "") == life_of("EU", "")
    assert life_of("us", "") == life_of("", "") == life_of("Mars", "")


def test_lives_of_ones_own_come_before_ours(tmp_path, capsys):
    file = tmp_path / "lives.csv"
    file.write_text("region,season,life_km,log_sd,year,source\nEU,winter,40000,0.2,2026,our own log\n")
    rows = read_lives(file)
    assert math.exp(life_of("EU", "winter", rows)[0]) == pytest.approx(40_000)
    assert life_of("EU", "summer", rows) == life_of("EU", "summer")
    prior = replace(PUBLISHED, lives=tuple(astuple(one) for one in rows))
    mine, _ = left(region="EU", season="winter", prior=prior)
    ours, _ = left(region="EU", season="winter")
    assert np.median(mine / ours) == pytest.approx(40_000 / 27_300, rel=0.05)
    told = [
        "walkin",
        "--depths",
        "8",
        "8",
        "8",
        "8",
        "--region",
        "EU",
        "--season",
        "winter",
        "--lives",
        str(file),
    ]
    file.write_text(file.read_text().replace("0.2", "0.5"))  # less sure than of all cars: 0.25
    assert main(told) == 0
    said = capsys.readouterr().out
    assert "our own log" in said
    assert re.search(r"width of the ranges: \d\d% wider", said)
    file.write_text("region,season,life_km,log_sd,year,source\n,monsoon,40,0.2,2026,\n")
    with pytest.raises(InputError, match=r"(?s)row 2.*season.*region.*life_km"):
        read_lives(file)
    file.write_text("region,life_km\n")
    with pytest.raises(InputError, match="lacks season, log_sd, year, source"):
        read_lives(file)


def test_an_electric_car_is_heavier_than_its_like_and_wears_as_much_more(tmp_path):
    # 88 over 73 mg/km against a petrol car; 54 over 43 against a hybrid (2023): +20 and +26 %.
    import pandas as pd

    from tirelife.wear import stretch_severity, vehicle_table

    simulate(tmp_path, Fleet(4), seed=1)
    vehicles = pd.read_csv(tmp_path / "vehicles.csv")
    plain = stretch_severity(read_logbook(tmp_path))["severity"].mean()
    vehicles.assign(electric="yes").to_csv(tmp_path / "vehicles.csv", index=False)
    book = read_logbook(tmp_path)
    assert 1.15 <= stretch_severity(book)["severity"].mean() / plain <= 1.26
    assert "mass_kg" in vehicle_table(book)["assumed"].iloc[0]
    vehicles.assign(electric="yes", mass_kg=1500).to_csv(tmp_path / "vehicles.csv", index=False)
    # Of the same mass it differs by where its motor brakes alone.
    assert stretch_severity(read_logbook(tmp_path))["severity"].mean() == pytest.approx(plain, rel=0.02)


def test_a_fit_prints_its_abrasion_and_doubts_what_cannot_be():
    from tests.rates.made import frames
    from tirelife.rates import fit_rates
    from tirelife.rates.reporting import report

    fit = fit_rates(*frames(vehicles=12))
    assert "implied abrasion:" in report(fit)
    rate = fit.posterior.log_rate
    for factor in (0.05, 20.0):
        off = replace(fit.posterior, log_rate=replace(rate, mean=rate.mean + math.log(factor)))
        assert "DOUBTFUL" in report(replace(fit, posterior=off))
