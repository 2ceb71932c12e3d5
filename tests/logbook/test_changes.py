"""A visit beside the readings before it: which one is the last, and what falls too fast."""

import datetime as dt

import numpy as np
import pytest

from tests.logbook.folders import TABLES
from tirelife.logbook.changes import THIS_VISIT, USUAL_WEAR, shown_changes, slips, visit_changes
from tirelife.logbook.codes import Found
from tirelife.logbook.findings import Findings
from tirelife.logbook.growth import GAUGE_TOLERANCE
from tirelife.logbook.parse import parse
from tirelife.logbook.textfile import TextTable, cells_of

MILE = 1.609344
N32 = 25.4 / 32


def table(name, text):
    head, *lines = [line.split(",") for line in text.strip().splitlines()]
    cells = {column: cells_of([line[i] for line in lines]) for i, column in enumerate(head)}
    return TextTable(name, f"{name}.csv", np.arange(len(lines)) + 2, cells)


def visit(date="2025-09-10", miles=13_000, depth="8", place="LF", extra=""):
    """The logbook with one depth more, and the depth alone."""
    rows = {name: table(name, text) for name, text in TABLES.items()}
    new = f"{date},{miles},V1,{place},outer,{depth}\n{extra}"
    rows["depths"] = table("depths", TABLES["depths"] + new)
    old = TABLES["depths"].count("\n") - 1
    only = rows["depths"].keep(np.arange(len(rows["depths"].rows)) >= old)
    found = Findings()
    return {name: parse(text, found) for name, text in rows.items()}, {"depths": only}


def test_a_depth_stands_beside_the_last_of_its_tire_and_groove():
    # The visits before read 9.5, 9 and 8.5, the last on 10 July at 10,000 miles.
    (row,) = visit_changes(*visit()).to_dict("records")
    assert (row["what"], row["position"], row["groove"], row["tire_id"]) == ("depth", "LF", "outer", "T1")
    assert row["last_date"] == "2025-07-10"
    assert row["before"] == pytest.approx(8.5 * N32)
    assert row["now"] == pytest.approx(8 * N32)
    assert row["run_km"] == pytest.approx(3_000 * MILE)


def test_a_visit_entered_late_stands_beside_what_was_before_it():
    (row,) = visit_changes(*visit("2025-06-10", 8_000)).to_dict("records")
    assert (row["last_date"], row["before"]) == ("2025-05-10", pytest.approx(9 * N32))


def test_a_first_reading_has_none_before():
    (row,) = visit_changes(*visit("2025-02-10", 2_000)).to_dict("records")
    assert row["last_date"] == ""
    assert np.isnan([row["before"], row["run_km"]]).all()


def test_changes_are_shown_in_the_units_of_the_file():
    (row,) = shown_changes(visit_changes(*visit())).to_dict("records")
    assert (row["before"], row["now"], row["change"], row["unit"]) == (8.5, 8.0, -0.5, "32nds")
    assert "run_km" not in row


def test_a_depth_is_asked_about_where_it_falls_faster_than_four_times_the_usual():
    # Over 3,000 miles: what a gauge can err and four times 0.0878 mm a 1,000 km, 1 + 1.696 mm.
    least = 8.5 * N32 - (GAUGE_TOLERANCE + 4 * USUAL_WEAR * 3 * MILE)
    for depth, asked in ((least + 0.02, 0), (least - 0.02, 1)):
        parsed, new = visit(depth=f"{depth / N32:.4f}")
        found = slips(parsed, new, visit_changes(parsed, new))
        assert len(found) == asked
    assert found.loc[0, ["file", "column", "code"]].tolist() == [
        THIS_VISIT, "depth of LF outer", Found.FALLS_FAST,
    ]  # fmt: skip


def test_a_day_that_is_not_yet_is_asked_about():
    today = dt.date.today()  # noqa: DTZ011
    for ahead, asked in ((0, []), (1, [Found.FUTURE])):
        day = today + dt.timedelta(days=ahead)
        parsed, new = visit(f"{day:%Y-%m-%d}")
        assert slips(parsed, new, visit_changes(parsed, new))["code"].tolist() == asked


def test_pressures_stand_beside_those_of_their_wheel_and_state():
    head = "date,vehicle_id,position,pressure_psi,state\n"
    rows = [
        "2025-03-10,V1,LF,30,cold", "2025-05-10,V1,LF,31,cold", "2025-05-10,V1,LF,33,cold",
        "2025-06-10,V1,LF,36,warm", "2025-06-10,V1,RF,20,cold", "2025-07-10,V1,LF,29,cold",
    ]  # fmt: skip
    text = table("pressures", head + "\n".join(rows))
    parsed = {"pressures": parse(text, Findings())}
    (row,) = visit_changes(parsed, {"pressures": text.keep(np.arange(6) == 5)}).to_dict("records")
    shown = shown_changes(visit_changes(parsed, {"pressures": text.keep(np.arange(6) == 5)})).iloc[0]
    assert row["last_date"] == "2025-05-10"
    assert (shown["before"], shown["now"], shown["change"]) == (32.0, 29.0, -3.0)  # mean of 31 and 33
