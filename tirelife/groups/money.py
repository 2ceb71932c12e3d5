"""What tires cost by distance, what a change would save, and when a better tire line pays.

Money is in whatever the prices are in; the package knows no currency.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from tirelife.errors import misused
from tirelife.groups.advice import Basis, Change, Remark, Worth
from tirelife.groups.budget import replacements_by_month
from tirelife.groups.compare import shown_groups
from tirelife.groups.design import adjust_columns
from tirelife.groups.fitting import Fitted, fit_groups, group_ratio
from tirelife.groups.result import GroupComparison
from tirelife.groups.why import pressure_excess
from tirelife.groups.wrong import Wrong
from tirelife.rates import mileage
from tirelife.tread import REMOVAL_DEPTH_MM

if TYPE_CHECKING:
    from tirelife.logbook import Logbook

__all__ = ["Costs", "break_even", "comparison_tables", "cost_per_1000km", "cost_table", "savings"]

WHEELS: Final = 4


@dataclass(frozen=True)
class Costs:
    """What is paid.

    Attributes
    ----------
    fitting : float
        Mounting, balancing and disposal, a tire.
    rotation : float
        Labour of one rotation of the set.
    rotation_km : float
        Distance between rotations. [km]
    price : mapping of str to float
        Price of a tire by tire line; a line that is not named takes the mean of the logbook's ``price``.
    """

    fitting: float = 0.0
    rotation: float = 0.0
    rotation_km: float = 8000.0
    price: Mapping[str, float] | None = None

    def __post_init__(self) -> None:
        amounts = [self.fitting, self.rotation, *(self.price or {}).values()]
        if not all(np.isfinite(a) and a >= 0 for a in amounts) or not self.rotation_km > 0:
            raise misused(Wrong.COSTS)


def cost_per_1000km(life_km: float, price: float, costs: Costs) -> float:
    """Cost of a vehicle's tires per 1,000 km.

    Parameters
    ----------
    life_km : float
        Distance that a set lasts. [km]
    price : float
        Of one tire.
    costs : Costs

    Examples
    --------
    Four tires at 161 fitted over 50,000 km, and a rotation at 25 every 5,000 km:

    >>> cost_per_1000km(50_000, 141, Costs(fitting=20, rotation=25, rotation_km=5000))
    17.88
    """
    return 1000 * (WHEELS * (price + costs.fitting) / life_km + costs.rotation / costs.rotation_km)


def cost_table(
    comparison: GroupComparison, costs: Costs, removal_mm: float = REMOVAL_DEPTH_MM, line: str = "tire_line"
) -> pd.DataFrame:
    """Cost per 1,000 km of each tire line in each group.

    Parameters
    ----------
    comparison : GroupComparison
    costs : Costs
    removal_mm : float
        Removal depth. [mm]
    line : str
        Column that names what is bought.

    Returns
    -------
    DataFrame
        group, tire_line, tires, price, life_km, life_lower_km, life_upper_km, cost_per_1000km,
        cost_lower_per_1000km, cost_upper_per_1000km, note.
        Groups too small to be shown are left out; an unknown price or new depth gives NaN and says so.

    Notes
    -----
    Life is the line's new depth less the removal depth, over the adjusted wear rate of the group with that
    line at the fleet's mix of all else; groups and lines multiply. A tire that wears unevenly comes off
    earlier. Ranges are those of the wear rate; prices are taken as they are.
    """
    used = comparison.tires[comparison.tires["used"]].reset_index(drop=True)
    adjusted = list(dict.fromkeys([*comparison.adjusted_for, line]))
    fitted = fit_groups(used, comparison.by, adjust_columns(used, comparison.by, adjusted))
    lines = sorted(used[line].unique())
    rows: list[tuple[Any, ...]] = []
    for group in shown_groups(comparison):
        for kind in lines if comparison.by != line else [group]:
            price, new = _price(used, line, kind, costs), used.loc[used[line] == kind, "new_depth_mm"].mean()
            here = int(((used[comparison.by] == group) & (used[line] == kind)).sum())
            rate, low, high, *_ = group_ratio(fitted, _at(fitted, group, line, kind), None, comparison.level)
            room = new - removal_mm
            life = [1000 * room / r if room > 0 else np.nan for r in (rate, high, low)]
            each = [cost_per_1000km(km, price, costs) for km in (life[0], life[2], life[1])]
            note = "" if here else Remark.CARRIED_OVER.value
            note = Remark.NO_PRICE.value if np.isnan(price) else note
            note = Remark.NO_NEW_DEPTH.value if np.isnan(new) else note
            rows.append((group, kind, here, price, *life, *each, note))
    return pd.DataFrame(
        rows,
        columns=["group", "tire_line", "tires", "price", "life_km", "life_lower_km", "life_upper_km",
                 "cost_per_1000km", "cost_lower_per_1000km", "cost_upper_per_1000km", "note"],
    )  # fmt: skip


def comparison_tables(
    book: Logbook, comparison: GroupComparison, costs: Costs, *, budget: bool = False
) -> dict[str, pd.DataFrame]:
    """All tables of a comparison, and of what it costs, by name.

    Parameters
    ----------
    book : Logbook
    comparison : GroupComparison
    costs : Costs
    budget : bool
        Whether to add the tires to buy in the coming 12 months.

    Returns
    -------
    dict of DataFrame
        ``groups``, ``pairs`` (with the tires, vehicles and distance of both groups), ``why``, ``checks``;
        where a price is known ``costs``, and ``break_even`` of tire lines or ``savings`` of groups of
        vehicles; and ``budget``. Inside units.
    """
    behind = comparison.groups.set_index("group")[["tires", "vehicles", "distance_km"]]
    pairs = comparison.pairs.copy()
    for side in ("group", "other"):
        for name in behind:
            pairs[f"{side}_{name}"] = pairs[side].map(behind[name]).to_numpy()
    tables = {"groups": comparison.groups, "pairs": pairs, "why": comparison.why, "checks": comparison.checks}
    cost = cost_table(comparison, costs)
    if cost["cost_per_1000km"].notna().any():
        tables["costs"] = cost
        if comparison.by == "tire_line":
            tables["break_even"] = break_even(comparison, costs)
        else:
            tables["savings"] = savings(book, comparison, costs)
    if budget:
        tables["budget"] = replacements_by_month(book, rng=np.random.default_rng(0))
    return tables


def savings(book: Logbook, comparison: GroupComparison, costs: Costs) -> pd.DataFrame:
    """What a group would save in a year if it drove like another, or kept its pressures.

    Parameters
    ----------
    book : Logbook
    comparison : GroupComparison
        Of groups of vehicles, made from this logbook.
    costs : Costs

    Returns
    -------
    DataFrame
        group, change, basis (codes), part (of ``comparison.why``, or ``pressure``), other (the group it is
        compared with), km_a_year (all its vehicles), wear_ratio (after over before), saved_a_year,
        lower, upper; a row a change that would lower wear. ``basis`` tells what recorded habits explain from
        all of the difference, of which roads, loads and cars may be a part that no driver can change.
    """
    if comparison.by not in book.vehicles:
        raise misused(Wrong.SAVINGS, by=comparison.by)
    shown = shown_groups(comparison)
    used = comparison.tires[comparison.tires["used"]]
    group_of = comparison.tires.drop_duplicates("vehicle_id").set_index("vehicle_id")[comparison.by]
    pace = mileage(book).set_index("vehicle_id")["km_per_day"]
    km_a_year = 365.25 * pace.groupby(group_of.reindex(pace.index)).sum()
    table = cost_table(comparison, costs)
    rows: list[tuple[Any, ...]] = []

    def add(
        group: str, change: str, basis: str, part: str, other: str, ratio: tuple[float, float, float]
    ) -> None:
        mine = table[(table["group"] == group) & (table["tires"] > 0)]
        tires_only = mine["cost_per_1000km"] - 1000 * costs.rotation / costs.rotation_km
        each = float(np.average(tires_only, weights=mine["tires"])) if len(mine) else np.nan
        yearly = float(km_a_year[group]) / 1000 * each
        saved, least, most = yearly * (1 - ratio[0]), yearly * (1 - ratio[2]), yearly * (1 - ratio[1])
        rows.append(
            (group, change, basis, part, other, float(km_a_year[group]), ratio[0], saved, least, most)
        )

    did = (Change.DROVE if comparison.by == "driver_group" else Change.WORE).value
    for row in comparison.why.to_dict("records"):
        basis = {"habits together": Basis.HABITS.value, "total": Basis.ALL.value}.get(row["part"])
        ratio, low, high = (float(row[c]) for c in ("ratio", "lower", "upper"))
        if basis is None or not np.isfinite(ratio) or ratio == 1:
            continue
        if ratio > 1:
            add(
                row["group"],
                did,
                basis,
                row["part"],
                row["other"],
                (1 / ratio, 1 / high, 1 / low),
            )
        else:
            add(
                row["other"],
                did,
                basis,
                row["part"],
                row["group"],
                (ratio, low, high),
            )
    if len(book.pressures):
        excess = pressure_excess(book, used, comparison.by, comparison.level).to_dict("index")
        for group in shown:
            more, low, high = (float(excess[group][c]) for c in ("ratio", "lower", "upper"))
            if more > 1:
                add(
                    group,
                    Change.PRESSURES.value,
                    Basis.PRESSURES.value,
                    "pressure",
                    "",
                    (1 / more, 1 / high, 1 / low),
                )
    return pd.DataFrame(
        rows,
        columns=[
            "group",
            "change",
            "basis",
            "part",
            "other",
            "km_a_year",
            "wear_ratio",
            "saved_a_year",
            "lower",
            "upper",
        ],
    )


def break_even(lines: GroupComparison, costs: Costs, removal_mm: float = REMOVAL_DEPTH_MM) -> pd.DataFrame:
    """Price at which one tire line costs as much by distance as another.

    Parameters
    ----------
    lines : GroupComparison
        Of tire lines: ``compare_groups(book, by="tire_line")``.
    costs : Costs
    removal_mm : float
        Removal depth. [mm]

    Returns
    -------
    DataFrame
        tire_line, other, life_ratio (other over tire_line), life_lower, life_upper, price, other_price,
        break_even_price (of the other), lower, upper, code
        (a :class:`~tirelife.groups.advice.Worth`); both ways round for each pair.

    Notes
    -----
    Per distance, (price + fitting) / life is the same for both at price2 = (price + fitting) * life ratio -
    fitting. Rotations cost both alike.
    """
    used = lines.tires[lines.tires["used"]]
    room = used.groupby(lines.by)["new_depth_mm"].mean() - removal_mm
    rows: list[tuple[Any, ...]] = []
    for pair in lines.pairs.to_dict("records"):
        for a, b, low, mid, high in (
            (pair["group"], pair["other"], pair["lower"], pair["ratio"], pair["upper"]),
            (pair["other"], pair["group"], 1 / pair["upper"], 1 / pair["ratio"], 1 / pair["lower"]),
        ):
            life = [r * float(room[b] / room[a]) for r in (mid, low, high)]
            price, other = (_price(used, lines.by, k, costs) for k in (a, b))
            even = [(price + costs.fitting) * r - costs.fitting for r in life]
            rows.append((a, b, *life, price, other, *even, _worth(other, even).value))
    return pd.DataFrame(
        rows,
        columns=["tire_line", "other", "life_ratio", "life_lower", "life_upper", "price", "other_price",
                 "break_even_price", "lower", "upper", "code"],
    )  # fmt: skip


def _worth(other: float, even: list[float]) -> Worth:
    if not np.isfinite([other, *even]).all():
        return Worth.UNKNOWN
    if other < even[1]:
        return Worth.CHEAPER
    return Worth.DEARER if other > even[2] else Worth.OPEN


def _price(used: pd.DataFrame, line: str, kind: str, costs: Costs) -> float:
    named = dict(costs.price or {})
    if kind in named:
        return float(named[kind])
    return float(used.loc[used[line] == kind, "price"].mean()) if "price" in used else float("nan")


def _at(fitted: Fitted, group: str, line: str, kind: str) -> Any:
    """Weights of a group's log rate with a tire line, at the fleet's mix of all else."""
    row = fitted.design.level(group)
    for j, name in enumerate(fitted.design.names):
        if name.startswith(f"{line}, "):
            share = float((fitted.used[line] == name.removeprefix(f"{line}, ")).mean())
            row[j] = (1.0 if name == f"{line}, {kind}" else 0.0) - share
    return row
