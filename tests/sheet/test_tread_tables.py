"""The tread's tables in words: the numbers of their frames, at most eight columns, no raw name."""

import pytest

from tirelife import read_logbook
from tirelife.logbook import gauge_study
from tirelife.sheet.tread_tables import cause_table, correction_table, gauge_asks, gauge_table, profile_table
from tirelife.tread import (
    correction_factors,
    latest_profiles,
    remaining_ratios,
    tread_profiles,
    weigh_causes,
    wheel_histories,
)


@pytest.fixture(scope="module")
def seen():
    book = read_logbook("data_synthetic/logbook")
    histories = wheel_histories(book, ["V13"])
    causes = weigh_causes(book, ["V13"], histories=histories)
    factors = correction_factors(causes.query("probability >= 0.25"), histories, {"V13": "front"})
    return book, causes, remaining_ratios(factors, histories, latest_profiles(book, "V13"), 1.5875)


def test_they_say_their_frames(seen):
    book, causes, ratios = seen
    told = cause_table(causes, "us")
    heavy = causes[causes["probability"] >= 0.05]
    assert told["Chance"].tolist() == [f"{p:.0%}" for p in heavy["probability"]]
    assert told["Evidence"].str.len().min() > 10
    assert correction_table(ratios)["Goes on, times"].tolist() == [f"{r:.1f}" for r in ratios["ratio"]]
    last = tread_profiles(book).query("vehicle_id == 'V13'").tail(4)
    mean = profile_table(last, "us")["Mean, 32nds"].str.split(" ").str[0].astype(float)
    assert mean.to_numpy() == pytest.approx(last["level_mm"].to_numpy() / 0.79375, abs=0.051)
    gauges = gauge_table(gauge_study(book), "us").set_index("Gauge")
    study = gauge_study(book).set_index("gauge_id")["bias"]
    assert float(gauges.loc["D2", "Bias"]) == pytest.approx(study["D2"] / 0.79375, abs=0.006)
    assert float(gauges.loc["P1", "Bias"]) == pytest.approx(study["P1"] / 6.894757, abs=0.006)
    assert gauges["Unit"].to_dict() == {"D1": "32nds", "D2": "32nds", "P1": "psi"}


def test_a_gauge_that_is_off_or_overdue_asks_for_it(seen):
    row = gauge_study(seen[0]).iloc[2].to_dict()
    assert gauge_asks(row, "us") == []
    off = gauge_asks({**row, "off": True, "overdue": True, "worst": -6.894757}, "us")
    assert off == [("gauge-reads-low", {"off": "1 psi"}), ("gauge-overdue", {"day": "2026-10-25"})]
    assert gauge_asks({**row, "comparisons": 0}, "us") == [("gauge-not-compared", {})]


def test_they_have_few_columns_with_headings_in_words(seen):
    book, causes, ratios = seen
    last = tread_profiles(book).tail(4)
    for table in (cause_table(causes, "us"), correction_table(ratios), profile_table(last, "metric"),
                  gauge_table(gauge_study(book), "us")):  # fmt: skip
        assert table.shape[1] <= 8
        assert not [head for head in table.columns if "_" in head]
        assert not table.astype(str).map(lambda cell: "nan" in cell.split()).to_numpy().any()
