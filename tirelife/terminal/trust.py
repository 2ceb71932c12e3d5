"""What every command says of the fit behind its answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tirelife.codes import Note, Severity
from tirelife.sheet.language import say

if TYPE_CHECKING:
    from tirelife.rates import FitVerdict

__all__ = ["fit_lines", "told_trust", "trust_lines"]


def told_trust(verdict: FitVerdict) -> dict[str, Any]:
    """A fit's verdict as part of a JSON answer: ``trust``, words, and reasons (code, severity, words)."""
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


def fit_lines(verdict: FitVerdict) -> list[str]:
    """Those lines, of a fit's verdict."""
    return trust_lines(told_trust(verdict))
