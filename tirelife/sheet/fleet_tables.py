"""The owner's tables as text: the page and the notebook show the same cells, rounded here alone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from tirelife.sheet import words
from tirelife.sheet.days import in_order
from tirelife.sheet.language import action_words, place_words, texts, upper_first
from tirelife.sheet.quantities import decimals, label, percent_over, places, rounded, written
from tirelife.units import SHOWN, convert

if TYPE_CHECKING:
    from tirelife.sheet.fleet import FleetAnswer

__all__ = ["HEADS", "FleetTexts", "fleet_table", "heading", "window_rows", "window_texts"]

MOST_MEASURED: Final = 12
MONTH: Final = pd.Timedelta(days=31)
HEADS: Final[dict[str, tuple[str, ...]]] = {
    "hands": ("vehicle", "what"),
    "buy": ("vehicle", "what", "count", "line", "bill", "thrown", "by"),
    "windows": ("vehicle", "group", "first", "read", "left", "between"),
    "sets": ("vehicle", "change", "due"),
    "lines": ("line", "year", "range"),
    "costs": ("group", "line", "cost", "range"),
    "savings": ("group", "if", "saved", "range"),
    "measure": ("vehicle", "since", "width"),
}
"""Codes of the headings of each table."""
_BASES: Final = {"habits together": "basis-habits", "total": "basis-all", "pressure": "basis-pressure"}
"""What a saving rests on, by the part of a difference that it is of."""


def fleet_table(
    answer: FleetAnswer, name: str, language: str = "en", most: int | None = None
) -> pd.DataFrame:
    """One of the owner's tables under headings in words and units, its numbers rounded by the page's rule.

    Parameters
    ----------
    answer : FleetAnswer
    name : str
        A key of :data:`HEADS`.
    language : str
    most : int, optional
        Rows to show; all by default.

    Returns
    -------
    DataFrame
        Text. Rows stand as on the page, most urgent or soonest first.
    """
    texts_ = FleetTexts(answer, language)
    rows = getattr(texts_, name)()
    heads = [texts_.head(code) for code in HEADS[name]]
    return pd.DataFrame(rows if most is None else rows[:most], columns=heads)


def window_rows(answer: FleetAnswer, most: int = 24, language: str = "en") -> pd.DataFrame:
    """The vehicles due first, as :func:`tirelife.charts.replacement_windows` draws them.

    Parameters
    ----------
    answer : FleetAnswer
    most : int
        Rows.
    language : str

    Returns
    -------
    DataFrame
        label, said, date_p10 … date_p90; vehicles without a date are left out.
    """
    say = texts(language)
    dated = answer.vehicles[answer.vehicles["date_p90"].notna()].head(most)
    said = [
        words.date_range(low, high, say)
        for low, high in zip(dated["date_p10"], dated["date_p90"], strict=True)
    ]
    return dated.assign(label=dated["vehicle_id"], said=said).reset_index(drop=True)


def heading(code: str, units: str, say: Mapping[str, str]) -> str:
    """Heading of a column, with its unit."""
    far, deep = (label(SHOWN[units][kind], say) for kind in ("distance", "depth"))
    return upper_first(say[f"head-{code}"].format(unit=far, deep=deep))


def window_texts(row: Mapping[Any, Any], units: str, say: Mapping[str, str]) -> tuple[str, ...]:
    """One row of :attr:`FleetAnswer.vehicles` in words, in the order of the table ``windows``."""
    mark = {3: say["mark-now"], 2: say["mark-soon"]}.get(int(row["severity"]), "")
    read = float(convert(row["read_raw_mm"], "mm", SHOWN[units]["depth"]))
    left = words.distance_range(row["km_left_p10"], row["km_left_p90"], units, say)
    return (
        f"{row['vehicle_id']} {mark}".strip(),
        str(row["group"]),
        place_words(tuple(str(row["place"]).split()), say),
        say["never-read"] if np.isnan(read) else written(places(read, 1), units, say),
        left.removesuffix(f" {label(SHOWN[units]['distance'], say)}"),
        words.date_range(row["date_p10"], row["date_p90"], say),
    )


class FleetTexts:
    """Cells of the owner's tables, a method a table; rows are tuples in the order of :data:`HEADS`."""

    def __init__(self, answer: FleetAnswer, language: str = "en", order: str = "") -> None:
        self.answer, self.language, self.say = answer, language, texts(language)
        self.order = order or in_order(answer.units)

    def head(self, code: str) -> str:
        """Heading of a column, with its unit."""
        return heading(code, self.answer.units, self.say)

    def lead(self) -> str:
        """How many cannot wait, how many to call in, and what to buy this month."""
        a, say = self.answer, self.say
        text = say["fleet-lead"].format(
            hands=a.hands["vehicle_id"].nunique(), buy=a.buy["vehicle_id"].nunique()
        )
        if a.months.empty:
            return text
        first = a.months.iloc[0]
        middle, low, high = (f"{first[name]:.0f}" for name in ("expected", "lower", "upper"))
        return f"{text} {say['fleet-lead-month'].format(expected=middle, low=low, high=high)}"

    def hands(self) -> list[tuple[str, ...]]:
        """What cannot wait."""
        return [(v, self.told(v, i)) for v, i in self.answer.hands.itertuples(index=False)]

    def buy(self) -> list[tuple[str, ...]]:
        """Whom to call in, and what for."""
        rows: list[tuple[str, ...]] = []
        for row in self.answer.buy.to_dict("records"):
            by = words.month_year(row["by"], self.say) if pd.notna(row["by"]) else ""
            said = self.told(row["vehicle_id"], row["action"])
            money = [self.money(row[name]) for name in ("cost", "thrown_away")]
            line = row["tire_line"] or self.say["not-known"]
            rows.append((str(row["vehicle_id"]), said, str(row["count"]), line, *money, by))
        return rows

    def month(self) -> str:
        """The coming month's list by scope, with its bill; empty if there is nothing on it."""
        listed = self.answer.buy
        soon = listed[listed["by"].isna() | (listed["by"] <= self.answer.as_of + MONTH)]
        if soon.empty:
            return ""
        parts = []
        for scope, n in soon["scope"].value_counts().items():
            many = "many" if n > 1 else "one"
            parts.append(self.say[f"buy-{scope}-{many}"].format(n=n))
        return self.say["fleet-month-list"].format(
            tires=int(soon["count"].sum()),
            parts=words.joined(parts, self.say["and"]),
            bill=self.money(soon["cost"].sum(skipna=False)),
            thrown=self.money(soon["thrown_away"].sum(skipna=False)),
        )

    def money(self, value: float) -> str:
        """An amount in the currency of the prices, or that it is not known."""
        return self.number(value) if value == value else self.say["not-known"]

    def windows(self) -> list[tuple[str, ...]]:
        """When each vehicle is due."""
        return [self.window(row) for row in self.answer.vehicles.to_dict("records")]

    def window(self, row: Mapping[Any, Any]) -> tuple[str, ...]:
        """One row of :attr:`FleetAnswer.vehicles`."""
        return window_texts(row, self.answer.units, self.say)

    def sets(self) -> list[tuple[str, ...]]:
        """Sets in store."""
        return [
            (str(row["vehicle_id"]), words.full_date(row["change"], self.order, self.say),
             words.date_range(row["date_p10"], row["date_p90"], self.say))
            for row in self.answer.stored.to_dict("records")
        ]  # fmt: skip

    def lines(self) -> list[tuple[str, ...]]:
        """Tires to buy in the coming year, by kind."""
        return [
            (row["tire_line"] or self.say["not-known"], self.number(row["expected"]),
             self.span(row["lower"], row["upper"]))
            for row in self.answer.lines.to_dict("records")
        ]  # fmt: skip

    def costs(self) -> list[tuple[str, ...]]:
        """What the tires of each group cost, with each kind."""
        per, blank = float(convert(1.0, "km", SHOWN[self.answer.units]["distance"])), self.say["not-known"]
        return [
            (
                str(row["group"]),
                row["tire_line"] or blank,
                *self.ranged(
                    row["cost_per_1000km"] / per,
                    row["cost_lower_per_1000km"] / per,
                    row["cost_upper_per_1000km"] / per,
                ),
            )
            for row in self.answer.costs.to_dict("records")
        ]

    def savings(self) -> list[tuple[str, ...]]:
        """What a year would save."""
        return [
            (
                str(row["group"]),
                self._saving(row),
                *self.ranged(row["saved_a_year"], row["lower"], row["upper"]),
            )
            for row in self.answer.savings.to_dict("records")
        ]

    def measure(self) -> list[tuple[str, ...]]:
        """What to measure next."""
        return [
            (str(row["vehicle_id"]), self._since(row["days"]),
             "" if pd.isna(row["width"]) else f"{row['width']:.0%}")
            for row in self.answer.measure.head(MOST_MEASURED).to_dict("records")
        ]  # fmt: skip

    def pairs(self) -> list[str]:
        """What each comparison of two groups found, with why it may not be the groups themselves."""
        found = self.answer.comparison
        return [] if found is None else [self._pair(row) for row in found.pairs.to_dict("records")]

    def told(self, vehicle: str, index: int) -> str:
        """One action of a vehicle's decision, in short."""
        action = self.answer.decisions[vehicle].actions[index]
        return action_words(action, self.answer.units, self.language, brief=True)

    def number(self, value: float, digits: int = 0) -> str:
        """A number as the language writes it."""
        return written(places(value, digits), self.answer.units, self.say)

    def span(self, low: float, high: float, digits: int = 0) -> str:
        """A range."""
        return self.say["range"].format(low=self.number(low, digits), high=self.number(high, digits))

    def ranged(self, value: float, low: float, high: float) -> tuple[str, str]:
        """A number and its range, in steps of at most a tenth of the range."""
        spread = high - low
        digits = decimals(spread)
        ends = (rounded(low, spread), rounded(high, spread))
        return self.number(rounded(value, spread), digits), self.span(*ends, digits)

    def _pair(self, row: Mapping[Any, Any]) -> str:
        say = self.say
        names = {"group": row["group"], "other": row["other"]}
        if not np.isfinite(row["ratio"]):
            return say["groups-untold"].format(**names)
        code = "same" if not row["different"] else "unlike" if row["ratio"] > 1 else "slower"
        share = {n: percent_over(row[f"family_{k}"]) for n, k in (("low", "lower"), ("high", "upper"))}
        more = f"{100 * abs(row['ratio'] - 1):.0f}%"
        least = f"{100 * (row['detectable_ratio'] - 1):.0f}%"
        said = say[f"groups-{code}"].format(**names, **share, more=more, least=least)
        return said if row["told_apart"] else f"{said} {say['groups-not-itself']}"

    def _saving(self, row: Mapping[Any, Any]) -> str:
        by_drivers = self.answer.comparison is not None and self.answer.comparison.by == "driver_group"
        code = "pressure" if row["part"] == "pressure" else "drove" if by_drivers else "wore"
        change = self.say[f"saved-{code}"].format(other=row["other"])
        return f"{change} ({self.say[_BASES[row['part']]]})"

    def _since(self, days: float) -> str:
        return self.say["never-read"] if np.isnan(days) else words.span_of_time(days, self.say)
