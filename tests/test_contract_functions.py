"""One contract for every public function: copies, no side effect, no warning, units and order of rows."""

import os
from enum import Enum
from functools import cache

import numpy as np
import pandas as pd
import pytest

from tests import columns, contract

LONG = ("outlook.backtest", "outlook.held", "outlook.score_predictions", "outlook.reliability", "charts.reliability_curves",
        "groups.replacements_by_month", "sheet.walkin_answer", "outlook.calibrated_fit", "outlook.calibrate", "outlook.calibration",
        "advice.walkin_facts", "outlook.what_if_fleet", "outlook.forecast_fleet", "outlook.kept_fit", "sheet.answer_for",
        "advice.decisions_otherwise", "advice.facts_of")  # fmt: skip
"""Held to it by ``python -m tests.benchmarks contract`` alone; what they are made of is held to it here."""
ALL_OF_IT = bool(os.environ.get("TIRELIFE_CONTRACT"))
NAMES = [n for n in contract.public() if n not in contract.APART and (ALL_OF_IT or n not in LONG)]
AS_GIVEN = ("units.shown", "charts.shown", "logbook.kept", "advice.advise_rotation")
"""Their frames have the columns of a frame or a function that they are given, or stand in an answer's ``table``."""
LOOSER = dict.fromkeys(("outlook.backtest", "outlook.held", "outlook.score_predictions"), 1e-7)
"""Scores of an early fit of few readings: its spreads lie at the top of a flat criterion, so that the order in which
readings are summed moves the ninth digit. In other units alone nothing moves, which is a test of its own."""


@pytest.fixture(scope="module")
def top(tmp_path_factory):
    return tmp_path_factory.mktemp("contract")


def few(name):
    """Whether two vehicles are enough to ask it of; groups of drivers need more."""
    return not ALL_OF_IT and not name.startswith("groups.") and name != "charts.group_ratios"


def kits(top, as_written=True):
    """What a function is asked of, by whether two vehicles are enough; in metric units, rows in another order, if so."""
    how = {} if as_written else {"rng": np.random.default_rng(3), "metric": True}
    return cache(
        lambda two: contract.Kit(
            contract.demo(
                top / f"{as_written} {two}",
                vehicles=contract.VEHICLES[:2] if two else contract.VEHICLES,
                **how,
            )
        )
    )


@pytest.fixture(scope="module")
def kit(top):
    return kits(top)


@pytest.fixture(scope="module")
def before(kit):
    return cache(lambda two: held(kit(two)))


@pytest.fixture(scope="module")
def other(top):
    return kits(top, as_written=False)


@pytest.fixture(scope="module")
def first(kit):
    """The answer of each function, asked once, and its columns where it is a frame."""

    @cache
    def ask(name):
        made = contract.answer(name, kit(few(name)))
        noted = contract.held_leaves(made)
        names = set(map(str, made.columns)) if isinstance(made, pd.DataFrame) else set()
        contract.spoil(made)
        return noted, names

    return ask


def apart(one, two, rtol):
    """Where two lists of leaves differ."""
    one, two = dict(one), dict(two)
    out = [f"only in one: {at}" for at in sorted(one.keys() ^ two.keys())]
    for at in one.keys() & two.keys():
        a, b = one[at], two[at]
        if isinstance(a, Enum | str | bytes | bool) or isinstance(b, Enum | str | bytes | bool):
            same = a == b
        else:
            a, b = np.asarray(a), np.asarray(b)
            if a.dtype.kind in "fc" and b.dtype.kind in "fc" and a.shape == b.shape:
                same = np.allclose(a, b, rtol=rtol, atol=rtol, equal_nan=True)
            else:
                same = a.shape == b.shape and as_text(a) == as_text(b)
        if not same:
            out.append(f"{at}: {str(a)[:80]} and {str(b)[:80]}")
    return out


def as_text(values):
    return ["" if pd.isna(one) else str(one) for one in values.ravel()]


def held(kit):
    """What no call may change."""
    tables = {**kit.book.tables, "stretches": kit.book.stretches, "state": kit.state, "visits": kit.visits}
    return {
        name: [
            t[c].map(hash).sum() if t[c].dtype == object else pd.util.hash_array(t[c].to_numpy()).sum()
            for c in t
        ]
        for name, t in tables.items()
    }


def test_every_public_function_is_called_or_is_held_elsewhere():
    assert set(contract.CALLS) | set(contract.APART) <= set(contract.public())
    for name in contract.public():
        assert name in contract.APART or contract.unknown(name) == [], (
            "say in tests/contract.py how it is called"
        )


@pytest.mark.parametrize("name", NAMES)
def test_it_answers_without_a_warning_hands_out_copies_and_changes_nothing(name, kit, before, first):
    was, own = before(few(name)), kit(few(name))
    kept, _ = first(name)  # spoilt once it was noted
    assert not (len(kept) == 1 and isinstance(kept[0][1], str) and kept[0][1] == "refused"), "it refuses"
    assert apart(kept, contract.held_leaves(contract.answer(name, own)), 0.0) == []
    assert held(own) == was


@pytest.mark.parametrize("name", [name for name in NAMES if name not in AS_GIVEN])
def test_columns_of_a_frame_stand_in_the_docstring_of_what_makes_it(name, first):
    _, made = first(name)
    assert (
        columns.hands_on(name) or made - columns.named(name) - {"radio_call_sign"} == set()
    )  # the demo's own


@pytest.fixture(scope="module")
def little(top):
    """One row in each table, and none."""
    one = contract.Kit(contract.demo(top / "one", vehicles=("V03",), rows=1))
    return one, contract.Without(one)


@pytest.mark.parametrize("name", NAMES)
def test_no_row_or_one_row_is_answered_or_refused(name, little):
    for kit in little:
        contract.answer(name, kit)  # raises whatever is not an InputError or a FitError, and any warning


APART_IN_UNITS = {
    **dict.fromkeys(["logbook.check_and_read", "logbook.check_logbook", "logbook.read_logbook", "logbook.known_on", "logbook.of_vehicles"], "tell units, rows and texts as they are written"),
    **dict.fromkeys(["language.worded", "logbook.asked_once", "logbook.csv_text", "logbook.write_csv", "logbook.to_problems", "logbook.gauge_study"], "tell rows as they are written"),
    **dict.fromkeys(["logbook.record_visit", "logbook.correct_record", "logbook.withdraw_record", "logbook.corrected"], "work on rows as they are written"),
    **dict.fromkeys(["inflation.placard_at", "inflation.stated_placard", "logbook.doubted", "logbook.odometer_at", "logbook.record_at", "advice.limits_by_position"], "answer row by row, in the order asked"),
    **dict.fromkeys(["sheet.answer_for", "units.shown"], "show the reader's own units"),
    **dict.fromkeys(["charts.term_ranges", "rates.save_prior"], "hold their numbers as text"),
}  # fmt: skip
"""What tells otherwise in other units or another order, and why it may."""


@pytest.mark.parametrize("name", [name for name in NAMES if name not in APART_IN_UNITS])
def test_units_and_the_order_of_rows_change_no_answer(name, first, other):
    told = contract.held_leaves(contract.answer(name, other(few(name))))
    assert apart(first(name)[0], told, LOOSER.get(name, 1e-9)) == []


@pytest.mark.skipif(not ALL_OF_IT, reason="python -m tests.benchmarks contract")
@pytest.mark.parametrize("name", LOOSER)
def test_units_alone_change_no_digit_that_counts(name, first, top):
    metric = contract.Kit(contract.demo(top / "metric", metric=True))
    assert apart(first(name)[0], contract.held_leaves(contract.answer(name, metric)), 1e-9) == []
