"""What shops write of a visit's work: which tires were moved, how, and which are new."""

import pytest

from tirelife.logbook.work import work_of
from tirelife.positions import FRONT, REAR, ROAD

MOVED = {
    "Rotated": "",
    "tire rotation": "",
    "F to R": "straight",
    "front to back": "straight",
    "Rotated, fronts to rear": "straight",
    "moved rears to front": "straight",
    "achsweise getauscht": "straight",
    "cross rotated": "crossed",
    "rotate and balance, x pattern": "crossed",
}
RENEWED = {
    "4 new tires": ROAD,
    "2 new rear": REAR,
    "new fronts": FRONT,
    "replaced RF": ("RF",),
    "new brakes front": (),
    "will need new fronts soon": (),
}


@pytest.mark.parametrize(("note", "how"), MOVED.items())
def test_a_note_says_that_tires_were_moved_and_how(note, how):
    work = work_of(note)
    assert work.moved
    assert not work.renewed
    assert (work.straight, work.crossed) == (how == "straight", how == "crossed")


@pytest.mark.parametrize(("note", "wheels"), RENEWED.items())
def test_a_note_says_which_tires_are_new(note, wheels):
    work = work_of(note)
    assert work.wheels == set(wheels)
    assert work.renewed == bool(wheels)


@pytest.mark.parametrize(
    "note", ["due for rotation", "rotate next visit", "dry rot noted", "pads front to back", ""]
)
def test_what_is_only_advised_or_of_another_thing_moves_no_tire(note):
    assert not work_of(note)
