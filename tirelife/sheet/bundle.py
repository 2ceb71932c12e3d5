"""The drawing code that a page carries, fetched beside the work so that nobody waits for it."""

from __future__ import annotations

import contextlib
import os
import re
import subprocess
import sys
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from tirelife.errors import FitError, InputError

__all__ = ["finish_bundle", "start_bundle"]

_CODE = (
    "import sys, vl_convert; sys.stdout.reconfigure(encoding='utf-8'); "
    "sys.stdout.write(vl_convert.javascript_bundle())"
)


def start_bundle() -> subprocess.Popen[str] | None:
    """Start to fetch Vega, Vega-Lite and vega-embed as one script; None where it has been kept.

    Notes
    -----
    It takes 1.2 s and holds the interpreter's lock all that time, so a thread gains nothing; a process of its
    own runs while this one imports and fits. The script is kept in the user's cache folder, by version, and
    made anew whenever it is not there.
    """
    kept = _kept()
    if kept is not None and kept.is_file():
        return None
    return _fetch()


def finish_bundle(started: subprocess.Popen[str] | None = None) -> str:
    """Wait for the script, and make it safe inside a page's ``<script>``.

    Raises
    ------
    FitError
        If vl-convert-python is missing or broken; the message carries its own words.
    """
    kept = _kept()
    script, trouble = "", ""
    if started is None and kept is not None and kept.is_file():
        script = kept.read_text("utf-8", errors="replace")
    if "vegaEmbed" not in script:
        started = started or _fetch()
        script, trouble = started.communicate()
    if "vegaEmbed" not in script:
        last = trouble.strip().splitlines()[-1:] or ["no output"]
        raise FitError(f"the drawing code could not be fetched: {last[0]}. Install vl-convert-python again.")
    if started is not None and kept is not None:
        _keep(script, kept)
    # Only what would end the element: "</" also stands at the end of regular expressions (/</g).
    return re.sub(r"<(/script|!--)", r"\\x3c\1", script, flags=re.IGNORECASE)


def _fetch() -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", _CODE],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
    )


def _kept() -> Path | None:
    """Where the script is kept; None where there is no home for it."""
    home = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    with contextlib.suppress(RuntimeError, PackageNotFoundError):
        folder = Path(home) if home else Path.home() / ".cache"
        return folder / "tirelife" / f"drawing-{version('vl-convert-python')}.js"
    return None


def _keep(script: str, place: Path) -> None:
    """Keep the script for the next page; a folder that cannot be written is no trouble."""
    from tirelife.logbook import whole_file

    with contextlib.suppress(OSError, InputError):
        place.parent.mkdir(parents=True, exist_ok=True)
        with whole_file(place) as part:
            part.write_text(script, "utf-8")
