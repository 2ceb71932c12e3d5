"""The counter's page in a real browser: touches, slips, visits kept, nothing sent, the way into the log."""

import http.server
import re
import threading
import time

import numpy as np
import pandas as pd
import pytest

from tests.browser.conftest import CHROMIUM
from tests.browser.counters import FIELDS, keep_visit, kept_through_a_kill, open_counter, read_by_touch, until
from tirelife.codes import Note, Severity
from tirelife.logbook import read_logbook
from tirelife.logbook.sheets import import_sheet
from tirelife.outlook import forecast
from tirelife.rates import FitReason, FitVerdict
from tirelife.sheet.counter import counter_page

MOST_TOUCHES = 12
FACTS = ("year", "line", "new", "drive", "roads", "stops", "turns", "rotated", "removal", "set")
KILLS = 5


@pytest.fixture(scope="module")
def page():
    return counter_page(made=pd.Timestamp("2026-03-01"))


@pytest.fixture
def file(tmp_path, page):
    path = tmp_path / "counter.html"
    path.write_text(page, encoding="utf-8")
    return path


@pytest.fixture
def context(browser):
    context = browser.new_context(offline=True, viewport={"width": 390, "height": 844})
    yield context
    context.close()


@pytest.fixture
def tab(context, file):
    tab = open_counter(context, file)
    yield tab
    assert tab.said == []
    assert {url for url in tab.asked if not url.startswith("blob:")} == {file.as_uri()}


def test_four_depths_take_four_touches_and_the_answer_stands_there(tab):
    assert tab.locator("#answer .lead").count() == 0
    touches = read_by_touch(tab, (6, 6, 5, 6))
    assert touches <= MOST_TOUCHES
    assert [tab.input_value(f"#d-{p}") for p in FIELDS] == ["6", "6", "5", "6"]
    assert tab.text_content("#answer .lead").startswith("Plan for new tires between ")
    assert tab.locator("#answer table tr").count() == 5
    assert "times as long" in tab.text_content("#c-year")


def test_keyboard_alone_is_enough(tab):
    tab.focus("#d-LF")
    for depth in ("6", "6", "5", "6"):
        tab.keyboard.type(depth)
        tab.keyboard.press("Tab")
    assert tab.locator("#answer .lead").count() == 1
    reached = set()
    for _ in range(80):
        reached.add(tab.evaluate("document.activeElement.id"))
        tab.keyboard.press("Tab")
    assert {"f-distance", "f-line", "f-place", "print", "k-vehicle", "keep-it"} <= reached


@pytest.mark.parametrize("width", [320, 390, 820, 1280])
def test_nothing_runs_over_the_edge_and_touches_find_their_mark(tab, width):
    tab.set_viewport_size({"width": width, "height": 900})
    read_by_touch(tab, (6, 6, 5, 6))
    keep_visit(tab, "AB 12", 41230, (6, 6, 5, 6))
    assert tab.evaluate("document.documentElement.scrollWidth") <= width
    small = tab.evaluate(
        "[...document.querySelectorAll('button, input, select')].filter(b => b.offsetParent && b.getBoundingClientRect().height < 44)"
        ".map(b => b.id || b.textContent)"
    )
    assert small == []
    assert float(tab.evaluate("parseFloat(getComputedStyle(document.querySelector('.lead')).fontSize)")) >= 20


def test_every_control_has_a_name_and_every_id_is_one(tab):
    read_by_touch(tab, (6, 6, 5, 6))
    keep_visit(tab, "AB 12", 41230, (6, 6, 5, 6))
    nameless = tab.evaluate(
        "[...document.querySelectorAll('button, input, select')].filter(c => !(c.labels?.length ? c.labels[0].textContent "
        ": c.getAttribute('aria-label') || c.textContent).trim()).length"
    )
    assert nameless == 0
    ids = tab.evaluate("[...document.querySelectorAll('[id]')].map(one => one.id)")
    assert len(ids) == len(set(ids))
    assert tab.evaluate("[...document.querySelectorAll('h1, h2, h3')].map(h => Number(h.tagName[1]))")[0] == 1


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("abc", "Left front: “abc” is no number. Write it as 6 or 5.5."),
        ("6,5", "Left front: “6,5” can be read two ways. Write 6.5, or 6 5 for two grooves."),
        ("-3", "Left front: -3 is below zero."),
        ("81", "Left front: 81 32nds is deeper than any tread here (31). Check it and its unit."),
        ("6 6 6 6 6 6", "Left front: 6 grooves; give one to five."),
    ],
)
def test_bad_depths_get_a_sentence_and_stay_where_they_were_typed(tab, typed, said):
    tab.fill("#d-LF", typed)
    assert tab.text_content("#answer") == said
    assert tab.input_value("#d-LF") == typed
    tab.fill("#k-vehicle", "AB 12")
    tab.fill("#k-odometer", "41230")
    tab.click("#keep-it")
    assert said in tab.text_content("#keep-asked")
    assert tab.evaluate("tirelife.visits().length") == 0


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("#f-distance", "a lot", "is no number"),
        ("#f-distance", "-5", "is outside 0 to 500,000"),
        ("#f-year", "0", "is outside 1 to 500,000"),
        ("#f-new", "40", "is outside"),
        ("#f-removal", "x", "is no number"),
        ("#k-odometer", "41,23", "is no number"),
        ("#k-odometer", "-1", "is outside 0 to 2,000,000"),
    ],
)
def test_bad_numbers_get_a_sentence_and_stay_where_they_were_typed(tab, field, typed, said):
    read_by_touch(tab, (6, 6, 5, 6))
    tab.fill("#k-vehicle", "AB 12")
    tab.fill("#k-odometer", "41230")
    tab.fill(field, typed)
    tab.click("#keep-it")
    assert said in tab.text_content("#keep-asked")
    assert tab.input_value(field) == typed
    assert tab.input_value("#d-LF") == "6"
    assert tab.evaluate("tirelife.visits().length") == 0


def test_in_spanish_a_comma_stands_before_decimals_and_what_was_typed_moves_along(tab):
    tab.select_option("#language", "es")
    tab.select_option("#units", "metric")
    assert tab.text_content("h1") == "El dibujo en el mostrador"
    assert tab.get_attribute("html", "lang") == "es"
    tab.fill("#d-LF", "4,5 5")
    tab.fill("#f-distance", "17.500")
    tab.fill("#k-odometer", "41 230,5")
    entered = tab.evaluate("tirelife.entered()")
    assert entered["problems"] == []
    assert entered["raw"]["LF"] == [4.5, 5]
    assert entered["visit"]["distance_km"] == 17500
    assert tab.text_content("#answer .lead").startswith("Prevea llantas nuevas entre ")
    assert tab.locator("#answer td.read").first.text_content() == "4,5 mm"
    tab.select_option("#language", "en")
    assert tab.input_value("#d-LF") == "4.5 5"
    assert float(tab.input_value("#k-odometer").replace(",", "")) == 41230.5
    assert tab.evaluate("tirelife.entered().visit.distance_km") == 17500
    tab.fill("#d-LF", "4,5")
    assert "can be read two ways" in tab.text_content("#answer")


def test_a_skipped_fact_about_driving_says_between_what_the_middle_lies(tab):
    read_by_touch(tab, (6, 6, 5, 6))
    said = tab.text_content("#c-roads")
    low, high = (
        float(n.replace(",", "")) for n in re.search(r"in ([\d,]+) to ([\d,]+) miles", said).groups()
    )
    usual = tab.evaluate("tirelife.answerFor(tirelife.entered().visit).found.overall.km[2]") / 1.609344
    tab.select_option("#f-roads", "town")
    town = tab.evaluate("tirelife.answerFor(tirelife.entered().visit).found.overall.km[2]") / 1.609344
    # Said to the thousand.
    assert low - 501 <= min(usual, town) < max(usual, town) <= high + 501
    assert tab.evaluate("tirelife.settled().then(() => document.getElementById('c-roads').textContent)") == ""


def test_every_fact_left_out_says_what_it_costs(tab):
    read_by_touch(tab, (6, 6, 5, 6))
    tab.fill("#f-distance", "21000")
    tab.evaluate("tirelife.settled().then(() => 1)")
    said = {one: tab.text_content(f"#c-{one}") for one in FACTS}
    assert all(said.values()), said
    assert "the limit of the place stands: 2/32 inch" in tab.text_content("#c-removal")
    tab.fill("#f-distance", "")
    tab.evaluate("tirelife.settled().then(() => 1)")
    assert tab.text_content("#c-distance")


def test_deeper_than_new_is_asked_about_and_the_other_unit_offered(tab):
    tab.select_option("#units", "metric")
    tab.fill("#f-new", "8")
    tab.fill("#d-LF", "9")  # 9/32 in is 7.1 mm; under 1 mm over the new depth a gauge may err, so this passes
    assert tab.text_content("#asked") == ""
    tab.fill("#d-LF", "10")
    assert "Was it read in 32nds? That is 7.9 mm." in tab.text_content("#asked")
    tab.click("#asked button")
    assert float(tab.input_value("#d-LF")) == 10 * 25.4 / 32
    assert tab.text_content("#asked") == ""
    tab.fill("#d-RF", "14")
    assert "Read it again" in tab.text_content("#asked")
    tab.locator("#asked button").last.click()
    assert tab.text_content("#asked") == ""


def test_a_tread_that_grew_and_a_mileage_that_went_back_are_asked_about_before_it_is_kept(context, file):
    tab = open_counter(context, file)
    keep_visit(tab, "AB 12", 41230, (6, 6, 5, 6))
    later = open_counter(context, file, "2026-09-14")
    keep_visit(later, "AB 12", 41000, (5.5, 5.5, 8, 5.5))
    asked = later.text_content("#keep-asked")
    assert "41,000 is below the 41,230 of March 14, 2026." in asked
    assert "Left rear: 8 32nds, but 5/32 inch on March 14, 2026. Tread does not grow" in asked
    assert later.evaluate("tirelife.visits().length") == 1
    later.click("#keep-it")  # said again: it is as read
    until(later, "tirelife.visits().length === 2")


def test_a_visit_survives_reload_and_is_corrected_withdrawn_and_deleted(context, file):
    tab = open_counter(context, file)
    assert keep_visit(tab, "AB 12", 41230, (6, 6, 5, 6)) == "Kept: AB 12, March 14, 2026."
    tab.reload()
    tab.evaluate("tirelife.opened.then(() => 1)")
    assert "AB 12" in tab.text_content("#list")
    tab.get_by_role("button", name="Correct: AB 12, 2026-03-14").click()
    tab.fill("#d-LR", "5.5")
    tab.click("#keep-it")
    until(tab, "document.getElementById('list').textContent.includes('corrected')")
    [visit] = tab.evaluate("tirelife.visits()")
    assert visit["depths"]["LR"] == [5.5]
    assert visit["history"][0]["depths"]["LR"] == [5]
    tab.get_by_role("button", name="Withdraw: AB 12, 2026-03-14").click()
    until(tab, "document.getElementById('list').textContent.includes('withdrawn')")
    assert tab.evaluate("tirelife.exported()").count("\n") == 1  # the header alone
    tab.get_by_role("button", name="Delete: AB 12, 2026-03-14").click()
    tab.get_by_role("button", name="Delete for good").click()
    until(tab, "tirelife.visits().length === 0")
    tab.reload()
    assert tab.evaluate("tirelife.opened.then(() => tirelife.visits().length)") == 0


def test_a_full_disk_is_told_and_what_was_typed_stands(tab):
    tab.evaluate(
        "() => { IDBObjectStore.prototype.put = function () { throw new DOMException('no room', 'QuotaExceededError'); }; }"
    )
    keep_visit(tab, "AB 12", 41230, (6, 6, 5, 6))
    assert "There is no room left on this device: the visit was NOT kept." in tab.text_content("#keep-asked")
    assert tab.input_value("#d-LF") == "6"
    assert tab.input_value("#k-vehicle") == "AB 12"


def test_markup_is_only_text(tab):
    name = '<img src=x onerror="document.title=1"><b>V</b>'
    keep_visit(tab, name, 41230, (6, 6, 5, 6), note="<script>1</script>")
    assert name in tab.text_content("#list")
    assert tab.locator("#list img, #list b").count() == 0
    assert tab.title() == "Tread at the counter"


def test_a_name_that_a_spreadsheet_would_run_is_refused(tab):
    keep_visit(tab, "=1+1", 41230, (6, 6, 5, 6))
    assert "A name may not begin with =" in tab.text_content("#keep-asked")


def test_the_policy_lets_nothing_out(browser, file):
    seen = []

    class Listener(http.server.BaseHTTPRequestHandler):
        def do_GET(self):
            seen.append(self.path)
            self.send_response(200)
            self.end_headers()

        def log_message(self, *args):
            pass

    server = http.server.HTTPServer(("127.0.0.1", 0), Listener)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    context = browser.new_context()  # with a network, so that it is the policy that stops it
    try:
        tab = open_counter(context, file)
        address = f"http://127.0.0.1:{server.server_port}"
        refused = tab.evaluate(
            """async (at) => {
              const out = [];
              try { await fetch(at + "/fetch"); } catch (e) { out.push("fetch"); }
              try { if (!navigator.sendBeacon(at + "/beacon", "x")) out.push("beacon"); } catch (e) { out.push("beacon"); }
              await new Promise((done) => { const i = new Image(); i.onerror = done; i.onload = done; i.src = at + "/image"; });
              const s = document.createElement("script"); s.src = at + "/script";
              await new Promise((done) => { s.onerror = done; s.onload = done; document.head.append(s); });
              const inline = document.createElement("script"); inline.textContent = "window.ran = 1"; document.head.append(inline);
              out.push(window.ran === undefined ? "inline" : "ran");
              return out;
            }""",
            address,
        )
        time.sleep(0.3)
        assert seen == []
        assert "fetch" in refused
        assert "inline" in refused
    finally:
        context.close()
        server.shutdown()


def test_an_old_page_and_a_refused_fit_ask_for_a_new_one(context, file):
    assert open_counter(context, file, "2026-05-30").is_hidden("#warn")  # 90 days
    old = open_counter(context, file, "2026-05-31")
    assert old.text_content("#warn").startswith("This page is 91 days old. Ask for a new one")
    verdict = FitVerdict((Note(FitReason.UNSOLVED, Severity.WARNING),))
    file.write_text(counter_page(verdict=verdict, made=pd.Timestamp("2026-03-01")), encoding="utf-8")
    assert "The shop's fit was refused on March 1, 2026" in open_counter(context, file).text_content("#warn")


def test_units_change_with_all_that_was_typed(tab):
    read_by_touch(tab, (6, 6, 5, 6))
    tab.fill("#f-distance", "10,000")
    lead = tab.text_content("#answer .lead")
    tab.select_option("#units", "metric")
    assert tab.input_value("#d-LF") == "4.7625"
    assert tab.input_value("#f-distance") == "16093.44"
    assert "km" in tab.text_content("#answer .lead")
    tab.select_option("#units", "us")
    assert tab.text_content("#answer .lead") == lead


def test_a_depth_at_the_limit_stays_there_in_other_units(tab):
    tab.fill("#d-LF", "2")
    tab.select_option("#units", "metric")
    tab.select_option("#f-place", "US")
    assert "at the limit of 1.6 mm" in tab.text_content("#answer table")


def test_a_visit_that_fits_the_last_one_in_another_unit_is_asked_about_by_the_logs_own_rule(context, file):
    tab = open_counter(context, file)
    keep_visit(tab, "AB 12", 41230, (9, 9, 9, 9))
    later = open_counter(context, file, "2026-09-14")
    later.fill("#k-vehicle", "AB 12")
    later.fill("#k-odometer", "47230")
    read_by_touch(later, (8, 8, 8, 8))
    assert later.text_content("#asked") == ""
    for place in FIELDS:
        later.fill(f"#d-{place}", "6.5")  # 8/32 in, read in mm
    assert "fit far better as mm" in later.text_content("#asked")
    later.click("#keep-it")
    assert "fit far better as mm" in later.text_content("#keep-asked")
    assert later.evaluate("tirelife.visits().length") == 1
    later.click("#asked button")  # yes, change it
    assert float(later.input_value("#d-LF")) == pytest.approx(6.5 * 32 / 25.4, abs=1e-3)
    assert later.text_content("#asked") == ""
    for place, depth in zip(FIELDS, (80, 80, 80, 80), strict=True):
        later.fill(f"#d-{place}", str(depth / 100))
    assert "decimal point" in later.text_content("#asked")
    later.locator("#asked button").last.click()  # as read
    assert later.text_content("#asked") == ""


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """A page with the shop's own cars in it."""
    from tirelife.outlook import kept_fit
    from tirelife.outlook.returning import known_cars

    book = read_logbook("data_synthetic/logbook")
    fit = kept_fit(book)
    path = tmp_path_factory.mktemp("shop") / "counter.html"
    page = counter_page(fit.posterior, book, fit.verdict, cars=known_cars(book, fit))
    path.write_text(page, encoding="utf-8")
    return path


def test_a_car_of_the_shop_is_answered_with_its_own_history(context, shop):
    tab = open_counter(context, shop, "2026-12-01")
    assert "It knows 24 cars of the log by name." in tab.text_content("#fit")
    read_by_touch(tab, (7, 7, 8, 8))
    ends = "tirelife.answerFor(tirelife.entered().visit).found.overall.km"
    alone = tab.evaluate(ends)
    tab.fill("#k-vehicle", "v02")
    assert "its odometer below brings its history in" in tab.text_content("#answer")
    last = tab.evaluate("tirelife.model.lastOf('V02').km") / 1.609344
    tab.fill("#k-odometer", str(round(last + 1500)))
    assert "With this car's own history, last read on" in tab.text_content("#answer")
    own = tab.evaluate(ends)
    assert own[4] / own[0] < 0.7 * alone[4] / alone[0]
    tab.evaluate("tirelife.settled().then(() => 1)")
    assert tab.text_content("#c-distance") == "Known from this car's history."
    tab.fill("#k-odometer", str(round(last - 1500)))
    assert "this car's history is left out" in tab.text_content("#answer")
    tab.evaluate("tirelife.settled().then(() => 1)")  # what comes late moves the button
    tab.click("#keep-it")
    assert "Read the odometer again." in tab.text_content("#keep-asked")
    tab.fill("#k-odometer", str(round(last + 1500)))
    for place in FIELDS:
        tab.fill(f"#d-{place}", "12")
    assert "do not fit this car's history" in tab.text_content("#answer")
    assert "Were new tires fitted?" in tab.text_content("#asked")
    assert tab.said == []


def test_a_set_in_store_is_held_to_the_limit_of_its_season_and_wears_half_of_the_year(context, file):
    tab = open_counter(context, file, "2026-09-01")
    read_by_touch(tab, (6, 6, 6, 6))
    tab.select_option("#f-place", "EU/Austria")
    dates = "tirelife.answerFor(tirelife.entered().visit).found.overall.dates"
    assert tab.evaluate("tirelife.entered().visit.limit_mm.LF") == 1.6
    now = tab.evaluate(dates)
    tab.select_option("#f-set", "winter-stored")
    said = tab.text_content("#answer")
    # Austria's list of winter tire priors: 4 mm from November to mid-April.
    assert "(EU/Austria, November 1, 2026)" in said
    assert tab.evaluate("tirelife.entered().visit.limit_mm.LF") == 4
    assert "it goes on about October 15, 2026" in said
    tab.select_option("#f-place", "US")
    assert tab.evaluate(dates)[2] > now[2] + 120


def test_a_car_that_was_here_before_is_answered_with_what_it_wore_since(context, file):
    tab = open_counter(context, file)
    keep_visit(tab, "AB 12", 41230, (9, 9, 9, 9))
    later = open_counter(context, file, "2026-09-14")
    read_by_touch(later, (6, 6, 7, 7))
    alone = later.evaluate("tirelife.answerFor(tirelife.entered().visit).found.overall.km")
    assert "One visit" in later.text_content("#answer")
    later.fill("#k-vehicle", "AB 12")
    later.fill("#k-odometer", "53230")
    assert "With this car's visit of March 14, 2026, 12,000 miles ago" in later.text_content("#answer")
    again = later.evaluate("tirelife.answerFor(tirelife.entered().visit).found.overall.km")
    assert again[4] / again[0] < alone[4] / alone[0]
    # 3/32 in 12,000 miles leave 16,000 miles for the 4/32 down to the limit.
    assert again[2] == pytest.approx(16_000 * 1.609344, rel=0.25)


def test_on_paper_stands_the_answer_and_no_control(tab):
    read_by_touch(tab, (6, 6, 5, 2))
    tab.fill("#k-vehicle", "AB 12")
    tab.emulate_media(media="print")
    assert tab.is_visible("#answer .lead")
    assert tab.is_visible("#answer .now")
    seen = tab.evaluate(
        "[...document.querySelectorAll('button, input, select')].filter(b => b.offsetParent).length"
    )
    assert seen == 0


def read_again(tab, tmp_path, name):
    """Export, and import into the same log; gives how many visits were new."""
    sheet = tmp_path / name
    sheet.write_text(tab.evaluate("tirelife.exported()"), encoding="utf-8", newline="")
    done = import_sheet(sheet, tmp_path / "log")
    assert not done.plan.questions
    assert set(done.rows["status"]) == {"used"}
    return done.new_visits


def test_visits_reach_the_log_once_however_often_they_are_imported(context, file, tmp_path):
    tab = open_counter(context, file)
    keep_visit(tab, "AB 12", 41230, ("9 8.5 9", 9, 8.5, 8.5), note='looked at, "fine"')
    assert read_again(tab, tmp_path, "a.csv") == 1
    assert read_again(tab, tmp_path, "b.csv") == 0
    tab = open_counter(context, file, "2026-09-14")
    keep_visit(tab, "AB 12", 47230, (8, 8, 7.5, 8))
    keep_visit(tab, "CD 34", 20000, (6, 6, 5, 6))
    assert read_again(tab, tmp_path, "c.csv") == 2
    assert read_again(tab, tmp_path, "c.csv") == 0


def test_visits_kept_with_another_logs_page_stay_for_that_page(context, file):
    tab = open_counter(context, file)
    keep_visit(tab, "AB 12", 41230, (6, 6, 5, 6))
    file.write_text(
        file.read_text("utf-8").replace('"shop":"1:"', '"shop":"1:0123456789ab"'), encoding="utf-8"
    )
    other = open_counter(context, file, "2026-03-15")
    assert "kept with another shop's page" in other.text_content("#list")
    keep_visit(other, "CD 34", 20000, (6, 6, 5, 6))
    sent = other.evaluate("tirelife.exported()")
    assert "CD 34" in sent
    assert "AB 12" not in sent
    other.click("#export")
    assert "1 kept with the page of another log are not among them" in other.text_content("#keep-said")
    assert other.evaluate("tirelife.visits().length") == 2


def test_the_way_through_the_page_forecasts_as_the_same_visits_recorded(context, file, tmp_path):
    from tirelife.logbook import Visit, convert_logbook, record_visit

    tab = open_counter(context, file)
    keep_visit(tab, "AB 12", 41230, (9, 9, 8.5, 8.5), note="tires stayed")
    read_again(tab, tmp_path, "visits.csv")
    recorded = tmp_path / "recorded.sqlite"
    convert_logbook(tmp_path / "log", recorded)
    depths = (8, 8, 7.5, 8)
    visit = Visit(
        "AB 12",
        "2026-09-14",
        "47230",
        [(p, "center", str(d), "") for p, d in zip(FIELDS, depths, strict=True)],
    )
    assert record_visit(recorded, visit).written
    tab = open_counter(context, file, "2026-09-14")
    # A recorded visit names its tires; a page says as much only where it says that they were not moved.
    keep_visit(tab, "AB 12", 47230, depths, note="tires stayed")
    assert read_again(tab, tmp_path, "visits.csv") == 1
    ours, theirs = (forecast(read_logbook(path)) for path in (tmp_path / "log", recorded))
    numbers = [c for c in theirs if str(c).startswith(("km_left", "date", "read_mm", "depth_now"))]
    pd.testing.assert_frame_equal(ours[numbers], theirs[numbers])


@pytest.mark.long
def test_a_killed_browser_loses_no_visit_that_was_confirmed(browser, file, tmp_path):
    (tmp_path / "profile").mkdir()
    rng = np.random.default_rng(7)
    for _ in range(KILLS):
        confirmed, held = kept_through_a_kill(
            browser.browser_type, CHROMIUM, file, tmp_path / "profile", float(rng.uniform(0.05, 1.5))
        )
        assert confirmed <= held
    assert len(held) > KILLS
