"""Columns that the docstring of what makes a frame names: in words, in constants and in functions that it refers to."""

import importlib
import inspect
import re
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any

from tests import contract
from tirelife.logbook.schema import GROOVES, SCHEMA, inside_name

LEVELS = (10, 25, 50, 75, 90)
_WORD = re.compile(r"[A-Za-z][A-Za-z0-9_]*(?:<groove>[A-Za-z0-9_]*)?")
_REFERRED = re.compile(r":(?:func|data|class):`~?\.?([\w.]+)`")


def named(name: str) -> set[str]:
    """What the docstring of a public function names, and what it refers to names."""
    function = inspect.unwrap(contract._of(name))
    return _named(inspect.getdoc(function) or "", function.__module__, frozenset())


def hands_on(name: str) -> bool:
    """Whether its docstring says that it hands on columns of a frame that it is given."""
    function = inspect.unwrap(contract._of(name))
    returned = (inspect.getdoc(function) or "").partition("Returns\n-------\n")[2]
    frames = [one for one, kind in function.__annotations__.items() if str(kind) == "pd.DataFrame"]
    return any(f"``{one}``" in returned for one in frames if one != "return")


def _named(text: str, module: str, seen: frozenset[str]) -> set[str]:
    out: set[str] = set()
    for word in _WORD.findall(text):
        if "<groove>" in word:
            out |= {word.replace("<groove>", groove) for groove in GROOVES}
        elif match := re.fullmatch(r"(\w+_p)10", word):
            out |= {f"{match[1]}{level}" for level in LEVELS}
        else:
            out.add(word)
    for one in set(_REFERRED.findall(text)) - seen:
        out |= _of_target(_found(one, module), seen | {one})
    return out


def _of_target(target: Any, seen: frozenset[str]) -> set[str]:
    if isinstance(target, str | None):
        return set()
    if inspect.isfunction(target):
        target = inspect.unwrap(target)
        return _named(inspect.getdoc(target) or "", target.__module__, seen)
    if inspect.isclass(target):
        own = {field.name for field in fields(target)} if is_dataclass(target) else set()
        return own | _named(inspect.getdoc(target) or "", target.__module__, seen)
    if target is SCHEMA:
        return {inside_name(one) for table in SCHEMA.values() for one in table}
    return {str(one) for one in target} if isinstance(target, tuple | list | dict) else set()


@cache
def _found(name: str, module: str) -> Any:
    """What a reference names: in the module itself, in its room, or by its whole name."""
    first, _, last = name.rpartition(".")
    for place in [first] if first else [module, module.rpartition(".")[0]]:
        try:
            found = importlib.import_module(place)
        except ImportError:
            continue
        if hasattr(found, last):
            return getattr(found, last)
    return None
