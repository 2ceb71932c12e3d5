"""What every command says of the fit behind its answer."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from tirelife.codes import Note, Severity

if TYPE_CHECKING:
    from tirelife.rates import FitVerdict

__all__ = ["say_trust", "told_trust", "trust_lines"]


def told_trust(verdict: FitVerdict) -> dict[str, Any]:
    """A fit's verdict as part of a JSON answer: ``trust``, words, and reasons (code, severity, words)."""
    from tirelife.sheet.language import say

    reasons = [
        {"code": note.code.value, "severity": note.severity.name.lower(), "words": say(note)}
        for note in verdict.reasons
    ]
    return {"trust": verdict.trust.value, "words": say(Note(verdict.trust)), "reasons": reasons}


def trust_lines(told: dict[str, Any]) -> list[str]:
    """Lines for people, of what :func:`told_trust` says: none where the fit holds."""
    if told["trust"] == "good":
        return []
    small = Severity.NOTE.name.lower()
    grave = [reason["words"] for reason in told["reasons"] if reason["severity"] != small]
    return [told["words"], *(f"  {words}" for words in dict.fromkeys(grave)), ""]


def say_trust(verdict: FitVerdict) -> None:
    """Print those lines to standard error."""
    for line in trust_lines(told_trust(verdict)):
        if line:
            print(line, file=sys.stderr)
