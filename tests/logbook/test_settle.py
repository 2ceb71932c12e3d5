"""Exact repeats count once; a tire put where another is takes that one off."""

import numpy as np
import pandas as pd
import pytest

from tests.fleets import WELL, simulate, smaller
from tests.logbook.folders import TABLES, folder
from tirelife import outlook, rates
from tirelife.language import worded
from tirelife.logbook import check_logbook, read_logbook

HEAD = "date,odometer_mi,vehicle_id,position,groove,depth_32nds,spot\n"
GAUGES = "gauge_id,date,kind,reading,master,unit\n"


@pytest.fixture(scope="module")
def fleet(tmp_path_factory):
    path = tmp_path_factory.mktemp("fleet")
    simulate(path, smaller(WELL, 8), 5)
    return path


def copy(source, target, twice=()):
    target.mkdir()
    for file in source.glob("*.csv"):
        text = file.read_text()
        (target / file.name).write_text(text + (text.split("\n", 1)[1] if file.stem in twice else ""))
    return target


def test_tables_pasted_twice_move_no_median(fleet, tmp_path):
    path = copy(fleet, tmp_path / "twice", ("depths", "odometer", "mounts"))
    once, twice = read_logbook(fleet), read_logbook(path)
    known = check_logbook(fleet)
    problems = check_logbook(path)
    assert problems["doubt"].all()
    again = problems[(problems["file"] == "depths.csv") & (worded(problems)["what"] == "stands twice")]
    n = len(once.depths)
    assert again["row"].tolist() == list(range(n + 2, 2 * n + 2))
    assert worded(again)["advice"].tolist() == [
        f"Row {r} says the same; it counts once." for r in range(2, n + 2)
    ]
    assert not worded(known)["what"].eq("stands twice").any()
    tables = [outlook.forecast(book, rates.fit_logbook(book)).drop(columns="notes") for book in (once, twice)]
    pd.testing.assert_frame_equal(tables[0], tables[1])


def test_readings_of_one_place_that_shops_repeat_are_kept(tmp_path):
    # Three readings a groove, unsaid where around the tread: equal ones are no repeats.
    rng = np.random.default_rng(0)
    rows = [
        f"2025-03-10,4000,V1,{p},{g},{rng.choice([8.5, 9, 9.5])},\n"
        for p in ("LF", "RF", "LR", "RR")
        for g in ("outer", "center", "inner")
        for _ in range(3)
    ]
    assert len(set(rows)) < len(rows)
    assert check_logbook(folder(tmp_path / "a", depths=HEAD + "".join(rows))).empty
    # The whole of it twice is.
    problems = check_logbook(folder(tmp_path / "b", depths=HEAD + "".join(rows * 2)))
    assert set(worded(problems)["what"]) == {"stands twice"}
    assert len(problems) == len(rows)
    means = [
        read_logbook(tmp_path / x).depths.groupby(["position", "groove"])["depth_mm"].mean() for x in "ab"
    ]
    pd.testing.assert_series_equal(*means)
    # So is one with its spot named.
    spots = "".join(row[:-1] + "1\n" for row in dict.fromkeys(rows[:1]))
    problems = check_logbook(folder(tmp_path / "c", depths=HEAD + "".join(rows) + spots * 2))
    assert problems["row"].tolist() == [len(rows) + 3]


def test_comparisons_of_a_gauge_entered_twice_count_once(tmp_path):
    rows = "".join(f"D1,2025-01-{d:02d},depth,{8 + 0.5 * (d % 3)},8,32nds\n" for d in range(1, 8))
    once = read_logbook(folder(tmp_path / "a", gauges=GAUGES + rows))
    twice = read_logbook(folder(tmp_path / "b", gauges=GAUGES + rows * 2))
    pd.testing.assert_frame_equal(once.gauges, twice.gauges)
    assert worded(twice.problems)["what"].tolist() == ["stands twice"] * 7
    # Ten comparisons at one master on one day that agree are ten, where others that day do not.
    many = "".join(f"D1,2025-01-01,depth,{r},8,32nds\n" for r in (8, 8, 8, 8.5, 8, 8.5, 8))
    assert len(read_logbook(folder(tmp_path / "c", gauges=GAUGES + many)).gauges) == 7


@pytest.mark.parametrize(
    ("table", "text"),
    [
        ("odometer", "date,vehicle_id,odometer_mi\n2025-07-20,V1,10500\n"),
        ("alignment", "date,odometer_mi,vehicle_id,axle,toe_mm\n2025-05-10,7000,V1,front,1.5\n"),
        (
            "pressures",
            "date,vehicle_id,position,pressure_psi,state,odometer_mi\n2025-05-10,V1,LF,32,cold,7000\n",
        ),
    ],
)
def test_an_equal_record_counts_once_and_names_the_row(tmp_path, table, text):
    again = text + text.split("\n", 1)[1]
    book = read_logbook(folder(tmp_path, **{table: again}))
    assert len(book.tables[table]) == 1
    assert worded(book.problems)[["file", "row", "advice"]].values.tolist() == [
        [f"{table}.csv", 3, "Row 2 says the same; it counts once."]
    ]


NEW = "".join(f"N{i},Line A,10,0724\n" for i in range(1, 5))


def test_a_new_set_takes_the_old_one_off_that_day(tmp_path):
    mounts = TABLES["mounts"] + "".join(
        f"2025-06-01,8000,V1,N{i + 1},{p}\n" for i, p in enumerate(("LF", "RF", "LR", "RR"))
    )
    depths = TABLES["depths"].replace("2025-07-10,10000,V1,LF,outer,8.5", "2025-07-10,10000,V1,LF,outer,9.5")
    told = mounts + "".join(f"2025-06-01,8000,V1,T{i},OFF\n" for i in range(1, 5))
    paths = [
        folder(tmp_path / name, tires=TABLES["tires"] + NEW, mounts=text, depths=depths)
        for name, text in (("unsaid", mounts), ("told", told))
    ]
    books = [read_logbook(path) for path in paths]
    doubts = books[0].problems
    assert (
        worded(doubts)["what"].tolist()
        == ["goes where another tire is"] * 4 + worded(books[1].problems)["what"].tolist()
    )
    pd.testing.assert_frame_equal(books[0].stretches, books[1].stretches)
    off = books[0].stretches.set_index("tire_id").loc["T1"]
    assert (off["to_date"], off["to_km"], off["open"]) == (pd.Timestamp("2025-06-01"), 8000 * 1.609344, False)
    ahead = [outlook.forecast(book, rates.fit_logbook(book)) for book in books]
    assert set(ahead[0]["tire_id"]) == {"N1", "N2", "N3", "N4", "T5", "T6", "T7", "T8"}
    pd.testing.assert_frame_equal(ahead[0].drop(columns="notes"), ahead[1].drop(columns="notes"))


def test_a_tire_taken_off_may_come_back_or_go_elsewhere(tmp_path):
    mounts = TABLES["mounts"] + (
        "2025-06-01,8000,V1,N1,LF\n"  # T1 unsaid
        "2025-06-05,8200,V1,T1,SP\n"  # four days on it is written where T1 went
        "2025-06-20,9000,V1,T1,LF\n"  # and it comes back for N1, unsaid
    )
    book = read_logbook(folder(tmp_path, tires=TABLES["tires"] + NEW, mounts=mounts))
    assert book.problems["row"].tolist() == [10, 12]
    runs = book.stretches.set_index("tire_id")
    assert runs.loc["T1", "position"].tolist() == ["LF", "SP", "LF"]
    assert runs.loc["T1", "to_date"].astype(str).tolist()[:2] == ["2025-06-01", "2025-06-20"]
    assert str(runs.loc["N1", "to_date"].date()) == "2025-06-20"
    assert not runs.loc["N1", "open"]
