"""A comparison of groups in lines and for a program: which tables stand there, and what is said of the checks."""

from types import SimpleNamespace

import pandas as pd
import pytest

from tirelife.terminal.groups import group_answer, group_data, group_text

DAY = pd.Timestamp("2026-09-30")
BOOK = SimpleNamespace(units="us", as_of=DAY)
PAIR = {
    "group": "A", "other": "B", "ratio": 1.25, "lower": 1.1, "upper": 1.42, "family_lower": 1.05, "family_upper": 1.5, "raw_ratio": 1.3,
    "detectable_ratio": 1.12, "power": 0.8, "told_apart": True, "code": "pair-faster", "reasons": "",
}  # fmt: skip
GROUP = {
    "group": "A", "tires": 8, "vehicles": 2, "distance_km": 160_934.4, "raw_mm_per_1000km": 0.1, "rate_mm_per_1000km": 0.1,
    "lower_mm_per_1000km": 0.08, "upper_mm_per_1000km": 0.125,
}  # fmt: skip
SAVED = {
    "group": "A", "change": "change-drove", "basis": "basis-all", "other": "B", "saved_a_year": 100.0, "lower": 50.0, "upper": 150.0,
}  # fmt: skip
COSTS = {
    "group": "A", "tire_line": "L", "cost_per_1000km": 10.0, "cost_lower_per_1000km": 9.0, "cost_upper_per_1000km": 11.0, "note": "",
}  # fmt: skip
EVEN = {
    "code": "worth-dearer", "tire_line": "A", "other": "B", "break_even_price": 120.0, "lower": 100.0, "upper": 150.0,
    "other_price": 160.0,
}  # fmt: skip
MONTH = {"from_date": DAY, "expected": 2.0, "lower": 1.0, "upper": 4.0, "expected_so_far": 2.0}


def compared(passed=True, **changes):
    checks = pd.DataFrame(
        {
            "check": ["inflation"],
            "value": [0.5],
            "limit": [1.0],
            "passed": [passed],
            "advice": ["group-inflation"],
            "about": [""],
        }
    )
    base = {
        "by": "driver_group", "adjusted_for": ("tire_line", "axle"), "level": 0.95, "hidden": 0, "groups": pd.DataFrame([GROUP]),
        "pairs": pd.DataFrame([PAIR]), "why": pd.DataFrame(columns=["group", "other", "part", "ratio", "lower", "upper"]),
        "checks": checks,
    }  # fmt: skip
    return SimpleNamespace(**base | changes)


def said(found=None, language="en", **tables):
    return group_text(
        BOOK, found or compared(), {name: pd.DataFrame(rows) for name, rows in tables.items()}, language
    )


def test_it_says_what_is_compared_to_which_day_and_adjusted_for_what():
    lines = said().splitlines()
    assert lines[0] == "Driver group, to September 30, 2026; adjusted for tire line, axle"
    assert lines[2] == "A wears tires 25% faster than B (range +5% to +50%)."
    assert said(compared(adjusted_for=(), by="my_column")).splitlines()[0].startswith("My column, to ")
    assert said(compared(adjusted_for=())).splitlines()[0].endswith("adjusted for nothing")
    assert "smaller group(s)" not in said()
    assert "3 smaller group(s) not shown." in said(compared(hidden=3))


def test_only_tables_with_rows_stand_there_each_under_its_heading():
    assert "\nWear, the fastest first\n" in said()
    assert "\nPair by pair\n" in said()
    for part in (
        "Why (the parts",
        "Tire cost, a vehicle",
        "What a year would save",
        "Tires to buy",
        "Break-even",
    ):
        assert f"\n{part}" not in said()
    every = said(costs=[COSTS], savings=[SAVED], budget=[MONTH], break_even=[EVEN])
    for part in ("Tire cost, a vehicle", "What a year would save", "Tires to buy", "Break-even"):
        assert f"\n{part}\n" in every
    assert "B costs as much by distance as A at 120" in every


def test_checks_that_failed_are_told_and_that_all_passed_is_said():
    assert "\nAll checks passed.\n" in said()
    assert "Checks that failed" not in said()
    failed = said(compared(passed=False))
    assert "Checks that failed" in failed
    assert "All checks passed" not in failed


def test_cautions_close_it_in_every_language():
    assert "Do not use these figures alone" in said().splitlines()[-2]
    assert said(language="es").splitlines()[-2] != said().splitlines()[-2]


def test_for_a_program_tables_are_in_the_units_with_the_words_of_their_codes():
    tables = {
        "pairs": pd.DataFrame([PAIR]),
        "groups": pd.DataFrame([GROUP]),
        "savings": pd.DataFrame([SAVED]),
        "break_even": pd.DataFrame([EVEN]),
    }
    made = group_data(tables, "us")
    assert made["pairs"]["words"].tolist() == ["A wears tires 25% faster than B (range +5% to +50%)."]
    assert made["savings"]["words"].tolist() == ["drove like B"]
    assert made["break_even"]["words"].iloc[0].startswith("B costs as much")
    assert made["groups"]["distance_mi"].tolist() == pytest.approx([100_000])
    assert "words" not in tables["pairs"]
    answer = group_answer(BOOK, compared(hidden=2), {name: tables[name] for name in ("pairs", "groups")})
    assert (answer["by"], answer["adjusted_for"], answer["level"]) == (
        "driver_group",
        ["tire_line", "axle"],
        0.95,
    )
    assert (answer["as_of"], answer["units"], answer["groups_not_shown"]) == ("2026-09-30", "us", 2)
    assert len(answer["cautions"]) == 3
    assert {"savings", "break_even"}.isdisjoint(answer)
