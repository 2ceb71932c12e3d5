"""A recorded visit says whether it was written, and what to do if not."""

import pandas as pd
import pytest

from tirelife.logbook import Recorded
from tirelife.terminal.record import recorded_answer, recorded_text

NO_DOUBTS = pd.DataFrame(
    {name: [] for name in ("file", "row", "column", "value", "code", "severity", "ask", "doubt", "values")}
)


def done(written, visit=None):
    changes = pd.DataFrame(
        {"what": ["depth"], "before": [float("nan")], "now": [7.0], "change": [float("nan")]}
    )
    return Recorded(written, changes, NO_DOUBTS, visit)


@pytest.mark.parametrize(
    ("written", "visit", "trial", "want"),
    [
        (True, None, False, "Written."),
        (True, 12, False, "Visit 12 written."),
        (True, 0, True, "Visit 0 written."),
        (False, None, True, "Not written: this was a trial."),
        (False, 12, False, "Not written: correct the visit, or accept the doubts with --yes."),
    ],
)
def test_the_line_says_what_became_of_it(written, visit, trial, want):
    assert recorded_text(done(written, visit), trial) == want


def test_a_program_gets_null_where_there_was_no_reading_before():
    answer = recorded_answer(done(False))
    assert answer == {
        "written": False,
        "visit": None,
        "changes": [{"what": "depth", "before": None, "now": 7.0, "change": None}],
        "doubts": [],
    }
