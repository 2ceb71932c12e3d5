"""Which charts a page draws, from what and how wide, and how an answer is handed to the process that draws."""

import json
from dataclasses import replace
from functools import lru_cache
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from tests.charts import frames
from tests.sheet import answers
from tirelife.errors import FitError
from tirelife.sheet import drawing
from tirelife.sheet.drawing import (
    LEAST_KM,
    NARROW,
    begin_drawing,
    finish_drawing,
    specifications,
    window_rows,
    worthwhile,
)
from tirelife.sheet.language import texts

PLACES = {"replacement_windows": "windows", "tread_profiles": "profiles", "depth_path": "paths", "wear_causes": "causes",
          "change_pairs": "changes"}  # fmt: skip


@lru_cache(maxsize=1)
def whole():
    return answers.answer()


def answer(**changes):
    """The answer by hand, made once, with some of it otherwise."""
    return replace(whole(), **changes)


@pytest.fixture
def drawn(monkeypatch):
    """Charts as what they were asked for."""

    def chart(name):
        def made(*given, **how):
            return SimpleNamespace(
                to_dict=lambda validate: {"config": {}, "of": name, "given": given, "how": how}
            )

        return made

    monkeypatch.setattr(drawing, "charts", SimpleNamespace(**{name: chart(name) for name in PLACES}))


def late(one, *places):
    """The tires with no end of their range within sight."""
    return one.tires.assign(date_p90=one.tires["date_p90"].mask(one.tires["position"].isin(places)))


def test_every_chart_is_drawn_for_a_screen_and_for_a_phone_in_which_it_is_narrower(drawn):
    specs = specifications(answer())
    assert set(specs) == {*PLACES.values(), *(name + NARROW for name in PLACES.values())}
    for code, place in PLACES.items():
        wide, narrow = specs[place], specs[place + NARROW]
        assert wide["of"] == narrow["of"] == code
        assert 0 < narrow["how"]["width"] < wide["how"]["width"] <= 425
        assert narrow["how"]["width"] <= 300
        # Rows are higher on a phone, where a finger points.
        tall = "height" if "height" in wide["how"] else "step"
        assert tall not in wide["how"] or narrow["how"][tall] > wide["how"][tall]
    assert specs["windows" + NARROW]["how"]["above"]
    assert "above" not in specs["windows"]["how"]


def test_numbers_and_months_of_charts_are_in_the_language_and_units(drawn):
    spanish = specifications(answer(language="es", units="metric"))["causes"]
    assert spanish["how"]["say"] == texts("es")
    assert spanish["config"]["locale"] != specifications(answer())["causes"]["config"]["locale"]


def test_the_calendar_leaves_a_quarter_of_its_length_for_a_slider_to_move_the_bars(drawn):
    one = answer()
    latest = one.tires["date_p90"].max()
    _, begin, until = specifications(one)["windows"]["given"]
    assert begin == one.as_of
    assert until - latest == (latest - one.as_of) / 4


def test_the_calendar_gives_way_to_its_words_within_bounds(drawn, monkeypatch):
    def width(label):
        one = answer()
        return specifications(answer(tires=one.tires.assign(label=label), overall={}))["windows"]["how"][
            "width"
        ]

    said = max(window_rows(answer())["said"].str.len())
    assert width("x" * 30) == 690 - 6 * (30 + said)
    assert width("x" * 31) == width("x" * 30) - 6
    assert width("x" * 90) == 200
    monkeypatch.setattr(drawing.words, "date_range", lambda *_: "soon")
    assert width("x") == 425


def test_a_window_without_an_end_has_no_row_and_no_window_at_all_no_calendar(drawn):
    one = answer()
    some = specifications(answer(tires=late(one, "LF"), overall={}))["windows"]["given"][0]
    assert some["label"].tolist() == ["Right front", "Left rear", "Right rear"]
    never = specifications(answer(tires=late(one, "LF", "RF", "LR", "RR"), overall={}))
    assert not [name for name in never if name.startswith("windows")]


def test_one_groove_a_wheel_is_no_section_and_nothing_read_no_path(drawn):
    one = answer()
    assert "profiles" not in specifications(answer(depths=one.depths.drop_duplicates("position")))
    assert "profiles" in specifications(answer(depths=one.depths[:2]))
    bare = specifications(answer(readings=one.readings[:0], causes=one.causes[:0], changes=one.changes[:0]))
    assert set(bare) == {"windows", "profiles", "windows" + NARROW, "profiles" + NARROW}


def test_only_changes_that_buy_fifty_miles_are_drawn(drawn):
    km = [LEAST_KM, LEAST_KM - 0.1, 500.0, -500.0]
    table = frames.changes().assign(before_km=1000.0, after_km=[1000 + more for more in km])
    assert worthwhile(table).tolist() == [True, False, True, False]
    assert pytest.approx(50 * 1.609344, abs=0.5) == LEAST_KM
    given = specifications(answer(changes=table))["changes"]["given"]
    assert given[0]["after_km"].tolist() == [1080.0, 1500.0]
    assert "changes" not in specifications(answer(changes=table[1:2]))


def test_the_calendar_s_rows_are_the_set_and_then_each_tire_with_its_window_in_words():
    one = answer()
    rows = window_rows(
        answer(overall={"date_p10": pd.Timestamp("2027-03-25"), "date_p90": pd.Timestamp("2027-06-14")})
    )
    assert rows["label"].tolist() == [texts()["try-first"], *one.tires["label"]]
    assert rows["said"].iloc[0] == "late March to mid June 2027"
    assert rows["date_p50"].isna().tolist() == [True, *[False] * 4]
    assert rows["date_p50"].tolist()[1:] == one.tires["date_p50"].tolist()


def test_an_answer_comes_out_of_its_text_as_it_went_in():
    one = answer(
        overall={
            "first": "LF",
            "date_p10": pd.Timestamp("2027-03-25"),
            "date_p90": pd.NaT,
            "km": np.float64(1.5),
        }
    )
    readings = one.readings.assign(tread=np.arange(len(one.readings)), odd=True, notes="words")
    known = vars(answer(readings=readings, changes=one.changes[:0], overall=one.overall))
    back = SimpleNamespace(**drawing._unpacked(drawing._packed({n: known[n] for n in drawing._DRAWN})))
    assert back.as_of == one.as_of
    assert back.overall == {
        "first": "LF",
        "date_p10": pd.Timestamp("2027-03-25"),
        "date_p90": pd.NaT,
        "km": 1.5,
    }
    pd.testing.assert_frame_equal(back.readings, readings.drop(columns="notes"))
    assert back.changes.empty
    assert list(back.changes) == list(one.changes)
    assert (back.units, back.removal_mm, back.language) == (one.units, one.removal_mm, one.language)


def process(code, out=b"{}", trouble=b""):
    return SimpleNamespace(communicate=lambda packed: (out, trouble), returncode=code)


def test_what_is_known_early_is_drawn_early_and_once(monkeypatch, capsys):
    one, drawn = answer(), []
    for name in PLACES:
        make = getattr(drawing.charts, name)
        monkeypatch.setattr(
            drawing.charts, name, lambda *a, name=name, make=make, **k: drawn.append(name) or make(*a, **k)
        )
    needs = ("units", "language", "removal_mm", "depths", "readings", "band", "causes")
    early = {name: getattr(one, name) for name in needs}
    every = {name: getattr(one, name) for name in drawing._DRAWN}

    def lines():
        yield drawing._packed(early)
        assert drawn == ["tread_profiles"] * 2 + ["depth_path"] * 2 + ["wear_causes"] * 2
        yield drawing._packed(every)

    monkeypatch.setattr(drawing.sys, "stdin", SimpleNamespace(buffer=lines()))
    drawing._serve()
    assert sorted(drawn[6:]) == ["change_pairs"] * 2 + ["replacement_windows"] * 2
    assert list(json.loads(capsys.readouterr().out)) == list(specifications(one))


def test_a_process_that_has_ended_is_told_by_what_finishes_it():
    def gone(line):
        raise BrokenPipeError

    begin_drawing(SimpleNamespace(stdin=SimpleNamespace(write=gone)), {"units": "us"})


def test_a_process_that_failed_says_its_last_line():
    assert finish_drawing(process(0, b'{"a": 1}'), answer()) == {"a": 1}
    with pytest.raises(FitError, match=r"could not be drawn: .*ValueError: no causes"):
        finish_drawing(process(1, trouble=b"Traceback\n  line\nValueError: no causes\n"), answer())
    with pytest.raises(FitError, match="no message"):
        finish_drawing(process(-9), answer())
