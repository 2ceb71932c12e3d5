import base64
import hashlib
import json
import re
import zlib
from dataclasses import replace

import pandas as pd
import pytest

from tests.charts import frames
from tests.sheet.answers import Ready, answer, said
from tirelife.errors import InputError
from tirelife.sheet import page
from tirelife.sheet.bundle import finish_bundle
from tirelife.sheet.cautions import cautions
from tirelife.sheet.drawer import start_drawing
from tirelife.sheet.drawing import finish_drawing, specifications, window_rows
from tirelife.sheet.page import compose_page, lead


@pytest.fixture
def make():
    return lambda one=None, **how: compose_page(one or answer(), bundle=Ready(), **how)


def element(html, name):
    return re.search(rf'<script type="application/json" id="{name}">(.*?)</script>', html, re.S).group(1)


def test_the_page_asks_the_network_for_nothing_and_says_so_to_the_browser(make):
    html = make()
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', html).group(1).replace("&#x27;", "'")
    assert policy.startswith("default-src 'none';")
    assert "http" not in policy
    without_code = re.sub(r"<script.*?</script>", "", html, flags=re.S)
    assert not re.search(r"(src|href)=|url\(|@import", without_code)
    for code in re.findall(r"<script>(.*?)</script>", html, re.S):
        assert f"'sha256-{base64.b64encode(hashlib.sha256(code.encode()).digest()).decode()}'" in policy


def test_language_title_and_headings_are_set(make):
    html = make()
    assert html.startswith('<!doctype html>\n<html lang="en"')
    assert "<title>How long your tires should last: V03</title>" in html
    heads = re.findall(r'<h2 id="[^"]*">([^<]+)</h2>', html)
    assert heads == [
        "What to do next",
        "When to plan for new tires",
        "What we measured today",
        "Least depth so far, and what is likely",
        "What wore them",
        "What would help",
        "How we worked this out, and how sure it is",
        "What if it went another way?",
        "Please note",
    ]


def test_every_chart_is_there_with_words_for_a_screen_reader(make):
    specs = json.loads(element(make(), "specs"))
    names = {"windows", "profiles", "paths", "causes", "changes"}
    assert set(specs) == names | {name + "-narrow" for name in names}
    assert all(len(spec["description"]) > 60 for spec in specs.values())


def test_no_heading_stands_over_nothing_where_one_groove_a_wheel_was_read(make):
    # One groove is no section across the tread: the table of what was read stands under the heading in its place.
    one = answer()
    html = make(replace(one, depths=one.depths[one.depths["groove"] == "center"]))
    assert 'id="profiles"' not in html
    part = re.search(r'<section aria-labelledby="h-measured">(.*?)</section>', html, re.S).group(1)
    assert part.count('<table class="tires">') == html.count('<table class="tires">') == 1
    assert make().count('<table class="tires">') == 1


def test_what_buys_next_to_nothing_is_named_in_a_sentence_and_not_drawn(make):
    changes = answer().changes.copy()
    changes.loc[0, "after_km"] = changes.loc[0, "before_km"] + 10
    html = make(answer(changes=changes))
    name = changes["change"][0]
    assert f"Little or nothing would come from: {name[:1].lower()}{name[1:]}." in html
    drawn = json.loads(element(html, "specs"))["changes"]
    assert name not in [row["change"] for row in drawn["data"]["values"]]
    none = make(answer(changes=changes.assign(after_km=changes["before_km"])))
    assert "changes" not in json.loads(element(none, "specs"))


def test_markup_in_names_and_tire_lines_is_shown_as_text(make):
    nasty = "</script><script>alert(1)</script><img src=x onerror=alert(2)>"
    html = make(answer(vehicle=nasty, line=nasty))
    assert "<script>alert" not in html
    assert "<img" not in re.sub(r"<script.*?</script>", "", html, flags=re.S)
    assert "&lt;/script&gt;&lt;script&gt;alert(1)" in html
    assert "<" not in element(html, "specs") + element(html, "state")


def test_a_range_that_ends_too_far_ahead_for_a_date_has_no_bar():
    one = answer()
    far = one.tires["position"] != "LF"
    late = one.tires.assign(date_p90=one.tires["date_p90"].mask(far))
    drawn = specifications(replace(one, tires=late, overall={**one.overall, "date_p90": pd.NaT}))
    rows = json.loads(re.search(r'"values": (\[.*?\])', json.dumps(drawn["windows"])).group(1))
    assert [row["label"] for row in rows] == ["Left front"]
    never = replace(one, tires=one.tires.assign(date_p90=pd.NaT), overall={**one.overall, "date_p90": pd.NaT})
    assert "windows" not in specifications(never)
    compose_page(never, bundle=Ready())  # no NaN in its JSON


def test_a_page_with_no_answer_for_any_tire_says_so():
    one = answer()
    nothing = {**{name: pd.NaT if "date" in name else float("nan") for name in one.overall}, "first": ""}
    assert "not enough to give you a date yet" in lead(replace(one, overall=nothing))
    assert "not enough to give you a date yet" in lead(replace(one, decision=None))


def test_cautions_are_all_there_in_the_units_of_the_reader(make):
    html = make()
    for text in cautions("us"):
        assert text.format(leak="2 psi").replace("'", "&#x27;") in html
    metric = make(answer(units="metric", order="dmy"))
    assert "more than 14 kPa a month" in metric
    assert "30 September 2026" in metric
    assert "Kilometers left" in metric


def test_paper_follows_the_units_or_what_is_asked(make):
    assert "size: letter portrait" in make()
    assert "size: A4 portrait" in make(answer(units="metric", order="dmy"))
    assert "size: A4 portrait" in make(paper="a4")
    with pytest.raises(InputError, match="unknown paper 'a5': use letter or a4"):
        make(paper="a5")


def test_a_tire_at_its_depth_stands_at_the_top(make):
    html = make(answer(said=said(["Right rear: at or under the depth set for changing."])))
    assert html.index('role="alert"') < html.index('id="lead"')
    assert "qualified person" in html
    assert re.search(r'id="lead">First see the note above. Plan for new tires', html)


def test_what_is_not_known_is_said_and_nothing_is_drawn_for_it(make):
    one = answer()
    blank = {f"date_p{q}": pd.NaT for q in (10, 25, 50, 75, 90)} | {
        f"km_left_p{q}": float("nan") for q in (10, 25, 50, 75, 90)
    }
    unknown = answer(
        tires=one.tires.assign(**blank), overall={"first": "LF", **blank}, causes=frames.causes()[:0],
        changes=frames.changes()[:0], readings=frames.readings()[:0], depths=frames.depths()[:0], sliders={}, assumed="",
    )  # fmt: skip
    html = make(unknown)
    assert json.loads(element(html, "specs")) == {}
    assert "There is not enough to give you a date yet." in html
    assert html.count("Not enough is known yet to say.") == 4
    assert 'id="none-helps" hidden' not in html
    assert 'id="try"' not in html


def test_the_set_leads_the_calendar_and_the_lead_sentence():
    one = answer()
    rows = window_rows(one)
    assert list(rows["label"]) == ["First of the set", "Left front", "Right front", "Left rear", "Right rear"]
    assert lead(one).startswith("Plan for new tires between ")
    assert "Most likely to be first: right front." in lead(one)


def test_a_bundle_that_cannot_be_fetched_is_an_error_not_a_blank_page():
    from tirelife.errors import FitError

    class Broken:
        def communicate(self):
            return "", "Traceback\nModuleNotFoundError: No module named 'vl_convert'"

    with pytest.raises(FitError, match="No module named 'vl_convert'"):
        finish_bundle(Broken())


def test_the_bundle_is_packed_into_an_element_that_it_cannot_end_and_runs_only_with_its_digest(make):
    html, library = make(), finish_bundle(Ready())
    assert "vegaEmbed" in library
    held = re.search(r'<script type="text/plain" id="library">(.*?)</script>', html, re.S).group(1)
    assert re.fullmatch("[A-Za-z0-9+/]+=*", held)
    assert zlib.decompress(base64.b64decode(held), -15).decode() == library
    digest = base64.b64encode(hashlib.sha256(library.encode()).digest()).decode()
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', html).group(1)
    assert f"sha256-{digest}" in policy
    assert policy.count("sha256-") == 2


@pytest.mark.parametrize("one", [answer(), answer(units="metric", order="dmy"), answer(language="es")])
def test_a_page_is_under_a_megabyte(make, one):
    assert len(make(one).encode()) < 1_000_000


def test_charts_drawn_in_a_process_of_their_own_are_the_same():
    one = answer()
    assert finish_drawing(start_drawing(), one) == json.loads(json.dumps(specifications(one)))


def test_every_chart_of_a_page_is_held_to_the_grammar_s_schema():
    import altair as alt

    drawn = specifications(answer())
    assert len(drawn) == 10
    for spec in drawn.values():
        alt.Chart.from_dict(spec)  # raises where the schema does not allow it
    spoilt = {**drawn["windows"], "config": {"axis": {"labelFontSize": "large"}}}
    with pytest.raises(Exception, match=r"labelFontSize|large"):
        alt.Chart.from_dict(spoilt)


def test_a_page_lets_its_charts_begin_while_it_is_worked_out(monkeypatch):
    process, seen = object(), []
    monkeypatch.setattr(page, "answer_for", lambda *given, tell, **how: tell({"units": "us"}) or answer())
    monkeypatch.setattr(page, "begin_drawing", lambda *given: seen.append(given))
    monkeypatch.setattr(page, "finish_drawing", lambda started, one: {})
    page.customer_page(None, "V03", drawing=process, bundle=Ready())
    assert seen == [(process, {"units": "us"})]


def test_charts_that_cannot_be_drawn_are_an_error():
    from tirelife.errors import FitError

    with pytest.raises(FitError, match=r"could not be drawn: .*causes"):
        finish_drawing(start_drawing(), answer(causes=frames.causes().assign(share=0.3)))
