"""What a counter's page needs to ask about slips as the log's own reader does.

The rule is that of :mod:`tirelife.logbook.slips`, with what the shop's log says of wear, starts and errors;
the page's script ``slips.js`` works it for a visit and the one before it.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from tirelife.logbook import (
    GROOVES,
)
from tirelife.logbook.slips import (
    STEPS,
    USUAL_WEAR,
    WHEELS,
    Law,
    Visits,
    digits_rule,
    learn,
    odds_rule,
    spreads_rule,
)
from tirelife.positions import ROAD
from tirelife.tread import tire_visits
from tirelife.units import INCH_32ND_MM, convert

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["slip_rule", "visits_of_log"]

_USUAL_START_MM: Final = 8.0


def slip_rule(book: Logbook | None = None) -> dict[str, Any]:
    """The rule as plain numbers, learned from a log where one is given.

    Parameters
    ----------
    book : Logbook, optional
    """
    law, usual = Law(USUAL_WEAR, _USUAL_START_MM), 0.5
    visits = None if book is None else visits_of_log(book)
    if book is not None and visits is not None:
        law, _ = learn(visits)
        off = digits_rule()["off"]
        k, n = visits.off_halves, visits.readings
        said = [k * np.log(p) + (n - k) * np.log1p(-p) for p in (off["halves"], off["tenths"])]
        usual = float(((said[0] >= said[1]).sum() + 0.5) / (len(visits) + 1.0))
    units = {"mm": 1.0, "32nds": INCH_32ND_MM}
    known = {"law": asdict(law), "usual": usual, "units": units, "steps": list(STEPS)}
    return {**odds_rule(), **spreads_rule(), **digits_rule(), **known}


def visits_of_log(book: Logbook) -> Visits | None:
    """Visits of a logbook that was read, as the rule takes them; None if no road wheel was ever read."""
    table = tire_visits(book)
    road = table["position"].isin(ROAD)
    table = table[road & table["tire_id"].ne("") & table["depth_mm"].notna()]
    if table.empty:
        return None
    table = table.sort_values(["vehicle_id", "date", "odometer_km"], kind="stable")
    new = book.tires.drop_duplicates("tire_id").set_index("tire_id")["new_depth_mm"]
    visit, names = pd.factorize(pd.MultiIndex.from_frame(table[["vehicle_id", "date"]]))
    wheel = table["position"].map({p: i for i, p in enumerate(ROAD)}).to_numpy()
    shape = (len(names), WHEELS)

    def laid(values: Any, empty: float) -> Any:
        out = np.full(shape, empty)
        out[visit, wheel] = np.asarray(values, dtype=float)
        return out

    cells = np.full((*shape, len(GROOVES)), np.nan)
    cells[visit, wheel] = table[[f"{groove}_mm" for groove in GROOVES]].to_numpy(float)
    depths = book.depths
    unit = "32nds" if book.units == "us" else "mm"
    twice = 2 * np.asarray(convert(depths["depth_mm"].to_numpy(float), "mm", unit))
    depths["off"] = np.abs(twice - np.round(twice)) > 2e-3
    digits = depths.groupby(["vehicle_id", "date"])["off"].agg(["sum", "size"]).reindex(names).fillna(0)
    first = np.unique(visit, return_index=True)[1]
    grooves = np.isfinite(cells).sum(axis=2)
    return Visits(
        vehicle=pd.factorize(table["vehicle_id"])[0][first].astype(np.intp),
        day=(table["date"].to_numpy()[first] - np.datetime64(0, "us"))
        .astype("timedelta64[D]")
        .astype(np.int64),
        km=table["odometer_km"].to_numpy(float)[first],
        moved=np.zeros(len(names), dtype=bool),
        life=laid(pd.factorize(table["tire_id"])[0], -1).astype(np.intp),
        depth=laid(table["depth_mm"], np.nan),
        run=laid(table["tire_km"].fillna(0.0), 0.0),
        new=laid(table["tire_id"].map(new), np.nan),
        grooves=grooves,
        records=np.zeros(0, dtype=np.intp),
        visit=np.zeros(0, dtype=np.intp),
        off_halves=digits["sum"].to_numpy(float),
        readings=digits["size"].to_numpy(float),
        step=float(np.nan_to_num(table["resolution_mm"].median())),
        cells=cells,
        counts=np.isfinite(cells).astype(np.intp),
        place=np.zeros(0, dtype=np.intp),
    )
