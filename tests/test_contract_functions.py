"""One contract for every public function: copies, no side effect, no warning, units and order of rows."""

from enum import Enum
from functools import cache

import numpy as np
import pandas as pd
import pytest

from tests import contract

ROOMS = ("charts", "codes", "driving", "groups", "inflation", "logbook", "units")
"""Rooms whose functions are held to all of it; those of the others are only known to be called so far."""
NAMES = [n for n in contract.public() if n not in contract.APART and n.split(".")[0] in ROOMS]


@pytest.fixture(scope="module")
def top(tmp_path_factory):
    return tmp_path_factory.mktemp("contract")


@pytest.fixture(scope="module")
def kit(top):
    return contract.Kit(contract.demo(top / "us"))


@pytest.fixture(scope="module")
def before(kit):
    return held(kit)


@pytest.fixture(scope="module")
def other(top):
    """The same in metric units, its rows in another order."""
    return contract.Kit(contract.demo(top / "other", np.random.default_rng(3), metric=True))


@pytest.fixture(scope="module")
def first(kit):
    """The answer of each function, asked once."""

    @cache
    def ask(name):
        return contract.held_leaves(contract.answer(name, kit))

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
                same = (
                    a.shape == b.shape
                    and (pd.Series(a.ravel()).astype("str") == pd.Series(b.ravel()).astype("str")).all()
                )
        if not same:
            out.append(f"{at}: {str(a)[:80]} and {str(b)[:80]}")
    return out


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
    kept = first(name)
    assert not (len(kept) == 1 and isinstance(kept[0][1], str) and kept[0][1] == "refused"), "it refuses"
    contract.spoil(contract.answer(name, kit))
    again = contract.held_leaves(contract.answer(name, kit))
    assert apart(kept, again, 0.0) == []
    assert held(kit) == before


APART_IN_UNITS = {
    **dict.fromkeys(["logbook.check_and_read", "logbook.check_logbook", "logbook.read_logbook", "logbook.known_on", "logbook.of_vehicles"], "tell units, rows and texts as they are written"),
    **dict.fromkeys(["language.worded", "logbook.asked_once", "logbook.csv_text", "logbook.write_csv", "logbook.to_problems", "logbook.gauge_study"], "tell rows as they are written"),
    **dict.fromkeys(["logbook.record_visit", "logbook.correct_record", "logbook.withdraw_record", "logbook.corrected"], "work on rows as they are written"),
    **dict.fromkeys(["inflation.placard_at", "logbook.doubted", "logbook.odometer_at", "logbook.record_at", "advice.limits_by_position"], "answer row by row, in the order asked"),
    **dict.fromkeys(["sheet.answer_for", "groups.in_units"], "show the reader's own units"),
    **dict.fromkeys(["charts.term_ranges", "rates.save_prior"], "hold their numbers as text"),
}  # fmt: skip
"""What tells otherwise in other units or another order, and why it may."""


@pytest.mark.parametrize("name", [name for name in NAMES if name not in APART_IN_UNITS])
def test_units_and_the_order_of_rows_change_no_answer(name, first, other):
    assert apart(first(name), contract.held_leaves(contract.answer(name, other)), 1e-9) == []
