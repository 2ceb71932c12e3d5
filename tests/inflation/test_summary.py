import re

import numpy as np
import pytest

from tests.wear.books import MOUNTS, make_book
from tirelife.codes import Note, Severity
from tirelife.inflation import PressureNote, leaks, pressure_summary, pressures_now
from tirelife.inflation.summary import _mean_below, _share_below
from tirelife.sheet.pressures import note_words, pressure_part
from tirelife.units import convert


def text(*rows):
    head = "date,vehicle_id,position,pressure_psi,state,odometer_mi,ambient_f,set_to_psi\n"
    return head + "".join(row + "\n" for row in rows)


def codes(row):
    return {note.code for note in row["notes"]}


def psi(value):
    return convert(value, "kpa", "psi")


def test_shares_and_shortfall_over_distance(tmp_path):
    # From 35 psi to 25 on a placard of 35: below 31.5 for 65 % of the way, below 26.25 for 12.5 %; the mean
    # shortfall is 5 psi. Then set, and full for the rest.
    book = make_book(
        tmp_path,
        pressures=text("2024-01-01,A,LF,35,cold,0,,35", "2024-07-02,A,LF,25,cold,5000,,35",
                       "2025-01-01,A,LF,35,cold,10000,,"),
    )  # fmt: skip
    own = pressure_summary(book).set_index("tire_id").loc["T1"]
    assert own["km"] == pytest.approx(16093.44)
    assert own["share_assumed"] == 0
    assert own["share_over_10_low"] == pytest.approx(0.5 * 0.65)
    assert own["share_over_25_low"] == pytest.approx(0.5 * 0.125)
    assert psi(own["shortfall_kpa"]) == pytest.approx(2.5)
    # 1.78 % of life per psi: at 5 psi low life is 0.911 (FMVSS 138 FRIA), for half of the distance.
    assert own["life_share"] == pytest.approx(1 / (0.5 + 0.5 / (1 - 5 * 0.32 / 18)))
    assert own["life_low"] < own["life_share"] < own["life_high"] < 1
    assert own["ribs"] == "both shoulders"
    # Of the 183 days to July 65 % below 31.5 psi, set on the way; hot target 4 psi above the placard (maker's guide).
    assert own["days_low"] == pytest.approx(0.65 * 183, abs=1)
    assert own["km_low"] == pytest.approx(0.5 * 0.65 * 16093.44)
    assert psi(own["hot_target_kpa"]) - psi(own["placard_kpa"]) == pytest.approx(4.0)
    assert psi(own["last_kpa"]) == pytest.approx(35.0)
    assert {PressureNote.RAN_FLAT, PressureNote.LOW} <= codes(own)


def test_path_sums_agree_with_fine_steps():
    rng = np.random.default_rng(5)
    start, end, limit = (rng.uniform(150, 260, 200) for _ in range(3))
    steps = start[:, None] + (end - start)[:, None] * (np.arange(20_000) + 0.5) / 20_000
    below = np.maximum(limit[:, None] - steps, 0)
    assert _share_below(start, end, limit) == pytest.approx((below > 0).mean(axis=1), abs=1e-4)
    assert _mean_below(start, end, limit) == pytest.approx(below.mean(axis=1), abs=1e-3)


def test_normal_leak_is_no_alarm_and_a_fast_one_is(tmp_path):
    # 30 psi to 26.5 in a year is normal (consumer test 2007, air; 0.29 psi a month); above 2 psi a month the
    # tire is to be inspected (tire maker's guide 2023; GAO-07-246R calls 1 to 2 normal).
    book = make_book(
        tmp_path,
        pressures=text("2024-01-01,A,LR,30,cold,0,,30", "2024-12-31,A,LR,26.5,cold,9990,,",
                       "2024-01-01,A,RR,30,cold,0,,30", "2024-03-31,A,RR,22,cold,2500,,30"),
    )  # fmt: skip
    got = pressure_summary(book).set_index("tire_id")
    assert psi(got.loc["T3", "leak_kpa_per_month"]) == pytest.approx(3.5 / 11.99, rel=1e-3)
    assert not got.loc["T3", "inspect"]
    assert psi(got.loc["T4", "leak_kpa_per_month"]) == pytest.approx(8 / 2.957, rel=1e-3)
    assert got.loc["T4", "inspect"]
    leak = got.loc["T4", "notes"][0]
    assert (leak.code, leak.severity) == (PressureNote.LEAKS, Severity.WARNING)  # 2.7 psi a month


def test_cold_weather_is_no_leak(tmp_path):
    # 35 psi at 70 °F is 30.31 at 20 °F (gas law): nothing was lost.
    book = make_book(
        tmp_path, pressures=text("2024-07-01,A,LF,35,cold,5000,70,35", "2024-09-01,A,LF,30.31,cold,6700,20,")
    )
    lost = leaks(book)
    assert lost["same_temperature"].tolist() == [True]
    assert psi(lost["loss_kpa"].iloc[0]) == pytest.approx(0, abs=0.01)


def test_readings_days_apart_say_nothing_of_leaks(tmp_path):
    book = make_book(
        tmp_path, pressures=text("2024-07-01,A,LF,35,cold,5000,,35", "2024-07-10,A,LF,32,cold,5200,,")
    )
    assert leaks(book).empty
    assert np.isnan(pressure_summary(book).set_index("tire_id").loc["T1", "leak_kpa_per_month"])


def test_extrapolation_is_said(tmp_path):
    book = make_book(
        tmp_path, pressures=text("2024-01-01,A,LF,14,cold,0,,", "2025-01-01,A,LF,14,cold,10000,,")
    )
    got = pressure_summary(book).set_index("tire_id")
    assert got.loc["T1", "share_beyond"] == 1.0
    assert got.loc["T2", "share_beyond"] == 0.0
    assert PressureNote.BEYOND_PUBLISHED in codes(got.loc["T1"])
    assert PressureNote.BEYOND_PUBLISHED not in codes(got.loc["T2"])


def test_over_inflation_wears_the_center_and_is_not_bled_hot(tmp_path):
    book = make_book(
        tmp_path, pressures=text("2024-01-01,A,LF,42,cold,0,,", "2025-01-01,A,LF,42,cold,10000,,")
    )
    own = pressure_summary(book).set_index("tire_id").loc["T1"]
    assert own["share_over_10_high"] == 1.0
    assert own["ribs"] == "center"
    assert own["life_share"] == 1.0
    assert PressureNote.HIGH in codes(own)
    high = next(note for note in own["notes"] if note.code is PressureNote.HIGH)
    assert "never by bleeding a hot tire" in note_words(high, "us")
    assert PressureNote.HIGH_UNKNOWN in codes(own)


def test_a_placard_that_the_log_does_not_state_is_nothing_to_set_a_tire_to(tmp_path):
    readings = [f"2024-0{month}-02,A,LF,{psi_},cold,,," for month, psi_ in ((1, 40), (4, 40), (7, 30))]
    (tmp_path / "stated").mkdir()
    stated = pressure_summary(make_book(tmp_path / "stated", pressures=text(*readings))).set_index("position")
    assert psi(stated.loc["LF", "placard_kpa"]) == pytest.approx(35)
    assert psi(stated.loc["LF", "hot_target_kpa"]) == pytest.approx(39)
    assert PressureNote.PLACARD_ASSUMED not in codes(stated.loc["LF"])
    vehicles = "vehicle_id,drive,placard_front_psi,placard_rear_psi\nA,front,,30\n"
    summary = pressure_summary(make_book(tmp_path, vehicles=vehicles, pressures=text(*readings)))
    rows = summary.set_index("position")
    assert np.isnan(rows.loc["LF", "placard_kpa"])
    assert np.isnan(rows.loc["LF", "hot_target_kpa"])
    assert psi(rows.loc["LR", "placard_kpa"]) == pytest.approx(30)
    note = next(note for note in rows.loc["LF", "notes"] if note.code is PressureNote.PLACARD_ASSUMED)
    assert psi(dict(note.values)["placard_kpa"]) == pytest.approx(40)  # the median of its own readings
    assert PressureNote.PLACARD_ASSUMED not in codes(rows.loc["LR"])
    assert rows.loc["LF", "shortfall_kpa"] > 0  # against what is assumed, and said so
    for language, word in (("en", "the log states none"), ("es", "el registro no la da")):
        assert word in pressure_part(summary, "us", language=language)


def test_no_readings(tmp_path):
    got = pressure_summary(make_book(tmp_path))
    assert got["life_share"].tolist() == [1.0] * 4
    assert got["share_assumed"].tolist() == [1.0] * 4
    assert not got["inspect"].any()


def test_a_spare_that_never_ran_says_so(tmp_path):
    got = pressure_summary(make_book(tmp_path, mounts=MOUNTS.replace("T4,RR", "T4,SP"))).set_index("tire_id")
    assert np.isnan(got.loc["T4", "life_share"])
    assert PressureNote.NO_DISTANCE in codes(got.loc["T4"])


def test_three_psi_a_month_is_not_driven_far_and_the_page_says_so(tmp_path):
    # Common practice, no source: from 3 psi a month a tire is looked at before it is driven far.
    book = make_book(
        tmp_path,
        pressures=text("2024-01-01,A,LF,33,cold,0,,33", "2024-03-01,A,LF,25,cold,2500,,"),
    )  # fmt: skip
    summary = pressure_summary(book)
    leak = summary.set_index("tire_id").loc["T1", "notes"][0]
    assert (leak.code, leak.severity) == (PressureNote.LEAKS, Severity.URGENT)
    part = pressure_part(summary, "us")
    assert "before it is driven far" in part
    assert "set it to the placard when cold" in part  # hot tires are among what the page asks to note
    assert pressure_part(summary.iloc[1:], "us") == ""
    said = pressure_part(summary, "us", "mdy", "es")
    assert "antes de manejar lejos" in said
    assert "Delantera izquierda" in said
    assert not re.search(r"\d{4}-\d\d", part + said)  # days are words, as everywhere on the page


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("code", PressureNote)
def test_every_note_has_words_in_each_language(code, language):
    note = Note(code, Severity.DOUBT, (("loss_kpa_per_month", 24.8), ("placard_kpa", 240.0)))
    assert len(note_words(note, "us", language)) > 20


@pytest.mark.parametrize(
    ("last", "code"),
    [
        ("2024-07-02,A,LF,38,highway,5000,,35", PressureNote.LET_OUT),  # 3 psi taken out of a hot tire
        (
            "2024-07-02,A,LF,30,highway,5000,,35",
            PressureNote.SET_WARM,
        ),  # filled, to 35 warm: about 29 once cold
        ("2024-07-02,A,LF,38,cold,5000,,35", None),  # let out cold, as it should be
        ("2024-07-02,A,LF,38,highway,5000,,", None),  # read warm, and left
    ],
)
def test_air_let_out_of_a_warm_tire_or_set_warm_is_told_until_it_is_set_again(tmp_path, last, code):
    rows = ["2024-01-01,A,LF,35,cold,0,,35", last]
    own = pressure_summary(make_book(tmp_path, pressures=text(*rows))).set_index("tire_id").loc["T1"]
    warm = {PressureNote.LET_OUT, PressureNote.SET_WARM}
    assert codes(own) & warm == ({code} if code else set())
    if code:
        assert "cold" in note_words(next(note for note in own["notes"] if note.code is code), "us")
    rows.append("2024-08-02,A,LF,34,cold,6000,,35")
    again = pressure_summary(make_book(tmp_path, pressures=text(*rows))).set_index("tire_id").loc["T1"]
    assert not codes(again) & warm


def test_pressures_now_are_those_of_tires_on_the_road(tmp_path):
    off = MOUNTS + "2024-06-01,5000,A,T1,OFF\n2024-06-01,5000,A,T2,SP\n"
    book = make_book(tmp_path, mounts=off, pressures=text("2024-03-01,A,LF,35,cold,2000,,"))
    assert sorted(pressure_summary(book)["tire_id"]) == ["T1", "T2", "T3", "T4"]
    assert sorted(pressures_now(book)["tire_id"]) == ["T3", "T4"]
