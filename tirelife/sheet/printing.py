"""A page as PDF or PNG, through a browser that is already on the machine."""

from __future__ import annotations

import logging
import os
import re
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Final

from tirelife.errors import misused
from tirelife.sheet.wrong import Wrong

__all__ = ["BROWSERS", "browser_command", "find_browser", "print_page", "require_browser"]

_LOG = logging.getLogger("tirelife")

BROWSERS: Final = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge", "microsoft-edge")
"""Programs that can print a page without showing it, in the order they are looked for."""
SECONDS: Final = 90
_HIGH: Final = 1120
"""Height of a picture of a page that does not say how high it is. [px]"""


def find_browser() -> str | None:
    """Path of a browser that can print, or None; ``TIRELIFE_BROWSER`` names one that is elsewhere."""
    named = os.environ.get("TIRELIFE_BROWSER")
    return named or next((found for name in BROWSERS if (found := shutil.which(name))), None)


def require_browser(kind: str) -> str:
    """Path of a browser that can print; raise InputError if there is none."""
    browser = find_browser()
    if browser is None:
        raise misused(Wrong.NO_BROWSER, kind=kind.upper())
    return browser


def browser_command(browser: str, folder: Path) -> list[str]:
    """How a browser is started to print: without a window, and in its sandbox wherever that can be had.

    A browser started as root on Linux runs without its sandbox or not at all; that is said.
    """
    command = [browser, "--headless", f"--user-data-dir={folder}/profile"]
    if getattr(os, "geteuid", lambda: 1)() == 0:
        _LOG.warning("The browser prints without its sandbox, since it was started as root.")
        command.append("--no-sandbox")
    return command


def print_page(html: str, kind: str, *, width: int = 816) -> bytes:
    """Print a page.

    Parameters
    ----------
    html : str
        From :func:`tirelife.sheet.compose_page`.
    kind : str
        ``"pdf"``, on the page's own paper, or ``"png"``, a picture of the whole page for a message.
    width : int
        Of the picture; it is as high as the page says that it is. [px]

    Returns
    -------
    bytes

    Raises
    ------
    InputError
        If no browser is found, or it fails; the page itself can still be opened and printed by hand.
    """
    if kind not in ("pdf", "png"):
        raise misused(Wrong.PRINT_KIND, kind=kind)
    browser = require_browser(kind)
    if kind == "png":
        # What is for the screen only is left out of a picture too.
        html = html.replace("@media print {", "html { background: white; } @media all {")
        html = html.replace(
            "</style>",
            f"body {{ padding: 34px !important; width: {width}px !important; zoom: 1 !important; }}</style>",
            1,
        )
    with tempfile.TemporaryDirectory() as folder:
        page, made = Path(folder) / "page.html", Path(folder) / f"page.{kind}"
        page.write_text(html, encoding="utf-8")
        start = [*browser_command(browser, Path(folder)), "--virtual-time-budget=5000", "--hide-scrollbars"]
        how = ["--no-pdf-header-footer", f"--print-to-pdf={made}"]
        if kind == "png":
            told = _run([*start, "--dump-dom", f"--window-size={width},{_HIGH}", page.as_uri()]).stdout
            high = re.search(rb'data-high="(\d+)"', told)
            size = f"--window-size={width},{int(high[1]) if high else _HIGH}"
            how = [f"--screenshot={made}", size, "--force-device-scale-factor=2"]
        done = _run([*start, *how, page.as_uri()])
        if not made.exists():
            last = done.stderr.decode(errors="replace").strip().splitlines()[-1:] or ["no message"]
            raise misused(Wrong.NOT_PRINTED, browser=browser, why=last[0])
        return made.read_bytes()


def _run(command: list[str]) -> subprocess.CompletedProcess[bytes]:
    try:
        return subprocess.run(command, capture_output=True, timeout=SECONDS, check=False)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise misused(Wrong.NOT_PRINTED, browser=command[0], why=str(error)) from error
