"""What a sheet is taken for, tab by tab, and what is refused before anything is written."""

import datetime as dt

import openpyxl
import pytest

from tirelife.errors import InputError
from tirelife.logbook.refused import NoSheet
from tirelife.logbook.sheets import importing
from tirelife.logbook.sheets.importing import Settings, import_sheet, plan_sheet
from tirelife.logbook.sheets.told import Asked, How, Row
from tirelife.logbook.wrong import Wrong

HEAD = ["Date", "Van", "Km", "LF mm", "RF mm", "LR mm", "RR mm"]
BARE = [HEAD[0], *HEAD[2:]]
DAYS = ("2025-01-05", "2025-04-05", "2025-08-05")


def visits(van="A 1", km=10_000, deep=8.0):
    rows = [[day, van, km + 5000 * k, *[deep - k] * 4] for k, day in enumerate(DAYS)]
    return [row if van else [row[0], *row[2:]] for row in rows]


def book(tmp_path, name="shop.xlsx", hidden=(), **tabs):
    """A workbook, its tabs by their name; rows may be hidden by their number."""
    made = openpyxl.Workbook()
    made.remove(made.active)
    for title, rows in tabs.items():
        tab = made.create_sheet(title.replace("_", " "))
        for row in rows:
            tab.append(row)
        for number in hidden:
            tab.row_dimensions[number].hidden = True
    made.save(tmp_path / name)
    return tmp_path / name


def text(tmp_path, *rows, name="shop.csv"):
    path = tmp_path / name
    path.write_text("\n".join(",".join(map(str, row)) for row in rows) + "\n", encoding="utf-8")
    return path


def named(plan):
    return [vehicle for _, vehicle in plan.tables]


def refused(call, *args, **more):
    with pytest.raises(InputError) as caught:
        call(*args, **more)
    return caught.value.problems


def test_columns_are_told_with_what_they_hold_and_by_what_that_is_known(tmp_path):
    plan = plan_sheet(text(tmp_path, HEAD, *visits()), Settings(columns={"C": "odometer mi"}))
    assert list(plan.columns) == ["tab", "column", "header", "holds", "how", "examples"]
    rows = plan.columns.set_index("column")
    assert rows["header"].tolist() == HEAD
    assert rows.loc["A", "holds"] == "date"
    assert rows.loc["C", ["holds", "how"]].tolist() == ["odometer mi", "column-given"]
    assert rows.loc["D", "holds"] == "depth LF mm"
    assert plan.questions == plan.how.questions == []


def test_what_is_said_now_wins_over_a_mapping_and_the_rest_of_it_stays(tmp_path):
    mapping = tmp_path / "shop.toml"
    mapping.write_text(
        'depth_unit = "32nds"\nday_first = true\nvehicle = "Van 7"\n[columns]\nC = "odometer mi"\nD = "depth LF"\n'
        '[work]\n"A 1 2025-01-05" = "4 new"\n'
    )
    now = Settings(
        depth_unit="mm", day_first=False, columns={"C": "odometer km"}, work={"A 1 2025-04-05": "rotated"}
    )
    told = plan_sheet(text(tmp_path, HEAD, *visits()), now, mapping).settings
    assert (told.depth_unit, told.day_first, told.vehicle) == ("mm", False, "Van 7")
    assert told.columns == {"C": "odometer km", "D": "depth LF"}
    assert told.work == {"A 1 2025-01-05": "4 new", "A 1 2025-04-05": "rotated"}


def test_hidden_tabs_are_asked_about_used_or_left(tmp_path):
    path = book(tmp_path, Log=[HEAD, *visits()], Old=[HEAD, *visits("B 2")], Notes=[["hello"]])
    made = openpyxl.load_workbook(path)
    made["Old"].sheet_state = made["Notes"].sheet_state = "hidden"
    made.save(path)
    plan = plan_sheet(path)
    (question,) = plan.questions
    assert (question.asked, dict(question.values)["hidden"]) == (Asked.HIDDEN, (("Old", ()),))
    assert question.options == ("--hidden use", "--hidden leave")
    assert [(fate.tab, fate.notes[0].code) for fate in plan.left_tabs] == [
        ("Old", Row.HIDDEN_TAB), ("Notes", Row.HIDDEN_TAB),
    ]  # fmt: skip
    left = plan_sheet(path, Settings(hidden="leave"))
    assert (left.questions, len(left.tables)) == ([], 1)
    used = plan_sheet(path, Settings(hidden="use"))
    assert (used.questions, len(used.tables)) == ([], 2)


def test_hidden_rows_are_asked_about_used_or_left(tmp_path):
    path = book(tmp_path, Log=[HEAD, *visits()], hidden=(1, 3, 9))
    (question,) = plan_sheet(path).questions
    assert dict(question.values)["hidden"] == (("Log", (3,)),)
    assert import_sheet(path, settings=Settings(hidden="use")).visits == 3
    done = import_sheet(path, settings=Settings(hidden="leave"))
    assert done.visits == 2
    assert 3 not in done.rows["row"].tolist()


def test_a_tab_without_a_table_is_told_of_and_an_empty_one_is_not(tmp_path):
    path = book(tmp_path, Log=[HEAD, *visits()], Phones=[["Ann", 5], ["Bob", 6]], Empty=[])
    done = import_sheet(path)
    rows = done.rows[done.rows["tab"] != "Log"]
    assert rows[["tab", "row", "status", "reason"]].to_numpy().tolist() == [
        ["Phones", 0, "left out", "row-no-table"]
    ]


@pytest.mark.parametrize(
    ("title", "tab", "vehicle"),
    [
        ([], "Van_7", "Van 7"),
        ([["Van: B 2"]], "Van_7", "B 2"),
        ([["Our tread log"]], "Van_7", "Van 7"),
        ([["Van:"]], "Van_7", "Van 7"),
        ([["Van: " + "x" * 60]], "Van_7", "Van 7"),
        ([], "Sheet1", "shop"),
        ([], "Log", "shop"),
        ([], "12", "shop"),
    ],
)
def test_the_vehicle_of_a_tab_without_a_column_for_it(tmp_path, title, tab, vehicle):
    path = book(tmp_path, **{tab: [*title, BARE, *visits("")]})
    assert named(plan_sheet(path)) == [vehicle]
    assert named(plan_sheet(path, Settings(vehicle="Mine"))) == ["Mine"]


def test_tabs_called_by_numbers_are_vehicles_where_there_are_several(tmp_path):
    path = book(tmp_path, **{"12": [BARE, *visits("")], "13": [BARE, *visits("")]})
    assert named(plan_sheet(path)) == ["12", "13"]


def test_a_csv_goes_by_its_own_name(tmp_path):
    assert named(plan_sheet(text(tmp_path, BARE, *visits(""), name="Van 7.csv"))) == ["Van 7"]


@pytest.mark.parametrize(
    ("tabs", "names", "found"),
    [
        (("January_2025", "May_2025"), ("AB-12", "CD-34", "EF-56"), True),
        (("January_2025", "May_2025"), ("AB-12", "CD-34", "EF-56", "GH-78", "Anna"), True),  # four of five
        (("January_2025", "May_2025"), ("AB-12", "CD-34", "EF-56", "Anna"), False),
        (("January_2025", "May_2025"), ("AB-12", "CD-34", "EF-56", None), True),
        (("Anna", "Bert"), ("AB-12", "CD-34", "EF-56"), False),  # tabs that may be vehicles themselves
    ],
)
def test_tabs_of_months_have_their_vehicles_in_the_column_that_all_of_them_have(tmp_path, tabs, names, found):
    one = [["2025-01-07", van, 10_000 + i, 8, 8, 8, 8] for i, van in enumerate(names)]
    two = [["2025-05-07", van, "Sam", 20_000 + i, 7, 7, 7, 7] for i, van in enumerate(names)]
    heads = ["Date", "Which", *HEAD[2:]], ["Date", "Which", "By", *HEAD[2:]]
    plan = plan_sheet(book(tmp_path, **{tabs[0]: [heads[0], *one], tabs[1]: [heads[1], *two]}))
    columns = plan.columns[plan.columns["header"] == "Which"]
    assert columns["holds"].tolist() == (["vehicle"] * 2 if found else ["?"] * 2)
    assert named(plan) == ([*tabs] if tabs[0] == "Anna" else ["", ""])


def test_a_column_that_is_known_names_no_vehicles_of_months(tmp_path):
    rows = [["2025-01-07", 10_000, 8, 8, 8, 8, "no 1"], ["2025-02-07", 20_000, 7, 7, 7, 7, "no 2"]]
    head = [*BARE, "Notes"]
    columns = plan_sheet(book(tmp_path, January_2025=[head, *rows], May_2025=[head, *rows])).columns
    assert set(columns.loc[columns["header"] == "Notes", "holds"]) == {"note"}


@pytest.mark.parametrize(
    ("title", "day"),
    [
        ([["Date: 5 January 2025"]], dt.date(2025, 1, 5)),
        ([["Checked", dt.date(2025, 1, 5)]], dt.date(2025, 1, 5)),
    ],
)
def test_records_without_a_date_are_of_the_one_above_them(tmp_path, title, day):
    rows = [["Van", *HEAD[2:]], ["A 1", 10_000, 8, 8, 8, 8], ["B 2", 5_000, 7, 7, 7, 7]]
    done = import_sheet(book(tmp_path, Log=[*title, *rows]))
    assert (done.visits, done.vehicles) == (2, 2)
    dates = done.plan.columns[done.plan.columns["holds"] == "date"]
    assert dates["how"].tolist() == [How.ABOVE.value]
    called = book(tmp_path, "day.xlsx", **{f"{day:%Y-%m-%d}": rows})
    assert import_sheet(called).visits == 2


def test_without_any_date_no_visit_can_be_used(tmp_path):
    rows = [["Van", *HEAD[2:]], ["A 1", 10_000, 8, 8, 8, 8], ["B 2", 5_000, 7, 7, 7, 7]]
    (problem,) = refused(import_sheet, book(tmp_path, Log=rows))
    assert problem.code == NoSheet.NO_VISIT_USABLE
    assert dict(problem.values)["left_out"][0][0] == 2
    assert dict(problem.values)["left_out"][0][1][0][0] == Row.NO_DATE


MIXED = [
    ["2024-01-05", 41_200, "Blue", 9], ["2024-01-06", 12_100, "Red", 9], ["2024-03-09", 47_900, "Blue", 8],
    ["2024-03-11", 19_100, "Red", 8], ["2024-08-30", 54_800, "Blue", 7], ["2024-09-03", 27_000, "Red", 7],
]  # fmt: skip


def test_falling_odometers_are_of_several_vehicles_told_apart_by_a_column_or_refused(tmp_path):
    head = ["Date", "Km", "Which", "LF mm"]
    plan = plan_sheet(text(tmp_path, head, *MIXED))
    assert plan.columns.set_index("header").loc["Which", ["holds", "how"]].tolist() == [
        "vehicle",
        "column-odometers",
    ]
    bare = [[day, km, deep] for day, km, _, deep in MIXED]
    (problem,) = refused(plan_sheet, text(tmp_path, ["Date", "Km", "LF mm"], *bare))
    assert (problem.code, problem.file) == (NoSheet.SEVERAL_VEHICLES, "shop.csv: shop")
    assert named(plan_sheet(text(tmp_path, ["Date", "Km", "LF mm"], *bare), Settings(vehicle="A"))) == ["A"]
    # One fall is a slip.
    once = [["2024-01-05", 1000, 9], ["2024-02-05", 900, 9], ["2024-03-05", 3000, 8], ["2024-04-05", 4000, 8]]
    assert named(plan_sheet(text(tmp_path, ["Date", "Km", "LF mm"], *once))) == ["shop"]
    # A column with another word in each row parts nothing, nor does one that leaves odometers falling.
    for words in (("a", "b", "c", "d", "e", "f"), ("x", "x", "x", "y", "y", "y"), ("x",) * 6):
        odd = [[day, km, word, deep] for (day, km, _, deep), word in zip(MIXED, words, strict=True)]
        assert refused(plan_sheet, text(tmp_path, head, *odd))[0].code == NoSheet.SEVERAL_VEHICLES


def test_falls_are_counted_in_order_of_days():
    day = dt.date
    assert importing._falls([(day(2025, 3, 1), 30), (day(2025, 1, 1), 10), (day(2025, 2, 1), 20)]) == 0
    assert (
        importing._falls(
            [(day(2025, 1, 1), 10), (day(2025, 2, 1), 5), (day(2025, 3, 1), 5), (day(2025, 4, 1), 4)]
        )
        == 2
    )


def test_a_column_is_what_the_same_header_was_found_to_be_in_another_tab(tmp_path):
    head = ["Moment", *HEAD[1:]]
    telling, bare = [head, *visits()], [head, ["soon", "B 2", 1000, 8, 8, 8, 8]]
    columns = plan_sheet(book(tmp_path, One=telling, Two=bare)).columns
    found = columns[columns["header"] == "Moment"].set_index("tab")
    assert found["holds"].tolist() == ["date", "date"]
    assert found["how"].tolist() == [How.CONTENT.value, How.OTHER_TAB.value]


def test_a_sheet_without_rows_or_without_depths_is_refused(tmp_path):
    assert refused(plan_sheet, book(tmp_path, Log=[]))[0].code == NoSheet.NO_ROWS
    (problem,) = refused(plan_sheet, text(tmp_path, ["Name", "Phone"], ["Ann", 5], ["Bob", 6]))
    assert (problem.code, problem.value) == (NoSheet.NO_DEPTH_COLUMN, "Name, Phone")


def test_cells_that_hold_errors_are_named_where_their_column_is_used(tmp_path):
    rows = visits()
    path = book(tmp_path, Log=[[*HEAD, "Colour", ""], *[[*row, "red", None] for row in rows]])
    made = openpyxl.load_workbook(path)
    made["Log"]["D3"], made["Log"]["E4"], made["Log"]["I2"] = "#N/A", "=D2+1", "#REF!"
    made.save(path)
    problems = refused(plan_sheet, path)
    assert [(p.file, p.row, p.column, p.value, p.code) for p in problems] == [
        ("shop.xlsx: Log", 3, "D", "#N/A", NoSheet.CELL_NO_VALUE), ("shop.xlsx: Log", 4, "E", "", NoSheet.CELL_FORMULA),
    ]  # fmt: skip


def test_wheels_that_are_numbered_are_asked_for_their_order(tmp_path):
    rows = [["Date", "Van", "Km", "1", "2", "3", "4"], *visits()]
    path = text(tmp_path, *rows)
    assert Asked.WHEEL_NUMBERS in [
        question.asked for question in plan_sheet(path, Settings(depth_unit="mm")).questions
    ]
    settings = Settings(depth_unit="mm", wheel_numbers="lf-rf-rr-lr")
    plan = plan_sheet(path, settings)
    assert plan.questions == []
    assert plan.columns["holds"].tolist()[3:] == ["depth LF", "depth RF", "depth RR", "depth LR"]
    refused(plan_sheet, path, Settings(wheel_numbers="rr-lr"))
    own = Settings(
        depth_unit="mm",
        columns=dict(zip("DEFG", ("depth LF", "depth RF", "depth LR", "depth RR"), strict=True)),
    )
    assert plan_sheet(path, own).questions == []


@pytest.mark.parametrize(("points", "km"), [("thousands", 41_234), ("decimals", 41.234)])
def test_what_a_mark_before_three_digits_is_can_be_told(tmp_path, points, km):
    rows = [["2025-01-05", "A 1", "41.234", 8, 8, 8, 8]]
    path = text(tmp_path, HEAD, *rows)
    plan = plan_sheet(path, Settings(points=points))
    assert "points" not in [question.code for question in plan.questions]
    assert plan.how.odometer("41.234")[0] == km


def test_an_open_question_stops_an_import(tmp_path):
    rows = [["Date", "Van", "Odometer", "LF", "RF", "LR", "RR"], *visits()]
    problems = refused(import_sheet, text(tmp_path, *rows), tmp_path / "book")
    assert {Asked.DISTANCES_BARE} <= {problem.code for problem in problems}
    assert not (tmp_path / "book").exists()


def test_work_that_is_told_beside_the_sheet_is_of_its_visit(tmp_path):
    path = text(tmp_path, HEAD, *visits())
    told = import_sheet(path, settings=Settings(work={"A 1 2025-04-05": "4 new"}))
    assert told.moves["source"].tolist() == ["noted"]
    (problem,) = refused(import_sheet, path, settings=Settings(work={"A 1 2025-04-06": "4 new"}))
    assert (problem.code, dict(problem.values)) == (NoSheet.NO_VISIT, {"visit": "A 1 2025-04-06"})


def test_what_is_not_known_and_would_help_is_counted(tmp_path):
    path = text(tmp_path, HEAD, *visits(), *visits("B 2"))
    assert import_sheet(path).unknown == [
        ("new depth", 8),
        ("drive", 2),
        ("placard pressures", 2),
        ("tire line", 8),
    ]
    path = text(tmp_path, [*HEAD, "Drive", "Tire line"], *[[*row, "FWD", "Line A"] for row in visits()])
    assert import_sheet(path, settings=Settings(new_depth=8.5)).unknown == [
        ("new depth", 4),
        ("placard pressures", 1),
    ]


@pytest.mark.parametrize(("unit", "depth", "low", "high"), [("mm", 41, 1.0, 40.0), ("32nds", 81, 1.3, 50.4)])
def test_a_new_depth_that_no_logbook_takes_is_refused_before_anything_is_written(
    tmp_path, unit, depth, low, high
):
    head = [one.replace("mm", unit) for one in HEAD]
    path = text(tmp_path, head, *visits(deep=6.0))
    with pytest.raises(InputError) as refused:
        import_sheet(path, tmp_path / "log", Settings(new_depth=depth))
    (problem,) = refused.value.problems
    assert (problem.code, dict(problem.values)) == (
        Wrong.NEW_DEPTH_RANGE, {"value": depth, "unit": unit, "low": low, "high": high},
    )  # fmt: skip
    assert not (tmp_path / "log").exists()
    assert f"{depth} {unit}" in str(refused.value)
    import_sheet(path, settings=Settings(new_depth=12))


def test_a_sheet_of_pressures_alone_has_no_tires(tmp_path):
    rows = [["Date", "Van", "Km", "LF psi", "RF psi"], ["2025-01-05", "A 1", 10_000, "-", "-"]]
    problems = refused(import_sheet, text(tmp_path, *rows))
    assert problems[0].code in (NoSheet.NO_DEPTH_READ, NoSheet.NO_DEPTH_COLUMN)


def test_a_trial_writes_nothing_and_a_logbook_in_one_file_is_made_once(tmp_path):
    path = text(tmp_path, HEAD, *visits())
    done = import_sheet(path)
    assert (done.out, done.visits, done.new_visits, done.vehicles) == (None, 3, 3, 1)
    for name in ("shop.sqlite", "shop.DB"):
        out = tmp_path / name
        assert import_sheet(path, out).out == out
        assert refused(import_sheet, path, out)[0].code == NoSheet.IMPORT_THERE
    assert sorted(one.name for one in tmp_path.iterdir()) == ["shop.DB", "shop.csv", "shop.sqlite"]
