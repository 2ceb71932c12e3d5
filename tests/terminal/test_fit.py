"""A fit's tables for a program: which columns, under which names and in which units."""

from types import SimpleNamespace

import pandas as pd
import pytest

from tirelife.logbook import GROOVES
from tirelife.terminal import fit as module
from tirelife.terminal.fit import _TIRES, fit_data, fit_text

N32 = 0.79375


def fitted():
    tires = pd.DataFrame(
        [dict.fromkeys(_TIRES, "") | {"depth_mm": 5 * N32, "depth_sd_mm": 0.1 * N32, "wear_mm_per_1000km": 0.1, "std_error": 0.01, "last_odometer_km": 1609.344, "straight_line_mm_per_1000km": 0.2, "own": 1}]
    ).drop(columns="std_error_mm_per_1000km")  # fmt: skip
    visits = pd.DataFrame(
        [
            {"depth_mm": 4 * N32, "fitted_mm": 5 * N32, "shallowest_mm": 3 * N32}
            | {f"{g}_mm": 2 * N32 for g in GROOVES}
        ]
    )
    checks = pd.DataFrame({"check": ["a", "b"], "advice": ["", "fit-read-once"], "about": ["", "T1"]})
    empty = pd.DataFrame({"term": [], "estimate": [], "std_error": [], "lower": [], "upper": [], "unit": []})
    return SimpleNamespace(
        tires=tires,
        visits=visits,
        checks=checks,
        estimates=empty,
        components=empty,
        vehicles=pd.DataFrame({"v": [1]}),
    )


def test_depths_say_whether_they_were_read_or_fitted_in_the_logbook_s_units(monkeypatch):
    monkeypatch.setattr(module, "in_units", lambda table, units: (units, len(table)))
    made = fit_data(fitted(), "us")
    tire, visit = made["tires"].iloc[0], made["visits"].iloc[0]
    assert tire["fitted_mean_32nds"] == pytest.approx(5)
    assert tire["fitted_mean_sd_32nds"] == pytest.approx(0.1)
    assert tire["last_odometer_mi"] == pytest.approx(1000)
    # 0.1 mm a 1,000 km is 0.126 of a 32nd; a 1,000 miles are 1.609 times as far.
    assert tire["wear_32nds_per_1000mi"] == pytest.approx(0.1 / N32 * 1.609344)
    assert tire["std_error_32nds_per_1000mi"] == pytest.approx(0.01 / N32 * 1.609344)
    assert "own" not in made["tires"]
    assert [
        visit[f"{name}_32nds"] for name in ("read_mean", "fitted_mean", "read_least_groove")
    ] == pytest.approx([4, 5, 3])
    assert [visit[f"read_{groove}_32nds"] for groove in GROOVES] == pytest.approx([2] * len(GROOVES))
    assert made["estimates"] == made["components"] == ("us", 0)
    assert "fitted_mean_mm" in fit_data(fitted(), "metric")["tires"]


def test_checks_say_what_to_do_in_words_and_their_codes_stay(monkeypatch):
    monkeypatch.setattr(module, "in_units", lambda table, units: table)
    checks = fit_data(fitted(), "us")["checks"]
    assert checks["advice"].tolist() == ["", "fit-read-once"]
    assert checks["words"].iloc[0] == ""
    assert len(checks["words"].iloc[1]) > len("fit-read-once")


def test_a_text_is_the_report_and_each_table_under_its_title(monkeypatch):
    monkeypatch.setattr(module, "report", lambda fit: "Trust: good")
    monkeypatch.setattr(
        module,
        "fit_tables",
        lambda fit, units: {
            "How fast": pd.DataFrame({"Tire": ["T1"]}),
            "What else": pd.DataFrame({"A": ["b"]}),
        },
    )
    lines = fit_text(fitted(), "us").splitlines()
    assert lines[0] == "Trust: good"
    assert [lines[i - 1] for i, line in enumerate(lines) if line in ("How fast", "What else")] == ["", ""]
    assert lines.index("How fast") < lines.index("What else")
