"""Problems of a logbook in lines: by kind, the first of each, and what follows from them."""

import pandas as pd

from tirelife.terminal.check import problems_text

COLUMNS = ["file", "row", "column", "value", "what", "advice", "doubt", "code", "ask", "values", "severity"]
WORSE, TWICE, ODD = "not-a-number", "key-twice", "week-odd"


def problems(*told):
    """Problems by row and code, and whether each is a doubt."""
    return pd.DataFrame(
        [
            ("depths.csv", row, "depth_mm", "x", "", "", doubt, code, "", (("row", 2),), 2)
            for row, code, doubt in told
        ],
        columns=COLUMNS,
    ).astype({"doubt": bool})


def test_nothing_wrong_is_one_line():
    assert problems_text(problems(), "book", 5) == "book: 0 errors, 0 doubts."


def test_the_first_of_each_kind_stand_there_and_how_many_more_to_which_row():
    told = problems(*((row, WORSE, False) for row in (9, 2, 5, 7)), (3, TWICE, False))
    text = problems_text(told, "book", 2)
    assert text.startswith("Errors: 5\n")
    assert [text.count(f"row {row}, column") for row in (9, 2, 5, 7, 3)] == [1, 1, 0, 0, 1]
    assert "  … and 2 more like it, to row 9\n" in text
    assert text.count("more like it") == 1
    assert "more like it" not in problems_text(told, "book", 4)
    assert text.endswith("book: 5 errors, 0 doubts. Correct the errors; until then the logbook is not used.")


def test_errors_come_before_doubts_and_doubts_alone_are_kept():
    both = problems_text(problems((2, ODD, True), (3, WORSE, False)), "book", 5)
    assert both.index("Errors: 1") < both.index("Doubts: 1")
    assert both.endswith("book: 1 error, 1 doubt. Correct the errors; until then the logbook is not used.")
    doubts = problems_text(problems((2, ODD, True)), "book", 5)
    assert "Errors" not in doubts
    assert doubts.endswith("book: 0 errors, 1 doubt. Doubtful records are kept and flagged.")


def test_thousands_are_set_off():
    many = problems(*((row, WORSE, False) for row in range(1234)))
    assert "Errors: 1,234\n" in problems_text(many, "book", 1)
    assert "and 1,233 more like it, to row 1233" in problems_text(many, "book", 1)
