"""What a page carries packed comes out as it went in, by the page's own script, against Python's zlib."""

import base64
import json
import random
import zlib

import pytest

from tirelife.sheet.scripts import pack, script

RNG = random.Random(5)
TEXTS = [
    "",
    "a",
    "tread " * 50_000,
    "".join(RNG.choices("abcdefghij ", k=40_000)),
    "".join(RNG.choices([chr(i) for i in range(32, 0x2FF)], k=30_000)),
    "días, llanta, μ " * 999 + "".join(RNG.choices("01", k=60_000)),
]


def squeezed(text, level, strategy):
    made = zlib.compressobj(level, zlib.DEFLATED, -15, strategy=strategy)
    return base64.b64encode(made.compress(text.encode()) + made.flush()).decode()


@pytest.fixture(scope="module")
def unpack(browser):
    tab = browser.new_page()
    tab.set_content("<p></p>")
    code = script("packed").replace("const Packed", "window.Packed").replace('"use strict";', "")
    tab.evaluate(code)
    yield lambda packed: tab.evaluate("(packed) => Packed.text(packed)", packed)
    tab.close()


@pytest.mark.parametrize("i", range(len(TEXTS)))
def test_every_kind_of_block_is_unpacked(unpack, i):
    for level in (0, 1, 9):
        for strategy in (zlib.Z_DEFAULT_STRATEGY, zlib.Z_FIXED, zlib.Z_HUFFMAN_ONLY, zlib.Z_RLE):
            assert unpack(squeezed(TEXTS[i], level, strategy)) == TEXTS[i]
    assert unpack(pack(TEXTS[i])) == TEXTS[i]


def test_what_is_broken_off_or_no_deflate_is_an_error_and_never_half_a_text(unpack):
    whole = base64.b64decode(pack(TEXTS[3]))
    for cut in (0, 1, 3, 200, len(whole) - 1):
        with pytest.raises(Exception, match=r"broken off|none"):
            unpack(base64.b64encode(whole[:cut]).decode())
    with pytest.raises(Exception, match="packed text looks back"):
        unpack(squeezed_back())


def squeezed_back():
    """A fixed block that begins by copying what is not there."""
    # last=1, kind=01, length symbol 257 (7 bits 0000001), distance symbol 0 (00000)
    bits = "1" + "10" + "0000001" + "00000"
    data = bytes(int(bits[i : i + 8][::-1].rjust(8, "0"), 2) for i in range(0, len(bits), 8))
    return base64.b64encode(data).decode()


def test_a_library_that_was_changed_after_the_page_was_made_does_not_run(opened_plain):
    from tests.sheet.answers import Ready, answer
    from tirelife.sheet.page import compose_page

    html = compose_page(answer(), bundle=Ready())
    held = html.split('id="library">')[1].split("<")[0]
    library = zlib.decompress(base64.b64decode(held), -15).decode()
    assert opened_plain(html).evaluate("typeof window.vegaEmbed") == "function"
    spoilt = html.replace(held, pack(library + "window.planted = 1;"))
    tab = opened_plain(spoilt)
    assert json.dumps(tab.evaluate("[typeof window.planted, typeof window.vegaEmbed]")) == (
        '["undefined", "undefined"]'
    )


@pytest.fixture
def opened_plain(browser, tmp_path):
    tabs = []

    def open_page(html):
        file = tmp_path / f"page{len(tabs)}.html"
        file.write_text(html, encoding="utf-8")
        tabs.append(browser.new_page())
        tabs[-1].goto(file.as_uri())
        return tabs[-1]

    yield open_page
    for tab in tabs:
        tab.close()
