"""The customer's page in a real browser with no network."""

import re
import struct
import subprocess

import pandas as pd
import pytest

from tests.browser.records import ends
from tests.outlook.test_seasons import log
from tests.sheet.answers import Ready, answer, said, state
from tirelife.rates import fit_logbook
from tirelife.sheet import words
from tirelife.sheet.answer import answer_for
from tirelife.sheet.drawing import worthwhile
from tirelife.sheet.interactive import defaults, recompute
from tirelife.sheet.page import compose_page as compose
from tirelife.sheet.printing import find_browser, print_page
from tirelife.sheet.redo import redo


def compose_page(one, **how):
    return compose(one, bundle=Ready(), **how)


RESULT = """(answers) => { const r = tirelife.redo(answers).result, out = {};
  for (const [k, t] of [...Object.entries(r.tires), ["overall", r.overall]])
    out[k] = { km: t.km, dates: t.dates.map((d) => d === null ? null : tirelife.iso(d)) };
  out.first = r.first; return out; }"""


def compare(said, result):
    assert said["first"] == result["first"]
    for name, tire in [*result["tires"].items(), ("overall", result["overall"])]:
        assert said[name]["km"] == pytest.approx(list(tire["km"]), rel=1e-9)
        assert said[name]["dates"] == [None if pd.isna(d) else d.strftime("%Y-%m-%d") for d in tire["dates"]]


def read_back(tab):
    """What stands on the page, but for its charts' axes: sentences, cells, limit lines, rows of changes."""
    return tab.evaluate(
        """() => { const text = (id) => document.getElementById(id).textContent;
        const items = (id, part) => [...document.querySelectorAll("#" + id + " li " + (part || ".do"))].map((e) => e.textContent);
        const all = (id) => [...document.querySelectorAll("#" + id + " svg.marks text")].map((e) => e.textContent);
        const wheels = ["LF", "RF", "LR", "RR"], shown = !document.getElementById("changes").parentElement.hidden;
        return { lead: text("lead"), box: document.getElementById("now").hidden ? [] : items("urgent"),
          steps: items("steps"), change: items("urgent", ".change").concat(items("steps", ".change")), notes: text("notes"), little: text("little"),
          left: wheels.map((p) => text("left-" + p)), now: wheels.map((p) => text("now-" + p)),
          helps: shown ? all("changes").filter((t) => t.includes(": ")) : [], spoken: shown ?
          document.querySelector("#changes svg.marks").getAttribute("aria-label").split("in 10. ")[1] : "." }; }"""
    )


def expected(sliders, answers):
    """The same by the package."""
    one, units = redo(sliders, answers), sliders["units"]
    helps = one.changes[worthwhile(one.changes)]
    rest = [name[:1].lower() + name[1:] for name in one.changes["change"] if name not in set(helps["change"])]
    gains = [f"{change}: {gain}" for change, gain in zip(helps["change"], helps["said"], strict=True)]
    ranges = [t["km"][[0, 4]] for t in one.result["tires"].values()]
    return {
        "lead": one.lead, "box": list(one.said.urgent), "steps": list(one.said.steps),
        "change": [*one.said.urgent_change, *one.said.steps_change], "notes": " ".join(one.notes),
        "little": f"Little or nothing would come from: {words.joined(rest)}." if rest else "",
        "left": [words.distance_range(*km, units).removesuffix(" miles") for km in ranges],
        "now": [words.depth(t.depth_mm, units, tenths=True).removesuffix("/32 inch") for t in one.facts.tires.values()],
        "helps": gains, "spoken": "; ".join(gains) + ".",
    }  # fmt: skip


def test_the_page_draws_every_chart_asks_for_nothing_and_complains_of_nothing(opened, demo_answer):
    html = compose_page(demo_answer)
    assert len(html.encode()) < 1_000_000
    tab = opened(html)
    for name in ("windows", "profiles", "paths", "causes", "changes"):
        chart = tab.locator(f"#{name} svg.marks")
        assert chart.count() == tab.locator(f"#{name}-narrow svg.marks").count() == 1, name
        assert chart.bounding_box()["width"] > 200
        assert (
            len(tab.locator(f"#{name}").get_attribute("aria-label") or chart.get_attribute("aria-label")) > 60
        )
    assert tab.said == []
    assert [url for url in tab.asked if not url.startswith(("file:", "data:"))] == []


@pytest.mark.parametrize("width", [360, 390, 820, 1280])
def test_nothing_runs_over_on_any_screen_and_each_has_its_charts(opened, demo_answer, width):
    tab = opened(compose_page(demo_answer))
    tab.set_viewport_size({"width": width, "height": 900})
    tab.evaluate("tirelife.settled().then(() => 1)")
    wide = tab.evaluate("document.documentElement.scrollWidth")
    assert wide <= width
    shown = tab.locator("figure:visible svg.marks")
    assert shown.count() == 5


def test_what_to_do_stands_in_the_first_600_pixels_of_a_phone(opened, demo_answer):
    tab = opened(compose_page(demo_answer))
    tab.set_viewport_size({"width": 390, "height": 844})
    box = tab.locator("section[aria-labelledby='h-next'] li").first.bounding_box()
    assert box["y"] + box["height"] < 600
    assert tab.locator("#lead").bounding_box()["y"] < 300


def test_all_that_a_page_says_follows_each_slider_to_both_ends_and_back(opened, demo_answer):
    tab = opened(compose_page(demo_answer))
    sliders = demo_answer.sliders
    start = read_back(tab)
    assert start == expected(sliders, {})
    tab.evaluate("document.querySelector('#try details').open = true")
    moves = ends(sliders)[1:]
    for answers in moves:
        ((name, value),) = answers.items()
        field = tab.locator(f"#c-{name}")
        field.select_option(value) if isinstance(value, str) else field.fill(f"{value:g}")
        tab.evaluate("tirelife.settled().then(() => 1)")
        result = recompute(sliders, answers)
        compare(tab.evaluate("() => (" + RESULT + ")(tirelife.answers())"), result)
        assert read_back(tab) == expected(sliders, answers), answers
        shown = [t.strip() for t in tab.locator("#windows svg.marks text").all_text_contents()]
        for tire in result["tires"].values():
            assert words.date_range(tire["dates"][0], tire["dates"][4]) in shown, answers
        assert tab.locator("#assumed").text_content().startswith("If, from now on: ")
        tab.get_by_role("button", name="As it was").click()
        tab.evaluate("tirelife.settled().then(() => 1)")
    assert read_back(tab) == start
    assert len(moves) >= 20
    assert tab.said == []


def test_gentler_driving_takes_its_part_off_every_hard_start_stop_and_turn(opened):
    sliders = state()
    base = defaults(sliders)
    tab = opened(compose_page(answer()))
    assert tab.locator("#o-gentler").text_content() == "as now"
    tab.get_by_label("Gentler driving").fill("20")
    tab.evaluate("tirelife.settled().then(() => 1)")
    gentle = {**base, **{name: base[name] * 0.8 for name in sliders["events"]}}
    assert tab.evaluate("tirelife.answers()") == pytest.approx(gentle)
    compare(tab.evaluate("() => (" + RESULT + ")(tirelife.answers())"), recompute(sliders, gentle))
    assert tab.locator("#assumed").text_content() == "If, from now on: gentler driving by 20 %."
    # By hand: 4 hard turns per 100 miles, a fifth fewer.
    assert tab.locator("#o-hard_turns_per_100mi").text_content() == "3.2"
    tab.get_by_role("button", name="As it was").click()
    tab.evaluate("tirelife.settled().then(() => 1)")
    assert tab.evaluate("tirelife.answers()") == base
    assert tab.said == []


def test_many_settings_at_once_agree_with_python_on_a_page_made_by_hand(opened):
    sliders = state()
    tab = opened(compose_page(answer()))
    base = defaults(sliders)
    for step in range(12):
        answers = {
            "share_under_25mph": 10 * step, "share_over_70mph": 90 - 5 * step, "hard_stops_per_100mi": step,
            "hard_turns_per_100mi": 20 - step, "pressure": -12 + step, "year": 1000 + 3000 * step,
            "removal": "24"[step % 2], "rotation": ("log", "6000")[step // 2 % 2],
        }  # fmt: skip
        compare(tab.evaluate(RESULT, answers), recompute(sliders, {**base, **answers}))


def test_dates_of_sets_that_take_turns_agree_with_python(opened, tmp_path):
    book = log(tmp_path / "book")[0]
    made = answer_for(book, "V1", fit_logbook(book))
    assert made.sliders["pace"]["drift_log_sd"] > 0.01  # of what the script works out while a set is in store
    tab = opened(compose_page(made))
    base = defaults(made.sliders)
    for change in ({}, {"share_over_70mph": 60}, {"rotation": "none"}):
        compare(tab.evaluate(RESULT, {**base, **change}), recompute(made.sliders, {**base, **change}))


def test_paths_are_drawn_for_tires_that_have_distance_left_and_speeds_shown_are_those_used(
    opened, demo_answer
):
    sliders = demo_answer.sliders
    tab = opened(compose_page(demo_answer))
    tab.evaluate("tirelife.drawn.then(() => tirelife.settled()).then(() => 1)")
    most = max(sliders["removals"], key=lambda name: sliders["removals"][name])
    tab.evaluate("document.querySelector('#try details').open = true")
    moved = {**defaults(sliders), "share_over_70mph": 100}
    tab.locator("#c-share_over_70mph").fill("100")
    total = sum(moved[name] for name in sliders["shares"])
    for name in sliders["shares"]:
        assert tab.locator(f"#o-{name}").text_content() == f"{int(100 * moved[name] / total + 0.5)} %"
    tab.locator("#c-removal").select_option(most)
    tab.evaluate("tirelife.settled().then(() => 1)")
    tires = recompute(sliders, {**moved, "removal": most})["tires"].values()
    left = sum(tire["km"][2] > 0 for tire in tires)
    lines = (
        "[...document.querySelectorAll('#paths .mark-line path')].filter((p) => p.getAttribute('d')).length"
    )
    assert tab.evaluate(lines) == left < len(tires)


def test_a_keyboard_alone_moves_a_slider(opened):
    tab = opened(compose_page(answer()))
    slider = tab.get_by_label("Miles a year")
    slider.focus()
    slider.press("ArrowRight")
    tab.evaluate("tirelife.settled().then(() => 1)")
    assert tab.locator("#o-year").text_content() == "11,500 miles"


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_it_prints_on_one_sheet_in_type_that_can_be_read_without_the_sliders(
    opened, demo_answer, paper, tmp_path
):
    long = compose_page(demo_answer, paper=paper)
    for name, sides, html in (
        ("demo", 2, long),
        ("alert", 1, compose_page(answer(said=said(f"Tire {i}: due." for i in range(4))), paper=paper)),
    ):
        tab = opened(html)
        file = tmp_path / f"{name}.pdf"
        tab.pdf(path=file, prefer_css_page_size=True, print_background=True)
        facts = subprocess.run(["pdfinfo", file], capture_output=True, text=True, check=True).stdout
        assert re.search(rf"Pages:\s+{sides}\n", facts), facts
        # Sizes in thirds of a point, rounded: none is under 7.5 points.
        drawn = subprocess.run(
            ["pdftohtml", "-xml", "-stdout", "-i", "-zoom", "3", file],
            capture_output=True, text=True, check=True,
        ).stdout  # fmt: skip
        assert min(int(size) for size in re.findall(r'<fontspec [^>]*size="(\d+)"', drawn)) >= 23
        first = subprocess.run(
            ["pdftotext", "-l", "1", file, "-"], capture_output=True, text=True, check=True
        ).stdout
        for answer_part in ("What to do next", "When to plan for new tires", "Least today, estimate"):
            assert answer_part in first
        assert ("A4" if paper == "a4" else "letter") in facts
        text = subprocess.run(
            ["pdftotext", "-layout", file, "-"], capture_output=True, text=True, check=True
        ).stdout
        assert "Please note" in text
        assert "As it was" not in text
        assert "placard" in text


def test_a_chart_that_was_not_seen_is_drawn_anew_when_it_is(opened):
    said = """(id) => document.querySelector("#" + id + " svg.marks").getAttribute("aria-label")"""
    tab = opened(compose_page(answer()))
    tab.set_viewport_size({"width": 1000, "height": 900})
    tab.evaluate("tirelife.settled().then(() => 1)")
    begun = tab.evaluate(said, "windows-narrow")
    tab.evaluate(  # moves that come while charts are drawn: the last one counts
        """() => { const one = document.getElementById("c-year");
        for (const value of [4000, 9000, 30000]) { one.value = value; one.dispatchEvent(new Event("input", { bubbles: true })); }
        return tirelife.settled().then(() => 1); }"""
    )
    wide = tab.evaluate(said, "windows")
    assert wide != begun
    assert "30,000" in tab.locator("#assumed").text_content()
    assert tab.evaluate(said, "windows-narrow") == begun
    tab.set_viewport_size({"width": 360, "height": 900})
    tab.wait_for_function("() => window.innerWidth === 360")
    tab.evaluate("tirelife.settled().then(() => 1)")
    assert tab.evaluate(said, "windows-narrow") == wide
    # Printed on a phone, the page shows the charts for paper.
    tab.locator("#c-year").fill("9000")
    tab.evaluate("tirelife.settled().then(() => 1)")
    assert tab.evaluate(said, "windows") == wide
    tab.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert tab.evaluate(said, "windows") == tab.evaluate(said, "windows-narrow") != wide
    assert tab.said == []


def test_what_is_printed_is_what_the_sliders_show(opened, tmp_path):
    tab = opened(compose_page(answer()))
    tab.locator("#c-year").fill("30000")
    tab.evaluate("tirelife.settled().then(() => 1)")
    file = tmp_path / "page.pdf"
    tab.pdf(path=file, prefer_css_page_size=True)
    text = subprocess.run(["pdftotext", file, "-"], capture_output=True, text=True, check=True).stdout
    assert "If, from now on: miles a year 30,000 miles." in text.replace("\n", " ")


def test_markup_in_names_and_tire_lines_is_shown_as_text(opened):
    nasty = "<img src=x onerror=\"document.title='bad'\"></script><script>document.title='bad'</script>"
    tab = opened(compose_page(answer(vehicle=nasty, line=nasty)))
    assert "bad" not in tab.title() or tab.title().startswith("How long your tires should last")
    assert tab.locator("header img, table img, figure img").count() == 0
    assert nasty in tab.locator("header p").text_content()
    assert tab.said == []


def test_pdf_and_picture_for_a_phone_through_the_installed_browser(browser):
    assert find_browser()
    html = compose_page(answer())
    assert print_page(html, "pdf").startswith(b"%PDF-")
    assert print_page(html, "png").startswith(b"\x89PNG")


def test_a_picture_for_a_message_holds_the_whole_page(browser, demo_answer):
    wide, high = struct.unpack(">II", print_page(compose_page(demo_answer), "png")[16:24])
    assert wide == 2 * 816
    context = browser.new_context(viewport={"width": 816, "height": 600})
    tab = context.new_page()
    tab.set_content(compose_page(demo_answer))
    tab.evaluate("tirelife.drawn.then(() => 1)")
    tab.emulate_media(media="print")
    foot = tab.evaluate(
        "[...document.querySelectorAll('main section')].at(-1).getBoundingClientRect().bottom"
    )
    context.close()
    assert 2 * foot < high < 2 * 1.25 * (foot + 68)  # to the last line, and no empty half below it


def test_all_speed_shares_at_nothing_is_said_and_answers_nothing(opened, demo_answer):
    tab = opened(compose_page(demo_answer))
    before = tab.evaluate("tirelife.settled().then(() => document.getElementById('lead').textContent)")
    for name in demo_answer.sliders["shares"]:
        tab.evaluate(
            "(id) => { const c = document.getElementById('c-' + id); c.value = 0;"
            " c.dispatchEvent(new Event('input', { bubbles: true })); }",
            name,
        )
    tab.evaluate("tirelife.settled().then(() => 1)")
    assert "All shares of speed are 0" in tab.locator("#assumed").text_content()
    assert tab.evaluate("document.getElementById('lead').textContent").split()[0] == before.split()[0]
    assert "NaN" not in tab.locator("main").inner_text()
    assert tab.said == []
