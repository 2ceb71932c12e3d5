"""Pictures of every page and notebook at each size, to be looked at: ``python -m tests.pictures FOLDER``.

Pages are those of the demo logbook, in each language; sizes are a phone, a tablet, a screen and paper. A notebook is
executed, set as a page without the code that JupyterLab folds away, and taken in the same way; the customer talk, all
of whose answers are controls, is run in a JupyterLab and taken there at the widths of a tablet and a screen.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pandas as pd

from tests.browser.conftest import CHROMIUM
from tests.browser.lab import PATIENCE, run_all, running_lab
from tirelife.groups import Costs
from tirelife.language import LANGUAGES
from tirelife.logbook import read_logbook
from tirelife.outlook import kept_fit
from tirelife.sheet.answer import answer_for
from tirelife.sheet.counter import counter_page
from tirelife.sheet.fleet import fleet_answer
from tirelife.sheet.fleet_page import compose_fleet
from tirelife.sheet.page import PAPERS as ROOM
from tirelife.sheet.page import compose_page
from tirelife.sheet.walkin import walkin_answer

WIDTHS = (390, 820, 1280)
PAPERS = {"Letter": ROOM["letter"], "A4": ROOM["a4"]}
"""Papers, and the height that a page may fill on each. [px]"""
ROOT = Path(__file__).parents[1]
LIVE = "customer_talk"
"""The notebook that is shown where it runs."""


def pages() -> Iterator[tuple[str, str]]:
    """Every page with a name for it."""
    book = read_logbook(ROOT / "data_synthetic" / "logbook")
    fit = kept_fit(book)
    owner = fleet_answer(book, fit, costs=Costs(20, 25))
    for language in LANGUAGES:
        for name, vehicle in (("customer", "V03"), ("customer-urgent", "V09")):
            yield f"{name}-{language}", compose_page(answer_for(book, vehicle, fit, language=language))
        units = "us" if language == "en" else "metric"
        yield (
            f"walkin-{language}",
            compose_page(walkin_answer([4.8, 4.8, 5.5, 5.5], units=units, language=language)),
        )
        yield f"fleet-{language}", compose_fleet(owner, language=language)
        yield f"counter-{language}", counter_page(fit.posterior, book, fit.verdict, language=language)


def notebooks(only: str = "") -> Iterator[tuple[str, str]]:
    """Every notebook whose name begins so, executed, as a page."""
    import nbformat
    from nbclient import NotebookClient
    from nbconvert import HTMLExporter

    for path in sorted((ROOT / "notebooks").glob("*.ipynb")):
        if path.stem == LIVE or not f"notebook-{path.stem}".startswith(only):
            continue
        notebook = nbformat.read(path, as_version=4)
        with TemporaryDirectory() as folder:
            (Path(folder) / "data_synthetic").symlink_to(ROOT / "data_synthetic")
            place = Path(folder) / "notebooks"
            place.mkdir()
            NotebookClient(notebook, timeout=300, resources={"metadata": {"path": str(place)}}).execute()
        hidden = [c.metadata.get("jupyter", {}).get("source_hidden", False) for c in notebook.cells]
        yield f"notebook-{path.stem}", HTMLExporter(exclude_input=any(hidden)).from_notebook_node(notebook)[0]


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.pictures", description=__doc__)
    parser.add_argument("folder", type=Path, help="where pages and pictures go")
    parser.add_argument("--only", default="", metavar="NAME", help="those whose name begins so")
    args = parser.parse_args()
    if not CHROMIUM:
        sys.exit("no Chromium on this machine: install it (Debian: apt-get install chromium)")
    from playwright.sync_api import sync_playwright

    args.folder.mkdir(parents=True, exist_ok=True)
    made = []
    with sync_playwright() as run:
        browser = run.chromium.launch(executable_path=CHROMIUM)
        for source in (pages, notebooks):
            if args.only and args.only.startswith("notebook") is (source is pages):
                continue
            for name, html in pages() if source is pages else notebooks(args.only):
                if not name.startswith(args.only):
                    continue
                file = args.folder / f"{name}.html"
                file.write_text(html, encoding="utf-8")
                made += _taken(browser, file)
        if f"notebook-{LIVE}".startswith(args.only):
            made += _live(browser, args.folder)
    print(pd.DataFrame(made, columns=["picture", "wide", "high"]).to_string(index=False))


def _taken(browser, file: Path) -> list[tuple[str, int, int]]:
    """Pictures of one page at each width, and as printed; gives what was written."""
    context, out = browser.new_context(offline=True), []
    tab = context.new_page()
    for width in WIDTHS:
        tab.set_viewport_size({"width": width, "height": 900})
        tab.goto(file.as_uri())
        tab.wait_for_timeout(1200)
        if file.stem.startswith("counter"):
            for place, depth in zip(("LF", "RF", "LR", "RR"), ("6", "6", "5", "6"), strict=True):
                tab.fill(f"#d-{place}", depth)
            tab.wait_for_timeout(200)
        picture = file.with_name(f"{file.stem}-{width}.png")
        tab.screenshot(path=picture, full_page=True)
        out.append((picture.name, width, int(tab.evaluate("document.documentElement.scrollHeight"))))
    for paper, room in PAPERS.items():
        if file.stem.startswith(("customer", "walkin", "fleet")):  # pages that know their paper
            tab.evaluate(
                f"""() => {{ Object.assign(document.documentElement.dataset, {{ paper: "{paper}", room: "{room}" }});
                document.querySelector("style").textContent += "@page {{ size: {paper} portrait; }}"; }}"""
            )
        printed = file.with_name(f"{file.stem}-{paper}.pdf")
        tab.pdf(path=printed, format=paper, print_background=True, prefer_css_page_size=True)
        out.append((printed.name, 0, 0))
    context.close()
    return out


def _live(browser, out: Path) -> list[tuple[str, int, int]]:
    """Pictures of the customer talk as it runs, with the page of the first car that is due."""
    made = []
    with TemporaryDirectory() as folder, running_lab(Path(folder)) as address:
        for width in WIDTHS[1:]:
            context = browser.new_context(viewport={"width": width, "height": 3600})
            tab = context.new_page()
            run_all(tab, address)
            tab.get_by_role("button", name="V09 now").click()
            drawn = tab.frame_locator("iframe[title^='V09']").locator("svg.marks")
            drawn.filter(visible=True).first.wait_for(timeout=PATIENCE)
            tab.wait_for_timeout(1200)
            picture = out / f"notebook-{LIVE}-{width}.png"
            tab.screenshot(path=picture)
            made.append((picture.name, width, 3600))
            context.close()
    return made


if __name__ == "__main__":
    main()
