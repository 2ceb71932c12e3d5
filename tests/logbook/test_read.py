"""Bad input, word for word: what is wrong, where, and what to do; nothing lost on the way."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.logbook.folders import HABITS, TABLES, folder, swap
from tirelife.errors import InputError
from tirelife.language import worded
from tirelife.logbook import Found, check_logbook, read_logbook, to_problems

NUMBER = "Write digits, with a point for decimals, such as 7.5."
NOT_THERE = "Add the mount to mounts, or correct the position or the date; the reading is kept, not used."
KEPT = "Check the position and the reading; it is kept and flagged."
UTF8 = "In the spreadsheet choose Save As, CSV UTF-8 (comma delimited)."

ERRORS = {
    "a missing table": (
        {"depths": None},
        ["depths.csv: is missing. A logbook needs vehicles, tires, mounts, depths."],
    ),
    "a missing column": (
        {"depths": swap("depths", "groove", "rib", 1)},
        ["depths.csv, row 1, column groove: is missing. Add a column groove."],
    ),
    "a misspelt column": (
        {"depths": swap("depths", "groove", "grove", 1)},
        ["depths.csv, row 1, column groove: is missing. Rename the column 'grove' to groove."],
    ),
    "a column in capitals": (
        {"depths": swap("depths", "date", "Date", 1)},
        ["depths.csv, row 1, column date: is missing. Rename the column 'Date' to date."],
    ),
    "a wrong unit": (
        {"depths": swap("depths", "depth_32nds", "depth_cm")},
        [
            "depths.csv, row 1, column depth_cm: has a unit it cannot have. "
            "Name the column depth_mm or depth_32nds or depth_mils or depth_in."
        ],
    ),
    "no unit": (
        {"depths": swap("depths", "odometer_mi", "odometer")},
        ["depths.csv, row 1, column odometer: has no unit. Name the column odometer_km or odometer_mi."],
    ),
    "two units of one column": (
        {"vehicles": "vehicle_id,drive,placard_front_psi,placard_front_kpa,placard_rear_psi\nV1,front,33,228,33\nV2,rear,35,241,38\n"},
        [
            "vehicles.csv, row 1, column placard_front_psi: holds one quantity in two units, "
            "placard_front_kpa and placard_front_psi. Keep one of the two columns."
        ],
    ),
    "two units of one quantity": (
        {"vehicles": "vehicle_id,drive,placard_front_psi,placard_rear_kpa\nV1,front,33,228\nV2,rear,35,262\n"},
        [
            "vehicles.csv, row 1, column placard_rear_kpa: holds one quantity in two units, "
            "placard_front_psi and placard_rear_kpa. Write both columns in psi or both in kpa."
        ],
    ),
    "a column twice": (
        {"tires": swap("tires", "made_week", "tire_line")},
        ["tires.csv, row 1, column tire_line: stands twice in the header. Rename or delete one of the two columns."],
    ),
    "text in a number": (
        {"depths": swap("depths", "LF,outer,9.5", "LF,outer,worn", 1)},
        [f"depths.csv, row 2, column depth_32nds: is not a number (found 'worn'). {NUMBER}"],
    ),
    "a unit in a number": (
        {"depths": swap("depths", "LF,outer,9.5", "LF,outer,7.5 mm", 1)},
        [
            "depths.csv, row 2, column depth_32nds: is not a number (found '7.5 mm'). "
            "Write 7.5 alone; the unit is in the column's name."
        ],
    ),
    "a fraction in a number": (
        {"depths": swap("depths", "LF,outer,9.5", "LF,outer,9/32", 1)},
        [
            "depths.csv, row 2, column depth_32nds: is not a number (found '9/32'). "
            "Write 9 alone; the unit is in the column's name."
        ],
    ),
    "infinity": (
        {"depths": swap("depths", "LF,outer,9.5", "LF,outer,inf", 1)},
        [
            "depths.csv, row 2, column depth_32nds: is not a finite number (found 'inf'). "
            "Write a number, or leave the cell blank if it may be blank."
        ],
    ),
    "a thousands separator": (
        {"mounts": swap("mounts", ",1000,V1,T1,", ',"1,000",V1,T1,')},
        [
            "mounts.csv, row 2, column odometer_mi: may have a thousands separator (found '1,000'). "
            "Write 1000, or 1.000 if that is what is meant."
        ],
    ),
    "a blank": (
        {"depths": swap("depths", "LF,outer,9.5", "LF,outer,", 1)},
        ["depths.csv, row 2, column depth_32nds: is blank. Fill it in."],
    ),
    "a value out of range": (
        {"depths": swap("depths", "LF,outer,9.5", "LF,outer,95", 1)},
        [
            "depths.csv, row 2, column depth_32nds: is outside 0 to 50.39 32nds (found '95'). "
            "Was it typed in mils? 95 mils is 3.04 32nds."
        ],
    ),
    "kPa typed as psi": (
        {"pressures": "date,vehicle_id,position,pressure_psi,state\n2025-03-10,V1,LF,220,cold\n"},
        [
            "pressures.csv, row 2, column pressure_psi: is outside 0 to 159.5 psi (found '220'). "
            "Was it typed in kPa? 220 kPa is 31.91 psi."
        ],
    ),
    "a word that is not one of the few": (
        {"mounts": swap("mounts", "T1,LF", "T1,FL")},
        [
            "mounts.csv, row 2, column position: is not one of LF, RF, LR, RR, SP, OFF (found 'FL'). Write LF."
        ],
    ),
    "a spreadsheet's day number": (
        {"mounts": swap("mounts", "2025-01-10", "45667", 1)},
        [
            "mounts.csv, row 2, column date: is not a date as YYYY-MM-DD (found '45667'). "
            "It looks like a spreadsheet's day number for 2025-01-10: format the column as YYYY-MM-DD."
        ],
    ),
    "a day-first date": (
        {"mounts": swap("mounts", "2025-01-10", "31/01/2025", 1)},
        ["mounts.csv, row 2, column date: is not a date as YYYY-MM-DD (found '31/01/2025'). Write 2025-01-31."],
    ),
    "a date that could be two days": (
        {"mounts": swap("mounts", "2025-01-10", "10/01/2025", 1)},
        [
            "mounts.csv, row 2, column date: is not a date as YYYY-MM-DD (found '10/01/2025'). "
            "Write 2025-01-10 if the day comes first, or 2025-10-01 if the month does."
        ],
    ),
    "30 February": (
        {"mounts": swap("mounts", "2025-01-10", "2025-02-30", 1)},
        ["mounts.csv, row 2, column date: is not a day of the calendar (found '2025-02-30'). Correct the date."],
    ),
    "an empty file": (
        {"depths": ""},
        ["depths.csv: is empty. Put a header row and the records into it, or delete the file."],
    ),
    "only separators": (
        {"depths": "\ufeff,,,\r\n,,,\r\n"},
        ["depths.csv: is empty. Put a header row and the records into it, or delete the file."],
    ),
    "cp1252": (
        {"tires": swap("tires", "T1,Line A", "T1,Liné A").encode("cp1252")},
        [f"tires.csv, row 2: is not UTF-8: byte 0xE9 (found 'T1,Liné A,10'). {UTF8}"],
    ),
    "UTF-16": (
        {"tires": TABLES["tires"].encode("utf-16")},
        [f"tires.csv: is in UTF-16, not UTF-8. {UTF8}"],
    ),
    "a workbook by another name": (
        {"tires": b"PK\x03\x04\x14\x00"},
        [f"tires.csv: is not a CSV file, whatever its name says. {UTF8}"],
    ),
    "a zero byte": (
        {"tires": swap("tires", "T1,Line A", "T1,Line\0A")},
        ["tires.csv, row 2: has a zero byte in it. The file may be damaged: export it again as CSV UTF-8."],
    ),
    "a row with a cell too many": (
        {"depths": swap("depths", "LF,outer,9.5", "LF,outer,9,5", 1)},
        [
            "depths.csv, row 2: has more cells than the header has names (found '5'). "
            "Name the column, or put the cell that holds a comma into quotation marks."
        ],
    ),
    "an open quotation mark": (
        {"depths": swap("depths", "outer", '"outer', 1)},
        [
            "depths.csv, row 2: cannot be split into cells. "
            "A quotation mark may be opened and never closed: look at this row and the ones before."
        ],
    ),
    "a merged title above the header": (
        {"depths": "Depth log,,,,,\n\n" + TABLES["depths"]},
        [
            "depths.csv, row 1: has its header in row 3 (found 'Depth log'). "
            "Delete the 2 rows above the header, and unmerge any merged cells."
        ],
    ),
    "a vehicle twice": (
        {"vehicles": TABLES["vehicles"] + "V1,front,33,33\n"},
        [
            "vehicles.csv, row 4, column vehicle_id: is there twice (found 'V1'). "
            "It stands in row 2 already; each may stand once."
        ],
    ),
    "an unknown vehicle": (
        {"habits": HABITS + "V9,2025-01-01,2025-02-01,0.2,0.2,0.2,0.2,0.2,1,1,1\n"},
        [
            "habits.csv, row 2, column vehicle_id: is not in vehicles (found 'V9'). "
            "Correct it, or add it to vehicles."
        ],
    ),
    "an unknown tire": (
        {"mounts": TABLES["mounts"] + "2025-02-01,2500,V1,T11,SP\n"},
        [
            "mounts.csv, row 10, column tire_id: is not in tires (found 'T11'). "
            "Did you mean 'T1'? Correct it, or add it to tires."
        ],
    ),
    "a tire at two places": (
        {"mounts": swap("mounts", "T2,RF", "T1,RF")},
        ["mounts.csv, row 3, column tire_id: is in two places (found 'T1'). It is at LF and at RF at once: correct one of the rows."],
    ),
    "a tire on two vehicles": (
        {"mounts": TABLES["mounts"] + "2025-08-01,12000,V1,T5,SP\n"},
        [
            "mounts.csv, row 10, column tire_id: is in two places (found 'T5'). "
            "It is still at LF of V2: add a row that takes it OFF there."
        ],
    ),
    "two tires at one place at one moment": (
        {"tires": TABLES["tires"] + "T9,Line A,10,0724\n", "mounts": TABLES["mounts"] + "2025-01-10,1000,V1,T9,LF\n"},
        [
            "mounts.csv, row 10, column tire_id: goes where another tire is (found 'T9'). "
            "LF of V1 holds T1 since 2025-01-10: record where T1 went, or that it is OFF."
        ],
    ),
    "shares that do not sum": (
        {"habits": HABITS + "V1,2025-01-01,2025-02-01,0.2,0.2,0.2,0.2,0.1,1,1,1\n"},
        [
            "habits.csv, row 2, column share_…: the shares of miles do not sum to 1 (found '0.9'). "
            "Correct the shares of this row."
        ],
    ),
    "habits that end before they begin": (
        {"habits": HABITS + "V1,2025-03-01,2025-02-01,0.2,0.2,0.2,0.2,0.2,1,1,1\n"},
        [
            "habits.csv, row 2, column to_date: ends before it begins (found '2025-02-01'). "
            "Correct one of the dates."
        ],
    ),
    "a gauge compared in a unit of something else": (
        {"gauges": "gauge_id,date,kind,reading,master,unit\nG1,2025-01-01,depth,8,8,psi\n"},
        ["gauges.csv, row 2, column unit: is no unit of this kind (found 'psi'). Use one of: mm, 32nds, mils, in."],
    ),
    "no vehicles": (
        {"vehicles": TABLES["vehicles"].split("\n")[0]},
        ["vehicles.csv: has a header but no records. Add a row for each."],
    ),
}  # fmt: skip

DOUBTS = {
    "semicolons and decimal commas": (
        {"depths": TABLES["depths"].replace(",", ";").replace(".", ",")},
        [
            "depths.csv: has semicolons between its cells; read as such. Save it with commas between cells.",
            "depths.csv, column depth_32nds: has decimal commas; read as such. Save it with points for decimals.",
        ],
    ),
    "another case": (
        {"mounts": swap("mounts", "T1,LF", "T1,lf")},
        ["mounts.csv, row 2, column position: is in another case (found 'lf'). It is read as LF; write it so."],
    ),
    "unknown columns": (
        {"vehicles": "vehicle_id,drive,placard_front_psi,placard_rear_psi,colour,plate\nV1,front,33,33,red,A\nV2,rear,35,38,blue,B\n"},
        ["vehicles.csv, row 1: has unknown columns: colour, plate. They are kept and ignored."],
    ),
    "bar typed as psi": (
        {"pressures": "date,vehicle_id,position,pressure_psi,state\n2025-03-10,V1,LF,2.2,cold\n"},
        [
            "pressures.csv, row 2, column pressure_psi: may be in bar (found '2.2'). "
            "As bar it would be 31.91 psi. Was it typed in bar?"
        ],
    ),
    "an unmistakable thousands separator": (
        {"mounts": swap("mounts", ",1000,V1,T1,", ',"1,000.0",V1,T1,')},
        ["mounts.csv, row 2, column odometer_mi: has a thousands separator (found '1,000.0'). It is read as 1000; write it so."],
    ),
    "a reading with no tire": (
        {"pressures": "date,vehicle_id,position,pressure_psi,state\n2025-01-01,V1,LF,33,cold\n"},
        [f"pressures.csv, row 2, column position: no tire is mounted there (found 'LF'). {NOT_THERE}"],
    ),
    "a depth with no tire": (
        {"depths": TABLES["depths"] + "2025-07-10,10000,V1,SP,center,9\n"},
        [f"depths.csv, row 74, column position: no tire is mounted there (found 'SP'). {NOT_THERE}"],
    ),
    "an odometer going back": (
        {"odometer": "date,vehicle_id,odometer_mi\n2025-06-01,V1,800\n"},
        [
            "odometer.csv, row 2, column odometer_mi: the odometer may have a digit off (found '800'). "
            "8080 miles would fit the readings around it. Correct it, or its date, if it is a slip; until then the line between the readings around it counts."
        ],
    ),
    "an odometer replaced before all the rest": (
        {"odometer": "date,vehicle_id,odometer_mi\n2025-01-02,V1,90000\n"},
        [
            "odometer.csv, row 2, column odometer_mi: the odometer goes back (found '90000'). It reads 1000 after. "
            "If the instrument was replaced, add the old one's last reading to each new one. Correct it, or its date, if it is a slip; until then the line between the readings around it counts."
        ],
    ),
    "an odometer going back at the end": (
        {"odometer": "date,vehicle_id,odometer_mi\n2025-08-01,V1,800\n"},
        [
            "odometer.csv, row 2, column odometer_mi: the odometer goes back (found '800'). It reads 10000 before. "
            "If the instrument was replaced, add the old one's last reading to each new one. Correct it, or its date, if it is a slip; until then the line between the readings around it counts."
        ],
    ),
    "km typed as miles": (
        {"odometer": "date,vehicle_id,odometer_mi\n2025-06-01,V1,13679\n"},
        [
            "odometer.csv, row 2, column odometer_mi: the odometer may be in km (found '13679'). "
            "As km it would be 8500 miles, which fits. Was it typed in km?"
        ],
    ),
    "an odometer with a digit too many": (
        {"odometer": "date,vehicle_id,odometer_mi\n2025-07-20,V1,101000\n"},
        [
            "odometer.csv, row 2, column odometer_mi: the odometer may have a digit off (found '101000'). "
            "10100 miles would fit the readings around it. Correct it, or its date, if it is a slip; until then the line between the readings around it counts."
        ],
    ),
    "a depth growing": (
        {"depths": swap("depths", "2025-05-10,7000,V1,LF,outer,9.0", "2025-05-10,7000,V1,LF,outer,11.0")},
        [f"depths.csv, row 26, column depth_32nds: the depth grows (found '11.0'). It read 9.5 before and 8.5 after. {KEPT}"],
    ),
    "a depth that drops and comes back": (
        {"depths": swap("depths", "2025-05-10,7000,V1,LF,outer,9.0", "2025-05-10,7000,V1,LF,outer,5")},
        [
            "depths.csv, row 26, column depth_32nds: may have a digit off (found '5'). "
            "9 32nds would fit the grooves beside it. Correct it, or read again."
        ],
    ),
    "mm typed as 32nds": (
        {"depths": swap("depths", "2025-05-10,7000,V1,LF,outer,9.0", "2025-05-10,7000,V1,LF,outer,7.1")},
        [
            "depths.csv, row 26, column depth_32nds: the depth does not fit the readings around it (found '7.1'). "
            "It read 9.5 before and 8.5 after. Was it typed in mm? 7.1 mm is 8.94 32nds."
        ],
    ),
    "a depth over new": (
        {"depths": swap("depths", "2025-03-10,4000,V1,LF,outer,9.5", "2025-03-10,4000,V1,LF,outer,12")},
        ["depths.csv, row 2, column depth_32nds: is deeper than the tire was new (found '12'). New, it had 10."],
    ),
    "a date ahead": (
        {"odometer": "date,vehicle_id,odometer_mi\n2925-08-01,V1,20000\n"},
        [
            "odometer.csv, row 2, column date: is in the future (found '2925-08-01'). "
            "Correct the date; what is dated after today is not used unless you ask for a later day."
        ],
    ),
    "a leading zero lost": (
        {"tires": swap("tires", "T1,Line A,10,0724", "T1,Line A,10,724")},
        [
            "tires.csv, row 2, column made_week: is no week and year (found '724'). "
            "A leading zero may be lost: 712 may be 0712. Write week and year, four digits."
        ],
    ),
    "a tire made after it was mounted": (
        {"tires": swap("tires", "T1,Line A,10,0724", "T1,Line A,10,2025")},
        [
            "tires.csv, row 2, column made_week: is after the tire was mounted (found '2025'). "
            "Check the code on the sidewall, and the date of the mount."
        ],
    ),
    "a time that no clock shows": (
        {"mounts": swap("mounts", "2025-01-10,1000,V1,T1,LF", "2025-01-10 25:99,1000,V1,T1,LF")},
        [
            "mounts.csv, row 2, column date: has a time that no clock shows (found '2025-01-10 25:99'). "
            "It is read as 2025-01-10; correct the day or the time."
        ],
    ),
    "a mount recorded twice": (
        {"mounts": TABLES["mounts"] + "2025-01-10,1000,V1,T1,LF\n"},
        ["mounts.csv, row 10, column tire_id: is recorded twice (found 'T1'). It counts once."],
    ),
    "a tire put where another is": (
        {"tires": TABLES["tires"] + "T9,Line A,10,0724\n", "mounts": TABLES["mounts"] + "2025-08-01,12000,V1,T9,LF\n"},
        [
            "mounts.csv, row 10, column tire_id: goes where another tire is (found 'T9'). "
            "LF of V1 held T1 since 2025-01-10: T1 counts as taken off that day. If it went elsewhere, record where."
        ],
    ),
    "a tire taken off where it was not": (
        {"mounts": TABLES["mounts"] + "2025-08-01,12000,V1,T5,OFF\n"},
        [
            "mounts.csv, row 10, column tire_id: goes OFF where it was not (found 'T5'). "
            "Add the row that put it on, or correct the vehicle."
        ],
    ),
    "miles here and km there": (
        {"odometer": "date,vehicle_id,odometer_km\n2025-07-20,V1,16500\n"},
        [
            "odometer.csv, row 1, column odometer_km: has km where other tables have miles. "
            "Check the unit in the column's name."
        ],
    ),
    "a header with nothing below": (
        {"depths": TABLES["depths"].split("\n")[0]},
        ["depths.csv: has a header but no records. Add a row for each."],
    ),
}  # fmt: skip


def said(problems):
    return [str(problem) for problem in to_problems(problems)]


@pytest.mark.parametrize("case", ERRORS)
def test_an_error_is_named_and_stops_the_reading(case, tmp_path):
    tables, expected = ERRORS[case]
    path = folder(tmp_path / "book", **tables)
    problems = check_logbook(path)
    errors = problems[~problems["doubt"]]
    assert said(errors) == expected
    with pytest.raises(InputError) as caught:
        read_logbook(path)
    assert str(caught.value) == "\n".join(expected)
    assert len(caught.value.problems) == len(expected)


@pytest.mark.parametrize("case", DOUBTS)
def test_a_doubt_is_named_and_the_record_kept(case, tmp_path):
    tables, expected = DOUBTS[case]
    path = folder(tmp_path / "book", **tables)
    problems = check_logbook(path)
    assert said(problems) == expected
    assert problems["doubt"].all()
    book = read_logbook(path)
    pd.testing.assert_frame_equal(book.problems, problems)
    for record in problems.itertuples():
        if record.row > 1 and record.code != Found.FUTURE:
            table = book.tables[record.file.removesuffix(".csv")]
            assert table.loc[table["row"] == record.row, "doubt"].str.contains(record.code).all()
    rows = {name: max(TABLES[name].count("\n") - 1, 0) for name in TABLES} | {
        name: text.rstrip("\n").count("\n") for name, text in tables.items()
    }
    for name, count in rows.items():
        assert book.tables[name]["row"].nunique() == count - (case == "a date ahead" and name == "odometer")


def test_a_good_logbook_has_no_problems(tmp_path):
    book = read_logbook(folder(tmp_path))
    assert book.problems.empty
    assert list(book.problems) == [
        "file", "row", "column", "value", "code", "severity", "doubt", "ask", "values",
    ]  # fmt: skip
    assert len(book.depths) == 72
    assert book.units == "us"
    assert book.as_of == pd.Timestamp("2025-07-10")
    assert book.depths["depth_mm"].iloc[0] == 9.5 * 25.4 / 32
    assert book.depths["row"].tolist() == list(range(2, 74))
    assert (book.depths["doubt"] == "").all()
    assert book.tires["made_week"].iloc[0] == "0724"


@pytest.mark.parametrize(
    "spoil",
    [
        lambda text: "\ufeff" + text,
        lambda text: text.replace("\n", "\r\n"),
        lambda text: text.replace("\n", "\r"),
        lambda text: text.replace("\n", ",,,\n") + ",,,,,,,\n\n\n",
        lambda text: text.replace("\n", " \n").replace(",", " , "),
        lambda text: "\n".join(",".join(f'"{cell}"' for cell in line.split(",")) for line in text.split("\n")[:-1]),
        lambda text: text.rstrip("\n"),
        lambda text: text.replace("\n", "," * 3000 + "\n"),
    ],
    ids=["mark", "crlf", "cr", "trailing", "blanks", "quoted", "no newline", "3,000 empty columns"],
)  # fmt: skip
def test_habits_of_spreadsheets_change_nothing(spoil, tmp_path):
    plain = read_logbook(folder(tmp_path / "plain"))
    spoilt = read_logbook(folder(tmp_path / "spoilt", **{n: spoil(t) for n, t in TABLES.items()}))
    assert spoilt.problems.empty
    for name, table in plain.tables.items():
        pd.testing.assert_frame_equal(spoilt.tables[name], table)


def test_semicolons_tabs_and_parquet_hold_the_same(tmp_path):
    plain = read_logbook(folder(tmp_path / "plain"))
    for mark in (";", "\t"):
        other = folder(tmp_path / f"mark{ord(mark)}", **{n: t.replace(",", mark) for n, t in TABLES.items()})
        pd.testing.assert_frame_equal(read_logbook(other).depths, plain.depths)
    path = folder(tmp_path / "parquet")
    for name in TABLES:
        typed = pd.read_csv(path / f"{name}.csv", dtype={"made_week": "str"})
        if "date" in typed:
            typed["date"] = pd.to_datetime(typed["date"])
        typed.to_parquet(path / f"{name}.parquet")
        (path / f"{name}.csv").unlink()
    book = read_logbook(path)
    for name in TABLES:
        pd.testing.assert_frame_equal(book.tables[name], plain.tables[name])


def test_metric_and_us_logbooks_are_the_same(tmp_path):
    us = read_logbook(folder(tmp_path / "us"))
    tables = {}
    for name in TABLES:
        frame = pd.read_csv(tmp_path / "us" / f"{name}.csv", dtype={"made_week": "str"})
        for old, new, factor in (("odometer_mi", "odometer_km", 1.609344), ("depth_32nds", "depth_mm", 0.79375),
                                 ("new_depth_32nds", "new_depth_mm", 0.79375)):  # fmt: skip
            if old in frame:
                frame[new] = frame.pop(old) * factor
        tables[name] = frame.to_csv(index=False)
    metric = read_logbook(folder(tmp_path / "metric", **tables))
    assert metric.units == "metric"
    for name in TABLES:
        pd.testing.assert_frame_equal(metric.tables[name], us.tables[name], rtol=1e-12)


def test_ids_stay_text(tmp_path):
    path = folder(
        tmp_path,
        vehicles=swap("vehicles", "V1", "007"),
        **{name: TABLES[name].replace("V1", "007").replace("T1,", "NA,") for name in ("mounts", "depths", "tires")},
    )  # fmt: skip
    book = read_logbook(path)
    assert book.vehicles["vehicle_id"].tolist() == ["007", "V2"]
    assert book.tires["tire_id"].iloc[0] == "NA"
    assert book.stretches["tire_id"].iloc[0] == "NA"


def test_unknown_columns_are_kept_as_they_were(tmp_path):
    lines = TABLES["vehicles"].rstrip("\n").split("\n")
    text = "\n".join(f"{line},{cell}" for line, cell in zip(lines, ("row", "=1+1", " 07 "), strict=True))
    book = read_logbook(folder(tmp_path, vehicles=text))
    assert book.vehicles["row"].tolist() == [2, 3]
    assert book.vehicles["row (as written)"].tolist() == ["=1+1", " 07 "]


def test_all_problems_come_at_once_errors_before_doubts(tmp_path):
    path = folder(
        tmp_path,
        vehicles=TABLES["vehicles"] + "V1,front,33,33\n",
        tires=swap("tires", "T1,Line A,10,0724", "T1,Line A,x,724"),
        depths=swap("depths", "9.5", "x", 2),
        alignment="date\n",
    )
    problems = check_logbook(path)
    assert problems["doubt"].is_monotonic_increasing
    assert set(problems["file"]) == {"vehicles.csv", "tires.csv", "depths.csv", "alignment.csv"}
    assert (~problems["doubt"]).sum() == 1 + 1 + 2 + 4


def test_nothing_after_the_day_is_used_or_mentioned(tmp_path):
    early = {
        n: "\n".join(line for line in t.split("\n") if "2025-07-10" not in line) for n, t in TABLES.items()
    }
    late = dict(TABLES)
    late["tires"] += "T9,Line A,4,0724\nT10,Line B,9,0724\n"
    late["mounts"] += "2025-07-01,9000,V1,T9,SP\n2025-07-10,500,V1,T1,RR\n"
    late["depths"] = late["depths"].replace("8.5", "15")
    late["habits"] = HABITS + "V1,2025-01-01,2025-12-31,0.2,0.2,0.2,0.2,0.2,1,1,1\n"
    late["gauges"] = "gauge_id,date,kind,reading,master,unit\nG1,2025-06-30,depth,9999,8,32nds\n"
    early["tires"] += "T10,Line B,9,0724\n"  # never mounted: stock, known all along
    for day in ("2025-06-30", pd.Timestamp("2025-06-30")):
        then = read_logbook(folder(tmp_path / "early", **early), as_of="2025-06-30")
        book = read_logbook(folder(tmp_path / "late", **late | {"gauges": None}), as_of=day)
        for name, table in then.tables.items():
            left = table.drop(columns="row")
            pd.testing.assert_frame_equal(
                book.tables[name].drop(columns="row"), left, check_dtype=len(left) > 0
            )
        assert book.as_of == pd.Timestamp("2025-06-30")
    assert check_logbook(tmp_path / "late", as_of="2025-06-30").empty
    assert not check_logbook(tmp_path / "late").empty


@pytest.mark.parametrize("day", ["soon", "31/03/2026", "2026-13-01"])
def test_an_as_of_that_is_no_day_is_refused(day, tmp_path):
    with pytest.raises(InputError, match=rf"^'{day}' is not a day as YYYY-MM-DD\.$"):
        read_logbook(folder(tmp_path), as_of=day)


def test_the_last_day_does_not_lie_in_the_future(tmp_path):
    path = folder(tmp_path, odometer="date,vehicle_id,odometer_mi\n2925-08-01,V1,20000\n")
    book = read_logbook(path)
    assert book.as_of == pd.Timestamp("2025-07-10")
    assert book.odometer["odometer_km"].max() == 10000 * 1.609344


def test_a_visit_entered_twice_is_doubted_row_by_row(tmp_path):
    text = TABLES["depths"]
    again = "".join(line + "\n" for line in text.split("\n") if line.startswith("2025-05-10,7000,V1"))
    problems = check_logbook(folder(tmp_path, depths=text + again))
    assert worded(problems)["what"].unique().tolist() == ["stands twice"]
    assert problems["row"].tolist() == list(range(74, 86))


def test_swapped_positions_are_asked_about(tmp_path):
    depths = {("LF", 3): 9.5, ("LF", 5): 6, ("LF", 7): 8.5, ("LR", 3): 6.5, ("LR", 5): 9, ("LR", 7): 5.5}
    head = "date,odometer_mi,vehicle_id,position,groove,depth_32nds\n"
    rows = "".join(f"2025-0{m}-10,{m}000,V1,{p},center,{d}\n" for (p, m), d in depths.items())
    assert said(check_logbook(folder(tmp_path, depths=head + rows))) == [
        "depths.csv, row 3, column depth_32nds: the depth does not fit the readings around it (found '6'). "
        "It read 9.5 before and 8.5 after. Were LF and LR swapped?",
        "depths.csv, row 6, column depth_32nds: the depth grows (found '9'). "
        "It read 6.5 before and 5.5 after. Were LR and LF swapped?",
    ]


def test_depths_all_in_another_unit_are_asked_about(tmp_path):
    head = "date,odometer_mi,vehicle_id,position,groove,depth_32nds\n"
    rows = "".join(
        f"2025-01-12,{k}100,V{k},{p},center,7.9\n" for k in (1, 2) for p in ("LF", "RF", "LR", "RR")
    )
    problems = check_logbook(folder(tmp_path, depths=head + rows))
    assert said(problems) == [
        "depths.csv, row 1, column depth_32nds: may be in mm, not in 32nds. "
        "Tires just mounted read 0.79 of their new depth: name the column depth_mm? "
        "Or is it their new depth that is in another unit?"
    ]


@pytest.mark.parametrize(
    ("unit", "typed", "asked"),
    [
        ("32nds", 25.4 / 32, "may be in mm, not in 32nds"),
        ("mm", 1.0, "may be in 32nds, not in mm"),
        ("mils", 1.0, "may be in 32nds, not in mils"),
        ("32nds", 1.0, None),
        ("32nds", 0.93, None),  # part-worn
        ("mm", 25.4 / 32, None),
    ],
)
def test_depths_in_another_unit_are_asked_about_though_first_read_months_on(tmp_path, unit, typed, asked):
    # TABLES has tires of 10/32 that read 9.5 after 3000 miles, and lose half a 32nd in 3000 more.
    lines = [line.split(",") for line in TABLES["depths"].split("\n")[:-1]]
    text = "".join(",".join([*cells[:-1], f"{float(cells[-1]) * typed:.3f}"]) + "\n" for cells in lines[1:])
    head = ",".join(lines[0]).replace("32nds", unit) + "\n"
    problems = check_logbook(folder(tmp_path, depths=head + text))
    whats = [what for what in worded(problems)["what"] if what.startswith("may be in")]
    assert whats == ([asked] if asked else [])


def test_rotation_the_spare_and_a_change_of_vehicle_are_no_problem(tmp_path):
    moves = (
        "2025-05-10,7000,V1,T1,LR\n2025-05-10,7000,V1,T3,LF\n"  # front to rear
        "2025-05-10,7000,V1,T2,SP\n2025-05-10,7000,V1,T8,RF\n2025-05-10,7010,V2,T8,OFF\n"  # from V2
        "2025-07-10,10000,V1,T2,OFF\n2025-07-11,10000,V1,T2,SP\n"  # off and on again
    )
    lines = TABLES["depths"].split("\n")
    text = "\n".join(line for line in lines if not (line.startswith("2025-07") and ",V2,RR" in line))
    assert check_logbook(folder(tmp_path, mounts=TABLES["mounts"] + moves, depths=text)).empty


def test_paths_that_are_no_logbook(tmp_path):
    with pytest.raises(InputError, match=r"nowhere: is not there\. Give the folder of a logbook"):
        check_logbook(tmp_path / "nowhere")
    (tmp_path / "notes.txt").write_text("hello")
    with pytest.raises(InputError, match=r"notes\.txt: is not a logbook\."):
        check_logbook(tmp_path / "notes.txt")


def test_a_table_there_twice(tmp_path):
    path = folder(tmp_path)
    pd.read_csv(path / "tires.csv").to_parquet(path / "tires.parquet")
    assert said(check_logbook(path)) == [
        "tires.parquet: is there twice, as tires.csv and tires.parquet. Keep one of the two files."
    ]


def test_a_cut_parquet_file(tmp_path):
    path = folder(tmp_path)
    pd.read_csv(path / "tires.csv").to_parquet(path / "tires.parquet")
    (path / "tires.csv").unlink()
    (path / "tires.parquet").write_bytes((path / "tires.parquet").read_bytes()[:-200])
    assert said(check_logbook(path))[0] == (
        "tires.parquet: is not a whole Parquet file. It may be damaged or cut short: export it again."
    )


def test_a_file_that_cannot_be_read(tmp_path):
    path = folder(tmp_path, habits=None)
    (path / "habits.csv").mkdir()
    assert said(check_logbook(path)) == [
        "habits.csv: cannot be read: is a directory. Check that the file is there and that you may read it."
    ]


def test_a_file_that_vanishes_while_it_is_read(tmp_path, monkeypatch):
    path = folder(tmp_path)
    read = Path.read_bytes

    def vanish(self):
        if self.name == "depths.csv":
            self.unlink()
        return read(self)

    monkeypatch.setattr(Path, "read_bytes", vanish)
    assert said(check_logbook(path)) == [
        "depths.csv: cannot be read: no such file or directory. Check that the file is there and that you may read it."
    ]


def test_a_parquet_link_to_nowhere(tmp_path):
    (folder(tmp_path, depths=None) / "depths.parquet").symlink_to(tmp_path / "gone")
    assert said(check_logbook(tmp_path))[0].startswith(
        "depths.parquet: cannot be read: no such file or directory."
    )


def test_a_hundred_thousand_empty_columns(tmp_path):
    text = TABLES["tires"].replace("\n", "," * 100_000 + "\n")
    assert check_logbook(folder(tmp_path, tires=text)).empty


def test_a_spreadsheets_own_line_about_separators(tmp_path):
    text = "sep=;\n" + TABLES["tires"].replace(",", ";").replace(";10;", ";x;", 1)
    problems = check_logbook(folder(tmp_path, tires=text))
    assert problems["row"].tolist() == [3, 0]


@pytest.mark.parametrize("end", ["", " ", "\r"])
def test_a_spreadsheets_own_line_may_name_the_tab(tmp_path, end):
    text = f"sep=\t{end}\n" + TABLES["tires"].replace(",", "\t")
    problems = check_logbook(folder(tmp_path, tires=text))
    assert worded(problems)["what"].tolist() == ["has tabs between its cells; read as such"]


def test_a_logbook_that_lies_ahead_as_a_whole_is_used_and_says_so(tmp_path):
    path = folder(tmp_path, **{name: text.replace("2025-", "2925-") for name, text in TABLES.items()})
    assert len(read_logbook(path).depths) == len(TABLES["depths"].splitlines()) - 1
    problems = check_logbook(path)
    assert set(worded(problems)["what"]) == {"is in the future"}
    assert worded(problems)["advice"].str.contains("used as they are").all()


def test_a_large_file_is_read_as_a_small_one(tmp_path, monkeypatch):
    text = swap("depths", "9.5", "9.50").replace(
        "2025-03-10,4000,V1,LF,outer,9.50", "2025-03-10,4000,V1,LF,outer,15.00"
    )
    path = folder(
        tmp_path, depths=text, vehicles=swap("vehicles", "V1", "V1 "), tires=swap("tires", "0724", "724")
    )
    small = read_logbook(path)
    monkeypatch.setattr("tirelife.logbook.textfile._SMALL", 0)
    monkeypatch.setattr("tirelife.logbook.textfile._PIECE", 7)
    large = read_logbook(path)
    pd.testing.assert_frame_equal(small.problems, large.problems)
    assert small.problems.query("column == 'depth_32nds'")["value"].unique().tolist() == ["15.00"]
    for name, table in small.tables.items():
        pd.testing.assert_frame_equal(table, large.tables[name])


def test_trips_are_found_and_not_read(tmp_path):
    book = read_logbook(folder(tmp_path, trips="not,read\n1,2,3,4"))
    assert book.trips == tmp_path / "trips.csv"
    assert read_logbook(folder(tmp_path / "none")).trips is None


def test_frames_handed_out_are_copies(tmp_path):
    book = read_logbook(folder(tmp_path))
    mine = book.depths
    mine["depth_mm"] = 0.0
    assert book.depths["depth_mm"].min() > 0


def test_order_of_rows_and_columns_does_not_matter(tmp_path):
    rng = np.random.default_rng(7)
    plain = read_logbook(folder(tmp_path / "plain"))
    tables = {}
    for name in TABLES:
        frame = pd.read_csv(tmp_path / "plain" / f"{name}.csv", dtype="str")
        frame = frame.iloc[rng.permutation(len(frame)), rng.permutation(frame.shape[1])]
        tables[name] = frame.to_csv(index=False)
    mixed = read_logbook(folder(tmp_path / "mixed", **tables))
    pd.testing.assert_frame_equal(mixed.stretches, plain.stretches)
    pd.testing.assert_frame_equal(mixed.odometer, plain.odometer)
    keys = ["date", "vehicle_id", "position", "groove"]
    pd.testing.assert_frame_equal(
        mixed.depths.drop(columns="row").sort_values(keys, ignore_index=True),
        plain.depths.drop(columns="row").sort_values(keys, ignore_index=True),
    )
