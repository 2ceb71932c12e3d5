"""A walk-in's answer in lines and for a program: rounding by the range, what is not known, what it rests on."""

import numpy as np
import pandas as pd

from tirelife.codes import Note, Severity
from tirelife.outlook import NoteCode
from tirelife.terminal.walkin import walkin_text

MI, N32 = 1.609344, 0.79375


def row(
    position="LF", miles=(10_000, 14_000, 19_000), dates=("2027-03-05", "2027-08-01", "2028-01-31"), notes=()
):
    days = [pd.NaT if day is None else pd.Timestamp(day) for day in dates]
    return {
        "position": position, "depth_now_mm": 6.25 * N32, "notes": notes,
        **{f"km_left_{p}": m * MI for p, m in zip(("p10", "p50", "p90"), miles, strict=True)},
        **{f"date_{p}": day for p, day in zip(("p10", "p50", "p90"), days, strict=True)},
    }  # fmt: skip


def said(*rows, units="us", **changes):
    answer = {
        "urgent": [], "near": [], "fit": {"trust": "good", "reasons": []},
        "decision": [{"words": "Look again.", "would_change_words": ""}], "assumptions": [{"words": "drive: front"}],
    } | changes  # fmt: skip
    return walkin_text(answer, pd.DataFrame(list(rows or [row()])), units)


def line(text, position="LF"):
    return next(one for one in text.splitlines() if one.startswith(position)).split()


def test_a_tire_has_its_depth_its_distance_rounded_by_its_range_and_its_months():
    # 9,000 miles wide: steps of 1,000.
    assert line(said(row(miles=(10_200, 14_400, 19_200)))) == [
        "LF", "6.3/32", "inch", "14,000", "(10,000", "to", "19,000)", "2027-08", "(2027-03", "to", "2028-01)",
    ]  # fmt: skip
    metric = line(said(units="metric"))
    assert metric[:3] == ["LF", "5.0", "mm"]
    assert metric[3] == "23,000"


def test_a_month_too_far_ahead_is_later_and_a_distance_that_is_not_known_says_so():
    assert line(said(row(dates=("2027-03-05", None, None))))[-4:] == ["later", "(2027-03", "to", "later)"]
    unknown = said(row(miles=(np.nan,) * 3, notes=(Note(NoteCode.ONE_VISIT),)))
    assert line(unknown)[3:5] == ["not", "known"]


def test_a_note_is_said_once_of_all_its_wheels():
    note = Note(NoteCode.ONE_VISIT, Severity.NOTE)
    text = said(row("LF", notes=(note,)), row("RF"), row("LR", notes=(note,)))
    assert text.count("LF, LR: ") == 1
    assert "RF: " not in text
    assert next(one for one in text.splitlines() if one.startswith("LF, LR")).endswith(".")


def test_what_to_do_stands_first_and_what_it_rests_on_last():
    lines = said().splitlines()
    assert lines[:2] == ["What to do", "  Look again."]
    assert lines[-2:] == ["It rests on:", "  drive: front"]
    urgent = said(urgent=[{"words": "LF is down."}]).splitlines()
    assert urgent[1] == "  LF is down."
