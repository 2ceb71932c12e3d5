"""Turn visits into the tables of a logbook, their lives inferred, and write the folder whole."""

from __future__ import annotations

import math
import shutil
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import refusal, said_by_system
from tirelife.logbook.lives import Course, Lives, Seen, infer_lives
from tirelife.logbook.odometers import usable_km
from tirelife.logbook.refused import Refused
from tirelife.logbook.sheets.decide import Conventions
from tirelife.logbook.sheets.mapping import mapping_text
from tirelife.logbook.sheets.memory import FILE, Memory, text_of
from tirelife.logbook.sheets.visits import Entry, Fate
from tirelife.logbook.whole import sync_folder, temporary
from tirelife.logbook.work import work_of
from tirelife.positions import OFF, ROAD
from tirelife.units import convert

if TYPE_CHECKING:
    from tirelife.logbook.sheets.importing import Plan

__all__ = ["Written", "put_back", "tables_of", "write_folder"]

_DOUBTFUL = 0.9
"""A move less likely than this is asked about."""
_SURE = 0.9995
"""A reading more surely its tire's than this has no probability written beside it."""
_HEADS = {
    "vehicles": ["vehicle_id", "drive", "placard_front", "placard_rear", "driver_group"],
    "tires": ["tire_id", "tire_line", "new_depth", "size", "made_week"],
    "mounts": ["date", "odometer", "vehicle_id", "tire_id", "position", "source", "probability"],
    "depths": [
        *("date", "odometer", "vehicle_id", "position", "groove", "depth", "spot"),
        *("probability", "apart", "from_sheet"),
    ],
    "odometer": ["date", "vehicle_id", "odometer"],
    "pressures": ["date", "vehicle_id", "position", "pressure", "state", "odometer", "from_sheet"],
}


@dataclass
class Written:
    """Tables as texts, quantities under their bare names; and the moves and renewals found."""

    tables: dict[str, pd.DataFrame]
    moves: pd.DataFrame
    units: dict[str, str]


def tables_of(visits: list[Entry], how: Conventions, new_depth: float | None) -> Written:
    """Make the tables of a logbook from visits.

    Parameters
    ----------
    visits : list of Entry
        By vehicle and date.
    how : Conventions
    new_depth : float, optional
        Of all new tires. [how.depth_unit]
    """
    units = {
        "depth": how.depth_unit or "mm",
        "odometer": how.distance_unit or "km",
        "pressure": "psi" if how.distance_unit == "mi" else "bar",
    }
    by_vehicle: dict[str, list[Entry]] = defaultdict(list)
    for visit in visits:
        by_vehicle[visit.vehicle].append(visit)
    new_mm = None if new_depth is None else float(convert(new_depth, units["depth"], "mm"))
    told = [v for visit in visits for v in visit.new_depth.values() if math.isfinite(v)]
    usual = new_mm if new_mm is not None else float(np.median(told)) if told else None
    read = [(v.vehicle, v.date, v.odometer_km) for mine in by_vehicle.values() for v in mine]
    at = pd.DataFrame(read, columns=["vehicle_id", "date", "odometer_km"])
    # A slip is no distance: tires are not worn out by it.
    km = usable_km(at.assign(date=pd.to_datetime(at["date"])), units["odometer"])
    ends = np.cumsum([len(mine) for mine in by_vehicle.values()])
    seen = zip(by_vehicle.values(), np.split(km, ends[:-1]), strict=True)
    lives = infer_lives([_seen(mine, run) for mine, run in seen], usual)
    rows: dict[str, list[dict[str, Any]]] = {name: [] for name in _HEADS}
    moves: list[dict[str, Any]] = []
    for (vehicle, mine), life in zip(by_vehicle.items(), lives, strict=True):
        _vehicle(vehicle, mine, life, new_mm, rows, moves, units)
    tables = {
        name: pd.DataFrame(records, columns=_HEADS[name], dtype=object).fillna("").astype(str)
        for name, records in rows.items()
    }
    found = pd.DataFrame(moves, columns=["vehicle_id", "date", "what", "probability", "source", "others"])
    return Written(
        {
            name: t
            for name, t in tables.items()
            if len(t) or name in ("vehicles", "tires", "mounts", "depths")
        },
        found.sort_values("probability", kind="stable", ignore_index=True),
        units,
    )


def _seen(visits: list[Entry], km: NDArray[np.float64]) -> Seen:
    depth = np.full((len(visits), 4), np.nan)
    ids, products = [], []
    for k, visit in enumerate(visits):
        for w, wheel in enumerate(ROAD):
            mine: dict[str, list[float]] = defaultdict(list)
            for place, groove, mm in visit.depths:
                if place == wheel:
                    mine[groove].append(mm)
            if mine:
                depth[k, w] = float(np.mean([np.mean(values) for values in mine.values()]))
        ids.append(tuple(visit.tire_id.get(w, "") for w in ROAD))
        products.append(tuple(visit.product.get(w, visit.product.get("", "")) for w in ROAD))
    return Seen(km, depth, [work_of(visit.note) for visit in visits], ids, products)


def _vehicle(
    vehicle: str, mine: list[Entry], life: Lives, new_mm: float | None, rows: dict[str, list[dict[str, Any]]],
    moves: list[dict[str, Any]], units: dict[str, str],
) -> None:  # fmt: skip
    def km(value: float) -> str:
        return _text(convert(value, "km", units["odometer"]), 1)

    drive = next((v.drive for v in mine if v.drive), "")
    group = next((v.driver for v in reversed(mine) if v.driver), "")
    rows["vehicles"].append({"vehicle_id": vehicle, "drive": drive, "driver_group": group})
    names: dict[int, str] = {}
    wheels = {wheel for v in mine for wheel, _, _ in v.depths} | {w for v in mine for w, _, _ in v.pressures}
    used = [w for w, wheel in enumerate(ROAD) if wheel in wheels]
    for k in range(len(life.tire)):
        visit = mine[k] if k < len(mine) else Entry(vehicle, mine[-1].date, mine[-1].odometer_km)
        # Work done after the reading of a visit shows at the next one: it is dated on the day it was done.
        at = k if life.before_reading[k] else k - 1
        day, odometer = mine[at].date.isoformat(), mine[at].odometer_km
        if k:  # the chain tells readings before the work of their day from those after it by two km
            odometer += -2.0 if life.before_reading[k] else 2.0
        said = work_of(mine[at].note)
        gone = {life.tire[k - 1, w] for w in used} - {life.tire[k, w] for w in used} if k else set()
        for tire in sorted(gone):
            if tire in names:
                rows["mounts"].append(
                    _mount(
                        day,
                        km(odometer),
                        vehicle,
                        names[tire],
                        OFF,
                        "inferred",
                        float(life.probability[k].min()),
                    )
                )
        for w in used:
            tire = int(life.tire[k, w])
            stays = k > 0 and life.source[k, w] == w
            if tire not in names:
                names[tire] = _name(vehicle, ROAD[w], visit, mine[at], names, rows)
                fresh = k > 0 or ROAD[w] in work_of(visit.note).wheels
                _tire(names[tire], visit, ROAD[w], new_mm if fresh else None, fresh, rows, units)
            if stays:
                continue
            recorded = k > 0 and (ROAD[w] in said.wheels and life.source[k, w] < 0)
            recorded |= bool(visit.tire_id.get(ROAD[w]))
            source = "recorded" if recorded else "inferred"
            rows["mounts"].append(
                _mount(
                    day, km(odometer), vehicle, names[tire], ROAD[w], source, float(life.probability[k, w])
                )
            )
        if k and life.pattern[k] != Course.STAY:
            told = said.renewed or said.moved
            others = tuple((name.value, share) for name, share in life.others[k][:3])
            moves.append(
                {
                    "vehicle_id": vehicle,
                    "date": day,
                    "what": life.pattern[k].value,
                    "others": others,
                    "probability": round(life.chance(k), 3),
                    "source": "noted" if told else "inferred",
                }
            )
        elif k and life.chance(k) < _DOUBTFUL:
            others = tuple((name.value, share) for name, share in life.others[k][:3])
            moves.append({
                "vehicle_id": vehicle, "date": day, "what": Course.STAY.value, "others": others,
                "probability": round(life.chance(k), 3), "source": "inferred",
            })  # fmt: skip
        if k < len(mine):
            doubt = {w: (life.same[k, i], life.apart_mm[k, i]) for i, w in enumerate(ROAD)}
            _readings(vehicle, visit, doubt, rows, units, km)


def _mount(
    day: str, odometer: str, vehicle: str, tire: str, place: str, source: str, chance: float
) -> dict[str, Any]:
    return {
        "date": day, "odometer": odometer, "vehicle_id": vehicle, "tire_id": tire, "position": place,
        "source": source, "probability": _text(min(max(chance, 0.0), 1.0), 3),
    }  # fmt: skip


def _name(
    vehicle: str,
    wheel: str,
    visit: Entry,
    work: Entry,
    names: dict[int, str],
    rows: dict[str, list[dict[str, Any]]],
) -> str:
    """A tire's own id where it is recorded; else vehicle, wheel and month of its start."""
    taken = {row["tire_id"] for row in rows["tires"]}
    own = visit.tire_id.get(wheel, "")
    name = own if own and own not in taken else f"{vehicle} {wheel} {work.date:%Y-%m}"
    base, number = name, 2
    while name in taken:
        name, number = f"{base} ({number})", number + 1
    return name


def _tire(
    name: str,
    visit: Entry,
    wheel: str,
    new_mm: float | None,
    fresh: bool,
    rows: dict[str, list[dict[str, Any]]],
    units: dict[str, str],
) -> None:
    told = visit.new_depth.get(wheel, visit.new_depth.get("", math.nan))
    depth = new_mm if new_mm is not None else told if math.isfinite(told) else None
    rows["tires"].append({
        "tire_id": name,
        "tire_line": visit.product.get(wheel, visit.product.get("", "")),
        "new_depth": "" if depth is None else _text(convert(depth, "mm", units["depth"]), 3),
        "size": visit.size.get(wheel, visit.size.get("", "")),
        "made_week": visit.made_week.get(wheel, visit.made_week.get("", "")),
    })  # fmt: skip


def _readings(
    vehicle: str, visit: Entry, doubt: dict[str, tuple[float, float]], rows: dict[str, list[dict[str, Any]]],
    units: dict[str, str], km: Any,
) -> None:  # fmt: skip
    day, odometer = visit.date.isoformat(), km(visit.odometer_km)
    place = "; ".join(f"{tab}:{row}" for tab, row in visit.rows)
    spots: dict[tuple[str, str], int] = {}
    doubled = {(w, g) for w, g, _ in visit.depths if sum((a, b) == (w, g) for a, b, _ in visit.depths) > 1}
    for wheel, groove, mm in visit.depths:
        spots[wheel, groove] = spots.get((wheel, groove), 0) + 1
        rows["depths"].append({
            "date": day, "odometer": odometer, "vehicle_id": vehicle, "position": wheel, "groove": groove,
            "depth": _text(convert(mm, "mm", units["depth"]), 5),
            "spot": str(spots[wheel, groove]) if (wheel, groove) in doubled else "",
            **_doubt(doubt.get(wheel, (1.0, 0.0)), units),
            "from_sheet": place,
        })  # fmt: skip
    for wheel, kpa, _ in visit.pressures:
        rows["pressures"].append({
            "date": day, "vehicle_id": vehicle, "position": wheel, "state": "cold", "odometer": odometer,
            "pressure": _text(convert(kpa, "kpa", units["pressure"]), 3), "from_sheet": place,
        })  # fmt: skip
    if not visit.depths:
        rows["odometer"].append({"date": day, "vehicle_id": vehicle, "odometer": odometer})


def _doubt(doubt: tuple[float, float], units: dict[str, str]) -> dict[str, str]:
    """Cells of how surely a reading is its tire's, and how far off another's is; blank where it is sure."""
    sure, apart = doubt
    if sure > _SURE:
        return {"probability": "", "apart": ""}
    far = float(convert(apart, "mm", units["depth"]))
    return {"probability": _text(max(sure, 0.0), 3), "apart": _text(far, 4)}


def _text(value: float, places: int) -> str:
    rounded = round(float(value), places)
    return f"{rounded:.0f}" if rounded == int(rounded) else f"{rounded:.{places}f}".rstrip("0")


def write_folder(
    out: Path, made: Written, memory: Memory, visits: list[Entry], plan: Plan, fates: list[Fate]
) -> None:
    """Write a logbook folder, whole or not at all; what somebody added to the one before stays in it."""
    named = {}
    for name, table in made.tables.items():
        quantities = dict.fromkeys(("depth", "new_depth", "apart"), "depth") | {"odometer": "odometer"}
        quantities |= dict.fromkeys(("pressure", "placard_front", "placard_rear"), "pressure")
        own = {c: f"{c}_{made.units[quantities[c]]}" for c in table.columns if c in quantities}
        named[name] = table.rename(columns=own)
    try:
        with temporary(out.resolve(), folder=True) as part:
            for name, table in named.items():
                added = pd.DataFrame(memory.added.get(name, [])).reindex(columns=table.columns, fill_value="")
                key = {"vehicles": "vehicle_id", "tires": "tire_id"}.get(name)
                if key is not None:
                    added = _kept_by_hand(added, table, key)
                    table = table[~table[key].isin(added[key])]
                pd.concat([table, added], ignore_index=True).to_csv(part / f"{name}.csv", index=False)
            for name in memory.added.keys() - named.keys():
                pd.DataFrame(memory.added[name]).to_csv(part / f"{name}.csv", index=False)
            (part / FILE).write_text(text_of(visits, named), encoding="utf-8")
            (part / "mapping.toml").write_text(mapping_text(plan), encoding="utf-8")
            told = [(f.tab, f.row, f.status, f.reason) for f in [*fates, *plan.left_tabs]]
            pd.DataFrame(told, columns=["tab", "row", "status", "reason"]).to_csv(
                part / "rows_of_sheet.csv", index=False
            )
            part.chmod(0o755)
            _put_in_place(part, out)
    except OSError as error:
        raise refusal(out, Refused.UNWRITTEN, why=said_by_system(error)) from error


def _put_in_place(part: Path, out: Path) -> None:
    """Let a finished folder take the place of the one before, which no stop in between can lose."""
    before = _before(out)
    if out.exists():
        out.rename(before)
    part.rename(out)
    sync_folder(out.resolve().parent)
    shutil.rmtree(before, ignore_errors=True)


def put_back(out: Path) -> None:
    """Put back the folder that an import was replacing when it was stopped; clear what it left behind."""
    before = _before(out)
    if not before.exists():
        return
    if out.exists():
        shutil.rmtree(before, ignore_errors=True)
    else:
        before.rename(out)


def _before(out: Path) -> Path:
    return out.resolve().with_name(f".{out.resolve().name[:40]}.before")


def _kept_by_hand(added: pd.DataFrame, table: pd.DataFrame, key: str) -> pd.DataFrame:
    """Vehicles and tires that somebody completed or added: theirs win over what the sheet says."""
    return added.drop_duplicates(key, keep="last")
