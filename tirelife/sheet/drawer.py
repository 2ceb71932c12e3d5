"""The process that draws a page's charts, started early: nothing heavy is imported to start it."""

from __future__ import annotations

import subprocess
import sys

__all__ = ["start_drawing"]


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
