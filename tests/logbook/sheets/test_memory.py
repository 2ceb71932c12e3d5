"""What earlier imports brought: a sheet that has grown adds what is new, and what somebody added is kept."""

import datetime as dt
import json
import math

import pandas as pd
import pytest

from tirelife.errors import InputError
from tirelife.logbook.refused import NoSheet
from tirelife.logbook.sheets.memory import FILE, Memory, remembered, text_of
from tirelife.logbook.sheets.visits import Entry

JAN, FEB, MAR = dt.date(2025, 1, 5), dt.date(2025, 2, 5), dt.date(2025, 3, 5)


def visit(day, km=1000.0, vehicle="A", mm=8.0, **more):
    return Entry(vehicle, day, km, [("LF", "outer", mm), ("LF", "inner", mm - 1)], rows=[("Log", 2)], **more)


FULL = visit(
    JAN, note="é", driver="Ann", drive="front", product={"LF": "Line A"}, new_depth={"": 8.0},
    pressures=[("LF", 220.0, math.nan), ("RF", 230.0, 240.0)], tire_id={"RF": "T1"}, made_week={"": "2324"},
)  # fmt: skip


def folder(tmp_path, visits=(FULL,), **tables):
    out = tmp_path / "book"
    out.mkdir(exist_ok=True)
    made = {name: pd.DataFrame(rows) for name, rows in tables.items()}
    for name, table in made.items():
        table.to_csv(out / f"{name}.csv", index=False)
    (out / FILE).write_text(text_of(list(visits), made), encoding="utf-8")
    return out


def test_visits_come_back_as_they_were(tmp_path):
    (key,), (back,) = zip(*remembered(folder(tmp_path)).visits.items(), strict=True)
    assert key == ("A", "2025-01-05")
    assert math.isnan(back.pressures[0][2])
    assert back.pressures[0][:2] == ("LF", 220.0)
    assert back.pressures[1] == ("RF", 230.0, 240.0)
    for name in ("vehicle", "date", "odometer_km", "note", "driver", "drive", "product", "new_depth", "tire_id",
                 "made_week", "rows"):  # fmt: skip
        assert getattr(back, name) == getattr(FULL, name), name
    assert sorted(back.depths) == sorted(FULL.depths)


def test_what_is_told_the_same_again_is_neither_new_nor_changed(tmp_path):
    memory = remembered(folder(tmp_path))
    merged, changed, new = memory.joined([FULL])
    assert (merged, len(changed), new) == ([FULL], 0, 0)
    # In another row of the sheet, its grooves in another order, off by less than is written.
    moved = visit(JAN, 1000.0004, **{k: getattr(FULL, k) for k in ("note", "driver", "drive", "product", "new_depth",
                                                                   "tire_id", "made_week", "pressures")})  # fmt: skip
    moved.rows, moved.depths = [("Other", 9)], [("LF", "inner", 7.00001), ("LF", "outer", 8.0)]
    assert len(memory.joined([moved])[1]) == 0


def test_a_new_depth_that_is_not_known_has_not_changed(tmp_path):
    unknown = visit(JAN, new_depth={"": math.nan})
    memory = remembered(folder(tmp_path, [unknown]))
    assert math.isnan(memory.visits["A", "2025-01-05"].new_depth[""])
    assert len(memory.joined([visit(JAN, new_depth={"": math.nan})])[1]) == 0
    assert "NaN" not in (tmp_path / "book" / FILE).read_text()  # JSON has no such number (RFC 8259, 6)
    assert len(memory.joined([visit(JAN, new_depth={"": 8.0})])[1]) == 1


@pytest.mark.parametrize(
    "now",
    [visit(JAN, 1000.01), visit(JAN, mm=8.01), visit(JAN, note="rotated"), visit(JAN, drive="rear"),
     visit(JAN, pressures=[("LF", 220.0, math.nan)])],
)  # fmt: skip
def test_what_is_told_otherwise_has_changed(now):
    memory = Memory({("A", "2025-01-05"): visit(JAN)})
    merged, changed, new = memory.joined([now])
    assert merged == [now]
    assert changed[["vehicle_id", "date"]].to_numpy().tolist() == [["A", "2025-01-05"]]
    assert new == 0


def test_what_is_no_longer_in_the_sheet_is_kept_and_told():
    gone = visit(MAR, 12_345.6, note="last")
    memory = Memory({("A", "2025-03-05"): gone, ("A", "2025-01-05"): visit(JAN)})
    new = [visit(FEB, vehicle="B"), visit(JAN)]
    merged, changed, count = memory.joined(new)
    assert [(v.vehicle, v.date) for v in merged] == [("A", JAN), ("A", MAR), ("B", FEB)]
    assert changed.to_numpy().tolist() == [
        ["A", "2025-03-05", "12,346 km; LF outer 8.00 mm, LF inner 7.00 mm; last", ""]
    ]
    assert count == 1


def test_a_visit_in_short_names_eight_readings_at_most():
    many = visit(JAN)
    many.depths = [("LF", "outer", float(k)) for k in range(10)]
    _, changed, _ = Memory({("A", "2025-01-05"): many}).joined([])
    assert changed["before"][0].count("mm") == 8


def test_rows_that_no_import_wrote_were_added_by_somebody(tmp_path):
    rows = [{"date": "2025-01-05", "depth_mm": "8"}, {"date": "2025-02-05", "depth_mm": "7"}]
    out = folder(tmp_path, depths=rows, rows_of_sheet=[{"tab": "Log"}])
    assert remembered(out).added == {}
    mine = pd.DataFrame(
        [rows[0], {"date": "2025-02-05", "depth_mm": "6.5"}, {"date": "2025-03-05", "depth_mm": ""}]
    )
    mine.to_csv(out / "depths.csv", index=False)
    (out / "alignment.csv").write_text("date,axle\n2025-01-05,front\n")
    (out / "rows_of_sheet.csv").write_text("tab\nOther\n")
    assert remembered(out).added == {
        "depths": [{"date": "2025-02-05", "depth_mm": "6.5"}, {"date": "2025-03-05", "depth_mm": ""}],
        "alignment": [{"date": "2025-01-05", "axle": "front"}],
    }


def test_an_empty_folder_remembers_nothing(tmp_path):
    assert remembered(tmp_path) == Memory()


@pytest.mark.parametrize(
    "text",
    [None, "no json", "{}", '{"visits": [{}]}', '{"visits": 3}', json.dumps({"visits": [{"date": "x"}]})],
)
def test_a_folder_that_no_import_made_is_refused(tmp_path, text):
    (tmp_path / "mine.txt").write_text("")
    if text is not None:
        (tmp_path / FILE).write_text(text)
    with pytest.raises(InputError) as caught:
        remembered(tmp_path)
    assert caught.value.problems[0].code == NoSheet.IMPORT_FOREIGN
