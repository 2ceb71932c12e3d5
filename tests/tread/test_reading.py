"""Ranked causes in words, and the order of what to check next."""

import numpy as np
import pandas as pd
import pytest

from tests.tread.books import POSITIONS, make_book, read_depths
from tirelife.codes import Note, Severity
from tirelife.errors import InputError
from tirelife.logbook import GROOVES
from tirelife.sheet.tread_words import evidence_words, step_words
from tirelife.tread import (
    Finding,
    Seen,
    Step,
    Why,
    next_steps,
    weigh_causes,
    wheel_histories,
)
from tirelife.tread.patterns import NEEDS_ANGLES
from tirelife.tread.reading import ACROSS_TREAD_MM

EVEN = [6.0, 6.0, 6.0, 6.0, 6.0]
TOE_IN = [4.3, 5.4, 5.9, 6.0, 6.0]
CUPS = [0, -1.2, 0, -1.1, 0.1, -1.2]


def words(table):
    return [step_words(note, "us") for note in table["note"]]


def car(folder, spots=None, tables=None, **by_position):
    parts = []
    for position in POSITIONS:
        depths = by_position.get(position, EVEN)
        around = (spots or {}).get(position, [0.0] * 6 if spots else [0.0])
        read = {g: [round(d + a, 2) for a in around] for g, d in zip(GROOVES, depths, strict=True)}
        parts.append(read_depths(read, position=position))
    return make_book(folder, pd.concat(parts), **(tables or {}))


def steps(book, drive="front", findings=(), **options):
    causes = weigh_causes(book, ["V1"], findings)
    return next_steps(causes, drive, findings, histories=wheel_histories(book)["V1"], **options)


def test_even_wear_is_an_answer(tmp_path):
    book = car(tmp_path)
    causes = weigh_causes(book)
    top = causes.drop_duplicates("position")
    assert (top["cause"] == "even_wear").all()
    assert top["evidence"].iloc[0][0].code in (Seen.INSIDE_GAUGE, Seen.INSIDE_EVEN)
    table = steps(book)
    assert table["step"].tolist() == ["nothing"]


def test_toe_is_measured_before_rotation_and_the_evidence_names_both_wheels(tmp_path):
    book = car(tmp_path, LF=TOE_IN, RF=TOE_IN)
    row = weigh_causes(book).iloc[0]
    assert row["cause"] == "toe_in"
    said = evidence_words(row["evidence"], book.units)
    assert said.startswith("the outer edge lost")
    assert "RF: the outer edge lost" in said
    table = steps(book)
    assert table["step"].tolist() == ["measure angles"]
    assert table["where"].tolist() == ["front axle"]
    assert "before the tires are rotated" in words(table)[0]


def test_cupping_alone_sends_no_car_to_have_its_angles_measured(tmp_path):
    book = car(tmp_path, spots={"LR": CUPS, "RR": CUPS[::-1]})
    table = steps(book)
    assert table["step"].tolist() == [Step.WHEEL, Step.ROTATE]
    assert table["note"].iloc[1].value("angles") is False


def test_measuring_angles_is_never_argued_against_while_a_cause_that_needs_it_has_a_tenth(tmp_path):
    book = car(tmp_path, spots={"LR": CUPS, "RR": CUPS[::-1]})
    causes = weigh_causes(book, ["V1"])
    for cause in NEEDS_ANGLES:
        held = causes.copy()
        here = (held["position"] == "LR") & (held["cause"] == cause)
        held.loc[here, "probability"] = 0.12 / here.sum()
        table = next_steps(held, "front", histories=wheel_histories(book)["V1"])
        turn = table[table["step"] == Step.ROTATE]["note"].iloc[0]
        assert turn.value("angles") is True
        assert "no reason" not in " ".join(words(table))


SLANT = np.array(
    [[10, 5, 0, 0, 0], [3, 9, 7, 2, 0], [0, 2, 8, 10, 4], [0, 0, 1, 5, 10], [9, 4, 0, 0, 0], [2, 8, 8, 3, 0]]
)


def test_slantwise_wear_of_a_free_axle_has_its_toe_measured_and_is_not_rotated_away(tmp_path):
    parts = []
    for position in POSITIONS:
        lost = SLANT / 10 if position in ("LR", "RR") else np.zeros((6, 5))
        read = {g: (6.0 - lost[:, i]).round(2).tolist() for i, g in enumerate(GROOVES)}
        parts.append(read_depths(read, position=position))
    book = make_book(tmp_path, pd.concat(parts))
    causes = weigh_causes(book)
    assert causes[causes["position"] == "LR"].iloc[0]["cause"] == "diagonal_wear"
    table = steps(book)
    first = table.iloc[0]
    assert (first["step"], first["where"], first["note"].code) == (Step.ANGLES, "rear axle", Why.DIAGONAL)
    assert Step.ROTATE not in set(table["step"])
    assert "Rotation does not cure it" in words(table)[0]


def test_what_the_gauge_cannot_tell_apart_is_told_apart_by_the_cheapest_check(tmp_path):
    both = [4.6, 5.6, 6.0, 5.7, 5.0]  # both shoulders, no pressure recorded: low, or hard cornering
    book = car(tmp_path, LF=both, RF=both)
    # The likeliest cause's own check goes first where it is as good as free (pressure first: Hudson 1948-52).
    assert steps(book)["step"].tolist()[:2] == [Step.PRESSURE, Step.TURNS]
    edge = [4.4, 5.0, 5.6, 6.1, 6.6]  # one edge: toe, or camber of both
    first = steps(car(tmp_path / "edge", LF=edge, RF=edge)).iloc[0]
    assert first["step"] == Step.FEEL
    assert first["note"].code is Why.TELLS_APART
    assert {first["note"].value("one"), first["note"].value("other")} == {"toe_in", "camber"}


def test_what_was_felt_counts_whatever_the_gauge_says(tmp_path):
    book = car(tmp_path, spots={})
    for kind, step in (("feathered_edge", Step.ANGLES), ("diagonal", Step.ANGLES), ("cups", Step.WHEEL)):
        assert step in set(steps(book, findings=[Finding("RF", kind)])["step"]), kind


def test_driving_load_and_pressure_on_record_decide_between_shoulders(tmp_path):
    both = [4.5, 5.6, 6.0, 5.6, 4.8]
    right = pd.DataFrame(
        {"date": ["2025-03-01", "2025-06-01"] * 2, "vehicle_id": "V1", "position": ["LF", "LF", "RF", "RF"],
         "pressure_kpa": 230.0, "state": "cold"}
    )  # fmt: skip
    turns = pd.DataFrame(
        {"vehicle_id": ["V1"], "from_date": "2025-01-01", "to_date": "2025-07-01", "share_under_25mph": 0.2,
         "share_25_40mph": 0.3, "share_40_55mph": 0.3, "share_55_70mph": 0.2, "share_over_70mph": 0.0,
         "hard_starts_per_100mi": 5, "hard_stops_per_100mi": 5, "hard_turns_per_100mi": 60}
    )  # fmt: skip
    plain = car(tmp_path / "plain", LF=both, RF=both)
    told = car(tmp_path / "told", LF=both, RF=both, tables={"pressures": right, "habits": turns})

    def chance(book, cause):
        table = weigh_causes(book)
        return float(table[(table["position"] == "LF") & (table["cause"] == cause)]["probability"].sum())

    assert chance(told, "hard_cornering") > 0.75
    assert chance(told, "low_pressure") < 0.1 < chance(plain, "low_pressure")
    seen = weigh_causes(told).query("position == 'LF' and cause == 'hard_cornering'")["evidence"].iloc[0]
    assert {Seen.PRESSURE, Seen.TURNS} <= {note.code for note in seen}


def test_what_is_left_open_is_not_called_the_gauge_s_error():
    # Of two visits and of what a tire was when it came: more than any gauge is wrong by.
    for code in (Seen.INSIDE_GAUGE, Seen.SAME):
        note = Note(code, Severity.NOTE, (("component", "edges"), ("apart_mm", 1.8), ("bound_mm", 2.4)))
        said = evidence_words((note,), "us")
        assert "3/32 inch" in said
        assert "gauge" not in said


def test_an_even_tire_is_not_called_uneven_and_left_alone_at_once(tmp_path):
    # One 32nd from groove to groove, beyond what many readings leave open, and what even treads show.
    book = car(tmp_path, LF=[5.7, 5.9, 6.0, 6.0, 6.0], spots={"RF": [0.0] * 6})
    row = weigh_causes(book).query("position == 'LF'").iloc[0]
    assert row["cause"] == "even_wear"
    assert "beyond the gauge" not in evidence_words(row["evidence"], "us")


def test_cups_that_slant_the_profile_are_still_cups(tmp_path):
    slanted = [5.0, 5.6, 6.0, 6.0, 6.0]
    cups = [0, -1.6, 0.1, -1.5, 0, -1.7]
    table = steps(car(tmp_path, LR=slanted, spots={"LR": cups}), across_tread_mm=0.7)
    assert Why.ACROSS not in {note.code for note in table["note"]}


def test_cups_on_driven_wheels_are_not_left_to_rotation(tmp_path):
    table = steps(car(tmp_path, spots={"LF": CUPS, "RF": CUPS[::-1]}))
    assert "rotate" not in set(table["step"])
    assert "check wheel and dampers" in set(table["step"])


def test_cups_wait_where_the_angles_are_in_question(tmp_path):
    book = car(tmp_path, LR=TOE_IN, RR=TOE_IN, spots={"LR": CUPS, "RR": CUPS[::-1]})
    table = steps(book)
    rotate = table[table["step"] == "rotate"]
    assert table["step"].iloc[0] == "measure angles"
    assert rotate["note"].iloc[0].value("angles") is True


def test_low_pressure_is_checked_and_no_hot_tire_is_bled(tmp_path):
    worn = [4.4, 5.1, 6.0, 5.1, 4.4]
    center = [6.0, 5.1, 4.3, 5.1, 6.0]
    low = steps(car(tmp_path / "a", LF=worn, RF=worn))
    assert low["step"].tolist() == ["check pressure"]
    high = steps(car(tmp_path / "b", LF=center, RF=center))
    assert "Never bleed a hot tire" in " ".join(words(high))


def test_damage_comes_first_whatever_else(tmp_path):
    findings = [Finding("RR", "bulge"), Finding("LF", "cords")]
    table = steps(car(tmp_path, LF=TOE_IN, RF=TOE_IN), findings=findings)
    assert table["step"].tolist()[:2] == ["inspect now", "inspect now"]
    assert table["where"].tolist()[:2] == ["RR", "LF"]


def test_erosion_moves_to_the_driven_axle(tmp_path):
    table = steps(car(tmp_path), findings=[Finding("LR", "erosion", depth_mm=25.4 / 16)])
    assert table["step"].tolist() == ["move to driven axle"]


def test_the_across_tread_trigger_is_a_setting(tmp_path):
    slope = [5.3, 5.6, 5.9, 6.2, 6.5]
    one = {"LF": slope}
    book = car(tmp_path, **one)
    histories = wheel_histories(book, resolution_mm=0.1)["V1"]
    causes = weigh_causes(book, ["V1"])
    quiet = causes.assign(probability=0.0)
    assert next_steps(quiet, "front", histories=histories, across_tread_mm=1.0)["step"].tolist() == [
        "measure angles"
    ]
    assert next_steps(quiet, "front", histories=histories, across_tread_mm=2.0)["step"].tolist() == [
        "nothing"
    ]


def test_the_across_tread_trigger_is_two_32nds_unless_set():
    assert pytest.approx(1.5875) == ACROSS_TREAD_MM  # 2/32 in: common practice, no source


def test_words_use_the_logbooks_units(tmp_path):
    notes = weigh_causes(car(tmp_path / "m", LF=TOE_IN, RF=TOE_IN))["evidence"]
    metric = [evidence_words(found, "metric") for found in notes]
    assert any(" mm" in said for said in metric)
    assert not any("/32" in said for said in metric)
    assert any("/32 inch" in evidence_words(found, "us") for found in notes)


def test_unknown_vehicles_and_homeless_findings_are_refused(tmp_path):
    book = car(tmp_path)
    with pytest.raises(InputError, match="V9"):
        weigh_causes(book, ["V9"])
    with pytest.raises(InputError, match="one vehicle"):
        weigh_causes(book, [], [Finding("LF", "cups")])


def test_nothing_after_the_day_is_used(tmp_path):
    from tests.tread.books import write_book
    from tirelife.logbook import read_logbook

    early = pd.concat([read_depths(dict(zip(GROOVES, EVEN, strict=True)), position=p) for p in POSITIONS])
    late = pd.concat(
        [
            read_depths(
                dict(zip(GROOVES, np.array(TOE_IN) - 1, strict=True)),
                position=p,
                date="2025-12-01",
                km=30_000,
            )
            for p in ("LF", "RF")
        ]
    )
    folder = write_book(tmp_path / "both", pd.concat([early, late]))
    alone = read_logbook(write_book(tmp_path / "early", early))
    then = read_logbook(folder, as_of="2025-07-01")
    pd.testing.assert_frame_equal(weigh_causes(then), weigh_causes(alone))
    assert weigh_causes(read_logbook(folder)).iloc[0]["cause"] == "toe_in"
