"""Stand-ins for functions, wherever a module of the package has them by their names."""

import contextlib
import pkgutil
import sys
from collections.abc import Callable, Iterator, Mapping
from importlib import import_module
from typing import Any
from unittest import mock

import tirelife


@contextlib.contextmanager
def standing_in(others: Mapping[Callable[..., Any], Callable[..., Any]]) -> Iterator[None]:
    """Let others stand in for functions, in every module that imported one and at the doors of rooms.

    All modules are imported first: one that came to it meanwhile would keep the stand-in.
    """
    for module in pkgutil.walk_packages(tirelife.__path__, "tirelife."):
        if not module.name.endswith("__main__"):
            import_module(module.name)
    loaded = [module for name, module in sys.modules.items() if name.split(".")[0] == "tirelife"]
    with contextlib.ExitStack() as held:
        for function, other in others.items():
            name = function.__name__
            for module in loaded:
                getattr(module, name, None)  # a door that is asked first meanwhile would keep the stand-in
            places = [module for module in loaded if vars(module).get(name) is function]
            assert places, name
            for place in places:
                held.enter_context(mock.patch.object(place, name, other))
        yield
