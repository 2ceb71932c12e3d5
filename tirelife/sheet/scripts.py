"""The scripts of pages, joined from pieces: each piece says at its top what it offers and what it needs."""

from __future__ import annotations

import base64
import zlib
from functools import lru_cache
from importlib.resources import files
from typing import Final

__all__ = ["PAGE", "pack", "script"]

PAGE: Final = ("packed", "draws", "decide", "changing", "words", "record", "page")
"""Pieces of the customer's page, in the order in which they lean on one another."""


def script(*pieces: str) -> str:
    """Join pieces of ``sheet/script`` into one script that leaves no name behind but what it sets itself.

    Lines that are nothing but a comment are left out, and what stands before a line's first sign.

    Parameters
    ----------
    *pieces : str
        Names without their ending: ``draws`` (quantiles, distances), ``decide`` (the decision), ``words``
        (needs ``decide``), ``changing`` (what would change it; needs ``decide``),
        ``record`` (needs all four), ``page`` (needs ``record`` and ``packed``).
    """
    room = files("tirelife.sheet") / "script"
    lines = [
        line.strip()
        for name in pieces
        for line in (room / f"{name}.js").read_text(encoding="utf-8").splitlines()
    ]
    code = "\n".join(line for line in lines if line and not line.startswith("//"))
    return f'"use strict";\n(function () {{\n{code}\n}})();\n'


@lru_cache(maxsize=1)
def pack(text: str) -> str:
    """Pack a text, for the script ``packed`` to unpack: raw deflate (RFC 1951) in base64.

    The drawing code takes 390 kB so instead of 900; it is the same for every page of one run.
    """
    squeezed = zlib.compressobj(9, zlib.DEFLATED, -15)
    return base64.b64encode(squeezed.compress(text.encode()) + squeezed.flush()).decode()
