"""Words and tables of a comparison of groups, in each language: cells by hand."""

from string import Formatter
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tirelife.groups.advice import Advice, Apart, Basis, Change, Remark, Told, Worth
from tirelife.language import LANGUAGES
from tirelife.sheet.group_tables import (
    budget_table,
    cost_table,
    group_table,
    group_texts,
    pair_table,
    pair_words,
    saving_table,
    trial_table,
    why_table,
    worth_words,
)


def fields(text):
    return {name for _, name, _, _ in Formatter().parse(text) if name}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_code_of_groups_has_words_with_the_same_arguments(language):
    say, english = group_texts(language), group_texts()
    for kind in (Told, Apart, Worth, Remark, Change, Basis):
        assert {code.value for code in kind} <= set(say)
    names = {f"check-{code.value}" for code in Advice}
    assert set(say) - names == set(english) - names
    assert language == "en" or names <= set(say)
    for code in english:
        assert fields(say[code]) == fields(english[code]), code
        assert say[code].strip()


NAN = np.nan


def pair(**changes):
    return {
        "group": "A", "other": "B", "ratio": 1.25, "lower": 1.1, "upper": 1.42, "family_lower": 1.05, "family_upper": 1.5,
        "raw_ratio": 1.333, "detectable_ratio": 1.12, "power": 0.8, "told_apart": True, "code": "pair-faster", "reasons": "",
    } | changes  # fmt: skip


def compared(**frames):
    base = {"level": 0.95, "groups": pd.DataFrame(), "pairs": pd.DataFrame([pair()]), "why": pd.DataFrame()}
    return SimpleNamespace(**base | frames)


def test_a_pair_is_said_with_its_ranges_at_once_and_what_stands_against_it():
    said = pair_words(
        pd.DataFrame(
            [
                pair(),
                pair(code="pair-slower", ratio=0.75, family_lower=0.6, family_upper=0.9),
                pair(reasons="apart-one-car; apart-own=site"),
                pair(code="pair-none-shown", ratio=1.02, family_lower=0.9),
                pair(code="pair-not-apart", reasons="apart-own=colour"),
            ]
        )
    )
    assert said[0] == "A wears tires 25% faster than B (range +5% to +50%)."
    assert said[1] == "A wears tires 25% slower than B (range -40% to -10%)."
    assert said[2] == (
        "A wears tires 25% faster than B (range +5% to +50%), but this need not be the group itself: a group of one car "
        "is that car and each has its own site."
    )
    assert said[3].startswith(
        "No difference shown between A and B (range -10% to +50%). These data would have shown a "
    )
    assert "difference of 12% or more 80% of the time" in said[3]
    assert said[4] == "A and B cannot be told apart: each has its own colour."


def test_what_a_line_is_worth_is_in_whole_money():
    row = {"code": "worth-dearer", "tire_line": "A", "other": "B", "break_even_price": 120.4, "lower": 99.6, "upper": 150.0, "other_price": 160.0}  # fmt: skip
    assert worth_words(pd.DataFrame([row])) == [
        "B costs as much by distance as A at 120 (range 100 to 150); at 160 it is the dearer."
    ]


def test_groups_stand_the_fastest_first_with_distance_for_a_step_of_the_gauge():
    row = {"group": "A", "tires": 8, "vehicles": 2, "distance_km": 160_934.4, "raw_mm_per_1000km": 0.1,
           "rate_mm_per_1000km": 0.1, "lower_mm_per_1000km": 0.08, "upper_mm_per_1000km": 0.125}  # fmt: skip
    fast = row | {"group": "B"} | {n: 2 * row[n] for n in row if n.endswith("1000km")}
    table = group_table(compared(groups=pd.DataFrame([row, fast])), "metric")
    # 1 mm at 0.1 mm a 1,000 km lasts 10,000 km; the range 8,000 to 12,500, so steps of 200.
    assert table.iloc[1].tolist() == ["A", "8", "2", "161", "10,000", "10,000", "8,000 to 12,400"]
    assert table.iloc[0].tolist()[0] == "B"
    assert table.iloc[0].tolist()[5] == "5,000"
    assert table.columns[-1] == "95 % range"
    miles = group_table(compared(groups=pd.DataFrame([row])), "us")
    assert miles.columns[3] == "Thousand miles"
    assert miles.iloc[0, 3] == "100"
    # A 32nd (0.79375 mm) lasts 7,937.5 km, 4,932 miles; a tenth of 3,946 to 6,165 is 222.
    assert miles.iloc[0, 5] == "5,000"


def test_pairs_have_two_decimals_and_no_range_where_none_is_known():
    rows = [
        pair(),
        pair(told_apart=False, ratio=NAN, lower=NAN, upper=NAN, raw_ratio=NAN),
        pair(upper=NAN, family_lower=NAN),
    ]
    table = pair_table(compared(pairs=pd.DataFrame(rows), level=0.9))
    assert table.iloc[0].tolist() == ["A over B", "1.33", "1.25", "1.10 to 1.42", "1.05 to 1.50", "yes"]
    assert table.iloc[1].tolist() == ["A over B", "", "", "", "", "no"]
    assert table.iloc[2].tolist()[2:5] == ["1.25", "", ""]
    assert table.columns[3] == "90 % range"


def test_what_lies_behind_a_ratio_stands_by_part_and_a_pair_without_any_has_no_row():
    why = pd.DataFrame(
        [
            ("A", "B", "total", 1.5, 1.2, 1.9), ("A", "B", "habits together", 1.25, NAN, NAN), ("A", "B", "speed", 1.1, 1.0, 1.2),
            ("A", "C", "total", NAN, NAN, NAN),
        ],
        columns=["group", "other", "part", "ratio", "lower", "upper"],
    )  # fmt: skip
    table = why_table(compared(why=why))
    assert table.to_numpy().tolist() == [["A over B", "1.50 (1.20 to 1.90)", "1.25", ""]]


def test_costs_are_a_1000_of_the_unit_shown_and_a_line_without_a_price_has_no_row():
    costs = pd.DataFrame(
        [("A", "L", 10.0, 9.0, 11.0, "remark-carried-over"), ("B", "L", 20.0, NAN, NAN, ""), ("C", "M", NAN, NAN, NAN, "remark-no-price")],
        columns=["group", "tire_line", "cost_per_1000km", "cost_lower_per_1000km", "cost_upper_per_1000km", "note"],
    )  # fmt: skip
    table = cost_table(costs, "metric")
    assert table["Group"].tolist() == ["A", "B"]
    assert table.iloc[0].tolist()[2:4] == ["10.0", "9.0 to 11.0"]
    assert table.iloc[0, 4].startswith("no tire of this line in this group")
    assert table.iloc[1].tolist()[3:] == ["not known", ""]
    assert cost_table(costs, "us").iloc[0, 2] == "16.0"  # 16.09, its range 3.2, in steps of 0.2


def test_savings_stand_the_largest_first_and_an_unknown_one_not_at_all():
    rows = pd.DataFrame(
        [("A", "change-drove", "basis-all", "B", 100.0, 50.0, 150.0), ("C", "change-pressures", "basis-pressures", "", 300.0, 250.0, 350.0),
         ("D", "change-drove", "basis-all", "B", NAN, NAN, NAN)],
        columns=["group", "change", "basis", "other", "saved_a_year", "lower", "upper"],
    )  # fmt: skip
    table = saving_table(rows)
    assert table.iloc[:, 0].tolist() == ["C", "A"]
    assert table.iloc[1].tolist() == ["A", "drove like B", "all of the difference", "100", "50 to 150"]
    assert saving_table(rows[2:]).empty
    assert saving_table(pd.DataFrame()).columns.tolist() == table.columns.tolist()


def test_tires_by_month_are_told_with_the_month_in_the_language():
    budget = pd.DataFrame(
        {"from_date": pd.to_datetime(["2027-01-01", "2027-08-01"]), "expected": [2.25, 0.5], "lower": [1.0, 0.0], "upper": [4.0, 2.0], "expected_so_far": [2.25, 2.5]}
    )  # fmt: skip
    assert budget_table(budget).to_numpy().tolist() == [
        ["Jan 2027", "2.3", "1 to 4", "2"],
        ["Aug 2027", "0.5", "0 to 2", "3"],
    ]
    assert budget_table(budget, "es").iloc[:, 0].tolist() == ["ene 2027", "ago 2027"]


def test_a_trial_s_spread_is_a_share_of_the_rate():
    # A log spread of 0.2 is 22 %: exp(0.2) = 1.2214.
    trial = pd.DataFrame(
        [{"distance_km": 16_093.44, "vehicles": 12, "tires_a_group": 24, "vehicle_sd": 0.2, "note": ""}]
    )
    assert trial_table(trial, "us").iloc[0].tolist() == ["10,000", "12", "24", "22%", ""]
    few = trial_table(trial.assign(note="remark-few-tires"), "metric").iloc[0].tolist()
    assert few[0] == "16,093"
    assert few[4].startswith("fewer than 30 tires")
    assert trial_table(trial, "us").columns[0] == "Miles each"
