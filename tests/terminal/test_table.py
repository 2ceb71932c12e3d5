"""Tables for a reader: rounding by the range, units, order."""

import io
import re

import pandas as pd
import pytest

from tests.depths import COLUMNS, names_of
from tirelife.cli import main
from tirelife.sheet.quantities import rounded
from tirelife.terminal.table import Column, date_span, far_span, signed_span, table

DEMO = "data_synthetic/logbook"


@pytest.mark.parametrize(
    ("value", "spread", "want"),
    [(17_931.4, 5_700, 18_000), (17_931.4, 400, 17_940), (0.157, 0.2, 0.16), (-561, 0, -560), (0, 0, 0)],
)
def test_a_number_is_rounded_to_at_most_a_tenth_of_its_range(value, spread, want):
    assert rounded(value, spread) == want


def test_a_column_without_any_text_is_left_out_and_lines_have_no_blanks_at_their_ends():
    said = table([Column("a", ["x", ""]), Column("none", ["", ""]), Column("b\nc", ["1", "22"], right=True)])
    assert said == "    b\na   c\nx   1\n   22"


def test_spans_of_one_value_are_one_value():
    day = pd.Timestamp("2027-01-05")
    assert far_span(1000.0, 1000.0, "metric") == "1,000"
    assert date_span(day, day) == "Jan 2027"
    assert date_span(pd.NaT, day) == ""
    assert signed_span(float("nan"), 1.0) == ""


@pytest.mark.parametrize(
    "words", [["forecast", DEMO], ["whatif", DEMO, "--vehicle", "V03", "--stops", "0.8"]]
)
def test_what_a_reader_gets_has_no_long_numbers_and_no_names_of_columns(words, capsys):
    assert main(words) == 0
    out = capsys.readouterr().out
    assert not re.search(r"\.\d{3}|\d{4}\b", re.sub(r"\b20[23]\d\b", "", out))
    assert "_" not in out
    table = [line for line in out.splitlines() if line and not re.match(r"What to do|  .*: ", line)]
    assert max(map(len, table[:20])) <= 110


def test_the_first_row_is_the_tire_that_is_due_first(capsys):
    main(["forecast", DEMO, "--csv"])
    data = pd.read_csv(io.StringIO(capsys.readouterr().out), parse_dates=["date_p50"])
    assert {"read", "read_raw", "depth_now"} <= names_of(data) <= COLUMNS
    first = data.sort_values("date_p50", kind="stable").iloc[0]
    main(["forecast", DEMO])
    rows = (line for line in capsys.readouterr().out.splitlines() if re.match(r"V\d\d ", line))
    words = next(rows).split()
    assert words[0] == first["vehicle_id"]
    side, axle = {"L": "left", "R": "right"}, {"F": "front", "R": "rear"}
    assert words[1:3] == [side[first["position"][0]], axle[first["position"][1]]]


@pytest.mark.parametrize(
    "words",
    [
        ["rotate", DEMO, "--vehicle", "V03"],
        ["replace", DEMO, "--vehicle", "V03", "--line", "touring=140"],
        ["pressures", DEMO, "--vehicle", "V03"],
    ],
)
def test_wheels_stand_in_words_and_every_amount_in_one_unit_system(words, capsys):
    assert main(words) == 0
    out = capsys.readouterr().out
    assert re.search(r"(left|right) (front|rear)|both front tires", out)
    assert not re.search(r"\b(LF|RF|LR|RR)\b|[LR][FR]>", out)
    metric = "metric" in words
    source = re.sub(r"\([^()]*(\([^()]*\)[^()]*)*\)", "", out)  # a published figure keeps its own unit
    other = r"\d/32|32nds|miles|psi" if metric else r"\d mm\b|\d km\b|kPa"
    assert not re.search(other, source)


def test_pressures_stand_the_most_urgent_first(capsys):
    main(["pressures", DEMO])
    out = capsys.readouterr().out
    rows = re.findall(r"^(V\d\d) +(\w+ \w+) +[\d.–]", out, re.M)
    noted = re.findall(r"^(V\d\d) (\w+ \w+): ", out, re.M)
    assert set(rows[: len(set(noted))]) == set(noted)


def test_a_forecast_of_one_vehicle_is_its_rows_of_the_whole_and_no_other_is_warned_of(capsys):
    main(["forecast", DEMO, "--csv"])
    whole = pd.read_csv(io.StringIO(capsys.readouterr().out))
    assert main(["forecast", DEMO, "--vehicle", "V03", "--vehicle", "V13", "--csv"]) == 0
    said = capsys.readouterr()
    some = pd.read_csv(io.StringIO(said.out))
    pd.testing.assert_frame_equal(
        some, whole[whole["vehicle_id"].isin(["V03", "V13"])].reset_index(drop=True), check_dtype=False
    )
    assert "V09" not in said.err  # read near its limit, and not asked for
    assert main(["forecast", DEMO, "--vehicle", "V99"]) == 2
    assert "no vehicle is called 'V99'" in capsys.readouterr().err


def test_a_folder_of_parts_is_of_the_whole_fleet(capsys, tmp_path):
    assert main(["forecast", DEMO, "--vehicle", "V03", "--out", f"{tmp_path}/parts/"]) == 2
    assert "a folder of parts is for the fleet" in capsys.readouterr().err
    assert not (tmp_path / "parts").exists()


def test_an_option_that_is_for_a_shops_sheet_is_not_offered_in_place_of_a_wrong_one(capsys):
    for command in ("fit", "fleet"):
        with pytest.raises(SystemExit):
            main([command, DEMO, "--vehicle", "V03"])
        assert "--tab-vehicle" not in capsys.readouterr().err


def test_what_a_correction_buys_is_rounded_by_its_range_and_days_are_in_words(capsys):
    main(["tread", DEMO, "--vehicle", "V13"])
    said = capsys.readouterr().out
    assert not re.search(r"\d{4}-\d\d-\d\d", said)
    bought = re.findall(r"Toe put right.*: ([\d,]+) miles \(([\d,]+) to ([\d,]+)\)", said)
    assert len(bought) == 3
    for row in bought:
        middle, low, high = (int(text.replace(",", "")) for text in row)
        assert all(value % 1000 == 0 for value in (middle, low, high))
        assert low <= middle <= high
