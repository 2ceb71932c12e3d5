"""The customer's page: one sheet of paper, one file, no network; on screen its sliders need no program."""

from __future__ import annotations

import base64
import hashlib
import json
import subprocess
from collections.abc import Mapping
from functools import partial
from html import escape
from importlib.resources import files
from string import Template
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from tirelife.codes import Severity
from tirelife.errors import misused
from tirelife.sheet import words
from tirelife.sheet.answer import Answer, answer_for
from tirelife.sheet.bundle import finish_bundle
from tirelife.sheet.cautions import cautions
from tirelife.sheet.drawing import NARROW, begin_drawing, finish_drawing, specifications, worthwhile
from tirelife.sheet.interactive import controls_html
from tirelife.sheet.language import SHOWN_MM, lead_words, texts
from tirelife.sheet.pressures import pressure_part
from tirelife.sheet.quantities import half_up, label
from tirelife.sheet.scripts import PAGE, pack, script
from tirelife.sheet.shop import NO_SHOP, Shop
from tirelife.sheet.wrong import Wrong
from tirelife.units import SHOWN, convert

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import Prior, WearFit

__all__ = ["PAPERS", "compose_page", "customer_page", "lead", "plain_json"]

PAPERS: Final = {"letter": 986, "a4": 1052}
"""Papers, and the height between margins of 9 mm that a page may fill on each [CSS px, 96 to the inch]."""


def customer_page(
    book: Logbook,
    vehicle_id: str,
    fit: WearFit | None = None,
    *,
    prior: Prior | None = None,
    removal_mm: float | None = None,
    stored_mm: pd.Series | None = None,
    rule: str = "",
    paper: str | None = None,
    order: str | None = None,
    language: str = "en",
    shop: Shop = NO_SHOP,
    bundle: subprocess.Popen[str] | None = None,
    drawing: subprocess.Popen[bytes] | None = None,
) -> str:
    """Make the page of one vehicle from its logbook.

    Parameters
    ----------
    book : Logbook
    vehicle_id : str
        One of the logbook's vehicles.
    fit : WearFit, optional
        From ``outlook.calibrated_fit``, which is what it does by default.
    prior : Prior, optional
        For the fit made here.
    removal_mm, stored_mm : float and Series, optional
        Depth at which a tire comes off; 2/32 inch by default. [mm]
    rule : str
        What says so, for the page; nothing by default.
    paper : str, optional
        ``"letter"`` or ``"a4"``; by default what goes with the units.
    order : str, optional
        Order of day, month and year: ``"mdy"``, ``"dmy"``, ``"ymd"``; by default what goes with the units.
    language : str
        One of :data:`tirelife.language.LANGUAGES`.
    shop : Shop
        Who hands it out; nobody is named by default.
    bundle : Popen, optional
        From :func:`tirelife.sheet.bundle.start_bundle`, started early to save time.
    drawing : Popen, optional
        From :func:`tirelife.sheet.start_drawing`, likewise; the charts are drawn here by default.

    Returns
    -------
    str
        HTML that opens with no network.

    Raises
    ------
    InputError
        If there is no such vehicle, or nothing is known of its tires; the message lists the vehicles.
    """
    answer = answer_for(
        book,
        vehicle_id,
        fit,
        prior=prior,
        removal_mm=removal_mm,
        stored_mm=stored_mm,
        rule=rule,
        order=order,
        language=language,
        tell=partial(begin_drawing, drawing) if drawing else None,
    )
    return compose_page(answer, paper=paper, shop=shop, bundle=bundle, drawing=drawing)


def compose_page(
    answer: Answer,
    *,
    paper: str | None = None,
    shop: Shop = NO_SHOP,
    bundle: subprocess.Popen[str] | None = None,
    drawing: subprocess.Popen[bytes] | None = None,
) -> str:
    """Set an answer as a page; see :func:`customer_page` for the rest."""
    paper = paper or ("letter" if answer.units == "us" else "a4")
    if paper not in PAPERS:
        raise misused(Wrong.PAPER, paper=paper, known=" or ".join(PAPERS))
    specs = finish_drawing(drawing, answer) if drawing else specifications(answer)
    room = files("tirelife.sheet")
    code = script(*PAGE)
    library = finish_bundle(bundle)
    hashes = " ".join(f"'sha256-{_sha256(text)}'" for text in (library, code))
    # The page's script unpacks the library and sets it as an element, held to its digest by the browser.
    # Expressions of the charts are interpreted, not compiled; nothing may be fetched from anywhere.
    policy = f"default-src 'none'; script-src {hashes}; style-src 'unsafe-inline'; img-src data:"
    say = texts(answer.language)
    heading = say["page-title"]
    return Template((room / "page.html").read_text(encoding="utf-8")).substitute(
        language=escape(answer.language),
        policy=escape(policy),
        title=escape(f"{heading}: {answer.vehicle}"),
        paper="letter" if paper == "letter" else "A4",
        room=str(PAPERS[paper]),
        css=(room / "page.css").read_text(encoding="utf-8"),
        heading=escape(heading),
        subheading=escape(_subheading(answer)),
        now=_now(answer),
        lead=escape(lead(answer)),
        assumed=escape(answer.assumed),
        shop=f'<p class="shop">{escape(shop.head)}</p>' if shop.head else "",
        sections=_sections(answer, set(specs), shop),
        specs=plain_json(specs),
        state=plain_json(answer.sliders),
        bundle=pack(library),
        script=code,
    )


def _subheading(answer: Answer) -> str:
    lines = sorted(set(answer.tires["tire_line"].astype(str)) - {""})
    parts = [
        answer.vehicle,
        *(lines if len(lines) == 1 else []),
        words.full_date(answer.as_of, answer.order, texts(answer.language)),
    ]
    if np.isfinite(answer.odometer_km):
        parts.append(words.distance(answer.odometer_km, answer.units, 50, texts(answer.language)))
    return " · ".join(parts)


def lead(answer: Answer) -> str:
    """Say the answer in one or two sentences; what cannot wait goes before any date."""
    overall = answer.overall
    if answer.decision is None:
        return texts(answer.language)["lead-unknown"]
    return (texts(answer.language)["above"] if answer.said.urgent else "") + lead_words(
        answer.decision,
        (overall["date_p10"], overall["date_p90"]),
        (overall["km_left_p10"], overall["km_left_p90"]),
        answer.units,
        answer.language,
    )


def _now(answer: Answer) -> str:
    hidden = "" if answer.said.urgent else " hidden"
    said = _actions(answer.said.urgent, answer.said.urgent_change, "urgent")
    look = texts(answer.language)["page-look-now"]
    return f'<div class="now" id="now" role="alert"{hidden}>{escape(look)}{said}</div>'


def _figure(name: str, drawn: set[str]) -> str:
    """Places of one chart: for a screen or paper, and for a phone."""
    places = {name: "on-paper", name + NARROW: "on-phone"}
    return "".join(
        f'<figure class="{size}"><div id="{place}"></div></figure>'
        for place, size in places.items()
        if place in drawn
    )


def _section(title: str, body: str, name: str, beside: str = "") -> str:
    head = f'<div class="head"><h2 id="h-{name}">{escape(title)}</h2>{beside}</div>'
    return f'<section aria-labelledby="h-{name}">{head}{body}</section>'


def _key(*items: tuple[str, str]) -> str:
    """Marks of a chart with their words; a mark and its words stay on one line."""
    said = (
        f'<span class="one"><span class="key {mark}"></span>{escape(text)}</span>' for mark, text in items
    )
    return f'<span class="note">{" ".join(said)}</span>'


def _list(items: tuple[str, ...], name: str = "") -> str:
    return (
        (f'<ul id="{name}">' if name else "<ul>")
        + "".join(f"<li>{escape(text)}</li>" for text in items)
        + "</ul>"
    )


def _actions(said: tuple[str, ...], change: tuple[str, ...], name: str) -> str:
    """List what to do, each with what would change it."""
    rows = "".join(
        f'<li><span class="do">{escape(do)}</span> <span class="change">{escape(other)}</span></li>'
        for do, other in zip(said, change, strict=True)
    )
    return f'<ul id="{name}">{rows}</ul>'


def _sections(answer: Answer, drawn: set[str], shop: Shop) -> str:
    say = texts(answer.language)
    key = _key(*((mark, say[f"page-key-{mark}"]) for mark in ("likely", "wide", "middle")))
    marks = _key(
        ("likely", say["page-key-left"]), ("worn", say["page-key-worn"]), ("least", say["page-key-least"])
    )
    none = f'<p class="small">{escape(say["page-nothing"])}</p>'

    def section(name: str, body: str, beside: str = "", title: str = "") -> str:
        return _section(title or say[f"page-{name}"], body, name, beside)

    windows = section("windows", _figure("windows", drawn) or none, key if "windows" in drawn else "")
    table = _table(answer)
    if "profiles" in drawn:
        measured = section("measured", _figure("profiles", drawn), marks, _measured(answer))
    else:  # one groove a wheel is no section: the table is what was measured
        measured, table = section("measured", table, "", _measured(answer)), ""
    seen = measured
    if "paths" in drawn or answer.depths.empty:  # one visit alone is no path
        seen = f'<div class="two">{measured}{section("paths", _figure("paths", drawn) or none)}</div>'
    seen += table
    causes = section("causes", _figure("causes", drawn) or none)
    changes = section("changes", _figure("changes", drawn) + _no_help(answer))
    steps = _actions(answer.said.steps, answer.said.steps_change, "steps")
    todo = section("next", steps + _from_shop(answer, shop))
    care = section("care", f'<div class="small columns">{_list(cautions(answer.units, say))}</div>')
    how = section(
        "how",
        f'<p class="small">{escape(" ".join(text for text in answer.how if text))} '
        f'<span id="notes">{escape(" ".join(answer.notes))}</span></p>',
    )
    stored = _section(say["stored"], _stored(answer), "stored") if len(answer.stored) else ""
    return (
        f"{todo}{windows}{seen}{stored}"
        f'<div class="two"><div>{causes}{_pressures(answer)}</div><div>{changes}{how}</div></div>'
        f"{_controls(answer)}{care}"
    )


def _from_shop(answer: Answer, shop: Shop) -> str:
    """Set the shop's next appointment and its note."""
    say = texts(answer.language)
    said = (
        []
        if shop.next_date is None
        else [say["appointment"].format(day=words.full_date(pd.Timestamp(shop.next_date), answer.order, say))]
    )
    return "".join(f'<p class="from-shop">{escape(text)}</p>' for text in (*said, shop.note) if text)


def _no_help(answer: Answer) -> str:
    """Name what was tried and buys little or nothing; where nothing could be tried, say so."""
    little = answer.changes.loc[~worthwhile(answer.changes), "change"].tolist() if len(answer.changes) else []
    say = texts(answer.language)
    what = words.joined([name[:1].lower() + name[1:] for name in little], say["and"])
    said = say["little-from"].format(what=what) if little else ""
    hidden = "" if answer.changes.empty else " hidden"
    return (
        f'{_list((), "helps")}<p class="small" id="little">{escape(said)}</p>'
        f'<p class="small" id="none-helps"{hidden}>{escape(say["page-nothing"])}</p>'
    )


def _measured(answer: Answer) -> str:
    say = texts(answer.language)
    if pd.isna(answer.measured) or (answer.as_of - answer.measured).days < 1:
        return say["page-today"]
    return say["page-measured"].format(day=words.full_date(answer.measured, answer.order, say))


def _table(answer: Answer) -> str:
    """Set the numbers of the charts as text, for those who cannot see them."""
    say = texts(answer.language)
    deep, far = label(SHOWN[answer.units]["depth"], say), say[f"page-far-{answer.units}"]
    lines, tenths = answer.tires["tire_line"].astype(str), _in_tenths(answer)
    several = len(set(lines)) > 1
    kind = f"<th>{escape(say['page-kind'])}</th>" if several else ""
    head = (
        f"<tr><th>{escape(say['page-tire'])}</th>{kind}"
        f"<th class=number>{escape(say['page-least'].format(deep=deep))}</th>"
        f"<th class=number>{escape(say['page-now'])}</th>"
        f"<th>{escape(say['page-left'].format(unit=far))}</th></tr>"
    )
    rows = "".join(
        f"<tr><td>{escape(str(row['label']))}</td>"
        + (f"<td>{escape(str(row['tire_line']))}</td>" if several else "")
        + f'<td class=number id="read-{row["position"]}">{escape(_read(row, answer, tenths))}</td>'
        f'<td class=number id="now-{row["position"]}">'
        f"{escape(_depth(row['depth_now_mm'], answer.units, say, tenths=True))}</td>"
        f'<td id="left-{row["position"]}">{escape(_left(row, answer.units, say))}</td></tr>'
        for row in answer.tires.to_dict("records")
    )
    return f'<table class="tires">{head}{rows}</table><p class="small">{escape(_as_read(answer))}</p>'


def _stored(answer: Answer) -> str:
    """Set the tires in store: what is left on them, when they are due, and when the sets change."""
    say, rows, tenths = texts(answer.language), answer.stored, _in_tenths(answer)
    unit, deep = (label(SHOWN[answer.units][kind], say) for kind in ("distance", "depth"))
    head = "".join(
        f'<th scope="col">{escape(say[f"stored-{name}"].format(unit=unit.capitalize(), deep=deep))}</th>'
        for name in ("tire", "read", "left", "due")
    )
    body = "".join(
        f"<tr><td>{escape(str(row['label']))}</td><td>{escape(_read(row, answer, tenths))}</td>"
        f"<td>{escape(_left(row, answer.units, say))}</td><td>{escape(_due(row, say))}</td></tr>"
        for row in rows.to_dict("records")
    )
    change = say["stored-change"].format(day=words.full_date(rows["change"].iloc[0], answer.order, say))
    known = rows.iloc[0]
    share = say["stored-share-told" if known["told"] else "stored-share"].format(
        share=f"{known['share']:.0%}"
    )
    return f'<table>{head}{body}</table><p class="small">{escape(change)} {escape(share)}</p>'


def _due(row: Mapping[Any, Any], say: Mapping[str, str]) -> str:
    if pd.isna(row["date_p10"]) or pd.isna(row["date_p90"]):
        return say["not-known"]
    return words.date_range(row["date_p10"], row["date_p90"], say)


def _pressures(answer: Answer) -> str:
    """Set the pressures of the tires, where a tire leaks, ran low or was found hard."""
    told = answer.pressures
    if told.empty:
        return ""
    if not any(note.severity > Severity.NOTE for notes in told["notes"] for note in notes):
        return ""
    said = pressure_part(told, answer.units, answer.order, answer.language)
    return _section(texts(answer.language)["pressures"], said, "pressures")


def _in_tenths(answer: Answer) -> bool:
    """Whether any reading is no whole 32nd: one column has one number of digits, "4.0" beside "4.5"."""
    read = convert(answer.tires["read_raw_mm"].dropna().to_numpy(dtype=float), "mm", "32nds")
    return any(half_up(10 * one) % 10 for one in read)


def _read(row: Mapping[Any, Any], answer: Answer, tenths: bool) -> str:
    """Least depth as read; at which wheel that was, where the tire has been moved since, and when, if that
    was before the day that stands above.
    """
    say: Mapping[str, str] = texts(answer.language)
    day: Any = row.get("read_date")
    if not np.isfinite(row["read_raw_mm"]):
        return say["page-not-read"]
    said, at = _depth(row["read_raw_mm"], answer.units, say, tenths=tenths), str(row["read_at"])
    before = bool(day is not None and day < answer.measured)  # not where either is not known
    code = ("-at" if at != row["position"] else "") + ("-on" if before else "")
    when = words.full_date(day, answer.order, say) if before else ""
    return say[f"page{code}"].format(depth=said, where=say.get(at, at), day=when) if code else said


def _as_read(answer: Answer) -> str:
    """Say what a reading is, and what was taken off it."""
    say = texts(answer.language)
    said = [say["page-as-read"]]
    off = (answer.tires["read_raw_mm"] - answer.tires["read_mm"]).abs().max()
    if off > SHOWN_MM:
        said.append(say["page-bias"])
    if (answer.tires["read_at"] != answer.tires["position"]).any() and answer.tires["read_at"].any():
        said.append(say["page-elsewhere"])
    return " ".join(said)


def _depth(mm: float, units: str, say: Mapping[str, str], *, tenths: bool = False) -> str:
    return words.depth(mm, units, say, tenths=tenths).removesuffix(say[f"deep-{units}"])


def _left(row: Mapping[Any, Any], units: str, say: Mapping[str, str]) -> str:
    unit = label(SHOWN[units]["distance"], say)
    return words.distance_range(row["km_left_p10"], row["km_left_p90"], units, say).removesuffix(f" {unit}")


def _controls(answer: Answer) -> str:
    if not answer.sliders:
        return ""

    return controls_html(answer.sliders, texts(answer.language))


def plain_json(data: Any) -> str:
    """JSON of an answer's state that can stand inside an element: no "<" is left in it."""
    text = json.dumps(data, separators=(",", ":"), ensure_ascii=False, allow_nan=False, default=_plain)
    return text.replace("<", "\\u003c")


def _plain(value: Any) -> Any:
    if isinstance(value, pd.Timestamp):
        return value.strftime("%Y-%m-%d")
    return value.item() if hasattr(value, "item") else str(value)


def _sha256(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
