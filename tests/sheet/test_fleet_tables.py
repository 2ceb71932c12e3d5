"""The owner's tables cell by cell: from a fleet's answer by hand."""

import numpy as np
import pandas as pd
import pytest

from tests.sheet.owners import AS_OF, buy, comparison, fleet, pair, vehicle
from tirelife.sheet.fleet_tables import HEADS, FleetTexts, fleet_table, heading, window_rows, window_texts
from tirelife.sheet.language import texts


def words(**changes):
    return FleetTexts(fleet(**changes))


def test_a_vehicle_s_row_is_its_mark_wheels_least_reading_and_windows():
    row = vehicle("V1", 3, miles=[3000, 4000, 6000, 8000, 9100], place="LF RF", read=4.26)
    assert window_texts(row, "us", texts()) == (
        "V1 now", "North", "both front tires", "4.3", "3,000 to 9,000", "early January to late July 2027",
    )  # fmt: skip
    assert [window_texts(vehicle("V", n), "us", texts())[0] for n in range(4)] == [
        "V",
        "V",
        "V soon",
        "V now",
    ]


def test_what_is_not_known_of_a_vehicle_is_said_to_be():
    row = vehicle("V1", ahead=(100, 150, 200, 250, None), place="", read=np.nan)
    assert window_texts(row, "us", texts())[2:] == ("", "never", "not known", "not known")
    row = vehicle("V1", ahead=(None, 150, 200, 250, 300), miles=[3000, 4000, 6000, 8000, 9100])
    assert window_texts(row, "us", texts())[4:] == ("3,000 to 9,000", "not known")


def test_headings_carry_the_unit():
    assert heading("left", "us", texts()) == "Miles left, 8 in 10"
    assert heading("left", "metric", texts()) == "Km left, 8 in 10"
    assert heading("read", "us", texts()) == "Least read, 32nds"
    assert words(units="metric").head("cost") == "A vehicle, a 1,000 km, in your money"


def test_the_lead_counts_vehicles_and_not_actions_and_tells_the_first_month():
    twice = pd.DataFrame([("V1", 0), ("V1", 1), ("V2", 0)], columns=["vehicle_id", "action"])
    listed = pd.DataFrame([buy("V1"), buy("V1"), buy("V2"), buy("V3")])
    said = "Vehicles to look at now: 2; to call in for tires before their next visit: 3."
    assert words(hands=twice, buy=listed).lead() == said
    months = pd.DataFrame({"expected": [4.4, 99.0], "lower": [2.0, 9.0], "upper": [7.6, 9.0]})
    first = "Tires to buy in the coming month: about 4 (2 to 8, 8 chances in 10)."
    assert words(hands=twice, buy=listed, months=months).lead() == f"{said} {first}"


def test_the_coming_month_is_31_days_and_what_has_no_day_is_on_it():
    listed = pd.DataFrame(
        [
            buy(by=31, count=2, cost=300.4, thrown=40.0),
            buy(by=None, count=1, scope="one", cost=100.0, thrown=10.0),
            buy(by=32, count=4, scope="set", cost=900.0),
        ]
    )
    assert words(buy=listed).month() == (
        "In the coming month 3 tires: one pair and one single. Bill for tires like those now on, and fitting: 400; "
        "worth of the tread that comes off unused: 50."
    )
    assert words(buy=listed[2:]).month() == ""
    assert "2 pairs" in words(buy=pd.concat([listed[:1]] * 2)).month()


def test_a_bill_of_which_a_part_is_not_known_is_not_known():
    listed = pd.DataFrame([buy(), buy(cost=np.nan)])
    assert "and fitting: not known; worth of the tread that comes off unused: 80" in words(buy=listed).month()
    assert words().money(np.nan) == "not known"
    assert words().money(1234.5) == "1,235"


def test_whom_to_call_in_is_told_with_what_for_and_until_when():
    listed = pd.DataFrame([buy(action=1, cost=1300.0), buy("V2", by=None, action=1, line="", cost=np.nan)])
    assert words(buy=listed).buy() == [
        ("V1", "Replace both front tires now.", "2", "Fellside", "1,300", "40", "Oct 2026"),
        ("V2", "Replace both front tires now.", "2", "not known", "not known", "40", ""),
    ]


def test_what_cannot_wait_is_the_action_named():
    assert words().hands() == [
        ("V1", "Have a qualified person look at the left front now, before the car is driven far.")
    ]


def test_sets_in_store_change_on_a_day_in_the_reader_s_order():
    stored = pd.DataFrame([vehicle("V1"), vehicle("V2", ahead=(100, 150, 200, 250, None))]).assign(
        change=AS_OF
    )
    told = words(stored=stored).sets()
    assert told == [
        ("V1", "September 30, 2026", "early January to late July 2027"),
        ("V2", "September 30, 2026", "not known"),
    ]
    assert FleetTexts(fleet(stored=stored), order="dmy").sets()[0][1] == "30 September 2026"
    assert words(stored=stored, units="metric").sets()[0][1] == "30 September 2026"
    assert words().sets() == []


def test_tires_of_a_year_are_whole_and_a_line_without_a_name_is_not_known():
    lines = pd.DataFrame(
        {"tire_line": ["A", ""], "expected": [12.5, 3.2], "lower": [9.0, 1], "upper": [16.4, 6]}
    )
    assert words(lines=lines).lines() == [("A", "13", "9 to 16"), ("not known", "3", "1 to 6")]


def test_a_cost_is_a_1000_of_the_unit_shown_rounded_by_its_range():
    costs = pd.DataFrame(
        [
            {
                "group": "North", "tire_line": "", "cost_per_1000km": 10.0,
                "cost_lower_per_1000km": 9.0, "cost_upper_per_1000km": 11.0,
            }
        ]
    )  # fmt: skip
    # A 1,000 miles are 1,609.344 km: 16.09 (14.48 to 17.70), a range of 3.2, in steps of 0.2.
    assert words(costs=costs).costs() == [("North", "not known", "16.0", "14.4 to 17.8")]
    assert words(costs=costs, units="metric").costs() == [("North", "not known", "10.0", "9.0 to 11.0")]


@pytest.mark.parametrize(
    ("part", "by", "said"),
    [
        ("total", "driver_group", "drove like South (all of the difference)"),
        ("habits together", "driver_group", "drove like South (recorded habits)"),
        ("total", "site", "wore tires like South (all of the difference)"),
        ("pressure", "driver_group", "kept its pressures (recorded pressures)"),
    ],
)
def test_a_saving_says_what_would_change_and_what_it_rests_on(part, by, said):
    row = {
        "group": "North",
        "other": "South",
        "part": part,
        "saved_a_year": 1234.0,
        "lower": 1000.0,
        "upper": 1500.0,
    }
    told = words(savings=pd.DataFrame([row]), comparison=comparison(pair(), by=by))
    # A range of 500: steps of 50.
    assert told.savings() == [("North", said, "1,250", "1,000 to 1,500")]


def test_what_to_measure_next_are_a_dozen_vehicles_since_when_and_how_wide_they_stand():
    rows = [("V1", np.nan, 0.256), ("V2", 100.0, np.nan), *((f"W{i}", 9.0, 1.2) for i in range(20))]
    told = words(measure=pd.DataFrame(rows, columns=["vehicle_id", "days", "width"])).measure()
    assert told[:3] == [("V1", "never", "26%"), ("V2", "about 3 months", ""), ("W0", "about 1 week", "120%")]
    assert len(told) == 12


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (pair(1.85, 1.4, 2.5), "North wears tires 85% faster than South (range +40% to +150%)."),
        (pair(0.75, 0.6, 0.9), "North wears tires 25% slower than South (range -40% to -10%)."),
        (
            pair(1.05, 0.95, 1.16, different=False, least=1.72),
            "No difference shown between North and South (range -5% to +16%). These data would have shown a difference "
            "of 72% or more; a smaller one may be there.",
        ),
        (pair(np.nan), "North and South cannot be told apart with these data."),
    ],
)
def test_a_pair_is_said_by_what_was_found(row, said):
    assert words(comparison=comparison(row)).pairs() == [said]


def test_a_difference_that_need_not_be_the_groups_says_so_and_no_comparison_says_nothing():
    (said,) = words(comparison=comparison(pair(apart=False))).pairs()
    assert said.endswith(
        " It need not be the group itself: routes, cars and loads cannot be told apart here."
    )
    assert words().pairs() == []


def test_a_table_is_its_rows_under_headings_as_many_as_asked_for():
    table = fleet_table(fleet(), "windows")
    assert list(table) == [heading(code, "us", texts()) for code in HEADS["windows"]]
    assert table["Vehicle"].tolist() == ["V1 now", "V2"]
    assert fleet_table(fleet(), "windows", most=1)["Vehicle"].tolist() == ["V1 now"]
    assert fleet_table(fleet(), "windows", most=0).empty
    assert next(iter(fleet_table(fleet(), "measure", "es"))) == texts("es")["head-vehicle"]


def test_the_calendar_s_rows_are_those_with_a_date_in_words():
    cars = [vehicle("V1", ahead=(100, 150, 200, 250, None)), vehicle("V2"), vehicle("V3"), vehicle("V4")]
    rows = window_rows(fleet(vehicles=pd.DataFrame(cars)), most=2)
    assert rows["label"].tolist() == ["V2", "V3"]
    assert rows["said"].tolist() == ["early January to late July 2027"] * 2
    assert rows.index.tolist() == [0, 1]
    many = pd.DataFrame([vehicle(f"V{i}") for i in range(30)])
    assert len(window_rows(fleet(vehicles=many))) == 24


def test_numbers_are_written_as_the_language_does():
    told = FleetTexts(fleet(units="metric"), "es")
    assert told.number(12_345.6) == "12\u00a0346"
    assert told.number(1.25, 1) == "1,3"
    assert told.span(1, 2) == texts("es")["range"].format(low="1", high="2")
