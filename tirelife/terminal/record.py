"""What came of a visit that was recorded, as an object for a program and in a line for people."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tirelife.language import worded

if TYPE_CHECKING:
    from tirelife.logbook import Recorded

__all__ = ["recorded_answer", "recorded_text"]


def recorded_answer(done: Recorded) -> dict[str, Any]:
    """The outcome for a program."""
    changes = done.changes.astype(object).where(done.changes.notna(), None)
    return {
        "written": done.written,
        "visit": done.visit,
        "changes": changes.to_dict("records"),
        "doubts": worded(done.doubts).to_dict("records"),
    }


def recorded_text(done: Recorded, trial: bool) -> str:
    """Whether it was written, and what to do if not."""
    if done.written:
        return "Written." if done.visit is None else f"Visit {done.visit} written."
    if trial:
        return "Not written: this was a trial."
    return "Not written: correct the visit, or accept the doubts with --yes."
