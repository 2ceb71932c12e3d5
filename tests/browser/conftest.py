"""A real browser, or a plain word that there is none."""

import os
import shutil

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


@pytest.fixture(scope="session")
def browser():
    if not CHROMIUM:
        # Where a browser is required (CI), a missing one is a failure, not a skip.
        tell = pytest.fail if os.environ.get("TIRELIFE_BROWSER_REQUIRED") else pytest.skip
        tell(
            "no Chromium on this machine: install it (Debian: apt-get install chromium) to run browser tests"
        )
    playwright = pytest.importorskip(
        "playwright.sync_api", reason="playwright is not installed: pip install '.[test]'"
    )
    with playwright.sync_playwright() as run:
        chromium = run.chromium.launch(executable_path=CHROMIUM, headless=True)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def demo():
    """The demo logbook and its fit."""
    from tirelife.logbook import read_logbook
    from tirelife.outlook import calibrated_fit

    book = read_logbook("data_synthetic/logbook")
    return book, calibrated_fit(book)


@pytest.fixture(scope="session")
def demo_answer(demo):
    """The demo logbook's page, from reading to words."""
    from tirelife.sheet.answer import answer_for

    return answer_for(demo[0], "V03", demo[1])


@pytest.fixture
def opened(browser, tmp_path):
    """Open a page's text from a file with the network off; returns the tab, whose ``said`` are its complaints."""
    contexts = []

    def open_page(html, **how):
        file = tmp_path / "page.html"
        file.write_text(html, encoding="utf-8")
        context = browser.new_context(offline=True, viewport={"width": 860, "height": 1500}, **how)
        contexts.append(context)
        tab = context.new_page()
        tab.said, tab.asked = [], []
        tab.on("console", lambda message: tab.said.append(message.text))
        tab.on("pageerror", lambda error: tab.said.append(str(error)))
        tab.on("request", lambda request: tab.asked.append(request.url))
        tab.goto(file.as_uri())
        tab.evaluate("tirelife.drawn.then(() => 1)")
        tab.evaluate("tirelife.settled().then(() => 1)")
        return tab

    yield open_page
    for context in contexts:
        context.close()
