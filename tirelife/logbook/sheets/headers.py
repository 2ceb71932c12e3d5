"""What a header's words say that a column holds."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cache
from typing import Final

from tirelife.logbook.sheets.words import contains, folded, vocabulary, wheel_of
from tirelife.positions import MOUNTED, ROAD

__all__ = ["DATE_HINT", "MEASURED", "THOUSANDS", "Field", "groove_of", "named_field", "read_field"]

MEASURED: Final = ("depth", "pressure")
_ORDER: Final = (
    "new_depth",
    "ignored",
    "wheel",
    "tire_id",
    "made_week",
    "pressure",
    "depth",
    "size",
    "date",
    "odometer",
    "driver",
    "vehicle",
    "note",
    "drive",
    "gauge",
    "product",
)


@dataclass(frozen=True)
class Field:
    """What a column holds; ``role`` blank if not known, ``wheel`` also an axle or a side to be asked."""

    role: str
    wheel: str = ""
    groove: str = ""
    unit: str = ""

    def __str__(self) -> str:
        return " ".join(part for part in (self.role or "?", self.wheel, self.groove, self.unit) if part)


def named_field(text: str) -> Field:
    """What a header's words say that a column holds."""
    return _named(" ".join(text.split()))


THOUSANDS: Final = (
    r"\b(?:tkm|tsd|tausend|thousands?|milliers|miles de|duizend(?:en|tal|tallen)?|migliaia|milhares|tys)\b"
    r"|(?<![\d.,])1[.,' ]?000\b|(?<![\d.,])0{3}s?\b"
)
"""How a header says that odometers are written in thousands."""
DATE_HINT: Final = (
    r"\b(?:dd?|tt|jj|gg|mm?)\s?[/.-]\s?(?:dd?|tt|jj|mm?)\s?[/.-]\s?(?:y{2,4}|j{2,4}|a{2,4}|r{4})\b"
)
"""How a header says that dates are written."""


@cache
def _named(text: str) -> Field:
    text = re.sub(r"\bin\s+(?=32|mm\b|milli|psi\b|miles\b|km\b)", "", text, flags=re.IGNORECASE)
    text = re.sub(r"#\s*$", " no", re.sub(DATE_HINT, " ", text, flags=re.IGNORECASE)).strip() or text
    across = re.search(r"\b(o\W+(?:[mc]\W+)?i|i\W+(?:[mc]\W+)?o)\b", text, flags=re.IGNORECASE)
    if across:  # several grooves in one cell
        found = _named(text.replace(across[0], " "))
        inwards = across[0][0].lower() == "o"
        return replace(found, role=found.role or "depth", groove="" if inwards else "inner_first")
    several = re.search(r"\b[a-z]{2,3}(?:\s*[/,|;+-]\s*[a-z]{2,3}){3}\b", text, flags=re.IGNORECASE)
    if several:  # all four wheels in one cell
        places = [wheel_of(code)[0] for code in re.findall(r"[a-z]{2,3}", several[0], flags=re.IGNORECASE)]
        if sorted(places) == sorted(ROAD):
            found = _named(text.replace(several[0], " "))
            return replace(found, role=found.role or "depth", wheel="/".join(places), groove="")
    wheel, rest = wheel_of(text)
    digit = re.fullmatch(r"([a-z]{2,3})\s*(\d)", folded(text)) if not wheel else None
    if digit:
        wheel, rest = wheel_of(digit[1])[0], [digit[2]]
    role = _role(rest)
    if role in (
        "ignored",
        "date",
        "vehicle",
        "odometer",
        "driver",
        "note",
        "size",
        "drive",
        "gauge",
        "wheel",
    ):
        wheel = ""
        rest = folded(text).split()
        role = _role(rest) or role
    unit = _unit(text.lower(), role)
    groove = ""
    if role in ("", "depth", "pressure"):
        groove = _groove(rest, bool(wheel))
        if not role and unit:
            role = _kind(unit)
        if groove and not role:
            role = "depth"
    if role == "pressure" and any(
        contains(rest, word) for word in ("set", "set to", "adjusted", "after", "auf")
    ):
        role = "set_to"
    if wheel and not role:
        return Field("", wheel, groove, unit)
    return Field(
        role,
        wheel if role in (*MEASURED, "set_to", "product", "new_depth", "tire_id", "made_week") else "",
        groove,
        unit,
    )


def _role(words: list[str]) -> str:
    best, size = "", 0
    for role in _ORDER:
        for phrase in vocabulary()["roles"][role]:
            parts = len(phrase.split())
            if parts <= size or not contains(words, phrase):
                continue
            if role == "ignored" and parts == 1 and words != [phrase]:
                continue
            best, size = role, parts
    return best


def _kind(unit: str) -> str:
    return {
        "32nds": "depth",
        "mm": "depth",
        "mils": "depth",
        "psi": "pressure",
        "bar": "pressure",
        "kpa": "pressure",
        "km": "odometer",
        "mi": "odometer",
    }.get(unit, "")


def _unit(raw: str, role: str) -> str:
    if role in ("", "depth", "new_depth", "ignored"):
        if re.search(r"/\s*32|\b32\s*(nds?|ths?)?\b|32nds", raw):
            return "32nds"
        if re.search(r"\bmm\b|millim", raw):
            return "mm"
    if role in ("", "pressure", "set_to"):
        found = re.search(r"\b(psi|bar|kpa)\b", raw)
        if found:
            return found[1]
    if role in ("", "odometer"):
        words = folded(raw).split()
        for unit, key in (("km", "metric_words"), ("mi", "mile_words")):
            if any(contains(words, phrase) for phrase in vocabulary()[key]):
                return unit
    return ""


def _groove(words: list[str], on_wheel: bool) -> str:
    best, size = "", 0
    for groove, phrases in vocabulary()["grooves"].items():
        for phrase in phrases:
            if len(phrase.split()) > size and contains(words, phrase):
                best, size = groove, len(phrase.split())
    if not best and on_wheel:
        letters = vocabulary()["letters"]
        best = next((letters[word] for word in words if word in letters), "")
        digits = {"1": "outer", "2": "center", "3": "inner"}
        best = best or next((digits[word] for word in words if word in digits), "")
    return best


def read_field(text: str) -> Field:
    """A field from its text, as :class:`Field` writes it: ``depth LF outer 32nds``."""
    words = text.split()
    role = words[0] if words and words[0] != "?" else ""
    wheel = groove = unit = ""
    rest = words[1:]
    if len(rest) > 1 and rest[0] in ("near", "off"):
        wheel, rest = " ".join(rest[:2]), rest[2:]
    for word in rest:
        if word in (*MOUNTED, "front", "rear") or set(word.split("/")) == set(ROAD):
            wheel = word
        elif word in ("outer", "outer_mid", "center", "inner_mid", "inner"):
            groove = word
        else:
            unit = word
    return Field(role, wheel, groove, unit)


def groove_of(text: str) -> str:
    """Groove that a cell names; blank if none."""
    words = folded(text).split()
    # A letter or a figure alone: in FG 1 it is a vehicle's.
    rest = [word for word in words if word not in vocabulary()["roles"]["depth"]]
    return _groove(words, len(rest) < 2)
