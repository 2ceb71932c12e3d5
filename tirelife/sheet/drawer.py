"""The process that draws a page's charts, started early: nothing heavy is imported to start it."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from tirelife.sheet import bundle

__all__ = ["page_helpers", "start_drawing"]


def start_drawing() -> subprocess.Popen[bytes]:
    """Start a process that imports Altair and then waits for an answer to draw.

    Altair takes as long to import as a logbook to read and fit, so the two are done side by side.
    """
    return subprocess.Popen(
        [sys.executable, "-m", "tirelife.sheet.drawing"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )


@contextmanager
def page_helpers() -> Iterator[dict[str, Any]]:
    """Start what draws a page's charts and what fetches their code, for the length of a block.

    They are given as :func:`tirelife.sheet.customer_page` takes them: ``drawing`` and ``bundle``.
    """
    helpers: dict[str, subprocess.Popen[Any] | None] = {
        "drawing": start_drawing(),
        "bundle": bundle.start_bundle(),
    }
    try:
        yield helpers
    finally:
        for helper in helpers.values():
            if helper is not None:
                helper.kill()
                with helper:  # waits, and closes its pipes
                    pass
