"""Score an import against what a style's maker knows."""

from __future__ import annotations

import tirelife

_UNITS = ("32nds", "mm", "psi", "mi", "km", "bar", "kpa")


def understood(plan, holds):
    """How many columns were taken for what they hold; units are left aside."""
    got = {header or column: taken for _, column, header, taken, _, _ in plan.columns.itertuples(index=False)}
    return sum(_plain(got.get(header, "")) == what for header, what in holds.items())


def _plain(text):
    return " ".join(word for word in text.split() if word not in _UNITS)


def fitting_right(log, folder):
    """Of the tires now mounted, those whose first reading is the true one: (right, all)."""
    book = tirelife.read_logbook(folder)
    mounts, depths, stretches = book.mounts, book.depths, book.stretches
    now = stretches[stretches["open"]].set_index(["vehicle_id", "position"])["tire_id"]
    right = 0
    for (vehicle, position), day in log.first_read.items():
        tire = now.get((vehicle, position))
        start = mounts[mounts["tire_id"] == tire].sort_values("date", kind="stable").iloc[0]
        read = depths[depths["vehicle_id"] == vehicle].drop_duplicates("date").sort_values("date")
        after = read[(read["date"] > start["date"]) | (
            (read["date"] == start["date"]) & (read["odometer_km"] >= start["odometer_km"] - 1e-6))]  # fmt: skip
        right += len(after) > 0 and after["date"].iloc[0] == day
    return right, len(log.first_read)
