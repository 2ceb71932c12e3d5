"""The drawing code that a page carries, fetched beside the work so that nobody waits for it.

Fetching takes a second, so the script is kept in the user's cache folder. What lies there is used only if it
has the digest that this package knows for the installed version of vl-convert-python.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import subprocess
import sys
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

from tirelife.errors import InputError, unfit
from tirelife.logbook import whole_file
from tirelife.sheet.wrong import Wrong

__all__ = ["DIGESTS", "finish_bundle", "start_bundle"]

_MOST: Final = 20_000_000

DIGESTS: Final = {
    "1.9.0": "3425bd951a44d478d0505c6b5d1e8d57656b6e9a4da7bfe88a718ce61d76e572",
    "1.9.0.post1": "3425bd951a44d478d0505c6b5d1e8d57656b6e9a4da7bfe88a718ce61d76e572",
}
"""SHA-256 of the script by version of vl-convert-python; of any other it is fetched for each page."""
_CODE = (
    "import sys, vl_convert; sys.stdout.reconfigure(encoding='utf-8'); "
    "sys.stdout.write(vl_convert.javascript_bundle())"
)


def start_bundle() -> subprocess.Popen[str] | None:
    """Start to fetch Vega, Vega-Lite and vega-embed as one script; None where a true copy has been kept.

    Notes
    -----
    It takes 1.2 s and holds the interpreter's lock all that time, so a thread gains nothing; a process of its
    own runs while this one imports and fits.
    """
    return None if _held() else _fetch()


def finish_bundle(started: subprocess.Popen[str] | None = None) -> str:
    """Wait for the script.

    Raises
    ------
    FitError
        If vl-convert-python is missing or broken; the message carries its own words.
    """
    script, trouble = "" if started else _held(), ""
    if not script:
        script, trouble = (started or _fetch()).communicate()
        if "vegaEmbed" not in script:
            last = trouble.strip().splitlines()[-1:] or ["no output"]
            raise unfit(Wrong.NO_DRAWING_CODE, why=last[0])
        _keep(script)
    return script


def _known(script: bytes) -> bool:
    """Whether a script is the one that this package knows for the installed version."""
    with contextlib.suppress(PackageNotFoundError):
        return hashlib.sha256(script).hexdigest() == DIGESTS.get(version("vl-convert-python"))
    return False


def _held() -> str:
    """The script that was kept, if it is what it should be; else nothing."""
    kept = _kept()
    with contextlib.suppress(OSError):
        if kept is not None and kept.stat().st_size < _MOST:
            script = kept.read_bytes()
            if _known(script):
                return script.decode("utf-8")
    return ""


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


def _keep(script: str) -> None:
    """Keep a known script for the next page, for its owner alone; no trouble where that cannot be."""
    place = _kept()
    if place is None or not _known(script.encode()):
        return
    with contextlib.suppress(OSError, InputError):
        place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with whole_file(place) as part:
            part.write_bytes(script.encode())
        place.chmod(0o600)
