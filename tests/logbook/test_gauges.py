"""Gauges compared with a master, and with themselves."""

import numpy as np
import pandas as pd
import pytest

from tests.logbook.folders import folder
from tirelife.language import worded
from tirelife.logbook import check_logbook, corrected, gauge_study, read_logbook
from tirelife.logbook.gauges import pressure_tolerance

HEAD = "gauge_id,date,kind,reading,master,unit\n"
PSI = 6.894757293168361


def study(tmp_path, rows, **tables):
    book = read_logbook(folder(tmp_path, gauges=HEAD + rows, **tables))
    return book, gauge_study(book).set_index("gauge_id")


def test_tolerances_are_the_steps_of_en_12645():
    # EN 12645 / 86/217/EEC: 0.08 bar to 4 bar, 0.16 bar to 10 bar, 0.25 bar above (facts 4.4, from memory).
    assert pressure_tolerance([100, 400, 401, 1000, 1001]).tolist() == [8, 8, 16, 16, 25]


def test_bias_and_repeatability_are_the_mean_and_scatter_of_the_errors(tmp_path):
    rows = "".join(f"P1,2025-0{i}-01,pressure,{r},32,psi\n" for i, r in ((1, 33), (2, 34), (3, 32), (4, 33)))
    _, found = study(tmp_path, rows)
    gauge = found.loc["P1"]
    assert gauge["comparisons"] == 4
    assert gauge["bias"] == pytest.approx(1.0 * PSI, rel=1e-12)
    assert gauge["repeatability"] == pytest.approx(np.sqrt(2 / 3) * PSI, rel=1e-12)
    assert gauge["bias_se"] == pytest.approx(np.sqrt(2 / 3) / 2 * PSI, rel=1e-12)
    assert not gauge["off"]
    assert not gauge["overdue"]


def test_a_gauge_is_off_by_what_such_a_gauge_may_err(tmp_path):
    # 1.2 psi is 8.27 kPa, above 8; 1.1 psi is 7.58 kPa, below.
    rows = "P1,2025-05-01,pressure,33.2,32,psi\nP2,2025-05-01,pressure,33.1,32,psi\nD1,2025-05-01,depth,7.4,8,32nds\n"
    _, found = study(tmp_path, rows)
    assert found["off"].to_dict() == {"D1": True, "P1": True, "P2": False}
    assert found.loc["P1", "worst"] == pytest.approx(1.2 * PSI)
    assert found.loc["D1", "worst"] == pytest.approx(-0.6 * 25.4 / 32)


def test_a_gauge_that_drifted_is_off_by_its_last_comparison(tmp_path):
    rows = "".join(f"P1,2025-0{i}-01,pressure,{r},32,psi\n" for i, r in ((1, 32), (2, 32), (3, 32), (4, 34)))
    _, found = study(tmp_path, rows)
    assert found.loc["P1", "off"]
    assert found.loc["P1", "worst"] == pytest.approx(2 * PSI)  # the bias is 0.5


def test_a_gauge_not_compared_for_a_year_is_overdue(tmp_path):
    _, found = study(tmp_path, "D1,2024-07-09,depth,8,8,32nds\nD2,2024-07-10,depth,8,8,32nds\n")
    assert found["overdue"].to_dict() == {"D1": True, "D2": False}  # 366 and 365 days before 2025-07-10


def test_a_gauge_never_compared_has_no_bias_and_corrects_nothing(tmp_path):
    log = (
        "date,vehicle_id,position,pressure_psi,state,set_to_psi,gauge_id\n"
        "2025-03-10,V1,LF,30,cold,33,P9\n2025-03-10,V1,LF,31,cold,,P9\n2025-03-10,V1,RF,31,cold,,\n"
    )
    book, found = study(tmp_path, "D1,2025-05-01,depth,8.4,8,32nds\n", pressures=log)
    gauge = found.loc["P9"]
    assert gauge["comparisons"] == 0
    assert np.isnan(gauge["bias"])
    assert gauge["repeatability"] == pytest.approx(np.sqrt(0.5) * PSI)  # two readings at one place, one day
    assert np.isnan(gauge["worst"])
    out = corrected(book.pressures, found.reset_index())
    pd.testing.assert_series_equal(out["pressure_kpa"], book.pressures["pressure_kpa"])
    assert (out["correction_kpa"] == 0).all()


def test_corrections_take_the_bias_out_of_readings_and_settings(tmp_path):
    log = "date,vehicle_id,position,pressure_psi,state,set_to_psi,gauge_id\n2025-03-10,V1,LF,30,cold,33,P1\n"
    book, found = study(tmp_path, "P1,2025-05-01,pressure,33,32,psi\n", pressures=log)
    out = corrected(book.pressures, found.reset_index())
    assert out["pressure_kpa"].item() == pytest.approx(29 * PSI)
    assert out["set_to_kpa"].item() == pytest.approx(32 * PSI)
    assert out["correction_kpa"].item() == pytest.approx(-PSI)
    assert book.pressures["pressure_kpa"].item() == pytest.approx(30 * PSI)


def test_units_of_the_comparison_do_not_matter(tmp_path):
    _, us = study(tmp_path / "a", "D1,2025-05-01,depth,9,8,32nds\nD1,2025-06-01,depth,8,8,32nds\n")
    _, mm = study(tmp_path / "b", "D1,2025-05-01,depth,7.14375,6.35,mm\nD1,2025-06-01,depth,6.35,6.35,mm\n")
    for name in ("bias", "repeatability", "bias_se"):
        assert us.loc["D1", name] == pytest.approx(mm.loc["D1", name], rel=1e-9)


def test_known_bias_and_scatter_are_recovered(tmp_path):
    rng = np.random.default_rng(3)
    reading = 6.35 + 0.25 + rng.normal(0, 0.1, 400)
    rows = "".join(f"D1,2025-05-01,depth,{r:.4f},6.35,mm\n" for r in reading)
    _, found = study(tmp_path, rows)
    assert found.loc["D1", "bias"] == pytest.approx(0.25, abs=4 * 0.1 / 20)
    assert found.loc["D1", "repeatability"] == pytest.approx(0.1, rel=0.15)


def test_no_gauges_no_rows(tmp_path):
    out = gauge_study(read_logbook(folder(tmp_path)))
    assert out.empty
    assert list(out)[:4] == ["gauge_id", "kind", "comparisons", "bias"]


@pytest.mark.parametrize(
    ("row", "what"),
    [
        ("D1,2025-02-01,depth,80,8,32nds", "is outside 0 to 50.39 32nds"),
        ("D1,2025-02-01,depth,8,-1,mm", "is outside 0 to 40 mm"),
        ("P1,2025-02-01,pressure,10000000,32,psi", "is outside 0 to 159.5 psi"),
        ("P1,2025-02-01,pressure,1e308,32,psi", "is outside 0 to 159.5 psi"),
        ("P1,2025-02-01,pressure,220,220,kpa", None),
    ],
)
def test_a_comparison_that_no_gauge_can_show_is_an_error(tmp_path, row, what):
    problems = check_logbook(folder(tmp_path, gauges=f"gauge_id,date,kind,reading,master,unit\n{row}\n"))
    assert worded(problems).loc[~problems["doubt"], "what"].tolist() == ([what] if what else [])
