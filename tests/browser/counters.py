"""Driving the counter's page in tests."""

import os
import re
import signal
import subprocess
import threading
import time

__all__ = ["FIELDS", "keep_visit", "kept_through_a_kill", "open_counter", "read_by_touch", "until"]

FIELDS = ("LF", "RF", "LR", "RR")


def open_counter(context, file, day="2026-03-14"):
    """Open the page on a day; ``said`` of the tab are its complaints, ``asked`` what it asked the network for."""
    tab = context.new_page()
    tab.said, tab.asked = [], []
    tab.on("console", lambda message: tab.said.append(message.text))
    tab.on("pageerror", lambda error: tab.said.append(str(error)))
    tab.on("request", lambda request: tab.asked.append(request.url))
    tab.clock.set_fixed_time(f"{day}T12:00:00")
    tab.goto(file.as_uri())
    tab.evaluate("tirelife.opened.then(() => 1)")
    return tab


def read_by_touch(tab, depths):
    """Touch one depth after another; the mark goes on by itself. Gives the number of touches."""
    for depth in depths:
        tab.locator("#pad button", has_text=re.compile(f"^{depth}$")).click()
    tab.evaluate("tirelife.settled().then(() => 1)")
    return len(depths)


def keep_visit(tab, vehicle, odometer, depths, note=""):
    """Type and keep a visit; gives what the page said."""
    for place, depth in zip(FIELDS, depths, strict=True):
        tab.fill(f"#d-{place}", str(depth))
    tab.fill("#k-vehicle", vehicle)
    tab.fill("#k-odometer", str(odometer))
    tab.fill("#k-note", note)
    tab.click("#keep-it")
    until(
        tab,
        "document.getElementById('keep-said').textContent || document.getElementById('keep-asked').textContent",
    )
    return tab.text_content("#keep-said")


def until(tab, ready, seconds=20):
    """Wait until an expression holds; the page's policy forbids a wait inside it."""
    end = time.monotonic() + seconds
    while not tab.evaluate(ready):
        assert time.monotonic() < end, ready
        time.sleep(0.02)


_KEEP = """async (n) => {
  for (const p of ["LF", "RF", "LR", "RR"]) document.getElementById("d-" + p).value = "6";
  document.getElementById("k-vehicle").value = "CAR " + n;
  document.getElementById("k-odometer").value = String(1000 + n);
  return await tirelife.keep();
}"""


def kept_through_a_kill(kind, chromium, file, folder, seconds):
    """Keep visits one after another, kill the browser after so long, open it again.

    ``kind`` is the browser type. Gives the names that the page had confirmed, and those it holds afterwards.
    """
    confirmed = []
    process, tab, browser = _start(kind, chromium, file, folder)
    held = {v["vehicle"] for v in tab.evaluate("tirelife.visits()")}
    killer = threading.Timer(seconds, os.killpg, (process.pid, signal.SIGKILL))
    killer.start()
    try:
        number = len(held)
        while True:
            number += 1
            if tab.evaluate(_KEEP, number):
                confirmed.append(f"CAR {number}")
    except Exception:
        assert process.wait(30) == -signal.SIGKILL  # nothing else may have ended it
    killer.join()
    process, tab, browser = _start(kind, chromium, file, folder)
    try:
        return held | set(confirmed), {v["vehicle"] for v in tab.evaluate("tirelife.visits()")}
    finally:
        browser.close()
        os.killpg(process.pid, signal.SIGKILL)
        process.wait(30)


def _start(kind, chromium, file, folder):
    """A browser of our own on a folder of its own, with the page open."""
    port = folder / "DevToolsActivePort"
    port.unlink(missing_ok=True)
    process = subprocess.Popen(
        [chromium, "--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", "--remote-debugging-port=0",
         f"--user-data-dir={folder}", file.as_uri()],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
    )  # fmt: skip
    end = time.monotonic() + 30
    while not (port.exists() and port.read_text().count("\n")):
        assert time.monotonic() < end
        time.sleep(0.05)
    browser = kind.connect_over_cdp(f"http://127.0.0.1:{port.read_text().split()[0]}")
    tab = browser.contexts[0].pages[0]
    tab.goto(file.as_uri())
    tab.evaluate("tirelife.opened.then(() => 1)")
    return process, tab, browser
