"""A forecast in lines: order, rounding, gaps, notes said once; and as data, names and units."""

import pandas as pd

from tirelife.codes import Note, Severity
from tirelife.rates import FitReason
from tirelife.terminal.forecast import forecast_data, forecast_text

FEW = Note(FitReason.FAR_READINGS, Severity.DOUBT, (("value", 0.034), ("limit", 0.01)))
CAUTION = "A projection is no inspection; look at the tire first. Local code and the placard rule."


def tires(*rows):
    """(vehicle, position, verdict, day of the middle, km of the middle) a row."""
    made = []
    for vehicle, position, verdict, day, km in rows:
        middle = pd.Timestamp(day)
        made.append(
            {
                "vehicle_id": vehicle, "position": position, "verdict": verdict, "read_mm": 3.96875,
                "depth_now_mm": 3.175, "km_left_p10": km - 1000, "km_left_p50": km, "km_left_p90": km + 1000,
                "date_p10": middle - pd.Timedelta(days=40), "date_p50": middle,
                "date_p90": middle + pd.Timedelta(days=40), "fit": "good", "notes": (),
            }
        )  # fmt: skip
    return pd.DataFrame(made)


def table_rows(said):
    return [line.split()[:3] for line in said.splitlines() if line.startswith("V")]


def test_measured_at_the_limit_leads_and_then_the_day_it_is_due():
    rows = tires(
        ("V1", "LF", "over", "2027-06-15", 30_000),
        ("V2", "RF", "over", "2027-03-15", 20_000),
        ("V3", "LR", "at-or-under", "2027-09-15", 40_000),
    )
    order = table_rows(forecast_text(rows, "us"))
    assert order == [["V3", "left", "rear"], ["V2", "right", "front"], ["V1", "left", "front"]]


def test_depths_are_in_32nds_and_a_tire_never_read_has_a_gap():
    rows = tires(("V1", "LF", "over", "2027-06-15", 30_000))
    line = next(x for x in forecast_text(rows, "us").splitlines() if x.startswith("V1"))
    assert line.split()[3:5] == ["5.0", "4.0"]  # 3.96875 and 3.175 mm
    assert line.endswith("May 2027 to Jul 2027")
    gone = forecast_text(rows.assign(read_mm=float("nan")), "us")
    assert "least\nread" not in gone
    assert "5.0" not in gone


def test_a_note_is_said_once_for_all_tires_that_have_it():
    rows = tires(*((v, "LF", "over", "2027-06-15", 30_000) for v in ("V1", "V2", "V3")))
    rows["notes"] = pd.Series([(FEW,), (), (FEW,)], dtype=object)
    lines = forecast_text(rows, "us", rule="the law of the place: 2/32").splitlines()
    assert sum(line.startswith("V1 left front, V3 left front: ") for line in lines) == 1
    assert not any(line.startswith("V2 left front: ") for line in lines)
    assert lines[-2:] == ["The law of the place: 2/32.", CAUTION]


def test_no_tire_no_words():
    assert forecast_text(tires(("V1", "LF", "over", "2027-06-15", 1)).iloc[:0], "us", "a rule") == ""


def test_data_has_codes_words_and_the_fit_last():
    rows = tires(("V1", "LF", "over", "2027-06-15", 1609.344), ("V2", "LF", "over", "2027-06-15", 1609.344))
    rows["notes"] = pd.Series([(FEW,), ()], dtype=object)
    out = forecast_data(rows, "us", "by law")
    assert list(out)[-1] == "fit"
    assert "notes" not in out
    assert out["codes"].tolist() == [str(FitReason.FAR_READINGS), ""]
    assert out["note"][0].endswith("; by law")
    assert out["note"][1] == "by law"
    assert out["miles_left_p50"].round(6).tolist() == [1000.0, 1000.0]
    assert out["read_32nds"].round(6).tolist() == [5.0, 5.0]
    assert "km_left_p50" in forecast_data(rows, "metric")
