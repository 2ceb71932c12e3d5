"""JupyterLab really started, the customer talk run in it by clicks alone, and a slider moved."""

import urllib.request

import pytest

from tests.browser.lab import PATIENCE, run_all, running_lab, wait_for

NOTE = "This part shows once the cells have run: choose Run, then Run All Cells."


@pytest.fixture
def lab(tmp_path):
    pytest.importorskip("jupyterlab", reason="JupyterLab is not installed: pip install '.[test]'")
    with running_lab(tmp_path) as address:
        yield address


def talk_it_through(browser, address):
    context = browser.new_context(viewport={"width": 1300, "height": 2600})
    try:
        tab = context.new_page()
        run_all(tab, address)
        due = tab.get_by_role("button", name="V09 now")
        assert tab.locator(".jp-CodeCell .jp-InputArea-editor:visible").count() == 0  # the code stays hidden
        due.click()
        urgent = tab.frame_locator("iframe[title^='V09']").locator("#lead")
        urgent.wait_for(timeout=PATIENCE)
        tab.get_by_label("Any car").select_option("V03")
        page = tab.frame_locator("iframe[title^='V03']")
        lead = page.locator("#lead")
        lead.wait_for(timeout=PATIENCE)
        page.locator("#windows svg.marks").wait_for(timeout=PATIENCE)
        before, cell = lead.text_content(), page.locator("#left-LF")
        miles = cell.text_content()
        page.locator("#c-year").fill("30000")
        page.locator("#try details summary").click()
        page.locator("#c-hard_turns_per_100km").fill("0")
        assert lead.text_content() != before
        assert cell.text_content() != miles
        assert page.locator("#assumed").text_content().startswith("If, from now on: ")
        tab.get_by_role("button", name="Save this page").click()
        tab.get_by_text("Saved as page-V03.html").wait_for(timeout=PATIENCE)
        for wheel, read in (
            ("Left front", "6"),
            ("Right front", "6"),
            ("Left rear", "7"),
            ("Right rear", "7"),
        ):
            field = tab.get_by_label(f"{wheel}, 32nds")
            field.fill(read)
            field.press("Tab")
        tab.get_by_role("button", name="Show the answer").click()
        walkin = tab.frame_locator("iframe[title^='walk-in']").locator("#lead")
        walkin.wait_for(timeout=PATIENCE)
        assert walkin.text_content().startswith("Plan for new tires ")
        assert tab.get_by_text(NOTE).filter(visible=True).count() == 0
        for last in (False, False, True):
            # Keys go where the focus is, which a page that has just been drawn may have taken.
            tab.locator(".jp-NotebookPanel-toolbar").click(position={"x": 3, "y": 3})
            tab.keyboard.press("Control+s")
            try:
                wait_for(
                    f"{address}/api/contents/notebooks/customer_talk.ipynb",
                    lambda said: any(cell.get("outputs") for cell in said["content"]["cells"]),
                    seconds=20,
                )
                break
            except TimeoutError:
                if last:
                    raise
    finally:
        context.close()


def open_again(browser, address):
    """Texts that JupyterLab shows under the cells of the saved notebook when nothing has run."""
    for kernel in wait_for(f"{address}/api/kernels", lambda said: True):
        request = urllib.request.Request(f"{address}/api/kernels/{kernel['id']}", method="DELETE")
        urllib.request.urlopen(request, timeout=30).close()
    context = browser.new_context(viewport={"width": 1300, "height": 2600})
    try:
        tab = context.new_page()
        tab.goto(f"{address}/lab/tree/notebooks/customer_talk.ipynb?reset")
        # Twice two seconds are what the widgets' manager gives a missing model.
        tab.locator(".jp-OutputArea-output.jupyter-widgets").first.wait_for(
            state="attached", timeout=PATIENCE
        )
        outputs = tab.locator(".jp-OutputArea-output").filter(visible=True)
        return [text.strip() for text in outputs.all_inner_texts() if text.strip()]
    finally:
        context.close()


@pytest.mark.long
def test_the_talk_in_jupyterlab(browser, lab, tmp_path):
    from playwright.sync_api import TimeoutError as Slow

    try:
        talk_it_through(browser, lab)
    except Slow:
        # About one run in eight starts no cell at all, cause not found; a second try starts afresh.
        talk_it_through(browser, lab)
    assert open_again(browser, lab) == [NOTE]
    assert "<title>" in (tmp_path / "notebooks" / "page-V03.html").read_text(encoding="utf-8")
