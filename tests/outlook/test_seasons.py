"""Sets that take turns: the calendar by hand, and a log of two sets."""

import json
import re
import shutil
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tests.tread.books import write_book
from tirelife.advice import fleet_decisions
from tirelife.errors import InputError
from tirelife.logbook import read_logbook
from tirelife.outlook import forecast, forecast_fleet, present_state, project, set_outlook, stored
from tirelife.outlook.ahead import Course
from tirelife.outlook.stored import stored_state
from tirelife.rates import fit_logbook
from tirelife.rates.season import Season
from tirelife.rates.turns import (
    CHANGE_SD,
    YEAR,
    calendar_days,
    drift_years,
    sets_in_turn,
    shares_typed,
    told_shares,
    turn_columns,
)
from tirelife.tread import removal_depth

ROAD = ("LF", "RF", "LR", "RR")


def test_days_in_store_are_no_days_of_use():
    # On the car 150 days a year; off in 20 days. Day 100 of use: 20 now, 215.25 in store, then 80 more.
    assert calendar_days(np.array([100.0]), True, 20.0, 150.0, 1.0)[0] == pytest.approx(20 + 215.25 + 80)
    # In store today, on in 60 days, half as far again a day: 90 days of use are 60 days on the car.
    assert calendar_days(np.array([90.0]), False, 60.0, 150.0, 1.5)[0] == pytest.approx(120)
    assert calendar_days(np.array([0.0]), True, 20.0, 150.0, 1.0)[0] == 0
    long = calendar_days(np.array([1500.0]), False, 10.0, 150.0, 1.0)[0]
    assert long == pytest.approx(10 + 9 * YEAR + 150, abs=1)
    steps = calendar_days(np.linspace(0, 900, 50), True, 20.0, 150.0, 0.8)
    assert (np.diff(steps) > 0).all()


def log(folder, years=3, km=50.0, seed=0):
    """A car with summer and winter sets, changed on 15 April and 1 November, 50 km a day; read at each change."""
    rng = np.random.default_rng(seed)
    day, on = pd.Timestamp("2022-04-15"), "S"
    end = pd.Timestamp(f"{2022 + years}-07-01")
    depth, mounts, depths, odo = {}, [], [], {}
    run = 0.0
    wear = {p: 1.1e-4 if p[1] == "F" else 0.7e-4 for p in ROAD}
    while day < end:
        for p in ROAD:
            tire = f"{on}-{p}"
            depth.setdefault(tire, 8.0)
            mounts.append((day, run, "V1", tire, p))
        nxt = pd.Timestamp(f"{day.year}-11-01") if on == "S" else pd.Timestamp(f"{day.year + 1}-04-15")
        stop = min(nxt, end)
        far = (stop - day).days * km
        for p in ROAD:
            depth[f"{on}-{p}"] -= wear[p] * far
        run += far
        for p in ROAD:
            read = depth[f"{on}-{p}"] + rng.normal(0, 0.05)
            depths += [(stop, run, "V1", p, g, round(read, 2)) for g in ("outer", "center", "inner")]
        if stop == nxt:
            mounts += [(stop, run, "V1", f"{on}-{p}", "OFF") for p in ROAD]
        day, on = stop, "W" if on == "S" else "S"
    names = ["date", "odometer_km", "vehicle_id"]
    mounts = pd.DataFrame(mounts, columns=[*names, "tire_id", "position"])
    depths = pd.DataFrame(depths, columns=[*names, "position", "groove", "depth_mm"])
    tires = pd.DataFrame({"tire_id": mounts["tire_id"].unique(), "tire_line": "A", "new_depth_mm": 8.0})
    book = read_logbook(write_book(folder, depths, mounts=mounts, tires=tires))
    return book, depth, wear, odo


@pytest.fixture(scope="module")
def two_sets(tmp_path_factory):
    book, depth, wear, _ = log(tmp_path_factory.mktemp("sets") / "book")
    fit = fit_logbook(book)
    table = forecast(book, fit)
    return book, fit, table, depth, wear


def test_both_sets_are_followed_and_their_days_learned(two_sets):
    book = two_sets[0]
    sets = sets_in_turn(book)
    assert set(sets.loc[sets["on"], "tire_id"]) == {f"S-{p}" for p in ROAD}
    assert set(sets.loc[~sets["on"], "tire_id"]) == {f"W-{p}" for p in ROAD}
    winter = sets[~sets["on"]].iloc[0]
    assert winter["from_day"] == pytest.approx(305, abs=2)  # 1 November
    assert winter["to_day"] == pytest.approx(105, abs=2)  # 15 April
    assert winter["share"] == pytest.approx(165 / YEAR, abs=0.02)  # the same distance every day
    assert winter["next_change"] == pytest.approx(pd.Timestamp("2025-11-01"), abs=pd.Timedelta(days=3)) or (
        abs((winter["next_change"] - pd.Timestamp("2025-11-01")).days) <= 3
    )
    told = sets_in_turn(told_shares(book, {"V1": 0.7}))
    assert told[told["on"]]["share"].iloc[0] == pytest.approx(0.7)
    assert told[~told["on"]]["share"].iloc[0] == pytest.approx(0.3)


def test_the_set_in_store_has_its_own_distance_and_dates(two_sets):
    book, fit, found, depth, wear = two_sets
    assert found["position"].tolist() == [*ROAD, *["OFF"] * 4]
    stored = found[found["position"] == "OFF"].set_index("tire_id")
    truth = (depth["W-LF"] - 1.5875) / wear["LF"]
    got = stored.loc["W-LF"]
    assert got["km_left_p10"] < truth < got["km_left_p90"]
    # 50 km a day, on the car from 1 November to 15 April only.
    use = truth / 50.0
    day = book.as_of + pd.Timedelta(days=float(calendar_days(np.array([use]), False, 123.0, 165.0, 1.0)[0]))
    assert got["date_p10"] < day < got["date_p90"]
    on = found[found["position"] == "LF"].iloc[0]
    state = present_state(book, fit)
    plain = project(state.assign(turn_on=np.nan)).iloc[0]  # as if the set stayed on the car all year
    # The walk of its rate goes on with the other set on: the range is wider, its middle hardly moves.
    assert on["km_left_p50"] == pytest.approx(plain["km_left_p50"], rel=3e-3)
    assert on["km_left_p90"] - on["km_left_p10"] > plain["km_left_p90"] - plain["km_left_p10"]
    assert on["date_p50"] > plain["date_p50"] + pd.Timedelta(days=150)


def test_every_answer_lays_its_dates_to_the_seasons(two_sets, tmp_path):
    book, fit, found, *_ = two_sets
    first = set_outlook(present_state(book, fit)).query("group == 'set'").iloc[0]
    on = found[found["position"] != "OFF"]
    assert first["date_p50"] <= on["date_p50"].min()
    day = first["date_p50"]
    assert pd.Timestamp(f"{day.year}-04-05") < day < pd.Timestamp(f"{day.year}-11-10")  # on the car then
    done = forecast_fleet(book, fit, tmp_path / "parts")
    whole = pd.read_parquet(done.folder)
    assert whole["position"].tolist() == found["position"].tolist()
    assert whole["date_p50"].tolist() == found["date_p50"].tolist()


def test_age_goes_on_in_store(tmp_path):
    book, *_ = log(tmp_path / "old")
    tires = book.tires.assign(made_week="1516")
    book = replace(book, tables={**book.tables, "tires": tires})
    found = forecast(book, fit_logbook(book))
    stored = found[found["position"] == "OFF"]
    assert (stored["limited_by"] == "age").all()
    assert (stored["date_p90"] <= pd.Timestamp("2026-04-20")).all()


def test_a_car_with_one_set_is_as_it_was(tmp_path):
    book, *_ = log(tmp_path / "one", years=0)
    fit = fit_logbook(book)
    table = forecast(book, fit)
    assert sets_in_turn(book).empty
    assert (table["position"] != "OFF").all()
    assert present_state(book, fit)["turn_on"].isna().all()


def test_winter_depth_and_dates_are_data_with_a_source():
    # Austria: 4 mm from 1 November to 15 April; Sweden: 3 mm from 1 December to 31 March (see the table's sources).
    assert removal_depth("EU/Austria", on="2026-12-01").depth_mm == 4.0
    assert removal_depth("EU/Sweden", on="2027-01-10").depth_mm == 3.0
    assert removal_depth("EU/Sweden", on="2027-05-10").depth_mm == 1.6
    assert removal_depth("EU/Austria", on="2026-12-01").source


def test_the_command_shows_both_sets_and_the_next_change(two_sets, capsys):
    from tirelife.cli import main

    folder = str(two_sets[0].source)
    assert main(["forecast", folder, "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["tires"]
    assert [row["position"] for row in rows].count("OFF") == 4
    stored = [row for row in rows if row["position"] == "OFF"]
    assert all("in-store" in row["codes"] for row in stored)
    said = [re.search(r"goes on again about \d+ (October|November|December) 2025", r["note"]) for r in stored]
    assert all(said)
    assert main(["forecast", folder, "--json", "--set-share", "V1=0.9"]) == 0
    more = json.loads(capsys.readouterr().out)["tires"]
    sooner, plain = (next(r["date_p50"] for r in t if r["position"] == "LF") for t in (more, rows))
    assert sooner < plain
    assert main(["forecast", folder, "--set-share", "V1=2"]) == 2
    assert "--set-share V1=2" in capsys.readouterr().err
    assert main(["forecast", folder, "--set-share", "V9=0.5"]) == 2
    assert "no sets of V9 take turns" in capsys.readouterr().err


def test_a_set_runs_its_own_half_of_the_fits_cycle_of_the_year(two_sets):
    # Wear 10 % over the year's mean at New Year: a set of the winter days has the mean of the cosine over them.
    book = two_sets[0]
    fit = fit_logbook(book)
    cycle = replace(fit, frames={**fit.frames, "season": Season(0.1, 0.0, 0.0, 0.0).frame})
    for state, on in ((present_state, "S"), (stored_state, "W")):
        more, plain = (state(book, f).set_index("tire_id")["here"] for f in (cycle, fit))
        days = np.arange(106, 306) if on == "S" else np.r_[np.arange(306, 366), np.arange(1, 106)]
        want = 1 + 0.1 * np.cos(2 * np.pi * days / YEAR).mean()
        assert (more / plain).to_numpy() == pytest.approx(want, abs=0.003)
        assert abs(want - 1) > 0.05


def test_a_winter_set_in_store_is_held_to_the_depth_of_its_winter(two_sets, tmp_path, capsys):
    # Austria: 4 mm from 1 November to 15 April, else 1.6 mm (the table's sources); asked in July.
    from tirelife.cli import main

    def rows(*words, folder=str(two_sets[0].source)):
        assert main(["forecast", folder, "--json", *words]) == 0
        answer = json.loads(capsys.readouterr().out)
        return {row["tire_id"]: row for row in answer["tires"]}, answer

    plain, austria = rows()[0], rows("--place", "EU/Austria")[0]
    deep = rows("--removal-depth", "4mm")[0]
    for p in ROAD:
        assert austria[f"W-{p}"]["km_left_p50"] == pytest.approx(deep[f"W-{p}"]["km_left_p50"], rel=1e-6)
        assert austria[f"S-{p}"]["km_left_p50"] > deep[f"S-{p}"]["km_left_p50"] + 1000
        assert plain[f"W-{p}"]["km_left_p50"] > austria[f"W-{p}"]["km_left_p50"] + 1000
    # The text says which depth, or asks for the place; a logbook of one region that has a winter depth names it.
    assert main(["forecast", str(two_sets[0].source), "--place", "EU/Austria"]) == 0
    assert "winter sets in store are held to 4 mm" in re.sub(r"\s+", " ", capsys.readouterr().out)
    assert main(["forecast", str(two_sets[0].source)]) == 0
    assert "--place NAME applies its winter depth" in re.sub(r"\s+", " ", capsys.readouterr().out)
    own = shutil.copytree(two_sets[0].source, tmp_path / "own")
    vehicles = pd.read_csv(own / "vehicles.csv").assign(region="EU/Austria")
    vehicles.to_csv(own / "vehicles.csv", index=False)
    of_region = rows(folder=str(own))[0]["W-LF"]["km_left_p50"]  # fitted from that region's published lives
    assert of_region == pytest.approx(austria["W-LF"]["km_left_p50"], rel=0.02)


def test_a_told_share_reaches_every_answer(two_sets):
    book = two_sets[0]
    fit = fit_logbook(book)
    told = told_shares(book, {"V1": 0.9})  # on the summer set, which is on the car in July
    sets = sets_in_turn(told).set_index("tire_id")
    assert sets.loc["S-LF", "share"] == pytest.approx(0.9)
    assert sets.loc["W-LF", "share"] == pytest.approx(0.1)
    assert sets["told"].all()
    assert not sets_in_turn(book)["told"].any()
    for state in (present_state, stored_state):
        more, plain = (state(b, fit).set_index("position")["turn_pace"] for b in (told, book))
        assert ((more > plain) == (state is present_state)).all()
    facts = [fleet_decisions(b, fit).facts["V1"].tires["LF"].date_p50 for b in (told, book)]
    assert facts[0] < facts[1] - pd.Timedelta(days=60)
    # The logbook's own column is of the winter set, whichever is on today.
    vehicles = book.vehicles.assign(winter_share=0.1)
    own = replace(book, tables={**book.tables, "vehicles": vehicles})
    assert sets_in_turn(own).set_index("tire_id")["share"].to_dict() == pytest.approx(sets["share"].to_dict())


def test_the_set_in_store_is_worked_out_once_for_all_pages(two_sets, monkeypatch):
    book = replace(two_sets[0])
    fit, calls = fit_logbook(book), []
    swapped = stored._swapped
    monkeypatch.setattr(stored, "_swapped", lambda *args: calls.append(1) or swapped(*args))
    first, again = (stored_state(book, fit, 1.6) for _ in range(2))
    assert len(calls) == 1
    pd.testing.assert_frame_equal(first, again)
    first["km_per_day"] = 0.0
    assert (stored_state(book, fit, 1.6)["km_per_day"] > 0).all()


def test_the_rate_walks_on_while_a_set_is_off(two_sets):
    book, fit, *_ = two_sets
    state = pd.concat([present_state(book, fit), stored_state(book, fit)], ignore_index=True)
    course = Course(state)
    share = (state["turn_pace"] * state["turn_mounted"] / YEAR).to_numpy()
    assert share[0] + share[4] == pytest.approx(1)
    # The vehicle's part goes on over all that the vehicle runs, a tire's own over what the tire runs.
    assert course.get["set_share"][:, 0] == pytest.approx(share, rel=1e-5)
    away = course.get["set_away"][:, 0]
    days = (book.as_of - pd.Timestamp("2025-04-15")).days  # since the winter set came off, at 50 km a day
    assert away[4] == pytest.approx(days * 50.0 * state["here"].iloc[4], rel=0.05)
    assert away[0] < 0.1 * away[4]
    plain = Course(state.drop(columns=["turn_sd", "turn_pace_sd"]))
    wide, narrow = (np.ptp(np.quantile(c.stays()[0], [0.1, 0.9], axis=1), axis=0) for c in (course, plain))
    assert (wide > narrow).all()


def test_the_day_of_the_change_and_the_share_are_drawn(two_sets):
    book, fit, *_ = two_sets
    state = stored_state(book, fit)
    # Both days of each year as recorded never differ: what is left is our usual spread, for a few changes.
    usual = CHANGE_SD * np.sqrt(4 / (4 + 2 + 1)) * np.sqrt(1 + 1 / 2)
    assert state["turn_sd"].iloc[0] == pytest.approx(usual, rel=0.15)
    known = Course(state.assign(turn_sd=0.0, turn_pace_sd=0.0))
    drawn = Course(state)
    km_far = np.full(
        (4, 512), 5000.0, dtype=np.float32
    )  # all of it run after the change: by next winter's pace
    still = {"turn_sd": 0.0, "turn_pace_sd": 0.0, "log_sd": 0.0, "year_log_sd": 0.0, "drift_log_sd": 0.1}
    days = Course(state.assign(**still)).days(km_far) - state["turn_first"].to_numpy()[:, None]
    use = 5000.0 / (state["km_per_day"] * state["turn_pace"]).to_numpy()
    waited = drift_years(use, False, state["turn_first"], state["turn_mounted"], 1.0)
    assert np.log(days).std(axis=1) == pytest.approx(0.1 * np.sqrt(waited), rel=0.03)
    km = np.full((4, 512), 1.0, dtype=np.float32)  # no day of use: its day is the day of the change
    assert np.ptp(known.days(km), axis=1).max() < 1
    assert drawn.days(km).std(axis=1) == pytest.approx(state["turn_sd"].to_numpy(), rel=0.02)
    told = told_shares(book, {"V1": 0.7})
    assert (turn_columns(told, state["tire_id"])["turn_pace_sd"] == 0).all()
    assert (state["turn_pace_sd"] > 0).all()


CHANGES = (4, 15), (11, 1)
"""Summer tires from 15 April, winter tires from 1 November."""


def summer_on(day):
    return CHANGES[0] <= (day.month, day.day) < CHANGES[1]


def counted_days(km, a_day, as_of, summer):
    """The day on which a set has gone so far, counted day by day: those of the other set go by unused."""
    day = as_of
    while km > 0:
        km -= a_day if summer_on(day) == summer else 0.0
        day += pd.Timedelta(days=1)
    return day


def use_between(one, other, summer):
    """Days on which the set is on the car between two dates."""
    days = pd.date_range(min(one, other), max(one, other), inclusive="left")
    return sum(summer_on(day) == summer for day in days)


@pytest.fixture(scope="module")
def twelve_cars(tmp_path_factory):
    """12 cars with summer and winter sets, 12,000 miles a year, from April 2023 to 10 July 2025; true depths, wear."""
    rng, a_day = np.random.default_rng(17), 12_000 * 1.609344 / 365.25
    mounts, depths, depth, wear = [], [], {}, {}
    end = pd.Timestamp("2025-07-10")
    days = [pd.Timestamp(year, *at) for year in (2023, 2024, 2025) for at in CHANGES]
    days = [day for day in days if day < end]
    for car in range(12):
        name, run = f"C{car:02d}", 8_000.0
        for day, stop in zip(days, [*days[1:], end], strict=True):
            on = "S" if summer_on(day) else "W"
            far = a_day * (stop - day).days
            for p in ROAD:
                tire = f"{name}-{on}-{p}"
                mounts.append((day, run, name, tire, p))
                depth.setdefault(tire, 8.0)
                wear[tire] = 1.1e-4 if p[1] == "F" else 0.75e-4
                depth[tire] -= wear[tire] * far
                read = depth[tire] + rng.normal(0, 0.05)
                depths += [
                    (stop, run + far, name, p, g, round(read, 2)) for g in ("outer", "center", "inner")
                ]
                if stop < end:
                    mounts.append((stop, run + far, name, tire, "OFF"))
            run += far
    head = ["date", "odometer_km", "vehicle_id"]
    mounts = pd.DataFrame(mounts, columns=[*head, "tire_id", "position"])
    depths = pd.DataFrame(depths, columns=[*head, "position", "groove", "depth_mm"])
    tires = pd.DataFrame({"tire_id": mounts["tire_id"].unique(), "new_depth_mm": 8.0})
    tires["tire_line"] = np.where(tires["tire_id"].str.contains("-S-"), "Summer", "Winter")
    folder = tmp_path_factory.mktemp("twelve") / "book"
    cars = pd.DataFrame({"vehicle_id": sorted(set(mounts["vehicle_id"])), "drive": "front"})
    cars = cars.assign(placard_front_kpa=230, placard_rear_kpa=220)
    book = read_logbook(write_book(folder, depths, mounts=mounts, tires=tires, vehicles=cars))
    return book, forecast(book), depth, wear, a_day


def test_a_summer_rear_tire_is_due_by_days_on_the_car_and_the_set_in_store_has_an_answer(twelve_cars):
    book, found, depth, wear, a_day = twelve_cars
    assert len(found) == 12 * 8
    assert found["km_left_p50"].notna().all()
    assert found["date_p50"].notna().all()
    assert found["position"].value_counts().to_dict() == {"OFF": 48, "LF": 12, "RF": 12, "LR": 12, "RR": 12}
    for row in found.itertuples():
        summer = "-S-" in row.tire_id
        assert (row.position == "OFF") == (not summer)
        left = (depth[row.tire_id] - 1.5875) / wear[row.tire_id]
        assert row.km_left_p10 < left < row.km_left_p90
        assert row.km_left_p50 == pytest.approx(left, rel=0.08)
        if row.limited_by == "age":
            continue
        # By its own distance, counted day by day; 3 weeks of use for the change-overs and the pace.
        due = counted_days(row.km_left_p50, a_day, book.as_of, summer)
        assert use_between(row.date_p50, due, summer) <= 21
    rear = found[found["position"].isin(["LR", "RR"])]
    # Rear tires last some 45,000 km: 2.3 years if they stayed on, and over 4 by summers alone.
    all_year = book.as_of + pd.to_timedelta(rear["km_left_p50"] / a_day, unit="D")
    assert (rear["date_p50"] - all_year > pd.Timedelta(days=500)).all()


def stepped(row, axle, rng, draws=20_000):
    """Distance of a tire until it is down [km], its car's rate and its own walking step by step of 400 km of the car,
    by variances that are drawn."""
    share = row.turn_pace * row.turn_mounted / YEAR
    power = row.here * np.exp(axle / 2 if row.position[1] == "F" else -axle / 2)
    of_car = row.walk_share * np.exp(2 * row.walk_log_sd * rng.normal(size=draws))
    own = (1 - row.walk_share) * np.exp(2 * row.wander_log_sd * rng.normal(size=draws))
    wander = row.at_wander_per_km * np.exp(-row.at_side * axle)
    rate, depth, km = np.zeros(draws), np.full(draws, row.at_depth), np.zeros(draws)
    level = np.exp(row.at_log_wear - row.at_side * axle)
    while (depth > row.limit_mm).mean() > 0.02:
        run = 400.0 * share * power
        rate += rng.normal(size=draws) * np.sqrt(wander * (of_car * run / share + own * run))
        lost = level * np.exp(rate) * run
        part = np.clip((depth - row.limit_mm) / lost, 0, 1)
        km += np.where(depth > row.limit_mm, part * 400.0 * share, 0.0)
        depth -= lost
    return km


def test_how_far_rates_walk_is_drawn_too(two_sets):
    # Nothing but the walk is in doubt; the quantiles of 512 draws against a car stepped 20,000 times.
    book, fit, *_ = two_sets
    state = pd.concat([present_state(book, fit), stored_state(book, fit)], ignore_index=True)
    assert (state["walk_log_sd"] > 0.3).all()
    none = [name for name in state if name.startswith("at_cov_")]
    none += [
        "at_scatter_km",
        "limit_sd_mm",
        "bend_log_sd",
        "unread_km",
        "since_front_km",
        "since_rear_km",
        "at_q",
    ]
    state = state.assign(**dict.fromkeys(none, 0.0), as_of=state["last_date"])
    levels = np.array([0.1, 0.5, 0.9])
    drawn = np.quantile(Course(state).stays()[0], levels, axis=1).T
    known = np.quantile(Course(state.assign(walk_log_sd=0.0, wander_log_sd=0.0)).stays()[0], levels, axis=1).T
    for i in (0, 2, 4, 6):  # a front and a rear tire of either set
        row = state.iloc[i]
        want = np.quantile(stepped(row, row.at_axle, np.random.default_rng(i)), levels)
        assert np.log(drawn[i] / want) == pytest.approx(np.zeros(3), abs=0.1 * np.log(want[2] / want[0]))
        assert np.log(drawn[i, 2] / drawn[i, 0]) > 1.1 * np.log(known[i, 2] / known[i, 0])


@pytest.mark.parametrize("on", [True, False])
@pytest.mark.parametrize(("use", "first", "mounted", "pace"), [
    (91, 40, 182, 1.0), (300, 40, 200, 1.0), (500, 150, 160, 1.2), (900, 10, 180, 1.0), (20, 60, 150, 0.8),
])  # fmt: skip
def test_the_pace_drifts_on_while_a_set_is_off(on, use, first, mounted, pace):
    # A walk's covariance at two moments is the earlier one: its mean over each half day on the car, pair by pair.
    moment = np.arange(0, 10 * YEAR, 0.5) + 0.25
    since = (moment - first) % YEAR
    here = (moment < first) | (since >= YEAR - mounted) if on else (moment >= first) & (since < mounted)
    used = moment[here][: round(use / pace / 0.5)] / YEAR
    want = np.minimum(used[:, None], used).mean()
    assert drift_years(use, on, first, mounted, pace) == pytest.approx(want, rel=0.01)


def test_shares_are_typed_by_vehicle_the_last_word_counting():
    assert shares_typed(["V1=0.6", "A=B=0.25", "V1=0.7"]) == {"V1": 0.7, "A=B": 0.25}


@pytest.mark.parametrize("text", ["V1", "V1=", "V1=0", "V1=1", "V1=2", "V1=x", "=0.5", "V1=nan"])
def test_what_is_no_share_is_refused(text):
    with pytest.raises(InputError, match="write VEHICLE=SHARE"):
        shares_typed([text])
