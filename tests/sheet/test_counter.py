"""The counter's page as a text: what is in it, and what is not."""

import json
import re
import string
from dataclasses import replace
from importlib.resources import files

import pandas as pd
import pytest

from tirelife.codes import Note, Severity
from tirelife.language import LANGUAGES
from tirelife.logbook import read_logbook
from tirelife.outlook import kept_fit
from tirelife.rates import PUBLISHED, Belief, FitReason, FitVerdict
from tirelife.sheet.counter import counter_page, page_tables
from tirelife.sheet.language import counter_en
from tirelife.sheet.scripts import script


@pytest.fixture(scope="module")
def shop():
    book = read_logbook("data_synthetic/logbook")
    return book, kept_fit(book)


@pytest.fixture(scope="module")
def page(shop):
    book, fit = shop
    return counter_page(fit.posterior, book, fit.verdict)


def tables_of(page):
    return json.loads(re.search(r'id="tables">(.*?)</script>', page, re.DOTALL)[1])


def test_it_is_small_and_asks_for_nothing_outside(page):
    assert len(page.encode()) < 1_000_000
    assert not re.search(r"https?://(?!www\.w3\.org/)", page)
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)[1]
    assert policy.startswith("default-src 'none';")
    assert "unsafe" not in policy
    assert "connect-src" not in policy  # so that the default, nothing, holds


def test_no_plate_visit_or_tire_of_the_log_is_in_it(page, shop):
    book, _ = shop
    text = json.dumps({k: v for k, v in tables_of(page).items() if k not in ("lines", "words")})
    for name in [*book.vehicles["vehicle_id"], *book.tires["tire_id"]]:
        assert f'"{name}"' not in text
    assert set(tables_of(page)["lines"]) - {""} <= set(book.tires["tire_line"])


def test_it_says_which_fit_and_how_large(page, shop):
    book, _ = shop
    assert tables_of(page)["fit"] == {
        "kind": "fit", "day": f"{book.as_of:%Y-%m-%d}", "trust": "good", "readings": len(book.depths),
        "tires": book.tires["tire_id"].nunique(),
    }  # fmt: skip


def test_a_line_named_like_markup_cannot_end_the_block():
    prior = replace(PUBLISHED, lines={"</script><b>": Belief(0.1, 0.1)})
    page = counter_page(prior)
    assert "</script><b>" not in page
    assert "</script><b>" in tables_of(page)["lines"]


def test_a_refused_fit_is_told():
    verdict = FitVerdict((Note(FitReason.UNSOLVED, Severity.WARNING),))
    assert page_tables(verdict=verdict)["fit"]["trust"] == "refused"


def test_limits_by_place_and_day():
    limits = page_tables()["limits"]
    # Austria's list of winter tire laws: 4 mm from November to mid-April; 1.6 mm else (Directive 89/459/EEC).
    assert limits["EU/Austria"] == [["01-01", 4.0, 4.0], ["04-16", 1.6, 1.6], ["11-01", 4.0, 4.0]]
    assert limits["US"] == [["01-01", 1.5875, 1.5875]]
    assert limits["US/Army"][0][1:] == [3.175, 1.5875]
    # Finland's season ends with February, whatever day another place's ends on.
    assert limits["EU/Finland"] == [["01-01", 3.0, 3.0], ["03-01", 1.6, 1.6], ["12-01", 3.0, 3.0]]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_word_that_the_script_asks_for_is_there_and_every_word_is_asked_for(language):
    code = script("counter_page") + counter_page(made=pd.Timestamp("2026-03-14")).partition("<script")[0]
    words = page_tables()["words"][language]["counter"]
    asked = set(re.findall(r'word\("([a-z-]+)"[,)]', code)) | set(re.findall(r'data-say="([a-z-]+)"', code))
    assert asked <= set(words)
    built = [
        "wheel",
        "fact",
        "drive",
        "roads",
        "verdict",
        "spare",
        "help",
        "keep",
        "units",
        "delete",
        "fit",
        "prior",
        "published",
        "depths",
        "number",
        "comma",
        "set",
        "sure",
        "asked",
    ]
    others = {w for w in words if w not in asked and w.split("-")[0] not in built}
    assert {w for w in others if f'"{w}"' not in code} == set()
    # A translation fills in the same names.
    for name, text in words.items():
        fields = [
            {f for _, f, _, _ in string.Formatter().parse(t) if f} for t in (text, counter_en.TEXTS[name])
        ]
        assert fields[0] == fields[1], name


def brightness(colour):
    """Relative luminance: WCAG 2.1, definition of relative luminance."""
    if len(colour) == 4:
        colour = "#" + "".join(2 * one for one in colour[1:])
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (v / 12.92 if v <= 0.03928 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_text_stands_out_from_its_ground():
    # WCAG 2.1, success criterion 1.4.3: 4.5 to 1 for text; 1.4.11: 3 to 1 for what bounds a control.
    css = (files("tirelife.sheet") / "counter.css").read_text("utf-8")
    named = dict(re.findall(r"--(\w+): (#\w+);", css))
    edge, focus = (
        re.search(rf"{what}[^;]*(#[0-9a-f]{{6}})", css)[1] for what in ("border: 1px solid", "outline")
    )

    def contrast(one, other):
        light, dark = sorted((brightness(one), brightness(other)), reverse=True)
        return (light + 0.05) / (dark + 0.05)

    for ink in ("ink", "soft"):
        for ground in ("#ffffff", named["ground"], named["pale"]):
            assert contrast(named[ink], ground) >= 4.5, (ink, ground)
    assert contrast("#ffffff", named["deep"]) >= 4.5
    assert contrast(edge, "#ffffff") >= 3
    assert contrast(focus, "#ffffff") >= 3
