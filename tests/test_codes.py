"""What a note carries, how it prints, and which of several matters most."""

from dataclasses import FrozenInstanceError
from enum import StrEnum

import pytest

from tirelife.codes import Note, Severity, worst


class Code(StrEnum):
    LOW = "depth-low"


def test_severity_rises_from_worth_knowing_to_urgent():
    assert sorted(Severity) == [Severity.NOTE, Severity.DOUBT, Severity.WARNING, Severity.URGENT]
    assert Note(Code.LOW).severity is Severity.NOTE


def test_the_worst_of_notes_wherever_it_stands():
    notes = [Note(Code.LOW, one) for one in (Severity.DOUBT, Severity.URGENT, Severity.NOTE)]
    assert worst(notes) is Severity.URGENT
    assert worst(notes[::2]) is Severity.DOUBT
    assert worst(iter(notes[2:])) is Severity.NOTE
    assert worst([]) is Severity.NOTE


def test_a_value_is_asked_by_its_name():
    note = Note(Code.LOW, values=(("depth_mm", 1.5), ("tire_id", None)))
    assert (note.value("depth_mm"), note.value("tire_id")) == (1.5, None)
    with pytest.raises(KeyError):
        note.value("limit_mm")


def test_a_note_prints_its_code_and_what_it_is_about():
    assert str(Note(Code.LOW)) == "depth-low"
    assert str(Note(Code.LOW, values=(("depth_mm", 1.5), ("at", "LF")))) == "depth-low(depth_mm=1.5, at=LF)"


def test_notes_that_say_the_same_are_the_same_and_none_changes():
    one, same = (Note(Code.LOW, Severity.DOUBT, (("depth_mm", 1.5),)) for _ in range(2))
    assert len({one, same, Note(Code.LOW, Severity.NOTE, one.values)}) == 2
    with pytest.raises(FrozenInstanceError):
        one.severity = Severity.URGENT
