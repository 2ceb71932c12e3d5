"""The owner's page part by part, from a fleet's answer by hand: what each row, bar and section carries."""

import base64
import hashlib
import html
import json
import re
import sys
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tests.sheet.owners import AS_OF, N32, comparison, decision, fleet, pair, vehicle
from tirelife.sheet import fleet_page
from tirelife.sheet.fleet_page import compose_fleet, fleet_lists
from tirelife.sheet.language import texts


@pytest.fixture
def drawn(monkeypatch):
    """Charts as what they were asked for: their data and size."""

    def chart(data, **how):
        held = {
            "rows": len(data),
            "first": str(data.iloc[0, 0]),
            **{k: v for k, v in how.items() if k != "say"},
        }
        return SimpleNamespace(to_dict=lambda: held)

    monkeypatch.setattr(fleet_page, "charts", SimpleNamespace(monthly_budget=chart, vehicles_in_order=chart))
    svg = SimpleNamespace(vegalite_to_svg=lambda spec: f"<svg>{json.dumps(spec)}</svg>")
    monkeypatch.setitem(sys.modules, "vl_convert", svg)


def page(**changes):
    return compose_fleet(fleet(**changes))


def section(text, name):
    found = re.search(rf'<section aria-labelledby="h-{name}">(.*?)</section>', text, re.S)
    return found[1] if found else ""


def pictures(text):
    return [
        (kind, bool(hidden), json.loads(svg))
        for kind, hidden, svg in re.findall(
            r'<figure class="(\w+)"( aria-hidden="true")?><svg>(.*?)</svg>', text
        )
    ]


def rows(text):
    return re.findall(r"<tr data-group.*?</tr>", section(text, "windows"))


def test_a_page_opens_with_its_own_script_alone_and_on_the_paper_of_its_units():
    text = page()
    script = re.search(r"<script>(.*)</script>", text, re.S)[1]
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}'" in html.unescape(text)
    assert "size: letter;" in text
    assert "size: A4;" in page(units="metric")
    assert '<html lang="en">' in text


def test_the_head_names_the_fleet_the_day_and_how_many_vehicles():
    text = page(name="A & B")
    assert text.count("Tires of the fleet: A &amp; B") == 2  # the window's title and the heading
    assert "<p>September 30, 2026 · 2 vehicles</p>" in text
    assert "<h1>Tires of the fleet</h1>" in page()
    assert "<p>30 September 2026 ·" in page(units="metric")
    assert "<p>30 September 2026 ·" in compose_fleet(fleet(), order="dmy")


def test_vehicles_that_cannot_wait_are_counted_above_all_and_soon_is_not_now():
    many = pd.DataFrame([vehicle(f"V{i}", severity) for i, severity in enumerate((3, 3, 2, 1, 0))])
    assert "Vehicles that cannot wait: 2." in page(vehicles=many)
    assert 'role="alert"' in page(vehicles=many)
    assert 'role="alert"' not in page(vehicles=many[2:])


def test_a_bar_is_the_window_in_hundredths_of_the_way_to_the_last_one():
    cars = pd.DataFrame(
        [vehicle("V1", ahead=(-50, 0, 100, 200, 300)), vehicle("V2", ahead=(100, 200, 300, 350, 400))]
    )
    first, second = rows(page(vehicles=cars))
    # The last of all is 400 days ahead; what is past begins at today.
    assert 'class="w" style="left:0.0%;width:75.0%"' in first
    assert 'class="n" style="left:0.0%;width:50.0%"' in first
    assert 'class="m" style="left:25.0%"' in first
    assert 'class="w" style="left:25.0%;width:75.0%"' in second
    assert 'class="n" style="left:50.0%;width:37.5%"' in second
    assert "Sep 2026 → Nov 2027" in page(vehicles=cars)


def test_a_window_that_ends_today_or_is_not_known_stands_within_its_track():
    past = pd.DataFrame([vehicle("V1", ahead=(-90, -70, -50, -20, 0))])
    assert 'class="w" style="left:0.0%;width:0.0%"' in page(vehicles=past)
    # One day is the least: its end is the end of the track.
    day = pd.DataFrame([vehicle("V1", ahead=(0, 0, 1, 1, 1))])
    assert 'class="w" style="left:0.0%;width:100.0%"' in page(vehicles=day)
    for ahead in ((100, 150, 200, 250, None), (None, 150, 200, 250, 300)):
        assert '<td class="track"></td>' in rows(page(vehicles=pd.DataFrame([vehicle("V1", ahead=ahead)])))[0]
    none = page(vehicles=pd.DataFrame([vehicle("V1", ahead=(None,) * 5)]))
    assert "Sep 2026 → Sep 2026" in none


def test_columns_sort_by_numbers_and_what_is_not_known_goes_last():
    car = vehicle("V1", 2, read=4.5, miles=[1000, 2000, 10_000, 11_000, 12_000])
    unknown = vehicle("V2", ahead=(None,) * 5, read=np.nan, miles=[np.nan] * 5)
    known, other = (
        re.findall(r'data-sort="([^"]*)"', row) for row in rows(page(vehicles=pd.DataFrame([car, unknown])))
    )
    assert known == ["4.500", "16093", "20270418"]  # 200 days from the 30 September
    assert other == ["1000000000.000", "1000000000", "99999999"]


def test_a_mark_stands_beside_the_vehicle_s_name_which_is_text():
    text = rows(page(vehicles=pd.DataFrame([vehicle("<V1>", 3), vehicle("V2")])))
    assert '<th scope="row">&lt;V1&gt; <b>now</b></th>' in text[0]
    assert '<th scope="row">V2</th>' in text[1]


def test_groups_have_a_column_and_a_choice_where_there_are_any():
    grouped = section(
        page(
            vehicles=pd.DataFrame(
                [vehicle("V1", group="B"), vehicle("V2", group="A"), vehicle("V3", group="")]
            )
        ),
        "windows",
    )
    assert '<option value="">all</option><option>A</option><option>B</option>' in grouped
    assert re.findall(r'<option value="(\d)">([^<]*)<', grouped)[:3] == [
        ("0", "Vehicle"),
        ("1", "Group"),
        ("2", "First due"),
    ]
    assert grouped.count('<th scope="col"') == 6
    assert '<td data-label="Group" class="said">B</td>' in grouped
    assert '<td data-label="Group"></td>' in grouped
    alone = section(page(vehicles=pd.DataFrame([vehicle("V1", group="")])), "windows")
    assert 'id="group"' not in alone
    assert re.findall(r'<option value="(\d)">([^<]*)<', alone)[:2] == [("0", "Vehicle"), ("1", "First due")]
    assert alone.count('<th scope="col"') == 5
    assert 'data-label="Group"' not in alone


def test_numbers_stand_to_the_right_in_the_head_of_the_list():
    head = section(page(), "windows").split("</thead>")[0]
    kinds = dict(
        re.findall(r'<th scope="col" aria-sort="none"( class="number")?><button[^>]*data-kind="(\w+)"', head)
    )
    assert kinds == {"": "text", ' class="number"': "number"}


def test_a_table_of_more_than_four_columns_stacks_on_a_phone_and_its_numbers_stand_right():
    text = page()
    calls, measures = section(text, "buy"), section(text, "measure")
    assert "<table class=stack>" in calls
    assert "<table>" in measures
    assert '<td data-label="Tires" class="number">2</td>' in calls
    assert '<td data-label="Vehicle">V1</td>' in calls
    assert 'role="group" aria-label="What to measure next"' in measures
    costs = pd.DataFrame([("A", "L", 1.0, 0.9, 1.1)], columns=["group", "tire_line", "cost_per_1000km", "cost_lower_per_1000km", "cost_upper_per_1000km"])  # fmt: skip
    assert "<table>" in section(page(costs=costs), "money")


def test_sections_say_so_where_there_is_nothing():
    text = page(hands=fleet().hands[:0], buy=fleet().buy[:0])
    for name in ("hands", "buy", "months", "money", "wear"):
        assert texts()[f"none-{name}"] in html.unescape(section(text, name))
    assert section(text, "sets") == ""
    assert "No groups are compared: no column names them" in section(text, "groups")
    assert "In the coming month" not in section(text, "buy")
    assert "In the coming month 2 tires" in section(page(), "buy")
    stored = pd.DataFrame([vehicle("V1")]).assign(change=AS_OF)
    assert "September 30, 2026" in section(page(stored=stored), "sets")


def test_groups_are_said_pair_by_pair_with_what_is_fair_and_how_many_are_hidden():
    text = section(page(comparison=comparison(pair(), pair(0.8, 0.7, 0.9), hidden=3)), "groups")
    assert text.count("<li>") == 2
    assert "3 smaller groups are not shown" in text
    assert all(html.escape(texts()[f"fair-{i}"]) in text for i in (1, 2, 3))
    assert "smaller groups are not shown" not in section(page(comparison=comparison(pair())), "groups")


def test_savings_stand_below_the_costs_where_there_are_any():
    costs = pd.DataFrame([("A", "L", 1.0, 0.9, 1.1)], columns=["group", "tire_line", "cost_per_1000km", "cost_lower_per_1000km", "cost_upper_per_1000km"])  # fmt: skip
    assert "What a year would save" not in section(page(costs=costs), "money")
    saved = pd.DataFrame([("A", "B", "total", 9.0, 8.0, 10.0)], columns=["group", "other", "part", "saved_a_year", "lower", "upper"])  # fmt: skip
    assert "<h3>What a year would save</h3>" in section(page(costs=costs, savings=saved), "money")


def test_charts_are_drawn_for_a_phone_and_a_screen_and_read_out_once(drawn):
    months = pd.DataFrame({"from_date": [AS_OF] * 12, "expected": 1.0, "lower": 0.0, "upper": 2.0})
    narrow, wide = pictures(section(page(months=months), "months"))
    assert (narrow[:2], wide[:2]) == (("narrow", True), ("wide", False))
    assert narrow[2]["rows"] == wide[2]["rows"] == 12
    assert 0 < narrow[2]["width"] < 330 < wide[2]["width"] < 700
    assert narrow[2]["height"] == wide[2]["height"]


def test_of_more_than_forty_vehicles_the_first_and_the_last_twenty_are_drawn(drawn):
    def wear(n, odd=()):
        return pd.DataFrame({"vehicle_id": [f"V{i}" for i in range(n)], "ratio": 1.85, "lower": 1.0, "upper": 2.5, "odd": [i in odd for i in range(n)]})  # fmt: skip

    assert [pictures(section(page(wear=wear(n)), "wear"))[0][2]["rows"] for n in (40, 41, 100)] == [
        40,
        40,
        40,
    ]
    text = section(page(wear=wear(50, odd=(0, 30))), "wear")
    assert "Surely unlike most: V0 (+85 %) and V30 (+85 %)." in text
    assert "None stands out" in section(page(wear=wear(3)), "wear")
    narrow, wide = pictures(section(page(wear=wear(3)), "wear"))
    assert 0 < narrow[2]["width"] < 330 < wide[2]["width"] < 700


def test_lists_are_in_shown_units_and_say_every_action_in_its_order():
    answer = fleet(
        vehicles=pd.DataFrame([vehicle("V1", 3, miles=[1, 2, 3, 4, 5], read=4.5)]),
        decisions={"V1": decision("V1")},
    )
    lists = fleet_lists(answer)
    row = lists["vehicles"].iloc[0]
    assert [row[f"mi_left_p{q}"] for q in (10, 25, 50, 75, 90)] == pytest.approx([1, 2, 3, 4, 5])
    assert row["read_raw_32nds"] == pytest.approx(4.5)
    assert "severity" not in lists["vehicles"]
    todo = lists["to_do"]
    assert todo["order"].tolist() == [1, 2, 3]
    assert [text.split()[0] for text in todo["do"]] == ["Have", "Replace", "Have"]
    assert todo["by"].tolist()[1] == AS_OF
    assert "action" not in lists["to_buy"]
    assert answer.vehicles["read_raw_mm"].tolist() == [4.5 * N32]
    metric = fleet_lists(fleet(units="metric", decisions={}))
    assert {"km_left_p10", "read_raw_mm"} <= set(metric["vehicles"])
    assert list(metric["to_do"]) == ["vehicle_id", "order", "do", "by"]
