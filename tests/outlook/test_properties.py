"""Properties that must hold of any admissible logbook."""

import shutil
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fleets import Fleet, simulate
from tests.outlook.folders import one_car
from tirelife.logbook import read_logbook
from tirelife.outlook import NoteCode, codes_of, forecast
from tirelife.rates import fit_logbook

QUIET = settings(
    max_examples=6, deadline=None, derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip
KM = [f"km_left_p{p}" for p in (10, 25, 50, 75, 90)]
DATES = [f"date_p{p}" for p in (10, 25, 50, 75, 90)]


def answer(folder, **more):
    book = read_logbook(folder)
    return forecast(book, fit_logbook(book), **more)


def sane(table):
    km = table[KM].to_numpy()
    known = np.isfinite(km).all(axis=1)
    assert (known | (table["notes"].map(len) > 0)).all()
    assert (km[known] >= 0).all()
    assert (np.diff(km[known], axis=1) >= 0).all()
    days = table.loc[known, DATES]
    told = pd.Series([NoteCode.FAR_AHEAD in codes_of(notes) for notes in table["notes"]], table.index)
    assert (days.notna().all(axis=1) | told.loc[known]).all()
    for low, high in pairwise(DATES):
        both = days[low].notna() & days[high].notna()
        assert (days.loc[both, low] <= days.loc[both, high]).all()


def metric(folder, out):
    """The same logbook in mm and km, to the last digit."""
    out.mkdir(exist_ok=True)
    for file in folder.glob("*.csv"):
        table = pd.read_csv(file)
        for name in list(table.columns):
            for unit, other, factor in (("_mi", "_km", 1.609344), ("_32nds", "_mm", 25.4 / 32)):
                if name.endswith(unit):
                    table[name.removesuffix(unit) + other] = table.pop(name) * factor
            if name.endswith("_psi"):
                table[name.removesuffix("_psi") + "_kpa"] = table.pop(name) * 6.894757293168363
        table.to_csv(out / file.name, index=False, float_format="%.17g")
    return out


@QUIET
@given(seed=st.integers(0, 10**6), q=st.sampled_from([0.0, 0.6]), rotation=st.sampled_from([None, "x"]))
def test_us_and_metric_logbooks_give_the_same_answer(tmp_path, seed, q, rotation):
    folder = tmp_path / str(seed)
    simulate(folder, Fleet(vehicles=4, days=500, q=q, rotation=rotation), seed)
    a, b = answer(folder), answer(metric(folder, tmp_path / f"{seed}m"))
    np.testing.assert_allclose(a[KM].to_numpy(), b[KM].to_numpy(), rtol=1e-9, atol=1e-6)
    np.testing.assert_allclose(a["depth_now_mm"], b["depth_now_mm"], rtol=1e-9)
    assert a[DATES].equals(b[DATES])
    assert a["notes"].map(codes_of).tolist() == b["notes"].map(codes_of).tolist()


@QUIET
@given(seed=st.integers(0, 10**6))
def test_the_order_of_rows_does_not_matter(tmp_path, seed):
    folder = tmp_path / str(seed)
    simulate(folder, Fleet(vehicles=4, days=500), seed)
    first = answer(folder)
    for file in folder.glob("*.csv"):
        if file.name != "mounts.csv":  # moves of one day are read in their order
            pd.read_csv(file, dtype=str).sample(frac=1, random_state=seed % 1000).to_csv(file, index=False)
    again = answer(folder)
    assert first["tire_id"].tolist() == again["tire_id"].tolist()
    np.testing.assert_allclose(first[KM].to_numpy(), again[KM].to_numpy(), rtol=1e-7, atol=1e-3)


@QUIET
@given(deep=st.floats(3.0, 8.0), less=st.floats(0.1, 2.5))
def test_less_tread_never_lasts_longer(tmp_path, deep, less):
    path = tmp_path / f"{deep}{less}"
    left = []
    for depth in (deep, deep - less):
        visits = [("2025-01-01", 22_000, round((10 + depth) / 2, 2)), ("2026-01-01", 34_000, round(depth, 2))]
        left.append(answer(one_car(path, visits))[KM].to_numpy())
    assert (left[1] <= left[0] + 1e-6).all()


@QUIET
@given(miles=st.floats(16_000, 40_000), more=st.floats(1.1, 3.0))
@pytest.mark.long
def test_faster_wear_never_lasts_longer(tmp_path, miles, more):
    # Four 32nds lost in far fewer miles fit no plausible rate: then a start that was part-worn is as likely.
    path = tmp_path / f"{miles}{more}"
    left = []
    for run in (miles * more, miles):  # the same tread in fewer miles
        left.append(answer(one_car(path, [("2026-01-01", round(10_000 + run), 6.0)]))[KM].to_numpy())
    assert (left[1] <= left[0] + 1e-6).all()


def test_more_readings_of_the_same_story_narrow_the_range(tmp_path):
    dates = pd.date_range("2024-03-01", periods=12, freq="60D")
    widths = []
    for count in (1, 3, 6, 12):
        visits = [
            (str(d.date()), 10_000 + 2000 * (i + 1), round(10 - 0.35 * (i + 1), 2))
            for i, d in enumerate(dates)
        ]
        table = answer(one_car(tmp_path / str(count), visits[-count:]))
        widths.append(float((table["km_left_p90"] / table["km_left_p10"]).iloc[0]))
    assert np.log(widths[-1]) < 0.7 * np.log(widths[0])
    assert all(b < 1.2 * a for a, b in pairwise(widths))


@pytest.mark.parametrize(
    "visits",
    [
        [("2024-01-02", 10_001, 10.0)],
        [("2025-01-01", 630_000, 5.0)],
        [("2024-06-01", 15_000, 8.0), ("2024-12-01", 20_000, 8.0), ("2025-06-01", 25_000, 8.0)],
        [("2024-06-01", 15_000, 7.0), ("2024-12-01", 20_000, 7.5), ("2025-06-01", 25_000, 8.0)],
        [("2024-06-01", 15_000, 0.0)],
        [("2024-06-01", 10_000, 10.0), ("2025-06-01", 10_000, 10.0)],
        [(str(d.date()), 10_000 + 300 * i, 9.5 - i // 9 / 2) for i, d in enumerate(pd.date_range("2024-01-08", periods=60, freq="7D"))],
        [("2024-01-08", 10_300, 2.1), ("2024-02-08", 10_600, 2.0)],
        [],
    ],
    ids=["1 mile", "10^6 km", "all equal", "growing", "bare", "parked", "weekly", "gone in days", "never read"],
)  # fmt: skip
def test_extreme_but_legal_logbooks_are_answered(tmp_path, visits):
    table = answer(one_car(tmp_path, visits))
    assert len(table) == 4
    sane(table)


@QUIET
@given(
    seed=st.integers(0, 10**6), visits=st.sampled_from([None, 1, 2]), known=st.booleans(),
    rotation=st.sampled_from([None, "forward_cross"]), step=st.sampled_from([0.1, 1.0]),
)  # fmt: skip
def test_any_small_fleet_is_answered_and_says_why_where_it_is_not(
    tmp_path, seed, visits, known, rotation, step
):
    folder = tmp_path / str(seed)
    shutil.rmtree(folder, ignore_errors=True)
    fleet = Fleet(
        vehicles=3, days=420, visits=visits, known_new_depth=known, rotation=rotation, step_32nds=step
    )
    simulate(folder, fleet, seed)
    table = answer(folder)
    assert len(table) == 12
    sane(table)
