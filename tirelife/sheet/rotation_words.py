"""Why a set is rotated so, in the shop's words."""

from __future__ import annotations

from typing import Any, Final

from tirelife.codes import Note
from tirelife.rotation import WORDS, Why
from tirelife.sheet.quantities import depth

__all__ = ["rotation_words"]

_PLAIN: Final = {Why.NONE_ALLOWED: "These tires allow no rotation."}


def rotation_words(note: Note, units: str) -> str:
    """Say one note of :func:`tirelife.rotation.advise_set`.

    Examples
    --------
    >>> rotation_words(Note(Why.LAGS, values=(("position", "RF"), ("share", 0.97))), "us")
    'The right front lags: it is the first to be down in 97% of what may come.'
    """
    get: dict[str, Any] = dict(note.values)
    apart = depth(float(get["apart_mm"]), units) if "apart_mm" in get else ""
    match note.code:
        case Why.USUAL:
            if float(get["better"]) < 0.005:
                return "The usual pattern stands: no other order of moves is worth more."
            return (
                "The usual pattern stands: the best other order of moves is worth "
                f"{float(get['better']):.0%} more on average, with {float(get['chance']):.0%} chance to be "
                "the better."
            )
        case Why.BETTER:
            return (
                f"It leaves the usual pattern: worth {float(get['better']):.0%} more, with "
                f"{float(get['chance']):.0%} chance to be the better."
            )
        case Why.LAGS:
            where = WORDS[str(get["position"])]
            return (
                f"The {where} lags: it is the first to be down in {float(get['share']):.0%} of what may come."
            )
        case Why.DEEPER_REAR:
            return f"The first move puts the deeper pair, by {apart}, on the rear, where grip counts most."
        case Why.SHALLOWER_REAR:
            return f"The first move puts the shallower pair, by {apart}, on the rear: mind wet roads."
        case Why.AXLE_APART:
            where = WORDS[str(get["position"])]
            return f"The tires of one axle would differ by {apart}; the {where} is the shallower."
        case Why.DRIVE_APART:
            return (
                f"All wheels are driven and the tires differ by {apart}: more than is usual to allow. "
                "Rotation does not cure that; see the vehicle's manual."
            )
    return _PLAIN[Why(note.code)]
