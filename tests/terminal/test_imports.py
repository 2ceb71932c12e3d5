"""What an import prints: counts, alike rows together, what is doubtful, and no more of each than asked."""

import re
from types import SimpleNamespace

import pandas as pd
import pytest

from tirelife.codes import Note
from tirelife.language import LANGUAGES
from tirelife.logbook.sheets.told import How, Row, Settled
from tirelife.terminal import imports
from tirelife.terminal.imports import (
    columns_text,
    counted,
    import_answer,
    import_texts,
    on_the_way,
    outcome_text,
    rows_worded,
)

COLUMNS = ["tab", "column", "header", "holds", "told", "examples"]


def rows(*told):
    """Rows of a sheet: status and codes of why, counted up from 2."""
    return pd.DataFrame(
        [("Sheet1", i, status, "; ".join(codes), [Note(code) for code in codes]) for i, (status, *codes) in enumerate(told, 2)],
        columns=["tab", "row", "status", "reason", "notes"],
    )  # fmt: skip


def move(chance, source="inferred", what="front-to-rear", others=(("x", 0.3), ("stay", 0.1))):
    return {
        "vehicle_id": "V1", "date": "2026-03-01", "what": what, "probability": chance, "source": source, "others": others,
    }  # fmt: skip


def done(*told, moves=(), changed=(), **more):
    how = SimpleNamespace(depth_unit=None, distance_unit=None, day_first=None, why={})
    plan = SimpleNamespace(how=how, columns=pd.DataFrame(columns=COLUMNS))
    base = {
        "plan": plan, "rows": rows(*told), "vehicles": 2, "visits": 7, "new_visits": 5, "unknown": (), "out": None,
        "moves": pd.DataFrame(list(moves), columns=list(move(1))),
        "changed": pd.DataFrame(list(changed), columns=["vehicle_id", "date", "before", "now"]),
    }  # fmt: skip
    return SimpleNamespace(**base | more)


def test_rows_are_counted_by_what_became_of_them_and_none_is_nought():
    told = rows(("used",), ("left out", Row.TOTAL), ("used",), ("doubted", Row.NO_DATE))
    assert counted(told) == {"used": 2, "doubted": 1, "left_out": 1}
    assert counted(told[:1]) == {"used": 1, "doubted": 0, "left_out": 0}


def test_reasons_are_joined_and_say_their_column_where_a_tab_has_one_a_visit():
    told = rows(("left out", Row.TOTAL, Row.NO_DATE), ("used",))
    at = Note(Row.TOTAL, values=(("at", "C"),))
    told = pd.concat([told, told[:1].assign(notes=[[at]])], ignore_index=True)
    both, none, placed = rows_worded(told, "en")["words"]
    assert both.count("; ") == 1
    assert none == ""
    assert placed == f"column C: {both.split('; ')[0]}"
    assert "notes" not in rows_worded(told, "en")


def test_columns_say_what_they_were_taken_for_by_what_and_how_the_sheet_is_written():
    columns = pd.DataFrame(
        [
            ("Sheet1", "A", "Car", "vehicle", How.NAME.value, "V1, V2"),
            ("Sheet1", "B", "Remarks of the man who looked at it", "?", How.CONTENT.value, "x" * 60),
            ("Sheet2", "C", "Old", "ignored", How.GIVEN.value, "1"),
        ],
        columns=COLUMNS,
    )
    how = SimpleNamespace(
        depth_unit="32nds", distance_unit=None, day_first=True,
        why={"depth_unit": Note(Settled.HEADER), "day_first": Note(Settled.GIVEN)},
    )  # fmt: skip
    lines = columns_text(SimpleNamespace(how=how, columns=columns), "en").splitlines()
    assert [line for line in lines if not line.startswith(" ")][:2] == ["Sheet1:", "Sheet2:"]
    assert lines[1].rstrip() == "  A  Car                          vehicle                     V1, V2"
    assert (
        lines[2].split("(")[0].rstrip()
        == f"  B  Remarks of the man who looke not used                    {'x' * 40}"
    )
    assert lines[2].endswith(")")
    assert lines[4].split()[:4] == ["C", "Old", "not", "used"]
    assert lines[5].startswith("depths in 32nds: ")
    assert lines[6].startswith("day first: ")
    assert len(lines) == 7
    plain = SimpleNamespace(depth_unit=None, distance_unit="km", day_first=False, why={})
    lines = columns_text(SimpleNamespace(how=plain, columns=columns[:0]), "en").splitlines()
    assert lines == ["odometers in km", "month first: "]
    none = SimpleNamespace(depth_unit=None, distance_unit=None, day_first=None, why={})
    assert columns_text(SimpleNamespace(how=none, columns=columns[:0]), "en") == ""


def test_rows_alike_stand_in_one_line_five_by_number_or_each_in_its_own():
    told = [("used",), *[("left out", Row.TOTAL)] * 5, ("doubted", Row.NO_DATE)]
    text = outcome_text(done(*told), False, "en")
    assert "Rows: 1 used, 1 doubted, 5 left out." in text
    assert "row 3, 4, 5, 6, 7\n" in text
    assert "row 8\n" in text
    more = outcome_text(done(*told, ("left out", Row.TOTAL)), False, "en")
    assert "row 3, 4, 5, 6, 7 …\n" in more
    every = outcome_text(done(*told), True, "en")
    assert [f"Sheet1, row {n}: left out:" in every for n in range(2, 9)] == [False, *[True] * 5, False]
    assert "Sheet1, row 8: doubted:" in every


def test_moves_under_nine_in_ten_are_doubtful_and_eight_of_them_are_told():
    text = outcome_text(done(moves=[move(0.9), move(0.85), move(1.0, "recorded")]), False, "en")
    assert "Moves and renewals: 3, of which 2 are inferred" in text
    assert text.count("Say it with --work") == 1
    assert "  V1 2026-03-01: front to rear (85%); or x (30%); stay (10%). Say it" in text
    assert "(50%); or otherwise. Say" in outcome_text(done(moves=[move(0.5, others=())]), False, "en")
    assert outcome_text(done(moves=[move(0.5)] * 10), False, "en").count("Say it with --work") == 8


def test_what_changed_since_is_told_eight_times_at_the_most():
    one = {"vehicle_id": "V1", "date": "2026-03-01", "before": "8", "now": "7"}
    text = outcome_text(done(changed=[one, one | {"now": ""}]), False, "en")
    assert "  changed: V1 2026-03-01: 8 -> 7\n" in text
    assert "8 -> no longer in the sheet; kept" in text
    assert outcome_text(done(changed=[one] * 10), False, "en").count("  changed:") == 8


def test_what_is_not_in_the_sheet_and_where_it_went_close_the_outcome():
    text = outcome_text(done(unknown=(("drive", 2), ("new depth", 8))), False, "en")
    assert "estimated until you fill it in: drive (2), new depth (8)." in text
    assert text.splitlines()[-1] == "Nothing was written; give --out LOGBOOK."
    assert "2 vehicles, 7 visits." in text
    assert "Not in the sheet" not in outcome_text(done(), False, "en")
    # A logbook that cannot be read back is told of by what reads it: here no facts are worth a line.
    gone = outcome_text(done(unknown=(("drive", 2),), out="nowhere/at/all"), False, "en")
    assert gone.splitlines()[-1] == "Written to nowhere/at/all: 5 new visits."


def test_on_the_way_to_a_command_all_of_it_is_one_line():
    made = done(("used",), ("left out", Row.TOTAL), moves=[move(0.9), move(1.0, "recorded")])
    assert on_the_way(made, "book.csv").startswith(
        "book.csv: 7 visits of 2 vehicles; rows 1 used, 0 doubted, 1 left out; depths in mm, odometers in km; "
        "2 moves and renewals, 1 of them inferred."
    )
    made.plan.how.depth_unit, made.plan.how.distance_unit = "32nds", "mi"
    assert "depths in 32nds, odometers in mi;" in on_the_way(made, "book.csv")


def test_for_a_program_other_courses_are_codes_with_their_chances():
    made = done(("used",), moves=[move(0.5)], out="a/b", unknown=(("drive", 2),))
    answer = import_answer(made, "en")
    assert answer["moves"][0]["others"] == "x (30%); stay (10%)"
    assert answer["unknown"] == {"drive": 2}
    assert answer["out"].replace("\\", "/") == "a/b"
    assert import_answer(done(("used",)), "en")["out"] is None
    assert (answer["vehicles"], answer["visits"], answer["new_visits"]) == (2, 7, 5)


def test_what_facts_are_worth_is_told_with_on_how_many_vehicles_it_was_measured(monkeypatch):
    asked = {}

    def worth(book, *most):
        asked["most"] = most
        return asked["facts"], asked["vehicles"]

    monkeypatch.setattr(imports, "read_logbook", lambda out: SimpleNamespace(units="us"))
    monkeypatch.setattr(imports, "worth_in_fleet", worth)
    monkeypatch.setattr(imports, "fact_words", lambda facts, *_: ("Worth telling.",))
    made = done(unknown=(("drive", 2),), out="somewhere")

    def told(facts=1, vehicles=1):
        asked.update(facts=pd.DataFrame({"fact": ["drive"] * facts}), vehicles=vehicles)
        return outcome_text(made, False, "en").splitlines()

    say = import_texts("en")
    assert told()[-3:-1] == ["  Worth telling.", say["measured-one"]]
    assert told(vehicles=6)[-2] == say["measured-many"].format(n=6)
    assert asked["most"] == (1, 6)  # of the vehicles read most often, six at the most
    assert "  Worth telling." not in told(facts=0)
    assert "  Worth telling." not in outcome_text(done(unknown=(("drive", 2),)), False, "en")


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_has_every_text_with_the_same_filled_in_and_each_fact_a_name(language):
    ours, theirs = import_texts("en"), import_texts(language)
    assert set(ours) == set(theirs)
    for code, text in ours.items():
        assert set(re.findall(r"{(\w+)}", text)) == set(re.findall(r"{(\w+)}", theirs[code])), code
        assert bool(theirs[code].strip()), code
