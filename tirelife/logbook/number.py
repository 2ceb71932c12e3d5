"""One grammar of numbers for every door: tables, options, forms and wide sheets.

A word has one value, or it is asked about; a comma or a point that may part thousands as well as decimals is
never guessed. What may settle it is the range of the quantity (a tread is not 7,125 mm deep) and the
rest of its column.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from tirelife.errors import InputError, Problem, misused
from tirelife.language import problem_words
from tirelife.logbook.codes import Ask, Found
from tirelife.logbook.wrong import Wrong
from tirelife.units import INSIDE, KINDS, convert

__all__ = [
    "DEEPEST",
    "GROUPED",
    "Number",
    "depth_words",
    "depths_told",
    "points_are_decimal",
    "read_number",
    "told_amount",
    "told_depth",
    "told_number",
]

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_COMMA = re.compile(r"[+-]?\d*,\d+")
GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}([,.])\d{3}")
"""One mark and three digits: thousands, or three decimals."""
_THOUSANDS = re.compile(
    r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?"
    r"|[+-]?\d{1,3}(\.\d{3})+(,\d+)?"
    r"|[+-]?\d{1,3}([ '’\u00a0\u202f]\d{3})+([.,]\d+)?"
)
_POINT = re.compile(r"[+-]?(\d{1,3}(,\d{3})+|\d*)\.\d+")
_WITH_UNIT = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*([A-Za-z°/\"%²]+[\w²/]*)")
DEEPEST: Final = 51.0
"""No tread that is typed alone is deeper, in mm or in 32nds: 7,125 can be no thousands."""
_DEEPEST = 40
"""No tread of a road vehicle is deeper, in 32nds or mm."""
_SHORT = re.compile(r"(\d+(?:\.\d+)?)\s*[kK]")
_DEPTH = re.compile(r"(\d*[.,]?\d+)\s*(/32(?:nds)?(?:\s*in(?:ch)?)?|32nds|mm|mils|in)")
_FRACTION = re.compile(r"([+-]?\d+(?:\.\d+)?)\s*/\s*(\d+)")


@dataclass(frozen=True)
class Number:
    """What a word says: its value, NaN if it is none; and what is wrong (NaN) or doubtful about it.

    ``ask`` says what to do where that differs for one code; ``values`` are the arguments of the words.
    """

    value: float
    code: Found | None = None
    ask: Ask | None = None
    values: tuple[tuple[str, object], ...] = ()

    @property
    def words(self) -> tuple[str, str]:
        """What is wrong or doubtful, and what to do about it, for an error; blank if nothing is."""
        return problem_words(self.code or "", self.ask or "", self.values) if self.code else ("", "")


def read_number(
    word: str,
    *,
    decimal_comma: bool = False,
    ask_points: bool = False,
    low: float = -math.inf,
    high: float = math.inf,
) -> Number:
    """Read one word as a number.

    Parameters
    ----------
    word : str
    decimal_comma : bool
        What stands beside it writes decimals with a comma, so a point may part thousands.
    ask_points : bool
        A lone point before three digits may part thousands: so for distances, which run to hundred thousands.
    low, high : float
        Range of the quantity, in the unit of the word; a meaning outside it is none.

    Returns
    -------
    Number
        NaN for a blank, for no number, and for one that has to be asked about.

    Examples
    --------
    >>> read_number("7,5"), read_number("1,234.5").value
    (Number(value=7.5, code=None, ask=None, values=()), 1234.5)
    >>> read_number("41.230", ask_points=True).words
    ('may have a thousands separator', 'Write 41230, or 41.23 if that is what is meant.')
    >>> read_number("7,125", high=40).value
    7.125
    """
    text = word.strip()
    if not text:
        return Number(math.nan)
    grouped = GROUPED.fullmatch(text)
    if grouped and (grouped[1] == "," or decimal_comma or ask_points):
        if grouped[1] == "," and decimal_comma:
            return Number(float(text.replace(",", ".")))
        return _grouped(text, low, high)
    if _NUMBER.fullmatch(text) and math.isfinite(value := float(text)):
        return Number(value)
    if _COMMA.fullmatch(text):
        return Number(float(text.replace(",", ".")))
    if _THOUSANDS.fullmatch(text):
        return _thousands(text)
    if _NUMBER.fullmatch(text) or text.lstrip("+-").lower() in ("inf", "infinity"):
        return Number(math.nan, Found.NOT_FINITE)
    short = _SHORT.fullmatch(text)
    if short:
        return Number(float(short[1]) * 1000)
    unit = _FRACTION.fullmatch(text) or _WITH_UNIT.fullmatch(text)
    if unit:
        return Number(math.nan, Found.NOT_A_NUMBER, Ask.UNIT_IN_NAME, (("meant", unit[1]),))
    return Number(math.nan, Found.NOT_A_NUMBER)


def _grouped(text: str, low: float, high: float) -> Number:
    """A word with one mark before three digits: what its range leaves of its two meanings."""
    thousands, decimals = text.replace(",", "").replace(".", ""), text.replace(",", ".")
    left = [word for word in (thousands, decimals) if low <= float(word) <= high]
    if len(left) != 1:
        shown = f"{float(decimals):.12g}" if "," not in text else decimals
        return Number(math.nan, Found.MAY_BE_THOUSANDS, values=(("meant", thousands), ("other", shown)))
    if left[0] == decimals:
        if "," not in text:
            return Number(float(decimals))
        return Number(float(decimals), Found.DECIMAL_COMMA, values=(("meant", decimals),))
    return Number(float(thousands), Found.THOUSANDS, values=(("meant", thousands),))


def _thousands(text: str) -> Number:
    plain = re.sub(r"[ '’\u00a0\u202f]", "", text)
    marks = re.findall(r"[,.]", plain)
    if len(marks) > 1 and len(set(marks)) == 1:
        plain = re.sub(r"[,.]", "", plain)
    elif marks:
        cut = max(plain.rfind(","), plain.rfind("."))
        plain = re.sub(r"[,.]", "", plain[:cut]) + "." + plain[cut + 1 :]
    value = float(plain)
    return Number(value, Found.THOUSANDS, values=(("meant", f"{value:.12g}"),))


def points_are_decimal(words: Iterable[str]) -> bool:
    """Whether a column clearly writes decimals with a point: 45230.5 or 0.125, but not 45.230."""
    return any("." in w and _POINT.fullmatch(w.strip()) and not GROUPED.fullmatch(w.strip()) for w in words)


def told_number(
    name: str, word: str, *, ask_points: bool = False, low: float = -math.inf, high: float = math.inf
) -> float:
    """Read a number that somebody typed alone, as an option or in a field.

    Raises
    ------
    InputError
        If it is no number, or has to be asked about.
    """
    number = read_number(word, ask_points=ask_points, low=low, high=high)
    if math.isnan(number.value):
        if not number.code:
            raise misused(Wrong.BLANK, name=name, word=word)
        said = Problem(
            f"{name} {word!r}".strip(),
            0,
            "",
            "",
            code=number.code,
            ask=number.ask or "",
            values=number.values,
        )
        raise InputError(said)
    return number.value


def told_amount(name: str, word: str, kind: str) -> float:
    """Read a number that somebody typed with its unit, such as ``65mph`` or ``8000 km`` [inside unit].

    Parameters
    ----------
    name : str
        Where it was typed, for the message.
    word : str
    kind : str
        Of quantity, a key of :data:`tirelife.units.KINDS`.

    Raises
    ------
    InputError
        If it is no number with a unit of that kind, or has to be asked about.

    Examples
    --------
    >>> told_amount("--top-speed", "100 kmh", "speed")
    27.77777777777778
    """
    units = "|".join(sorted(KINDS[kind], key=len, reverse=True))
    found = re.fullmatch(rf"\s*(\d[\d.,]*)\s*({units})\s*", word.lower().replace("km/h", "kmh"))
    if not found:
        raise misused(Wrong.AMOUNT, option=name, text=word, known=", ".join(KINDS[kind]))
    value = told_number(name, found[1], ask_points=kind == "distance")
    return float(convert(value, found[2], INSIDE[kind]))


def told_depth(word: str) -> float:
    """Read a removal depth such as ``2/32``, ``2/32 in``, ``3 mm`` or ``62.5 mils`` [mm].

    Raises
    ------
    InputError
        If it is not a depth, has no unit, or lies outside 0 to 25 mm.

    Examples
    --------
    >>> told_depth("2/32"), told_depth("1.6 mm"), told_depth("0.0625in")
    (1.5875, 1.6, 1.5875)
    """
    found = _DEPTH.fullmatch(word.strip().lower())
    if not found:
        raise misused(Wrong.NO_DEPTH, text=word)
    unit = "32nds" if "32" in found[2] else found[2]
    depth = float(convert(told_number("removal depth", found[1], low=0, high=1000), unit, "mm"))
    if not 0 <= depth <= 25:
        raise misused(Wrong.DEPTH_RANGE, text=word)
    return depth


def depth_words(name: str, text: str) -> list[str]:
    """Split what was typed for one wheel into the depths of its grooves, from the outside inwards.

    Parameters
    ----------
    name : str
        Where it was typed, for the message.
    text : str
        Depths parted by spaces, semicolons or a comma and a space; or by commas alone where that can mean one
        thing only.

    Raises
    ------
    InputError
        If a comma may stand for decimals as well as between grooves.

    Examples
    --------
    >>> depth_words("LF", "6,6,5"), depth_words("LF", "7.5, 7 7.5")
    (['6', '6', '5'], ['7.5', '7', '7.5'])
    >>> depth_words("LF", "7,2")
    Traceback (most recent call last):
    tirelife.errors.InputError: LF '7,2' may be 7.2, or two grooves, 7 and 2. Write 7.2, or '7;2' ...
    """
    words = [word for word in re.split(r";|,\s+|\s+", text.strip()) if word]
    out: list[str] = []
    for word in words:
        parts = word.split(",")
        plain = all(part.isdigit() for part in parts)
        deep = plain and max(map(int, parts)) > _DEEPEST  # 7,125 is no two grooves
        if len(parts) == 1 or not all(parts) or (deep and len(parts) == 2):
            out.append(word)
        elif plain and len(parts) % 2 == 0:
            pairs = [f"{a}.{b}" for a, b in zip(parts[::2], parts[1::2], strict=True)]
            said = {"name": name, "word": word, "apart": ";".join(parts)}
            if len(pairs) == 1:
                raise misused(Wrong.TWO, pairs=pairs[0], first=parts[0], last=parts[1], **said)
            raise misused(
                Wrong.MORE, pairs=", ".join(pairs), plain=" ".join(pairs), count=len(parts),
                listed=", ".join(parts), **said,
            )  # fmt: skip
        else:
            out.extend(parts)
    return out


def depths_told(name: str, word: str) -> list[float]:
    """Depths of one wheel that somebody typed in a word, from outside to inside, in the unit of the word.

    Raises
    ------
    InputError
        If one is no depth, or has to be asked about.

    Examples
    --------
    >>> depths_told("--depths", "6,6.5,5")
    [6.0, 6.5, 5.0]
    """
    return [told_number(name, one, low=0, high=DEEPEST) for one in depth_words(name, word)]
