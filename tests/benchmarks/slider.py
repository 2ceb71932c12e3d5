"""A customer's page in a real browser at a quarter of the speed: from a slider's move to the page drawn anew, and size."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from statistics import median

SLOWED = 4
MOVES = 8
LIMIT_MS, LIMIT_MB = 100, 1.0

_MOVED = """async (moves) => {
  const out = {};
  await tirelife.drawn;
  await tirelife.settled();
  for (const slider of document.querySelectorAll("input[type=range]")) {
    const was = slider.value, took = [];
    for (let i = 0; i < moves + 2; i++) {
      slider.value = i % 2 ? slider.max : slider.min;
      const begun = performance.now();
      slider.dispatchEvent(new Event("input", {bubbles: true}));
      await tirelife.settled();
      took.push(performance.now() - begun);
    }
    slider.value = was;
    slider.dispatchEvent(new Event("input", {bubbles: true}));
    await tirelife.settled();
    out[slider.id] = took.slice(2).sort((a, b) => a - b);  // the first moves compile the script
  }
  return out;
}"""


def moved(page: Path, moves: int = MOVES) -> dict[str, list[float]]:
    """Milliseconds of each slider's moves from end to end, rising: numbers, sentences and charts done."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        tab = browser.new_page()
        tab.goto(page.as_uri())
        tab.context.new_cdp_session(tab).send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
        took: dict[str, list[float]] = tab.evaluate(_MOVED, moves)
        browser.close()
    return took


def run(vehicle: str = "V03") -> list[dict[str, object]]:
    from tirelife.logbook import read_logbook
    from tirelife.outlook import kept_fit
    from tirelife.sheet.page import customer_page

    if not shutil.which("chromium"):
        nothing = {"figure": None, "unit": "ms", "against": "", "note": "not run: no Chromium here"}
        return [{"name": "slider to redrawn page", **nothing}]
    book = read_logbook(Path(__file__).parents[2] / "data_synthetic" / "logbook")
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "page.html"
        page.write_text(customer_page(book, vehicle, kept_fit(book)), encoding="utf-8")
        took, size = moved(page), page.stat().st_size / 1e6
    slowest = max(took, key=lambda name: median(took[name]))
    each = ", ".join(f"{name} {median(ms):.0f}" for name, ms in took.items())
    return [
        {
            "name": "slider to redrawn page, the slowest slider",
            "figure": round(median(took[slowest])),
            "unit": "ms",
            "against": f"at most {LIMIT_MS}",
            "note": f"a processor slowed {SLOWED} times, median of {MOVES} moves from end to end; {each}; "
            f"the quickest move {min(ms[0] for ms in took.values()):.0f}, the slowest {max(ms[-1] for ms in took.values()):.0f}",
        },
        {"name": "size of the page", "figure": round(size, 2), "unit": "MB", "against": f"under {LIMIT_MB:g}", "note": ""},
    ]  # fmt: skip


small = run
