"""What a room offers stands once in its stub; a name loads the one module that defines it, when it is asked for."""

import sys

import pytest

from tirelife.doors import door, listing

STUB = """
from ..other import far as far
from .tread import depth as depth, WORN as WORN
import os
HERE = True
if FOR_OTHER_ROOMS:
    from .inner import measure as measure
    LIMIT: float
"""


@pytest.fixture
def room(tmp_path, monkeypatch):
    """A room with two modules behind its door, of which each says when it is loaded."""
    top = tmp_path / "doored"
    top.mkdir()
    (top / "__init__.pyi").write_text(STUB, encoding="utf-8")
    (top / "__init__.py").write_text(
        "from tirelife.doors import door\n__getattr__, __dir__, __all__ = door(__name__, __file__)\nLOADED = []\n"
    )
    (top / "tread.py").write_text("import doored\ndoored.LOADED.append('tread')\ndepth = 7\nWORN = 2\n")
    (top / "inner.py").write_text(
        "import doored\ndoored.LOADED.append('inner')\n\ndef measure():\n    return 1\n"
    )
    monkeypatch.syspath_prepend(str(tmp_path))
    yield top
    for name in [name for name in sys.modules if name.split(".")[0] == "doored"]:
        del sys.modules[name]


def test_a_stub_lists_what_is_for_users_and_what_for_other_rooms(room):
    found = listing("house.doored", room / "__init__.pyi")
    assert found.users == {"depth": "house.doored.tread", "WORN": "house.doored.tread"}
    assert found.rooms == {"measure": "house.doored.inner"}


def test_a_name_loads_its_module_alone_and_once(room):
    import doored

    assert doored.LOADED == []
    assert doored.measure() == 1
    assert doored.LOADED == ["inner"]
    assert doored.depth == 7
    assert vars(doored)["depth"] == 7  # asked once: the next time it is there
    assert doored.LOADED == ["inner", "tread"]


def test_what_is_offered_is_told_and_what_is_for_users_is_exported(room):
    ask, names, users = door("doored", str(room / "__init__.py"))
    assert names() == ["WORN", "depth", "measure"]
    assert users == ["WORN", "depth"]
    with pytest.raises(AttributeError, match="module 'doored' has no attribute 'other'"):
        ask("other")


def test_a_name_behind_no_door_is_no_attribute(room):
    import doored

    assert not hasattr(doored, "LIMIT")
    assert not hasattr(doored, "far")
    assert {"depth", "WORN", "measure"} <= set(dir(doored))
