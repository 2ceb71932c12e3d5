"""Sheets without ids and mounts: lives found, and how often 80 % ranges hold on what they give."""

from __future__ import annotations

import tempfile
from pathlib import Path

import tirelife
from tests.fleets import Fleet
from tests.logbook.sheets.score import fitting_right, understood
from tests.logbook.sheets.styles import STYLES, make_log
from tirelife.logbook.sheets import Settings, import_sheet, plan_sheet

NOTED = Fleet(vehicles=25, days=1300, rotation_km=16_000, visit_days=90)
SILENT = Fleet(vehicles=25, days=1300)
STYLE = "us_grooves_two_rows"
SEEDS = range(1, 9)


def run() -> list[dict]:
    rows = []
    with tempfile.TemporaryDirectory() as name:
        top = Path(name)
        for what, fleet in (("work is noted", NOTED), ("nothing is noted", SILENT)):
            right = tires = held = forecasts = good = columns = 0
            for seed in SEEDS:
                log = make_log(top / f"{what}-{seed}", fleet, seed, what == "work is noted")
                (top / f"{what}-{seed}-sheet").mkdir()
                path, holds, told = STYLES[STYLE](log, top / f"{what}-{seed}-sheet")
                good, columns = good + understood(plan_sheet(path), holds), columns + len(holds)
                book = path.parent / "book"
                import_sheet(path, book, Settings(**told))
                found, n = fitting_right(log, book)
                right, tires = right + found, tires + n
                inside, n = ranges_hold(log, book)
                held, forecasts = held + inside, forecasts + n
            note = f"{len(SEEDS)} fleets of {fleet.vehicles} vehicles, style {STYLE}"
            rows.append(
                {
                    "name": f"fitting visit right, {what}",
                    "figure": round(right / tires, 3),
                    "unit": "share",
                    "against": f"{tires} tires",
                    "note": note,
                }
            )
            rows.append(
                {
                    "name": f"80 % ranges hold, {what}",
                    "figure": round(held / forecasts, 3),
                    "unit": "share",
                    "against": f"{forecasts} tires",
                    "note": note,
                }
            )
            rows.append(
                {
                    "name": f"columns understood, {what}",
                    "figure": round(good / columns, 3),
                    "unit": "share",
                    "against": f"{columns} columns",
                    "note": note,
                }
            )
    return rows


def ranges_hold(log, folder):
    """How many present tires' true distances lie in their 80 % ranges: (held, all)."""
    table = tirelife.forecast(tirelife.read_logbook(folder)).set_index(["vehicle_id", "position"])
    held = n = 0
    for row in log.truth.itertuples():
        if (row.name, row.position) not in table.index or (row.name, row.position) not in log.first_read:
            continue
        one = table.loc[(row.name, row.position)]
        # The forecast counts from the last visit, the truth from the fleet's last day.
        left = row.true_km_left + row.odometer_km - one["odometer_km"]
        if one["km_left_p10"] == one["km_left_p10"] and row.shallowest_mm > 2 * 25.4 / 32:
            held += one["km_left_p10"] <= left <= one["km_left_p90"]
            n += 1
    return int(held), n
