"""No text lies over another or is too small, at the widths of phones, tablets and screens and on paper."""

import re
import subprocess

import pytest

from tirelife.groups import Costs
from tirelife.sheet.answer import answer_for
from tirelife.sheet.fleet import fleet_answer
from tirelife.sheet.fleet_page import compose_fleet
from tirelife.sheet.page import compose_page
from tirelife.sheet.walkin import walkin_answer

WIDTHS = (360, 390, 820, 1280)
PAPERS = {"letter": 740, "a4": 718}
"""Width between the margins of a page (12 mm and more). [CSS px]"""
OVER = """() => {
  const boxes = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const at = node.parentElement;
    if (!node.textContent.trim() || !at.checkVisibility({visibilityProperty: true, opacityProperty: true}) || at.closest("script,style,option,title,desc")) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const r of range.getClientRects())
      if (r.width > 1 && r.height > 1) boxes.push([r.left, r.top, r.right, r.bottom, node.textContent.trim().slice(0, 40), at]);
  }
  const over = [];
  boxes.sort((a, b) => a[1] - b[1]);
  for (let i = 0; i < boxes.length; i++)
    for (let k = i + 1; k < boxes.length && boxes[k][1] < boxes[i][3]; k++) {
      const [a, b] = [boxes[i], boxes[k]];
      const wide = Math.min(a[2], b[2]) - Math.max(a[0], b[0]), high = Math.min(a[3], b[3]) - Math.max(a[1], b[1]);
      // A line's box is taller than its letters: a fifth of the smaller may touch.
      if (a[5] !== b[5] && wide > 1.5 && high > 0.25 * Math.min(a[3] - a[1], b[3] - b[1])) over.push(a[4] + " | " + b[4]);
    }
  return [boxes.length, over];
}"""
SMALLEST = """() => {
  const texts = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const at = node.parentElement;
    if (!node.textContent.trim() || !at.checkVisibility() || at.closest("script,style,option,title,desc")) continue;
    // Text of a picture has the size that it is seen in.
    const scale = at.ownerSVGElement ? at.getScreenCTM().d || at.getScreenCTM().b : 1;
    texts.push([parseFloat(getComputedStyle(at).fontSize) * Math.abs(scale), node.textContent.trim()]);
  }
  return texts.sort((a, b) => a[0] - b[0])[0];
}"""
LEAST = {360: 11, 390: 11, 820: 10.7, 1280: 10.7}
"""Least size of text by width. [px]"""


@pytest.fixture(scope="module")
def pages(demo):
    book, fit = demo
    owner = fleet_answer(book, fit, costs=Costs(20, 25))
    return {
        "usual": compose_page(answer_for(book, "V03", fit)),
        "urgent, in Spanish": compose_page(answer_for(book, "V09", fit, language="es")),
        "walk-in, in Spanish": compose_page(walkin_answer([6.0, 6.0, 5.0, 6.0], language="es")),
        "fleet": compose_fleet(owner),
        "fleet, in Spanish": compose_fleet(owner, language="es"),
    }


@pytest.fixture
def shown(browser, pages, tmp_path):
    """Open one of the pages from a file, with what draws it done."""
    context = browser.new_context(offline=True, viewport={"width": 820, "height": 1000})

    def show(name):
        file = tmp_path / "page.html"
        file.write_text(pages[name], encoding="utf-8")
        tab = context.new_page()
        tab.goto(file.as_uri())
        if not name.startswith("fleet"):
            tab.evaluate("tirelife.drawn.then(() => tirelife.settled()).then(() => 1)")
        return tab

    yield show
    context.close()


@pytest.mark.parametrize(
    "name", ["usual", "urgent, in Spanish", "walk-in, in Spanish", "fleet", "fleet, in Spanish"]
)
def test_no_text_lies_over_another_or_is_too_small_to_read(shown, name):
    tab = shown(name)
    found = {}
    for size, width in {**{str(w): w for w in WIDTHS}, **PAPERS}.items():
        tab.emulate_media(media="print" if size in PAPERS else "screen")
        tab.set_viewport_size({"width": width, "height": 1000})
        tab.wait_for_timeout(60)
        count, over = tab.evaluate(OVER)
        assert count > 60
        if size not in PAPERS:
            pixels, text = tab.evaluate(SMALLEST)
            assert pixels >= LEAST[width], (size, text)
        if over:
            found[size] = over[:6]
    assert found == {}


def test_a_label_pushed_over_its_neighbour_would_be_found(shown):
    tab = shown("fleet")
    tab.evaluate("document.querySelectorAll('h2')[1].style.marginTop = '-60px'")
    assert tab.evaluate(OVER)[1]


@pytest.mark.parametrize("name", ["urgent, in Spanish", "walk-in, in Spanish"])
@pytest.mark.parametrize("width", [360, 390])
def test_how_long_by_when_and_what_to_do_stand_in_the_first_600_pixels_of_a_phone(shown, name, width):
    tab = shown(name)
    tab.set_viewport_size({"width": width, "height": 844})
    lead, first = tab.locator("#lead").bounding_box(), tab.locator(".do:visible").first.bounding_box()
    assert lead["y"] + lead["height"] < 600
    assert first["y"] + first["height"] < 600


def test_on_a_phone_the_list_of_vehicles_is_sorted_by_a_choice_and_no_vehicle_takes_more_than_five_lines(
    shown,
):
    tab = shown("fleet")
    tab.set_viewport_size({"width": 390, "height": 844})
    names = (
        "[...document.querySelectorAll('#windows tbody th')].map((e) => e.textContent.trim().split(' ')[0])"
    )
    urgent = tab.evaluate(names)
    assert urgent[0] == "V09"
    tab.get_by_label("Sort by").select_option(label="Vehicle")
    assert tab.evaluate(names) == sorted(tab.evaluate(names))
    tab.get_by_label("Sort by").select_option(label="Miles left, 8 in 10")
    assert tab.evaluate(names)[0] == "V09"
    tab.get_by_label("Sort by").select_option(label="most urgent first")
    assert tab.evaluate(names) == urgent
    high = tab.evaluate(
        "[...document.querySelectorAll('#windows tbody tr')].map((e) => e.getBoundingClientRect().height)"
    )
    assert max(high) <= 5 * 25


@pytest.mark.parametrize("name", ["fleet", "fleet, in Spanish"])
def test_each_sheet_of_the_fleet_keeps_its_margins_and_the_heads_of_the_list(shown, tmp_path, name):
    tab, file = shown(name), tmp_path / "fleet.pdf"
    heads = [text for text in tab.locator("#windows thead th").all_inner_texts() if text]
    tab.pdf(path=file, prefer_css_page_size=True)
    said = subprocess.run(
        ["pdftotext", "-bbox", file, "-"], capture_output=True, text=True, check=True
    ).stdout
    sheets = [
        re.findall(r'<word xMin="([0-9.]+)" yMin="([0-9.]+)"[^>]*>([^<]*)<', one)
        for one in said.split("<page")[1:]
    ]
    assert len(sheets) > 2
    for words in sheets:
        assert min(float(x) for x, _, _ in words) >= 12 / 25.4 * 72 - 1
        assert min(float(y) for _, y, _ in words) >= 12 / 25.4 * 72 - 1
    of_list = [i for i, words in enumerate(sheets) if any(word == "V03" for _, _, word in words)]
    going_on = sheets[of_list[0] if of_list[0] else 1]  # a list of 24 cars takes more than one sheet
    first = min(float(y) for _, y, word in going_on if re.fullmatch(r"V\d\d", word))
    above = {word for _, y, word in going_on if float(y) < first - 2}
    assert {head.split()[0] for head in heads} <= above
