"""Scripts joined from pieces, and a text packed for one."""

import base64
import zlib
from importlib.resources import files

import pytest

from tirelife.sheet.scripts import PAGE, pack, script


def pieces():
    return {
        path.name.removesuffix(".js")
        for path in (files("tirelife.sheet") / "script").iterdir()
        if path.name.endswith(".js")
    }


def test_a_script_is_its_pieces_in_order_without_comments_in_a_function_of_its_own():
    one = script("draws", "decide")
    assert one.startswith('"use strict";\n(function () {\n')
    assert one.endswith("\n})();\n")
    lines = one.splitlines()
    assert not [line for line in lines if line.startswith("//") or line != line.strip() or not line]
    alone = [script(name).splitlines()[2:-1] for name in ("draws", "decide")]
    assert lines[2:-1] == alone[0] + alone[1]


def test_the_page_s_pieces_are_there():
    assert set(PAGE) <= pieces()
    assert len(set(PAGE)) == len(PAGE)
    with pytest.raises(FileNotFoundError):
        script("none")


def test_a_packed_text_is_raw_deflate_in_base64_that_unpacks_to_itself():
    text = "grooves and depths; é " * 500
    packed = base64.b64decode(pack(text))
    assert zlib.decompress(packed, -15).decode() == text
    assert len(packed) < len(text) / 20
