"""The owner's page: one offline file; its tables need no script, search and sort are extras."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Container, Mapping
from html import escape
from importlib.resources import files
from string import Template
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from tirelife import charts
from tirelife.sheet import words
from tirelife.sheet.cautions import cautions
from tirelife.sheet.days import in_order
from tirelife.sheet.fleet_tables import HEADS, FleetTexts
from tirelife.sheet.language import action_words, texts, upper_first
from tirelife.units import SHOWN, convert

if TYPE_CHECKING:
    from tirelife.sheet.fleet import FleetAnswer

__all__ = ["compose_fleet", "fleet_lists"]

WIDTHS: Final = {"narrow": 330, "wide": 700}
"""Charts are drawn twice, for a phone and for a screen or paper, so that their text keeps its size. [px]"""
_NUMBERS: Final = {"count", "bill", "thrown", "year", "cost", "saved", "range", "width"}
"""Columns set to the right."""
_SORTED: Final = (
    ("vehicle", "text"), ("group", "text"), ("first", "text"), ("read", "number"), ("left", "number"),
    ("between", "number"),
)  # fmt: skip
"""Columns that the list of vehicles is sorted by, and how."""
_STACKED: Final = 4
"""A table of more columns stands one cell below the other on a phone."""


def compose_fleet(answer: FleetAnswer, *, order: str | None = None, language: str = "en") -> str:
    """Set a fleet's answer as one page of HTML that opens with no network.

    Parameters
    ----------
    answer : FleetAnswer
    order : str, optional
        Order of day, month and year; by default what goes with the units.
    language : str
    """
    say = texts(language)
    room = files("tirelife.sheet")
    script = (room / "fleet.js").read_text(encoding="utf-8")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    policy = f"default-src 'none'; script-src 'sha256-{digest}'; style-src 'unsafe-inline'; img-src data:"
    order = order or in_order(answer.units)
    day = words.full_date(answer.as_of, order, say)
    title = f"{say['fleet-title']}{f': {answer.name}' if answer.name else ''}"
    parts = _Parts(answer, say, language, order)
    return Template((room / "fleet.html").read_text(encoding="utf-8")).substitute(
        language=language,
        policy=escape(policy),
        title=escape(title),
        day=escape(f"{day} · {say['fleet-vehicles'].format(n=len(answer.vehicles))}"),
        paper="letter" if answer.units == "us" else "A4",
        css=(room / "fleet.css").read_text(encoding="utf-8"),
        body="".join(
            (
                parts.lead(),
                parts.hands(),
                parts.buy(),
                parts.windows(),
                parts.sets(),
                parts.months(),
                parts.money(),
                parts.groups(),
                parts.wear(),
                parts.measure(),
                parts.care(),
            )
        ),
        script=script,
    )


def fleet_lists(answer: FleetAnswer, language: str = "en") -> dict[str, pd.DataFrame]:
    """Give the page's lists as frames in shown units, by the name of the file that each goes to."""
    far, deep = (SHOWN[answer.units][kind] for kind in ("distance", "depth"))
    vehicles = answer.vehicles.drop(columns=["severity"]).copy()
    for name in [c for c in vehicles if str(c).startswith("km_left")]:
        vehicles[name] = convert(vehicles[name], "km", far)
    vehicles["read_raw_mm"] = convert(vehicles["read_raw_mm"], "mm", deep)
    names = {
        c: str(c).replace("km_left", f"{far}_left").replace("read_raw_mm", f"read_raw_{deep}")
        for c in vehicles
    }
    todo = [
        {"vehicle_id": v, "order": i + 1, "do": action_words(a, answer.units, language), "by": a.by}
        for v, decision in answer.decisions.items()
        for i, a in enumerate(decision.actions)
    ]
    return {
        "vehicles": vehicles.rename(columns=names),
        "to_do": pd.DataFrame(todo, columns=["vehicle_id", "order", "do", "by"]),
        "to_buy": answer.buy.drop(columns=["action"]),
        "months": answer.months,
    }


class _Parts:
    """Sections of the page, in their order."""

    def __init__(self, answer: FleetAnswer, say: Mapping[str, str], language: str, order: str) -> None:
        self.answer, self.say, self.texts = answer, say, FleetTexts(answer, language, order)

    def lead(self) -> str:
        urgent = int((self.answer.vehicles["severity"] >= 3).sum())
        said = escape(self.say["fleet-urgent"].format(n=urgent))
        alarm = f'<p class="now" role="alert">{said}</p>' if urgent else ""
        return f'{alarm}<p class="lead">{escape(self.texts.lead())}</p>'

    def hands(self) -> str:
        return self._section("hands", self._listed("hands") or self._none("hands"))

    def buy(self) -> str:
        said = f"<p>{escape(month)}</p>" if (month := self.texts.month()) else ""
        return self._section("buy", said + (self._listed("buy") or self._none("buy")))

    def windows(self) -> str:
        a, say = self.answer, self.say
        known = a.vehicles[a.vehicles["date_p90"].notna()]
        last = known["date_p90"].max() if len(known) else a.as_of
        span = max((last - a.as_of).days, 1)
        groups = sorted(set(a.vehicles["group"]) - {""})
        left_out = () if groups else ("group",)
        rows = "".join(self._window(row, span, left_out) for row in a.vehicles.to_dict("records"))
        shown = [(name, kind) for name, kind in _SORTED if name not in left_out]
        pick = "".join(f"<option>{escape(g)}</option>" for g in groups)
        order = "".join(
            f'<option value="{i}">{escape(self.texts.head(name))}</option>'
            for i, (name, _) in enumerate(shown)
        )
        controls = (
            f'<p class="tools screen"><label>{say["search"]} <input id="find" type="search"></label> '
            + (
                f'<label>{say["group"]} <select id="group"><option value="">{say["all"]}</option>{pick}'
                "</select></label> "
                if groups
                else ""
            )
            + f'<label class="on-phone">{say["sort"]} <select id="sort"><option value="">'
            f"{escape(say['sort-urgent'])}</option>{order}"
            + '</select></label> <span id="count" role="status"></span></p>'
        )
        number = ' class="number"'
        head = "".join(
            f'<th scope="col" aria-sort="none"{number * (kind == "number")}>'
            f'<button type="button" class="sort screen" data-kind="{kind}">{head}</button>'
            f'<span class="paper">{head}</span></th>'
            for name, kind in shown
            for head in (escape(self.texts.head(name)),)
        )
        scale = f"{words.month_year(a.as_of, say)} → {words.month_year(last, say)}"
        caption = f"{upper_first(say['sort-urgent'])}. {say['fleet-bar']} {scale}"
        return self._section(
            "windows",
            f'{controls}<div class="wide"><table id="windows"><caption>{escape(caption)}</caption>'
            f"<thead><tr>{head}<th scope=col>{escape(say['head-window'])}</th></tr></thead>"
            f"<tbody>{rows}</tbody></table></div>",
        )

    def _window(self, row: Mapping[Any, Any], span: int, left_out: Container[str]) -> str:
        a = self.answer
        vehicle, *cells = map(escape, self.texts.window(row))
        bar = ""
        if pd.notna(row["date_p10"]) and pd.notna(row["date_p90"]):
            days = ((row[f"date_p{q}"] - a.as_of).days for q in (10, 25, 50, 75, 90))
            low, soon, middle, late, high = (100 * min(max(day, 0) / span, 1.0) for day in days)
            bar = (
                f'<span class="bar"><i class="w" style="left:{low:.1f}%;width:{high - low:.1f}%"></i>'
                f'<i class="n" style="left:{soon:.1f}%;width:{late - soon:.1f}%"></i>'
                f'<i class="m" style="left:{middle:.1f}%"></i></span>'
            )
        name = escape(str(row["vehicle_id"]))
        mark = vehicle.removeprefix(name).strip()
        sorts = (
            "",
            "",
            f"{np.nan_to_num(convert(row['read_raw_mm'], 'mm', SHOWN[a.units]['depth']), nan=1e9):.3f}",
            f"{np.nan_to_num(row['km_left_p50'], nan=1e9):.0f}",
            f"{row['date_p50']:%Y%m%d}" if pd.notna(row["date_p50"]) else "99999999",
        )
        said_cells = "".join(
            f'<td data-label="{escape(self.texts.head(code))}"'
            + (f' class="number" data-sort="{sort}"' if sort else ' class="said"' if cell else "")
            + f">{cell}</td>"
            for code, sort, cell in zip(HEADS["windows"][1:], sorts, cells, strict=True)
            if code not in left_out
        )
        group = escape(str(row["group"]))
        marked = f"{name} <b>{mark}</b>" if mark else name
        head = f'<tr data-group="{group}"><th scope="row">{marked}</th>'
        return f'{head}{said_cells}<td class="track">{bar}</td></tr>'

    def sets(self) -> str:
        """Sets in store; nothing where no vehicle has one."""
        listed = self._listed("sets")
        return self._section("sets", listed) if listed else ""

    def months(self) -> str:
        a = self.answer
        if a.months.empty:
            return self._section("months", self._none("months"))

        chart = self._drawn(
            lambda width: charts.monthly_budget(a.months, width=width - 60, height=170, say=self.say)
        )
        return self._section("months", chart + self._listed("lines"))

    def money(self) -> str:
        if self.answer.costs.empty:
            return self._section("money", self._none("money"))
        saved = self._listed("savings")
        more = f"<h3>{escape(self.say['fleet-saved'])}</h3>{saved}" if saved else ""
        return self._section("money", self._listed("costs") + more)

    def groups(self) -> str:
        a, say = self.answer, self.say
        if a.comparison is None:
            return self._section("groups", f"<p>{escape(say['groups-none'].format(why=a.why_no_groups))}</p>")
        said = "".join(f"<li>{escape(pair)}</li>" for pair in self.texts.pairs())
        hidden = say["groups-hidden"].format(n=a.comparison.hidden) if a.comparison.hidden else ""
        fair = "".join(f"<p class=small>{escape(say[f'fair-{i}'])}</p>" for i in (1, 2, 3))
        return self._section("groups", f"<ul>{said}</ul><p class=small>{escape(hidden)}</p>{fair}")

    def wear(self) -> str:
        a, say = self.answer, self.say
        if a.wear.empty:
            return self._section("wear", self._none("wear"))

        shown = a.wear if len(a.wear) <= 40 else pd.concat([a.wear.head(20), a.wear.tail(20)])
        chart = self._drawn(lambda width: charts.vehicles_in_order(shown, width=width - 120, say=self.say))
        odd = a.wear.loc[a.wear["odd"], ["vehicle_id", "ratio"]]
        named = [f"{v} ({100 * (r - 1):+.0f} %)" for v, r in odd.itertuples(index=False)]
        text = say["wear-odd"].format(names=words.joined(named, say["and"])) if named else say["wear-even"]
        return self._section("wear", f"<p>{escape(text)}</p>{chart}")

    def measure(self) -> str:
        return self._section("measure", self._listed("measure"))

    def care(self) -> str:
        said = "".join(f"<li>{escape(text)}</li>" for text in cautions(self.answer.units, self.say))
        return self._section("care", f"<ul class=small>{said}</ul>")

    def _none(self, name: str) -> str:
        return f"<p>{escape(self.say[f'none-{name}'])}</p>"

    def _section(self, name: str, body: str) -> str:
        title = escape(self.say[f"fleet-{name}"])
        return f'<section aria-labelledby="h-{name}"><h2 id="h-{name}">{title}</h2>{body}</section>'

    def _listed(self, name: str) -> str:
        """One of the owner's tables; empty where it has no row."""
        rows = getattr(self.texts, name)()
        if not rows:
            return ""
        kind = [' class="number"' if head in _NUMBERS else "" for head in HEADS[name]]
        top = "".join(
            f"<th scope=col{k}>{escape(self.texts.head(h))}</th>"
            for h, k in zip(HEADS[name], kind, strict=True)
        )
        said = [escape(self.texts.head(head)) for head in HEADS[name]]
        body = "".join(
            "<tr>"
            + "".join(
                f'<td data-label="{head}"{k}>{escape(cell)}</td>'
                for cell, head, k in zip(row, said, kind, strict=True)
            )
            + "</tr>"
            for row in rows
        )
        stack = " class=stack" if len(kind) > _STACKED else ""
        # What may scroll sideways on a phone is reached by the keyboard as well.
        name = escape(self.say.get(f"fleet-{name}", self.texts.head(HEADS[name][0])))
        box = f'<div class="wide" tabindex="0" role="group" aria-label="{name}">'
        return f"{box}<table{stack}><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table></div>"

    def _drawn(self, make: Any) -> str:
        """One chart as two pictures with its description, so that text has its size on a phone as well."""
        import vl_convert

        out = ""
        for name, width in WIDTHS.items():
            spec = make(width).to_dict()
            svg = vl_convert.vegalite_to_svg(spec)
            hidden = ' aria-hidden="true"' if name == "narrow" else ""
            out += f'<figure class="{name}"{hidden}>{svg}</figure>'
        return out
