"""Words, tables and the customer's page; each name loads its module when it is first used."""

from __future__ import annotations

from importlib import import_module
from typing import Any

_WHERE = {
    "Answer": "tirelife.sheet.answer",
    "answer_for": "tirelife.sheet.answer",
    "customer_page": "tirelife.sheet.page",
    "compose_page": "tirelife.sheet.page",
    "start_bundle": "tirelife.sheet.bundle",
    "customer_talk": "tirelife.sheet.talk",
    "visit_form": "tirelife.sheet.recording",
    "walkin_answer": "tirelife.sheet.walkin",
    "walkin_page": "tirelife.sheet.walkin",
    "print_page": "tirelife.sheet.printing",
}
__all__ = sorted(_WHERE)


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module 'tirelife.sheet' has no attribute {name!r}")
    return getattr(import_module(_WHERE[name]), name)


def __dir__() -> list[str]:
    return __all__
