"""Every page for those who read by ear, by keyboard, in colours of their own or at twice the size.

The rules are axe-core's, run in the page; what it cannot see (focus, what forced colours take away, reflow) is
measured here.
"""

import re

import pandas as pd
import pytest

from tests.browser.counters import read_by_touch
from tests.sheet.answers import Ready
from tirelife.groups import Costs
from tirelife.sheet.counter import counter_page
from tirelife.sheet.fleet import fleet_answer
from tirelife.sheet.fleet_page import compose_fleet
from tirelife.sheet.page import compose_page
from tirelife.sheet.walkin import walkin_answer

GRAVE = ("serious", "critical")
PAGES = ("customer", "walk-in", "fleet", "counter")


@pytest.fixture(scope="module")
def made(browser, tmp_path_factory, demo, demo_answer):
    """Pages by name, each opened once: give the tab."""
    folder, context, tabs = tmp_path_factory.mktemp("access"), browser.new_context(offline=True), {}

    def html(name):
        if name == "customer":
            return compose_page(demo_answer, bundle=Ready())
        if name == "walk-in":
            return compose_page(walkin_answer([4.0, 4.0, 2.0, 5.0], drive="front"), bundle=Ready())
        if name == "fleet":
            return compose_fleet(fleet_answer(*demo, costs=Costs(20, 25)))
        return counter_page(made=pd.Timestamp("2026-03-01"))

    def tab(name):
        if name not in tabs:
            file = folder / f"{name}.html"
            file.write_text(html(name), encoding="utf-8")
            tabs[name] = context.new_page()
            tabs[name].goto(file.as_uri())
            if name in ("customer", "walk-in"):
                tabs[name].evaluate("tirelife.drawn.then(() => tirelife.settled()).then(() => 1)")
            if name == "counter":
                tabs[name].evaluate("tirelife.opened.then(() => 1)")
                read_by_touch(tabs[name], (6, 6, 5, 6))
            tabs[name].evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        tabs[name].emulate_media(forced_colors="none")
        tabs[name].set_viewport_size({"width": 820, "height": 900})
        return tabs[name]

    yield tab
    context.close()


def findings(tab):
    """What axe-core finds, of any weight: rule, weight, first place."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="pip install '.[test]'")
    found = axe.Axe().run(tab).response["violations"]
    return [(one["id"], one["impact"], one["nodes"][0]["html"][:120]) for one in found]


@pytest.mark.parametrize("name", PAGES)
def test_axe_core_finds_nothing(made, name):
    tab = made(name)
    assert findings(tab) == []
    tab.set_viewport_size({"width": 390, "height": 844})
    assert [one for one in findings(tab) if one[1] in GRAVE] == []


def test_axe_core_would_find_a_nameless_field_and_pale_words(made):
    tab = made("counter")
    tab.evaluate(
        """() => { const bad = document.createElement("div"); bad.id = "bad";
        bad.innerHTML = "<input><p>pale</p>"; bad.lastChild.style.color = "#999"; document.querySelector("main").append(bad); }"""
    )
    try:
        assert {"label", "color-contrast"} <= {one[0] for one in findings(tab)}
    finally:
        tab.evaluate("document.getElementById('bad').remove()")


@pytest.mark.parametrize("name", PAGES)
def test_every_control_is_reached_by_keyboard_and_its_focus_is_seen(made, name):
    tab = made(name)
    tab.evaluate(
        """() => { document.activeElement.blur(); let n = 0; window.reach = new Set();
        for (const one of document.querySelectorAll("button, input, select, summary, [tabindex='0']"))
          if (one.checkVisibility() && !one.disabled) { one.dataset.reach = n; window.reach.add(String(n)); n += 1; } }"""
    )
    wanted = tab.evaluate("window.reach.size")
    pale = []
    for _ in range(wanted + 5):
        tab.keyboard.press("Tab")
        bare = tab.evaluate(
            """() => { const one = document.activeElement, style = getComputedStyle(one);
            window.reach.delete(one.dataset.reach);
            return one !== document.body && !(style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2)
              ? one.outerHTML.slice(0, 80) : ""; }"""
        )
        pale += [bare] if bare else []
    assert pale == []
    assert wanted >= 4
    assert tab.evaluate("[...window.reach]") == []


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("width", [320, 640])
def test_at_twice_the_size_and_at_320_pixels_nothing_is_cut_off(made, name, width):
    tab = made(name)  # a screen of 1,280 px at twice the size has 640 to lay out in
    tab.set_viewport_size({"width": width, "height": 512})
    over = tab.evaluate(
        """() => [...document.querySelectorAll("body *")].filter((e) => e.checkVisibility() && !e.closest(".wide, svg, #list") &&
        e.getBoundingClientRect().right > document.documentElement.clientWidth + 1).map((e) => e.outerHTML.slice(0, 80))"""
    )
    assert over == []
    assert tab.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("name", PAGES)
def test_in_forced_colours_every_mark_still_differs_from_its_ground(made, name):
    tab = made(name)
    tab.emulate_media(forced_colors="active")
    alike = tab.evaluate(
        """() => [...document.querySelectorAll(".key, .bar i, .wheel[data-on=yes]")].filter((e) =>
        e.checkVisibility()).filter((e) => { const s = getComputedStyle(e), ground = getComputedStyle(e.parentElement).backgroundColor;
          return (s.backgroundColor === ground || /, 0\\)$/.test(s.backgroundColor)) && s.borderTopStyle === "none" &&
            s.outlineStyle === "none"; }).map((e) => e.className)"""
    )
    assert alike == []


def test_in_forced_colours_the_wheel_marked_is_told_by_a_line(made):
    tab = made("counter")
    tab.emulate_media(forced_colors="active")
    width = lambda what: tab.evaluate(  # noqa: E731
        f"parseFloat(getComputedStyle(document.querySelector('{what}')).borderTopWidth)"
    )
    assert width(".wheel[data-on=yes]") > width(".wheel:not([data-on=yes])")


def test_read_aloud_each_page_says_its_answer_before_its_controls(made):
    for name, first in (("customer", "Plan for new tires"), ("fleet", "Vehicles that cannot wait")):
        said = made(name).locator("body").aria_snapshot()
        assert said.index("heading") < said.index(first) < min(
            said.index(kind) for kind in ("slider", "combobox", "textbox") if kind in said
        )  # fmt: skip
    said = made("customer").locator("body").aria_snapshot()
    order = [
        "What to do next",
        "When to plan",
        "What we measured",
        "What would help",
        "How we worked",
        "Please note",
    ]
    assert [said.index(head) for head in order] == sorted(said.index(head) for head in order)
    assert re.search(r'img ".{60,}', said)  # charts say what they show
