"""The drawing code that a page carries, fetched beside the work so that nobody waits for it."""

from __future__ import annotations

import re
import subprocess
import sys

from tirelife.errors import FitError

__all__ = ["finish_bundle", "start_bundle"]

_CODE = (
    "import sys, vl_convert; sys.stdout.reconfigure(encoding='utf-8'); "
    "sys.stdout.write(vl_convert.javascript_bundle())"
)


def start_bundle() -> subprocess.Popen[str]:
    """Start to fetch Vega, Vega-Lite and vega-embed as one script.

    Notes
    -----
    It takes 1.2 s and holds the interpreter's lock all that time, so a thread gains nothing; a process of its
    own runs while this one imports and fits.
    """
    return subprocess.Popen(
        [sys.executable, "-c", _CODE],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
    )


def finish_bundle(started: subprocess.Popen[str] | None = None) -> str:
    """Wait for the script, and make it safe inside a page's ``<script>``.

    Raises
    ------
    FitError
        If vl-convert-python is missing or broken; the message carries its own words.
    """
    script, trouble = (started or start_bundle()).communicate()
    if "vegaEmbed" not in script:
        last = trouble.strip().splitlines()[-1:] or ["no output"]
        raise FitError(f"the drawing code could not be fetched: {last[0]}. Install vl-convert-python again.")
    # Only what would end the element: "</" also stands at the end of regular expressions (/</g).
    return re.sub(r"<(/script|!--)", r"\\x3c\1", script, flags=re.IGNORECASE)
