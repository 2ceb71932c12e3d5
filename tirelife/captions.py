"""English of the charts, by code; another language hands its own table to the same charts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

__all__ = ["WORDS", "time_locale"]

WORDS: Final[dict[str, str]] = {
    "chart-date": "Date (month and year)",
    "chart-depth-read": "As read",
    "chart-depth-least": "Least",
    "chart-odometer": "Odometer",
    "chart-left": "Left in the set, middle of the range",
    "chart-share": "Share of the wear since new (percent)",
    "chart-buy": "Tires to buy (number)",
    "chart-month": "Month from (day of the last record)",
    "chart-ratio": "Wear of its tires over the fleet's average (ratio)",
    "chart-deep-us": "32nds of an inch",
    "chart-deep-metric": "mm",
    "chart-outer": "outer",
    "chart-outer_mid": "outer middle",
    "chart-center": "center",
    "chart-inner_mid": "inner middle",
    "chart-inner": "inner",
    "chart-least": " (least)",
    "chart-said-windows": "Replacement window of each tire on a calendar. Light bar: 8 chances in 10; dark bar: 5 in 10; "
    "tick: the middle date. {rows}.",
    "chart-said-profiles": "Section through the tread of each wheel, as read, in {unit}. {rows}. Removal depth {limit}.",
    "chart-said-distance": "Least depth in {unit} against the odometer: dots are read, less the gauge's bias, the line is the "
    "likeliest path ahead of today's estimate, the bands hold 5 and 8 chances in 10, the dashed line is the removal depth, {limit}. {rows}.",
    "chart-said-date": "Least depth in {unit} against date: dots are read, less the gauge's bias, the line is the likeliest "
    "path ahead of today's estimate, the bands hold 5 and 8 chances in 10, the dashed line is the removal depth, {limit}. {rows}.",
    "chart-read": "{label}: {n} readings, last read {depth}",
    "chart-unread": "{label}: no readings",
    "chart-said-causes": "What wore the tires, as shares of the wear since new that sum to the whole. {rows}.",
    "chart-said-changes": "Distance left before and after each change. Open dot: as it is; full dot: after, with a thin line "
    "that holds 8 chances in 10. {rows}.",
    "chart-said-months": "Tires to buy by month, {total} in all; the line holds 8 chances in 10. {rows}.",
    "chart-said-vehicles": "How fast each vehicle wears its tires, over the fleet's average, on 80 percent ranges. {rows}.",
    "chart-speed-share": "Share of the distance (percent)",
    "chart-speed-row": "{band}: {percent} percent, usual driver {usual}",
    "chart-said-speeds": "Share of the distance driven at each speed. Bar: this vehicle; tick: the usual driver. {rows}.",
    "chart-left-tire": "Left in each tire",
    "chart-stays": "stays",
    "chart-turns": "rotated",
    "chart-rotation-row": "{label}: {stays} if it stays, {turns} if the set is rotated",
    "chart-said-rotation": "Distance left of each tire. Open dot: if it stays where it is; full dot: if the set is rotated; "
    "lines hold 8 chances in 10. {rows}.",
    "chart-range": "{name} {middle}, {low} to {high}",
    "chart-was-left": "Distance that was left",
    "chart-forecast": "Forecast",
    "chart-said-lives": "{n} forecasts of the distance left of {tires} tires that wore out, against what was left; {inside} of the 80 percent ranges hold it. Tires not yet worn out are not drawn.",
    "chart-title-lives": "{inside} of {n} ranges hold the distance that was left (80 percent should)",
    "chart-promised": "Stated (percent)",
    "chart-found": "Found (percent)",
    "chart-outside": "outside",
    "chart-inside": "inside",
    "chart-target-depth": "mean depth",
    "chart-target-depth-known-mounts": "mean depth over known mounts",
    "chart-target-distance": "distance",
    "chart-target-date": "date",
    "chart-target-first": "first of the set",
    "chart-target-first-date": "date of the first",
    "chart-said-reliability": "Share of what came later under each forecast quantile, against the share stated; the band is what chance makes of it. {rows}.",
    "chart-title-inside": "Every curve lies in what chance makes of honest ranges",
    "chart-title-outside": "Outside what chance makes of honest ranges: {names}",
    "chart-day": "Day of the reading",
    "chart-mean-groove": "Mean of the grooves, corrected",
    "chart-said-fitted": "Depths of the tires of {vehicles} vehicles over the odometer, with the fitted path of each tire. {n} readings, of which {odd} count less.",
    "chart-title-fitted": "{odd} of {n} readings lie so far off their tire's path that they count less",
    "chart-residual": "Reading less fit (standard errors)",
    "chart-said-residuals": "What the fit leaves of {n} readings, in standard errors, against {against}: {inside} lie inside two standard errors, where 95 % should.",
    "chart-title-residuals": "{inside} of readings lie inside two standard errors, where 95 % should",
    "chart-first-second": "Wear of the first over the second (ratio)",
    "chart-pair-row": "{pair}: raw {raw}, adjusted {adjusted}, {low} to {high}",
    "chart-said-ratios": "Ratios of wear between groups. Open dot: raw; full dot: adjusted, on its range, with a thin line for all pairs at once; a diamond is not told apart; the upright line is no difference. {rows}.",
    "chart-title-ratios": "{sure} of {n} pairs differ beyond what chance makes of all pairs at once",
    "chart-over": "{group} over {other}",
    "chart-wear-of": "Wear of {pair} (ratio)",
    "chart-said-parts": "What lies behind the wear of {pair}: dots on their ranges, which multiply to the total. {rows}.",
    "chart-title-parts": "What lies furthest from no difference: {part}, {ratio} times",
    "chart-read-on": "Date of the reading",
    "chart-cold": "Cold pressure",
    "chart-said-pressures": "Cold pressures of each wheel over time; the line is the placard. {n} readings, {low} of them below it.",
    "chart-range-row": "{name}: {middle}, {low} to {high}",
    "chart-said-estimates": "Estimates on their 95 percent ranges, {unit}. {rows}.",
}


def time_locale(say: Mapping[str, str], units: str) -> dict[str, Any]:
    """Names of months and signs of numbers for a chart's axes, as Vega's ``config.locale`` takes them.

    Parameters
    ----------
    say : mapping
        A language's table, with ``month-1`` … ``month-12``, ``point-…`` and ``group-…``.
    units : str
        ``"us"`` or ``"metric"``.
    """
    months = [say[f"month-{i}"] for i in range(1, 13)]
    days = ["-"] * 7  # no axis names a day
    return {
        "number": {
            "decimal": say[f"point-{units}"], "thousands": say[f"group-{units}"], "grouping": [3],
            "currency": ["", ""],
        },
        "time": {
            "dateTime": "%x %X", "date": "%d/%m/%Y", "time": "%H:%M", "periods": ["", ""], "days": days,
            "shortDays": days, "months": months, "shortMonths": [m[:3] for m in months],
        },
    }  # fmt: skip
