"""Words of headers, wheels and notes in several languages; they are data, in ``words.json``."""

from __future__ import annotations

import json
import re
import unicodedata
from functools import cache
from importlib.resources import files
from typing import Any

__all__ = ["contains", "folded", "tokens", "vocabulary", "wheel_of"]

_PLAIN = str.maketrans({"ß": "ss", "ł": "l", "ø": "o", "æ": "ae", "đ": "d", "ı": "i"})
_UNSPACED = "\u3040-\u30ff\u3400-\u9fff"
"""Kana and Chinese characters."""


@cache
def vocabulary() -> dict[str, Any]:
    """The words, as in ``words.json``."""
    text = (files("tirelife.logbook.sheets") / "words.json").read_text(encoding="utf-8")
    out: dict[str, Any] = {
        name: part if name in ("blanks", "ticks", "not_ticked") else _folded_all(part)
        for name, part in json.loads(text).items()
    }
    return out


def _folded_all(part: Any) -> Any:
    """Lists of words without accents, as texts are compared; names of what they stand for stay."""
    if isinstance(part, dict):
        return {name: _folded_all(below) for name, below in part.items()}
    if isinstance(part, list):
        return [_folded_all(one) if isinstance(one, list) else folded(one) for one in part]
    return part


def folded(text: str) -> str:
    """A text in small letters of any script without accents, marks turned into spaces, N/S and O/S joined."""
    plain = text.lower().replace("n/s", "ns").replace("o/s", "os")
    plain = plain.replace("n-s", "ns").replace("o-s", "os").translate(_PLAIN)
    plain = unicodedata.normalize("NFKD", plain)
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter))
    plain = re.sub(rf"(?<=[{_UNSPACED}])(?=\d)|(?<=\d)(?=[{_UNSPACED}])", " ", plain)
    return " ".join(re.sub(r"[\W_]+", " ", plain).split())


def tokens(text: str) -> list[str]:
    """Words of a text; letters that stand alone, as in L/F, are joined."""
    out: list[str] = []
    joined = False
    for word in folded(text).split():
        if (
            len(word) == 1
            and word.isalpha()
            and out
            and len(out[-1]) == 1
            and out[-1].isalpha()
            and not joined
        ):
            out[-1] += word
            joined = True
        else:
            out.append(word)
            joined = False
    return out


def contains(words: list[str], phrase: str) -> bool:
    """Whether a phrase stands in a list of words, whole."""
    parts = phrase.split()
    if re.match(rf"[{_UNSPACED}]", phrase):  # written without spaces
        return any(phrase in word for word in words)
    return any(words[i : i + len(parts)] == parts for i in range(len(words) - len(parts) + 1))


@cache
def _codes() -> dict[str, str]:
    return {code: wheel for wheel, codes in vocabulary()["codes"].items() for code in codes}


def wheel_of(text: str) -> tuple[str, list[str]]:
    """Which wheel or axle a text names, and the words that are left.

    Returns
    -------
    wheel : str
        LF, RF, LR, RR, SP; ``near front`` and the like where the side depends on the road; ``front`` or
        ``rear`` for an axle; or blank.
    rest : list of str

    Examples
    --------
    >>> wheel_of("Left Front tread")
    ('LF', ['tread'])
    >>> wheel_of("N/S/F"), wheel_of("Vorderachse mm")
    (('near front', []), ('front', ['mm']))
    """
    words = tokens(text)
    known = vocabulary()
    if ("lr" in words or "rl" in words) and len(words) > 1:
        axle = _first([word for word in words if word not in ("lr", "rl")], known["axles"])
        if axle:  # "front L/R" is both wheels of an axle
            rest = [word for word in words if word not in ("lr", "rl")]
            return axle[0], [word for i, word in enumerate(rest) if i not in axle[1]]
    for size in (3, 2, 1):
        for i in range(len(words) - size + 1):
            phrase = " ".join(words[i : i + size])
            if phrase in _codes():
                return _codes()[phrase], words[:i] + words[i + size :]
    side = _first(words, known["sides"])
    axle = _first(words, known["axles"])
    if side and axle:
        rest = [word for i, word in enumerate(words) if i not in side[1] | axle[1]]
        name = {"left": "L", "right": "R"}.get(side[0])
        return (f"{name}{axle[0][0].upper()}" if name else f"{side[0]} {axle[0]}"), rest
    if axle:
        return axle[0], [word for i, word in enumerate(words) if i not in axle[1]]
    return "", words


def _first(words: list[str], lists: dict[str, list[str]]) -> tuple[str, set[int]] | None:
    for name, phrases in lists.items():
        for phrase in sorted(phrases, key=lambda one: -len(one.split())):
            parts = phrase.split()
            for i in range(len(words) - len(parts) + 1):
                if words[i : i + len(parts)] == parts:
                    return name, set(range(i, i + len(parts)))
    return None
