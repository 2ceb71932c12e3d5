"""Ranked causes in words, and the order of what to check next."""

import numpy as np
import pandas as pd
import pytest

from tests.tread.books import POSITIONS, make_book, read_depths
from tirelife.errors import InputError
from tirelife.logbook import GROOVES
from tirelife.tread import Finding, next_steps, weigh_causes, wheel_histories
from tirelife.tread.reading import ACROSS_TREAD_MM

EVEN = [6.0, 6.0, 6.0, 6.0, 6.0]
TOE_IN = [4.3, 5.4, 5.9, 6.0, 6.0]
CUPS = [0, -1.2, 0, -1.1, 0.1, -1.2]


def car(folder, spots=None, **by_position):
    parts = []
    for position in POSITIONS:
        depths = by_position.get(position, EVEN)
        around = (spots or {}).get(position, [0.0] * 6 if spots else [0.0])
        read = {g: [round(d + a, 2) for a in around] for g, d in zip(GROOVES, depths, strict=True)}
        parts.append(read_depths(read, position=position))
    return make_book(folder, pd.concat(parts))


def steps(book, drive="front", findings=(), **options):
    causes = weigh_causes(book, ["V1"], findings)
    return next_steps(causes, drive, findings, histories=wheel_histories(book)["V1"], **options)


def test_even_wear_is_an_answer(tmp_path):
    book = car(tmp_path)
    causes = weigh_causes(book)
    top = causes.drop_duplicates("position")
    assert (top["cause"] == "even_wear").all()
    assert "inside the gauge's error" in top["evidence"].iloc[0]
    table = steps(book)
    assert table["step"].tolist() == ["nothing"]


def test_toe_is_measured_before_rotation_and_the_evidence_names_both_wheels(tmp_path):
    book = car(tmp_path, LF=TOE_IN, RF=TOE_IN)
    row = weigh_causes(book).iloc[0]
    assert row["cause"] == "toe_in"
    assert "the outer edge lost" in row["evidence"]
    assert "RF: the outer edge lost" in row["evidence"]
    table = steps(book)
    assert table["step"].tolist() == ["measure angles"]
    assert table["where"].tolist() == ["front axle"]
    assert "before the tires are rotated" in table["words"].iloc[0]


def test_cupping_alone_sends_no_car_to_have_its_angles_measured(tmp_path):
    book = car(tmp_path, spots={"LR": CUPS, "RR": CUPS[::-1]})
    table = steps(book)
    assert table["step"].tolist() == ["check wheel and dampers", "rotate"]
    assert "no reason to have the angles measured" in table["words"].iloc[1]
    assert not table["words"].str.contains("Have toe|Have camber").any()


def test_cups_that_slant_the_profile_are_still_cups(tmp_path):
    slanted = [5.0, 5.6, 6.0, 6.0, 6.0]
    cups = [0, -1.6, 0.1, -1.5, 0, -1.7]
    table = steps(car(tmp_path, LR=slanted, spots={"LR": cups}), across_tread_mm=0.7)
    assert "edges of LR" not in " ".join(table["words"])


def test_cups_on_driven_wheels_are_not_left_to_rotation(tmp_path):
    table = steps(car(tmp_path, spots={"LF": CUPS, "RF": CUPS[::-1]}))
    assert "rotate" not in set(table["step"])
    assert "check wheel and dampers" in set(table["step"])


def test_cups_wait_where_the_angles_are_in_question(tmp_path):
    book = car(tmp_path, LR=TOE_IN, RR=TOE_IN, spots={"LR": CUPS, "RR": CUPS[::-1]})
    table = steps(book)
    rotate = table[table["step"] == "rotate"]
    assert table["step"].iloc[0] == "measure angles"
    assert rotate["words"].iloc[0].startswith("Measure the angles first")


def test_low_pressure_is_checked_and_no_hot_tire_is_bled(tmp_path):
    worn = [4.4, 5.1, 6.0, 5.1, 4.4]
    center = [6.0, 5.1, 4.3, 5.1, 6.0]
    low = steps(car(tmp_path / "a", LF=worn, RF=worn))
    assert low["step"].tolist() == ["check pressure"]
    high = steps(car(tmp_path / "b", LF=center, RF=center))
    assert "Never bleed a hot tire" in " ".join(high["words"])


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
    metric = weigh_causes(car(tmp_path / "m", LF=TOE_IN, RF=TOE_IN))["evidence"]
    assert metric.str.contains(" mm").any()
    assert not metric.str.contains("/32").any()


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
