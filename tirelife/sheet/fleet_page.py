"""The owner's page: one offline file; its tables need no script, search and sort are extras."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping, Sequence
from html import escape
from importlib.resources import files
from string import Template
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from tirelife.sheet import words
from tirelife.sheet.cautions import cautions
from tirelife.sheet.language import texts
from tirelife.sheet.language.decisions import action_words, place_words
from tirelife.sheet.quantities import label, places, written
from tirelife.units import SHOWN, convert

if TYPE_CHECKING:
    from tirelife.advice import Decision
    from tirelife.sheet.fleet import FleetAnswer

__all__ = ["compose_fleet", "fleet_lists"]

WIDTHS: Final = {"narrow": 330, "wide": 700}
"""Charts are drawn twice, for a phone and for a screen or paper, so that their text keeps its size. [px]"""
MOST_MEASURED: Final = 12
BASES: Final = {"habits together": "basis-habits", "total": "basis-all", "pressure": "basis-pressure"}
"""What a saving rests on, by the part of a difference that it is of."""


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
    day = words.full_date(answer.as_of, order or words.in_order(answer.units), say)
    title = f"{say['fleet-title']}{f': {answer.name}' if answer.name else ''}"
    parts = _Parts(answer, say, language)
    return Template((room / "fleet.html").read_text(encoding="utf-8")).substitute(
        language=language,
        policy=escape(policy),
        title=escape(title),
        day=escape(f"{day} · {say['fleet-vehicles'].format(n=len(answer.vehicles))}"),
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
        c: str(c).replace("km_left", f"{far}_left").replace("read_raw_mm", f"read_{deep}") for c in vehicles
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

    def __init__(self, answer: FleetAnswer, say: Mapping[str, str], language: str) -> None:
        self.answer, self.say, self.language = answer, say, language
        self.far = label(SHOWN[answer.units]["distance"], say)

    def lead(self) -> str:
        a, say = self.answer, self.say
        first = a.months.iloc[0] if len(a.months) else None
        urgent = int((a.vehicles["severity"] >= 3).sum())
        text = say["fleet-lead"].format(
            hands=a.hands["vehicle_id"].nunique(), buy=a.buy["vehicle_id"].nunique()
        )
        if first is not None:
            text += " " + say["fleet-lead-month"].format(
                expected=f"{first['expected']:.0f}", low=f"{first['lower']:.0f}", high=f"{first['upper']:.0f}"
            )
        alarm = (
            f'<p class="now" role="alert">{escape(say["fleet-urgent"].format(n=urgent))}</p>'
            if urgent
            else ""
        )
        return f'{alarm}<p class="lead">{escape(text)}</p>'

    def hands(self) -> str:
        rows = [self._told(v, i) for v, i in self.answer.hands.itertuples(index=False)]
        return self._section("hands", self._table(("vehicle", "what"), rows) if rows else self._none("hands"))

    def buy(self) -> str:
        rows = []
        for row in self.answer.buy.to_dict("records"):
            vehicle, said = self._told(row["vehicle_id"], row["action"])
            by = words.month_year(row["by"], self.say) if pd.notna(row["by"]) else ""
            rows.append((vehicle, said, str(row["count"]), escape(str(row["tire_line"])), escape(by)))
        heads = ("vehicle", "what", "count", "line", "by")
        return self._section("buy", self._table(heads, rows) if rows else self._none("buy"))

    def windows(self) -> str:
        a, say = self.answer, self.say
        known = a.vehicles[a.vehicles["date_p90"].notna()]
        last = known["date_p90"].max() if len(known) else a.as_of
        span = max((last - a.as_of).days, 1)
        rows = "".join(self._window(row, span) for row in a.vehicles.to_dict("records"))
        groups = sorted(set(a.vehicles["group"]) - {""})
        pick = "".join(f"<option>{escape(g)}</option>" for g in groups)
        controls = (
            f'<p class="tools screen"><label>{say["search"]} <input id="find" type="search"></label> '
            + (
                f'<label>{say["group"]} <select id="group"><option value="">{say["all"]}</option>{pick}'
                "</select></label> "
                if groups
                else ""
            )
            + '<span id="count" role="status"></span></p>'
        )
        heads = (
            ("vehicle", "text"), ("group", "text"), ("first", "text"), ("read", "number"), ("left", "number"),
            ("between", "number"),
        )  # fmt: skip
        head = "".join(
            f'<th scope="col" aria-sort="none"><button type="button" class="sort" data-kind="{kind}">'
            f"{escape(self._head(name))}</button></th>"
            for name, kind in heads
        )
        scale = f"{words.month_year(a.as_of, say)} → {words.month_year(last, say)}"
        return self._section(
            "windows",
            f'{controls}<div class="wide"><table id="windows"><caption>{escape(say["fleet-bar"])} '
            f"{escape(scale)}</caption><thead><tr>{head}<th scope=col>{escape(say['head-window'])}</th></tr>"
            f"</thead><tbody>{rows}</tbody></table></div>",
        )

    def _window(self, row: Mapping[Any, Any], span: int) -> str:
        a = self.answer
        places = place_words(tuple(str(row["place"]).split()), self.say)
        unit = SHOWN[a.units]["depth"]
        read = float(convert(row["read_raw_mm"], "mm", unit))
        left = words.distance_range(row["km_left_p10"], row["km_left_p90"], a.units, self.say)
        known = pd.notna(row["date_p10"]) and pd.notna(row["date_p90"])
        said = (
            words.date_range(row["date_p10"], row["date_p90"], self.say) if known else self.say["not-known"]
        )
        bar = ""
        if known:
            days = ((row[f"date_p{q}"] - a.as_of).days for q in (10, 25, 50, 75, 90))
            low, soon, middle, late, high = (100 * min(max(day, 0) / span, 1.0) for day in days)
            bar = (
                f'<span class="bar"><i class="w" style="left:{low:.1f}%;width:{high - low:.1f}%"></i>'
                f'<i class="n" style="left:{soon:.1f}%;width:{late - soon:.1f}%"></i>'
                f'<i class="m" style="left:{middle:.1f}%"></i></span>'
            )
        rank = f"{row['date_p50']:%Y%m%d}" if pd.notna(row["date_p50"]) else "99999999"
        mark = {3: self.say["mark-now"], 2: self.say["mark-soon"]}.get(int(row["severity"]), "")
        vehicle = escape(str(row["vehicle_id"])) + (f" <b>{escape(mark)}</b>" if mark else "")
        order = np.nan_to_num(row["km_left_p50"], nan=1e9)
        depth = self.say["never-read"] if np.isnan(read) else self._number(read, 1)
        cells = (
            ("group", "", escape(str(row["group"]))),
            ("first", "", escape(places)),
            ("read", f"{np.nan_to_num(read, nan=1e9):.3f}", depth),
            ("left", f"{order:.0f}", escape(left.removesuffix(f" {self.far}"))),
            ("between", rank, escape(said)),
        )
        said_cells = "".join(
            f'<td data-label="{escape(self._head(name))}"'
            + (f' class="number" data-sort="{sort}"' if sort else "")
            + f">{cell}</td>"
            for name, sort, cell in cells
        )
        group = escape(str(row["group"]))
        head = f'<tr data-group="{group}"><th scope="row">{vehicle}</th>'
        return f'{head}{said_cells}<td class="track">{bar}</td></tr>'

    def _head(self, name: str) -> str:
        deep = label(SHOWN[self.answer.units]["depth"], self.say)
        return self.say[f"head-{name}"].format(unit=self.far, deep=deep)

    def sets(self) -> str:
        """Sets in store; nothing where no vehicle has one."""
        rows = [
            (escape(str(row["vehicle_id"])), f"{row['change']:%Y-%m-%d}",
             escape(words.date_range(row["date_p10"], row["date_p90"], self.say) if pd.notna(row["date_p90"])
                    else self.say["not-known"]))
            for row in self.answer.stored.to_dict("records")
        ]  # fmt: skip
        return self._section("sets", self._table(("vehicle", "change", "due"), rows)) if rows else ""

    def months(self) -> str:
        a = self.answer
        if a.months.empty:
            return self._section("months", self._none("months"))
        from tirelife.charts import monthly_budget

        chart = self._drawn(
            lambda width: monthly_budget(a.months, width=width - 60, height=170, say=self.say)
        )
        rows = [
            (escape(row["tire_line"] or self.say["not-known"]), self._number(row["expected"]),
             self._range(row["lower"], row["upper"]))
            for row in a.lines.to_dict("records")
        ]  # fmt: skip
        return self._section("months", chart + self._table(("line", "year", "range"), rows))

    def money(self) -> str:
        a, say = self.answer, self.say
        if a.costs.empty:
            return self._section("money", self._none("money"))
        per = float(convert(1.0, "km", SHOWN[a.units]["distance"]))
        rows = [
            (escape(str(row["group"])), escape(str(row["tire_line"])), 
             self._number(row["cost_per_1000km"] / per, 2),
             self._range(row["cost_lower_per_1000km"] / per, row["cost_upper_per_1000km"] / per, 2))
            for row in a.costs.to_dict("records")
        ]  # fmt: skip
        body = self._table(("group", "line", "cost", "range"), rows)
        saved = [
            (escape(str(row["group"])), escape(self._saving(row)), self._number(row["saved_a_year"]),
             self._range(row["lower"], row["upper"]))
            for row in a.savings.to_dict("records")
        ]  # fmt: skip
        if saved:
            body += f"<h3>{escape(say['fleet-saved'])}</h3>" + self._table(
                ("group", "if", "saved", "range"), saved
            )
        return self._section("money", body)

    def groups(self) -> str:
        a, say = self.answer, self.say
        if a.comparison is None:
            return self._section("groups", f"<p>{escape(say['groups-none'].format(why=a.why_no_groups))}</p>")
        said = "".join(f"<li>{escape(self._pair(row))}</li>" for row in a.comparison.pairs.to_dict("records"))
        hidden = say["groups-hidden"].format(n=a.comparison.hidden) if a.comparison.hidden else ""
        fair = "".join(f"<p class=small>{escape(say[f'fair-{i}'])}</p>" for i in (1, 2, 3))
        return self._section("groups", f"<ul>{said}</ul><p class=small>{escape(hidden)}</p>{fair}")

    def wear(self) -> str:
        a, say = self.answer, self.say
        if a.wear.empty:
            return self._section("wear", self._none("wear"))
        from tirelife.charts import vehicles_in_order

        shown = a.wear if len(a.wear) <= 40 else pd.concat([a.wear.head(20), a.wear.tail(20)])
        chart = self._drawn(lambda width: vehicles_in_order(shown, width=width - 120, say=self.say))
        odd = a.wear.loc[a.wear["odd"], ["vehicle_id", "ratio"]]
        named = [f"{v} ({100 * (r - 1):+.0f} %)" for v, r in odd.itertuples(index=False)]
        text = say["wear-odd"].format(names=words.joined(named, say["and"])) if named else say["wear-even"]
        return self._section("wear", f"<p>{escape(text)}</p>{chart}")

    def measure(self) -> str:
        rows = [
            (escape(str(row["vehicle_id"])), escape(self._since(row["days"])),
             escape("" if pd.isna(row["width"]) else f"{row['width']:.0%}"))
            for row in self.answer.measure.head(MOST_MEASURED).to_dict("records")
        ]  # fmt: skip
        return self._section("measure", self._table(("vehicle", "since", "width"), rows))

    def care(self) -> str:
        said = "".join(f"<li>{escape(text)}</li>" for text in cautions(self.answer.units, self.say))
        return self._section("care", f"<ul class=small>{said}</ul>")

    def _number(self, value: float, digits: int = 0) -> str:
        return written(places(value, digits), self.answer.units, self.say)

    def _range(self, low: float, high: float, digits: int = 0) -> str:
        return self.say["range"].format(low=self._number(low, digits), high=self._number(high, digits))

    def _pair(self, row: Mapping[Any, Any]) -> str:
        """What a comparison of two groups found, with why it may not be the group itself."""
        say = self.say
        names = {"group": row["group"], "other": row["other"]}
        if not np.isfinite(row["ratio"]):
            return say["groups-untold"].format(**names)
        code = "same" if not row["different"] else "unlike" if row["ratio"] > 1 else "slower"
        share = {
            n: f"{100 * (row[f'family_{k}'] - 1):+.0f}%" for n, k in (("low", "lower"), ("high", "upper"))
        }
        more = f"{100 * abs(row['ratio'] - 1):.0f}%"
        least = f"{100 * (row['detectable_ratio'] - 1):.0f}%"
        said = say[f"groups-{code}"].format(**names, **share, more=more, least=least)
        return said if row["told_apart"] else f"{said} {say['groups-not-itself']}"

    def _saving(self, row: Mapping[Any, Any]) -> str:
        by_drivers = self.answer.comparison is not None and self.answer.comparison.by == "driver_group"
        code = "pressure" if row["part"] == "pressure" else "drove" if by_drivers else "wore"
        change = self.say[f"saved-{code}"].format(other=row["other"])
        return f"{change} ({self.say[BASES[row['part']]]})"

    def _since(self, days: float) -> str:
        return self.say["never-read"] if np.isnan(days) else words.span_of_time(days, self.say)

    def _told(self, vehicle: str, index: int) -> tuple[str, str]:
        decision: Decision = self.answer.decisions[vehicle]
        said = action_words(decision.actions[index], self.answer.units, self.language, brief=True)
        return escape(vehicle), escape(said)

    def _none(self, name: str) -> str:
        return f"<p>{escape(self.say[f'none-{name}'])}</p>"

    def _section(self, name: str, body: str) -> str:
        title = escape(self.say[f"fleet-{name}"])
        return f'<section aria-labelledby="h-{name}"><h2 id="h-{name}">{title}</h2>{body}</section>'

    def _table(self, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
        numbers = {"count", "year", "cost", "saved", "range", "width"}
        kind = [' class="number"' if head in numbers else "" for head in heads]
        top = "".join(
            f"<th scope=col{k}>{escape(self._head(h))}</th>" for h, k in zip(heads, kind, strict=True)
        )
        body = "".join(
            "<tr>" + "".join(f"<td{k}>{cell}</td>" for cell, k in zip(row, kind, strict=True)) + "</tr>"
            for row in rows
        )
        return f'<div class="wide"><table><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table></div>'

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
