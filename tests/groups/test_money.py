import numpy as np
import pandas as pd
import pytest

from tests.groups.simulate import Groups, rates
from tirelife.errors import InputError
from tirelife.groups import (
    Costs,
    break_even,
    compare_groups,
    compare_rates,
    comparison_tables,
    cost_per_1000km,
    cost_table,
    savings,
)
from tirelife.groups.advice import Basis, Remark
from tirelife.logbook import read_logbook
from tirelife.sheet.group_tables import worth_words

MILE, INCH_32ND = 1.609344, 25.4 / 32


@pytest.fixture(scope="module")
def tires():
    out = rates(np.random.default_rng(3), Groups(effects=(0.0, 0.15)))
    out["new_depth_mm"] = out["tire_line"].map({"Line A": 8.0, "Line B": 8.0, "Line C": 9.0})
    out["price"] = out["tire_line"].map({"Line A": 120.0, "Line B": 130.0, "Line C": 150.0})
    return out


@pytest.fixture(scope="module")
def groups(tires):
    return compare_rates(tires, "driver_group")


@pytest.fixture(scope="module")
def demo():
    book = read_logbook("data_synthetic/logbook")
    out = compare_groups(book)
    return book, out, savings(book, out, Costs(fitting=20, rotation=25))


def test_hand_worked_cost():
    # By hand: 11/32 in new, taken off at 2/32 in, so 9/32 in at 0.18/32 in per 1,000 miles: 50,000 miles. Four tires at
    # 141 and 20 for fitting: 644 / 50 = 12.88 per 1,000 miles. A rotation at 25 every 5,000 miles: 5.00. Together 17.88.
    life_km = 9 / 0.18 * 1000 * MILE
    each = cost_per_1000km(life_km, 141, Costs(fitting=20, rotation=25, rotation_km=5000 * MILE)) * MILE
    assert each == pytest.approx(17.88, abs=1e-9)


def test_published_life_and_price_give_the_published_order_of_cost():
    # NHTSA FMVSS 138 analysis: life 45,000 miles, tire 61 dollars (2001): 4 x 61 / 45 = 5.42 dollars per 1,000 miles
    # (facts/standards-and-trade.md 3.1).
    assert cost_per_1000km(45_000 * MILE, 61, Costs()) * MILE == pytest.approx(5.4222, abs=1e-4)


def test_costs_by_group_and_line_follow_life_and_price(groups, tires):
    costs = Costs(fitting=20, rotation=25, rotation_km=8000)
    out = cost_table(groups, costs, removal_mm=1.6).set_index(["group", "tire_line"])
    assert len(out) == 6
    for (group, line), row in out.iterrows():
        assert row["cost_per_1000km"] == pytest.approx(
            1000 * (4 * (row["price"] + 20) / row["life_km"] + 25 / 8000)
        )
        assert row["cost_lower_per_1000km"] < row["cost_per_1000km"] < row["cost_upper_per_1000km"]
        assert row["life_lower_km"] < row["life_km"] < row["life_upper_km"]
        assert row["tires"] == ((tires["driver_group"] == group) & (tires["tire_line"] == line)).sum()
    pair = groups.pairs.iloc[0]
    for line in ("Line A", "Line B", "Line C"):
        life = out.loc[("B", line), "life_km"] / out.loc[("A", line), "life_km"]
        assert life == pytest.approx(pair["ratio"], rel=1e-6)  # A over B in wear is B over A in life


def test_lines_differ_as_the_comparison_of_lines_says(tires, groups):
    out = cost_table(groups, Costs(), removal_mm=1.6).set_index(["group", "tire_line"])
    lines = compare_rates(tires, "tire_line").pairs.set_index(["group", "other"])
    wear = lines.loc[("Line A", "Line C"), "ratio"]
    life = out.loc[("A", "Line C"), "life_km"] / out.loc[("A", "Line A"), "life_km"]
    assert life == pytest.approx(wear * (9.0 - 1.6) / (8.0 - 1.6), rel=1e-6)


def test_weighted_over_lines_a_groups_rate_is_the_comparisons(groups, tires):
    out = cost_table(groups, Costs(), removal_mm=1.6).set_index(["group", "tire_line"])
    mix = tires["tire_line"].value_counts(normalize=True)
    room = {"Line A": 6.4, "Line B": 6.4, "Line C": 7.4}
    log = sum(mix[k] * np.log(1000 * room[k] / out.loc[("A", k), "life_km"]) for k in mix.index)
    assert np.exp(log) == pytest.approx(
        groups.groups.set_index("group").loc["A", "rate_mm_per_1000km"], rel=1e-6
    )


def test_prices_named_win_over_the_logbooks(groups):
    out = cost_table(groups, Costs(price={"Line A": 999.0})).set_index(["group", "tire_line"])
    assert out.loc[("A", "Line A"), "price"] == 999.0
    assert out.loc[("A", "Line B"), "price"] == 130.0


def test_unknown_price_is_said(tires):
    out = cost_table(compare_rates(tires.drop(columns="price"), "driver_group"), Costs())
    assert out["cost_per_1000km"].isna().all()
    assert (out["note"] == Remark.NO_PRICE).all()
    assert out["life_km"].notna().all()


def test_break_even_by_hand(tires):
    lines = compare_rates(tires, "tire_line")
    out = break_even(lines, Costs(fitting=20), removal_mm=1.6).set_index(["tire_line", "other"])
    row = out.loc[("Line C", "Line A")]
    # wear of C over A, and 6.4 mm of A against 7.4 mm of C
    ratio = lines.pairs.set_index(["group", "other"]).loc[("Line A", "Line C"), "ratio"]
    life = 1 / ratio * 6.4 / 7.4
    assert row["life_ratio"] == pytest.approx(life)
    assert row["break_even_price"] == pytest.approx((150 + 20) * life - 20)
    # at that price both cost the same by distance
    there = cost_per_1000km(50_000 * life, row["break_even_price"], Costs(fitting=20))
    assert there == pytest.approx(cost_per_1000km(50_000, 150.0, Costs(fitting=20)))
    back = out.loc[("Line A", "Line C")]
    assert back["life_ratio"] * row["life_ratio"] == pytest.approx(1.0)
    assert any(
        "Line A costs as much by distance as Line C at" in one for one in worth_words(out.reset_index())
    )


def test_savings_are_distance_times_cost_times_the_wear_saved(demo):
    _, out, saved = demo
    table = cost_table(out, Costs(fitting=20, rotation=25))
    for row in saved.to_dict("records"):
        mine = table[(table["group"] == row["group"]) & (table["tires"] > 0)]
        each = np.average(mine["cost_per_1000km"] - 1000 * 25 / 8000, weights=mine["tires"])
        want = row["km_a_year"] / 1000 * each * (1 - row["wear_ratio"])
        assert row["saved_a_year"] == pytest.approx(want)
        assert row["lower"] <= row["saved_a_year"] <= row["upper"]
        assert row["wear_ratio"] < 1
    assert set(saved["basis"]) == set(Basis)


def test_distance_a_year_is_that_of_all_the_groups_cars():
    book = read_logbook("data_synthetic/logbook")
    out = (
        savings(book, compare_groups(book), Costs()).drop_duplicates("group").set_index("group")["km_a_year"]
    )
    read = book.odometer.groupby("vehicle_id").agg(["min", "max"])
    days = (read["date"]["max"] - read["date"]["min"]).dt.days
    each = 365.25 * (read["odometer_km"]["max"] - read["odometer_km"]["min"]) / days
    group = book.vehicles.set_index("vehicle_id")["driver_group"]
    for name, km in out.items():
        assert km == pytest.approx(each[group == name].sum(), rel=0.1)


def test_savings_of_tire_lines_are_refused(demo):
    book = demo[0]
    with pytest.raises(InputError, match="savings are for groups of vehicles, not for tire_line"):
        savings(book, compare_groups(book, by="tire_line"), Costs())


@pytest.mark.parametrize("words", [{"fitting": -1}, {"rotation_km": 0}, {"price": {"a": float("nan")}}])
def test_costs_that_cannot_be_are_refused(words):
    with pytest.raises(InputError, match="costs must be 0 or more"):
        Costs(**words)


def test_small_groups_are_not_priced(tires):
    few = tires.copy()
    few.loc[few["vehicle_id"].isin(["V00"]), "driver_group"] = "one"
    assert "one" not in cost_table(compare_rates(few, "driver_group"), Costs())["group"].tolist()
    assert isinstance(few, pd.DataFrame)


def test_tables_of_a_comparison_hold_costs_only_where_a_price_is_known(groups, tires):
    priced = comparison_tables(None, compare_rates(tires, "tire_line"), Costs())
    assert set(priced) == {"groups", "pairs", "why", "checks", "costs", "break_even"}
    free = comparison_tables(None, compare_rates(tires.drop(columns="price"), "driver_group"), Costs())
    assert set(free) == {"groups", "pairs", "why", "checks"}
    behind = groups.groups.set_index("group")
    for row in free["pairs"].to_dict("records"):
        for side in ("group", "other"):
            for name in ("tires", "vehicles", "distance_km"):
                assert row[f"{side}_{name}"] == behind.loc[row[side], name]
