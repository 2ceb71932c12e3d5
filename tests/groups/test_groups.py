"""The command ``tirelife groups``."""

import contextlib
import io
import json
import re

import numpy as np
import pandas as pd
import pytest

from tests.groups.simulate import Groups, write_fleet
from tirelife.cli import main
from tirelife.groups import compare_groups
from tirelife.logbook import read_logbook
from tirelife.sheet.group_tables import pair_words
from tirelife.units import shown


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    fleet = Groups(effects=(0.0, 0.2, 0.4), vehicles=8, site_effect=0.0)
    return write_fleet(tmp_path_factory.mktemp("log"), np.random.default_rng(11), fleet)


def run(*words):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(["groups", *map(str, words)])
    return code, out.getvalue(), err.getvalue()


@pytest.fixture(scope="module")
def answer(folder):
    code, out, _ = run(folder, "--json", "--fitting", "20", "--rotation", "25", "--budget")
    assert code == 0
    return json.loads(out)


def test_json_is_what_python_gives_in_the_logbooks_units(folder, answer):
    book = read_logbook(folder)
    out = compare_groups(book)
    assert answer["units"] == "metric"
    assert answer["adjusted_for"] == list(out.adjusted_for)
    for row, pair in zip(answer["pairs"], out.pairs.to_dict("records"), strict=True):
        assert [row[c] for c in ("ratio", "lower", "upper")] == pytest.approx(
            [pair[c] for c in ("ratio", "lower", "upper")], abs=1e-5
        )
        assert row["code"] == pair["code"]
        assert row["group_vehicles"] == out.groups.set_index("group").loc[pair["group"], "vehicles"]
    assert [g["group"] for g in answer["groups"]] == ["A", "B", "C"]
    assert len(answer["budget"]) == 12
    assert {c["tire_line"] for c in answer["costs"]} <= {"Line A", "Line B", "Line C"}
    assert answer["savings"]
    assert any("drove like" in s["words"] for s in answer["savings"])


def test_cautions_come_with_every_answer(folder, answer):
    assert any(
        "Do not use these figures alone to reward, discipline or dismiss" in c for c in answer["cautions"]
    )
    _, out, err = run(folder)
    assert "Do not use these figures alone" in out
    assert err == ""


def test_text_says_each_pair_in_words_and_names_failed_checks(folder):
    _, out, _ = run(folder)
    pairs = compare_groups(read_logbook(folder)).pairs
    for words in pair_words(pairs):
        assert words in out
    assert re.search(r"share of the distance with recorded habits +0 +>= 0.5 ", out)


def test_pairs_are_written_whole(folder, tmp_path):
    path = tmp_path / "pairs.csv"
    code, out, err = run(folder, "--by", "tire_line", "--out", path)
    table = pd.read_csv(path)
    assert (code, out) == (0, "")
    assert "3 pairs written" in err
    assert list(table["group"] + table["other"]) == ["Line ALine B", "Line ALine C", "Line BLine C"]
    assert {
        "ratio",
        "raw_ratio",
        "family_lower",
        "detectable_ratio",
        "group_tires",
        "other_distance_km",
    } <= set(table)


def test_lines_get_a_break_even_and_no_savings(folder):
    _, out, _ = run(folder, "--by", "tire_line", "--json")
    answer = json.loads(out)
    assert "savings" not in answer
    assert len(answer["break_even"]) == 6


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (["--by", "shoe"], "cannot group by 'shoe'"),
        (["--out", "x.xls"], "the name must end in .csv or .parquet"),
        (["--interval", "0"], "--interval 0: give a distance"),
        (["--level", "2"], "level 2.0 is not between"),
        (["--adjust", "moon"], "cannot adjust for moon"),
    ],
)
def test_bad_input_is_named_and_nothing_is_written(folder, tmp_path, words, part):
    code, out, err = run(folder, *words)
    assert (code, out) == (2, "")
    assert part in err
    assert "Traceback" not in err


def test_small_groups_are_not_in_any_output(tmp_path):
    write_fleet(tmp_path, np.random.default_rng(3), Groups(effects=(0.0, 0.1), vehicles=8))
    cars = pd.read_csv(tmp_path / "vehicles.csv")
    cars.loc[:1, "driver_group"] = "night pair"
    cars.to_csv(tmp_path / "vehicles.csv", index=False)
    code, out, _ = run(tmp_path, "--json")
    assert code == 0
    assert "night pair" not in out
    assert json.loads(out)["groups_not_shown"] == 1
    _, shown, _ = run(tmp_path, "--json", "--min-vehicles", "2")
    assert "night pair" in shown


def test_units_are_converted_once_and_named():
    table = pd.DataFrame(
        {
            "rate_mm_per_1000km": [0.79375], "cost_per_1000km": [10.0], "km_a_year": [1.609344],
            "life_lower_km": [1609.344], "ratio": [1.2],
        }
    )  # fmt: skip
    us = shown(table, "us").iloc[0]
    # 1/32 in = 0.79375 mm and 1 mile = 1.609344 km, exact
    assert us["rate_32nds_per_1000mi"] == pytest.approx(1.609344)
    assert us["cost_per_1000mi"] == pytest.approx(16.09344)
    assert us["mi_a_year"] == pytest.approx(1.0)
    assert us["life_lower_mi"] == pytest.approx(1000.0)
    assert us["ratio"] == 1.2
    pd.testing.assert_frame_equal(shown(table, "metric"), table)
