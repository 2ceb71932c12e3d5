"""Changes of a logbook file in lines: by day, with what was and is."""

import pandas as pd

from tirelife.terminal.audit import changes_text


def change(deed, at="2026-03-14T09:30:15Z", table="depths", row=4, before=None, after=None, by="tirelife"):
    return {"at": at, "deed": deed, "table": table, "row": row, "before": before, "after": after, "by": by}


def lines(*changes):
    return changes_text(pd.DataFrame(list(changes))).splitlines()


def test_a_day_is_a_heading_once_and_days_stand_apart():
    told = lines(
        change("insert", after={"depth_mm": 5}),
        change("insert", "2026-03-14T23:59:59Z", after={"depth_mm": 6}),
        change("insert", "2026-03-15T00:00:00Z", after={"depth_mm": 7}),
    )
    assert told == [
        "2026-03-14",
        "  09:30:15 written depths row 4: depth_mm 5",
        "  23:59:59 written depths row 4: depth_mm 6",
        "",
        "2026-03-15",
        "  00:00:00 written depths row 4: depth_mm 7",
    ]


def test_a_change_says_what_was_and_what_is():
    both = change("change", before={"depth_mm": 5, "note": ""}, after={"depth_mm": 6, "note": "again"})
    assert lines(both)[1] == "  09:30:15 changed depths row 4: depth_mm 5 to 6, note  to again"
    gone = change("withdraw", before={"depth_mm": 5, "note": "twice", "digests": "x", "rest": "y", "at": "z"})
    assert lines(gone)[1] == "  09:30:15 withdrawn depths row 4: depth_mm 5, twice"
    assert lines(change("supersede"))[1] == "  09:30:15 superseded depths row 4: "


def test_a_visit_has_a_number_an_import_no_table_and_another_program_is_named():
    assert lines(change("visit", table="visits", after={"note": "spring"}))[1] == "  09:30:15 visit 4: spring"
    assert lines(change("import", table="", row=0, after={}))[1] == "  09:30:15 imported: "
    other = change("insert", by="another program", after={"depth_mm": 5})
    assert lines(other)[1] == "  09:30:15 written depths row 4 by another program: depth_mm 5"
    assert lines(change("mend", after={"a": 1}))[1] == "  09:30:15 mend depths row 4: a 1"
    assert changes_text(pd.DataFrame(columns=list(change("x")))) == ""
