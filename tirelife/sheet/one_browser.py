"""Many pages printed by one browser, which is started once and told by a pipe what to print next."""

from __future__ import annotations

import base64
import json
import os
import select
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from tirelife.errors import misused
from tirelife.sheet.printing import SECONDS, browser_command, print_page, require_browser
from tirelife.sheet.wrong import Wrong

__all__ = ["Printer", "printer"]

_JOINED = """
import os, sys
def high(handle):
    while handle < 5:
        handle = os.dup(handle)
    return handle
back, out = high(int(sys.argv[1])), high(int(sys.argv[2]))
os.dup2(back, 3)
os.dup2(out, 4)
os.execvp(sys.argv[3], sys.argv[3:])
"""
"""The browser reads from descriptor 3 and writes to 4, whatever numbers the pipes have."""


class Printer:
    """A browser that prints pages; from :func:`printer`."""

    def __init__(self, name: str, folder: Path, out: int, back: int) -> None:
        self._name, self._folder, self._out, self._back = name, folder, out, back
        self._number, self._read = 0, b""

    def pdf(self, html: str) -> bytes:
        """Print a page as PDF, on its own paper.

        Raises
        ------
        InputError
            If the browser fails.
        """
        page = self._folder / "page.html"
        page.write_text(html, encoding="utf-8")
        target = self._ask("Target.createTarget", {"url": "about:blank"})["targetId"]
        tab = self._ask("Target.attachToTarget", {"targetId": target, "flatten": True})["sessionId"]
        self._ask("Page.enable", {}, tab)
        self._ask("Page.navigate", {"url": page.as_uri()}, tab)
        self._wait(lambda said: said.get("method") == "Page.loadEventFired")
        drawn = "new Promise((done) => requestAnimationFrame(() => setTimeout(done, 300)))"
        self._ask("Runtime.evaluate", {"expression": drawn, "awaitPromise": True}, tab)
        made = self._ask("Page.printToPDF", {"printBackground": True, "preferCSSPageSize": True}, tab)
        self._ask("Target.closeTarget", {"targetId": target})
        return base64.b64decode(made["data"])

    def _ask(self, method: str, params: dict[str, Any], tab: str | None = None) -> dict[str, Any]:
        self._number += 1
        number = self._number
        asked = {"id": number, "method": method, "params": params, **({"sessionId": tab} if tab else {})}
        data = json.dumps(asked).encode() + b"\0"
        try:
            while data:
                data = data[os.write(self._out, data) :]
        except OSError as error:
            raise misused(Wrong.NOT_PRINTED, browser=self._name, why=error.strerror) from error
        said = self._wait(lambda said: said.get("id") == number)
        if "error" in said:
            raise misused(Wrong.NOT_PRINTED, browser=self._name, why=said["error"].get("message"))
        result: dict[str, Any] = said.get("result", {})
        return result

    def _wait(self, wanted: Any) -> dict[str, Any]:
        until = time.monotonic() + SECONDS
        while True:
            while b"\0" in self._read:
                message, _, self._read = self._read.partition(b"\0")
                said: dict[str, Any] = json.loads(message)
                if wanted(said):
                    return said
            ready, _, _ = select.select([self._back], [], [], max(until - time.monotonic(), 0.0))
            data = os.read(self._back, 1 << 20) if ready else b""
            if not data:
                why = "it has stopped" if ready else f"no answer in {SECONDS} s"
                raise misused(Wrong.NOT_PRINTED, browser=self._name, why=why)
            self._read += data


class _OneByOne:
    """Where a pipe cannot be handed to the browser, it is started for each page."""

    def pdf(self, html: str) -> bytes:
        return print_page(html, "pdf")


@contextmanager
def printer() -> Iterator[Printer | _OneByOne]:
    """Start a browser that prints pages until the block ends.

    Raises
    ------
    InputError
        If no browser is found, or it cannot be started.
    """
    browser = require_browser("pdf")
    if os.name != "posix":
        yield _OneByOne()
        return
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        theirs_in, ours_out = os.pipe()
        ours_in, theirs_out = os.pipe()
        command = [*browser_command(browser, Path(folder)), "--remote-debugging-pipe", "about:blank"]
        try:
            process = subprocess.Popen(
                [sys.executable, "-c", _JOINED, str(theirs_in), str(theirs_out), *command],
                pass_fds=(theirs_in, theirs_out),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
        except OSError as error:
            raise misused(Wrong.NOT_STARTED, browser=browser, why=error.strerror) from error
        finally:
            os.close(theirs_in)
            os.close(theirs_out)
        try:
            yield Printer(browser, Path(folder), ours_out, ours_in)
        finally:
            for handle in (ours_out, ours_in):
                with suppress(OSError):
                    os.close(handle)
            with suppress(subprocess.TimeoutExpired):
                process.wait(5)
            process.kill()
            process.wait()
