"""What a note says was done to the tires of a vehicle: moved, renewed, which wheels; words are data."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tirelife.logbook.sheets import (
    contains,
    folded,
    vocabulary,
    wheel_of,
)
from tirelife.positions import AXLES, ROAD

__all__ = ["Work", "work_of"]

_PLACES = {axle: frozenset(pair) for axle, pair in AXLES.items()}


@dataclass(frozen=True)
class Work:
    """What a note tells.

    ``wheels``: those renewed; ``count``: how many, if not named; ``stayed``: every tire stayed where it was.
    """

    moved: bool = False
    crossed: bool = False
    straight: bool = False
    renewed: bool = False
    wheels: frozenset[str] = frozenset()
    count: int = 0
    stayed: bool = False

    def __bool__(self) -> bool:
        return self.moved or self.renewed


def work_of(note: str) -> Work:
    """Read a note.

    Examples
    --------
    >>> work_of("Rotated, all good").moved, work_of("4 new").wheels == {"LF", "RF", "LR", "RR"}
    (True, True)
    >>> sorted(work_of("new fronts").wheels), work_of("rotate next time").moved
    (['LF', 'RF'], False)
    >>> work_of("brakes looked at, tires stayed").stayed, work_of("tires stayed, then rotated").stayed
    (True, False)
    """
    if not note.strip():
        return Work()
    known = vocabulary()["work"]
    stayed = any(contains(folded(note).split(), phrase) for phrase in known["stayed"])
    parts = [
        part
        for part in re.split(
            r"[,;.&+\n]|\s[-–]\s|\band\b|\bund\b|\bet\b|\by\b", note.lower().replace("r&r", "replaced")
        )
        if part.strip()
    ]
    moved = crossed = straight = renewed = False
    wheels: set[str] = set()
    count = 0
    for part in parts:
        words = folded(part).split()
        if any(contains(words, phrase) for phrase in (*known["not_moved"], *known["stayed"])):
            continue
        across = any(contains(words, phrase) for phrase in known["axle_to_axle"]) and not _of_another_thing(
            words
        )
        moved |= across or any(contains(words, phrase) for phrase in known["moved"])
        crossed |= any(contains(words, phrase) for phrase in known["crossed"])
        straight |= across or any(contains(words, phrase) for phrase in known["straight"])
        if any(contains(words, phrase) for phrase in known["renewed"]) and not _of_another_thing(words):
            renewed = True
            named = _wheels(part)
            wheels |= named
            if not named:
                for number, phrases in known["numbers"].items():
                    if any(contains(words, phrase) for phrase in phrases):
                        count = max(count, int(number))
    if count == 4 and not wheels:
        wheels = set(ROAD)
    if renewed and not wheels and not count:
        words = folded(note).split()
        plural = any(word in words for word in ("tires", "tyres", "reifen", "pneus", "neumaticos", "set"))
        wheels = set(ROAD) if plural else set()
    return Work(
        moved,
        moved and crossed,
        moved and straight,
        renewed,
        frozenset(wheels),
        0 if wheels else count,
        stayed and not moved and not renewed,
    )


def _wheels(part: str) -> set[str]:
    words = re.split(r"[\s/]+", part)
    out: set[str] = set()
    whole = wheel_of(part)[0]
    if whole in _PLACES:
        out |= _PLACES[whole]
    elif whole in ROAD:
        out.add(whole)
    for word in words:
        one = wheel_of(word)[0]
        if one in ROAD and len(word) > 1 and word not in ("re", "di", "dd", "td", "ti", "br", "bl", "hr"):
            out.add(one)
    return out


def _of_another_thing(words: list[str]) -> bool:
    """New brakes are no new tires."""
    things = (
        "brakes",
        "brake",
        "pads",
        "wiper",
        "wipers",
        "battery",
        "valve",
        "valves",
        "oil",
        "filter",
        "bremsen",
        "bremse",
        "oel",
        "ol",
        "freins",
        "frein",
        "frenos",
        "filtro",
        "bulb",
        "rotors",
        "discs",
        "owner",
        "driver",
    )
    return any(word in words for word in things)
