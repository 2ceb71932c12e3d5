"""One grammar of numbers: the same word has the same value, or raises the same question, at every door."""

import math

import pytest

from tests.logbook.folders import folder
from tirelife.cli import main
from tirelife.errors import InputError
from tirelife.language import worded
from tirelife.logbook import Found, check_logbook, read_logbook
from tirelife.logbook.codes import Ask
from tirelife.logbook.number import depth_words, points_are_decimal, read_number, told_number
from tirelife.logbook.sheets import Settings, import_sheet

# Common practice, no source: 1.234,5 and 1 234,5 as much of Europe writes it, 1,234.5 as English does.
MILES = {
    "21000": 21000,
    "21,000": None,
    "21.000": None,
    "21 000": 21000,
    "21'000": 21000,
    "21,000.0": 21000,
    "21.000,0": 21000,
    "21000.0": 21000,
    "21000,0": 21000,
    "1.021.000": 1021000,
    "2.1e4": 21000,
    "21k": 21000,
}
DEPTHS = {
    "7.5": 7.5,
    "7": 7,
    "07.50": 7.5,
    "7,125": 7.125,
    "7.125": 7.125,
    ".5": 0.5,
    "7..5": None,
    "7 mm": None,
}


@pytest.mark.parametrize(("word", "value"), MILES.items())
def test_a_distance_is_the_same_in_a_table_and_an_option_and_a_record(word, value, tmp_path, capsys):
    extra = f'date,vehicle_id,odometer_mi\n2025-07-11,V1,"{word}"\n'
    book = folder(tmp_path / "book", odometer=extra)
    problems = check_logbook(book)
    errors = problems[~problems["doubt"] & (problems["file"] == "odometer.csv")]
    if value is None:
        assert errors["value"].tolist() == [word]
    else:
        assert errors.empty
        odometer = read_logbook(book).tables["odometer"]
        assert odometer["odometer_km"].iloc[0] == pytest.approx(value * 1.609344)
    words = ["walkin", "--depths", "6", "6", "6", "6", "--new-depth", "10", "--as-of", "2026-01-01", "--json"]
    if value is None or value > 900_000:
        asked = _stopped([*words, "--miles-on", word], capsys)
        assert value is not None or worded(errors)["what"].iloc[0] in asked
        return
    assert main([*words, "--miles-on", word]) == 0
    told = capsys.readouterr().out
    assert main([*words, "--miles-on", f"{value}"]) == 0
    assert told == capsys.readouterr().out


@pytest.mark.parametrize("word", [word for word, value in MILES.items() if value is None])
def test_a_record_asks_what_a_table_asks(word, tmp_path, capsys):
    store = str(tmp_path / "logbook.sqlite")
    assert main(["convert", str(folder(tmp_path / "book")), store]) == 0
    assert main(["record", store, "--vehicle", "V1", "--date", "2025-09-10", "--odometer", word]) == 2
    assert read_number(word, ask_points=True).words[0] in capsys.readouterr().err


def test_a_record_reads_what_a_table_reads(tmp_path, capsys):
    store = str(tmp_path / "logbook.sqlite")
    assert main(["convert", str(folder(tmp_path / "book")), store]) == 0
    visit = ["record", store, "--vehicle", "V1", "--date", "2025-09-10", "--odometer", "13 000"]
    assert main([*visit, "--depth", "LF", "7,2", "--yes"]) == 2  # two grooves, or a decimal: asked here
    assert main([*visit, "--depth", "LF", "7,125", "--yes", "--json"]) == 0
    assert '"now": 7.125' in capsys.readouterr().out
    book = read_logbook(store)
    assert book.odometer["odometer_km"].max() == pytest.approx(13_000 * 1.609344)


@pytest.mark.parametrize(("word", "value"), DEPTHS.items())
def test_a_depth_is_the_same_in_a_table_and_an_option(word, value, capsys):
    number = read_number(word, low=0, high=50)
    assert math.isnan(number.value) if value is None else number.value == value
    words = ["walkin", "--depths", "4", "4", "4", "4", "--as-of", "2026-01-01", "--json", "--new-depth"]
    if value is None:
        assert number.words[0] in _stopped([*words, word], capsys)
    elif value > 5:
        assert main([*words, word]) == 0
        told = capsys.readouterr().out
        assert main([*words, f"{value}"]) == 0
        assert told == capsys.readouterr().out


@pytest.mark.parametrize(
    ("word", "asked"),
    [
        ("7,2", "may be 7.2, or two grooves, 7 and 2. Write 7.2, or '7;2' for two grooves."),
        ("7,2,6,8", "may be 7.2, 6.8, or 4 grooves, 7, 2, 6, 8. Write 7.2 6.8, or '7;2;6;8' for 4 grooves."),
    ],
)  # fmt: skip
def test_a_comma_that_may_part_grooves_is_asked_about_where_depths_are_typed(word, asked, tmp_path, capsys):
    # Found: in metric it was two grooves, 7 and 2 mm, and a quarter of the distance left.
    assert main(["walkin", "--units", "metric", "--depths", word, word, "6,8", "6,8"]) == 2
    assert f"--depths {word!r} {asked}" in capsys.readouterr().err
    store = str(tmp_path / "logbook.sqlite")
    assert main(["convert", str(folder(tmp_path / "book")), store]) == 0
    visit = ["record", store, "--vehicle", "V1", "--date", "2025-09-10", "--odometer", "13000"]
    assert main([*visit, "--depth", "LF", word, "--yes"]) == 2
    assert f"--depth LF {word!r} {asked}" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("6,6,5", ["6", "6", "5"]),
        ("7;2", ["7", "2"]),
        ("7, 2", ["7", "2"]),
        ("7.5,7", ["7.5", "7"]),
        ("", []),
    ],
)
def test_depths_of_one_wheel(text, words):
    assert depth_words("LF", text) == words


def test_odometers_with_points_beside_decimal_commas_are_asked_about(tmp_path):
    # Found: 41.230 was read as 41 miles and a quarter, and the tire given 33,645 miles.
    book = folder(tmp_path / "book")
    text = (
        (book / "depths.csv")
        .read_text()
        .replace(",", ";")
        .replace("10000", "10.000")
        .replace("9.0", "9,0")
        .replace("8.5", "8,5")
    )
    (book / "depths.csv").write_text(text)
    errors = check_logbook(book).query("not doubt and file == 'depths.csv'")
    assert set(worded(errors)["what"]) == {"may have a thousands separator"}
    assert set(errors["value"]) == {"10.000"}


def test_points_are_decimals_where_the_column_shows_it():
    assert points_are_decimal(["804.672", "12345.6"])
    assert not points_are_decimal(["41.230", "45000"])


def test_a_number_told_alone_says_what_is_asked():
    with pytest.raises(
        InputError, match=r"odometer '41\.230': may have a thousands separator\. Write 41230, or 41\.23"
    ):
        told_number("odometer", "41.230", ask_points=True)


@pytest.mark.parametrize("word", ["1e999", "-1e999", "inf", "+Infinity"])
def test_a_number_without_end_is_called_so(word):
    number = read_number(word)
    assert math.isnan(number.value)
    assert number.code is Found.NOT_FINITE


@pytest.mark.parametrize("word", ["7/32", "7 / 32", "7 mm", "7mm"])
def test_a_number_with_its_unit_is_asked_for_without(word):
    number = read_number(word)
    assert math.isnan(number.value)
    assert (number.code, number.ask, dict(number.values)) == (
        Found.NOT_A_NUMBER, Ask.UNIT_IN_NAME, {"meant": "7"},
    )  # fmt: skip


def _stopped(words, capsys):
    try:
        code = main(words)
    except SystemExit as stop:
        code = stop.code
    assert code == 2
    return " ".join(capsys.readouterr().err.split())


HEAD = "Date,Vehicle,Odometer (mi),LF 32nds,RF 32nds,LR 32nds,RR 32nds\n"


def _imported(tmp_path, miles, depth):
    path = tmp_path / "one.csv"
    path.write_text(f'{HEAD}2025-03-14,A 1,"{miles}","{depth}",7.5,7,7\n', encoding="utf-8")
    return path


@pytest.mark.parametrize(("word", "value"), MILES.items())
def test_a_sheet_of_one_visit_reads_or_asks_as_the_other_doors_do(word, value, tmp_path):
    path = _imported(tmp_path, word, "7.5")
    if value is None:
        with pytest.raises(InputError) as told:
            import_sheet(path, tmp_path / "book")
        asked = read_number(word, ask_points=True)
        assert all(words in str(told.value) for words in asked.words)
        return
    import_sheet(path, tmp_path / "book")
    km = read_logbook(tmp_path / "book").depths["odometer_km"]
    assert km.iloc[0] == pytest.approx(value * 1.609344)


@pytest.mark.parametrize(("word", "value"), {**DEPTHS, "7,2": "asked"}.items())
def test_a_depth_of_a_sheet_is_read_or_asked_about_as_the_other_doors_do(word, value, tmp_path):
    if word == "7 mm":
        pytest.skip("a unit in a cell of a sheet is understood; other doors name it in the column")
    path = _imported(tmp_path, "21000", word)
    if value == "asked":
        with pytest.raises(InputError, match=r"may be 7\.2, or two grooves, 7 and 2"):
            import_sheet(path, tmp_path / "book")
        for commas, read in (("decimals", [7.2]), ("grooves", [7.0, 2.0])):
            import_sheet(path, tmp_path / commas, Settings(depth_commas=commas))
            depths = read_logbook(tmp_path / commas).depths.query("position == 'LF'")
            assert (depths["depth_mm"] / 0.79375).tolist() == pytest.approx(read)
        return
    done = import_sheet(path, tmp_path / "book")
    read = read_logbook(tmp_path / "book").depths.query("position == 'LF'")["depth_mm"] / 0.79375
    if value is None:
        assert read.empty
        assert done.rows["reason"].iloc[0].startswith("row-no-depth(")
    else:
        assert read.tolist() == pytest.approx([value], rel=1e-3)


@pytest.mark.parametrize(
    ("word", "value"), [("7.5", [7.5]), ("7;6.5;7", [7, 6.5, 7]), ("7,125", [7.125]), ("7,2", None)]
)
def test_the_form_reads_depths_as_options_do(word, value):
    from tirelife.sheet.recording import _depths

    if value is None:
        with pytest.raises(InputError, match=r"may be 7\.2, or two grooves"):
            _depths("LF", word)
    else:
        assert [read_number(one[2], low=0, high=50).value for one in _depths("LF", word)] == value
