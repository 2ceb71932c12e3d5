"""The set now on a vehicle, from its logbook: usable depth, and wear in every position with its range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tirelife.errors import InputError
from tirelife.logbook import ROAD_POSITIONS
from tirelife.rotation.best import stay
from tirelife.rotation.plan import PATTERNS, Plan, legality
from tirelife.rotation.simulate import set_arrays, set_lives, simulate
from tirelife.tread import (
    REMOVAL_DEPTH_MM,
    VERDICT_COLUMNS,
    Verdict,
    judge,
    measured,
    tire_visits,
    verdict_columns,
)
from tirelife.wear import stretch_severity

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import WearFit

__all__ = ["SetNow", "compare_plans", "vehicle_set"]

Floats = NDArray[np.float64]

RECENT_KM: Final = 16_000.0
"""Severity ahead is that of the last so many km, about a year's driving; an assumption."""
FRONT: Final = ("LF", "RF")


@dataclass(frozen=True, eq=False)
class SetNow:
    """The tires now on a vehicle.

    Attributes
    ----------
    vehicle_id : str
    tires : DataFrame
        One row a tire, indexed by position: tire_id, tire_line, size, depth_mm (in its shallowest groove),
        depth_sd_mm, wear_mm_per_1000km and wear_log_sd (where it is), placard_kpa, note; and what was
        measured, as :data:`tirelife.tread.VERDICT_COLUMNS`.
    rates : DataFrame
        Wear of the tire now at each position (rows) in every position (columns). [mm/km]
    covariance : ndarray, shape (tires,)
        Of depth and log rate. [mm]
    """

    vehicle_id: str
    tires: pd.DataFrame
    rates: pd.DataFrame
    covariance: Floats

    @property
    def depths(self) -> pd.Series:
        """Depth in the shallowest groove, by position [mm]."""
        return self.tires["depth_mm"].copy()

    @property
    def sizes(self) -> dict[str, str]:
        """Size of the tire at each position."""
        return {str(p): str(s) for p, s in self.tires["size"].items()}

    @property
    def verdicts(self) -> dict[str, str]:
        """Verdict on the tire at each position."""
        return {str(p): str(v) for p, v in self.tires["verdict"].items()}

    @property
    def tire_ids(self) -> dict[str, str]:
        """The tire at each position."""
        return {str(p): str(t) for p, t in self.tires["tire_id"].items()}

    @property
    def placard_kpa(self) -> dict[str, float]:
        """Placard cold pressure at each position, NaN for the spare's place [kPa]."""
        return {str(p): float(v) for p, v in self.tires["placard_kpa"].items()}

    def draws(self, count: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """Depths, shape (count, n) [mm], and rates, shape (count, n, n) [mm/km], as uncertain as they are."""
        sd_d = self.tires["depth_sd_mm"].to_numpy(float)
        sd_w = self.tires["wear_log_sd"].to_numpy(float)
        rho = np.divide(self.covariance, sd_d * sd_w, out=np.zeros(len(sd_d)), where=sd_d * sd_w > 0)
        rho = rho.clip(-0.99, 0.99)
        z = rng.normal(size=(2, count, len(sd_d)))
        depth = self.tires["depth_mm"].to_numpy(float) + sd_d * z[0]
        log_wear = sd_w * (rho * z[0] + np.sqrt(1 - rho**2) * z[1])
        return depth, self.rates.to_numpy(float) * np.exp(log_wear)[:, :, None]


def vehicle_set(
    book: Logbook,
    vehicle_id: str,
    fit: WearFit | None = None,
    removal_depth_mm: float | pd.Series = REMOVAL_DEPTH_MM,
) -> SetNow:
    """Read the set now on a vehicle from its logbook.

    Parameters
    ----------
    book : Logbook
    vehicle_id : str
    fit : WearFit, optional
        Of this logbook; fitted here if it is not given.
    removal_depth_mm : float or Series
        For all, or by position; what the tires are judged by. [mm]

    Returns
    -------
    SetNow

    Raises
    ------
    InputError
        If there is no such vehicle, or a wheel has no tire.

    Notes
    -----
    A tire's rate in a place is its own fitted rate, moved to that axle by the fitted ratio of the axles,
    times the severity there over the last 16,000 km. A spare that takes its turn wears nothing where it lies.
    A tire that was read at its limit has no more depth than that, whatever the fit says.
    """
    if fit is None:
        from tirelife.rates import fit_logbook

        fit = fit_logbook(book)
    vehicles = book.vehicles.set_index("vehicle_id")
    if vehicle_id not in vehicles.index:
        raise InputError(
            f"no vehicle is called {vehicle_id!r}. "
            f"The logbook has {', '.join(map(str, vehicles.index[:12]))}."
        )
    path = book.stretches
    on = path[path["open"] & (path["vehicle_id"] == vehicle_id)].drop_duplicates("position", keep="last")
    on = on.set_index("position")
    empty = [p for p in ROAD_POSITIONS if p not in on.index]
    if empty:
        raise InputError(
            f"vehicle {vehicle_id}: no tire is mounted at {', '.join(empty)}. Log the mounts first."
        )
    spots = [p for p in (*ROAD_POSITIONS, "SP") if p in on.index]
    on = on.loc[spots]
    severity = _severity(book, vehicle_id)
    fitted = fit.tires.set_index("tire_id").reindex(on["tire_id"])
    unfitted = fitted["log_wear"].isna().to_numpy()
    if unfitted.any():
        raise InputError(
            f"vehicle {vehicle_id}: no wear rate for {', '.join(on['tire_id'][unfitted])}. Log depths first."
        )
    axle = {
        p: fitted["log_axle_front" if p in FRONT else "log_axle_rear"].fillna(0.0).to_numpy(float)
        for p in ROAD_POSITIONS
    }
    was = fitted["position"].to_numpy(object)
    there = np.array([axle[p][i] if p in axle else 0.0 for i, p in enumerate(was)])
    log_wear = fitted["log_wear"].to_numpy(float)
    rates = pd.DataFrame(0.0, index=spots, columns=spots)
    for place in ROAD_POSITIONS:
        rates[place] = np.exp(log_wear - there + axle[place]) * severity[place]
    now = np.array([rates.loc[p, p] for p in spots])
    unread = (on["to_km"] - np.maximum(on["from_km"], fitted["last_odometer_km"].fillna(0).to_numpy())).clip(
        0
    )
    depth = fitted["depth_mm"].to_numpy(float) - now * unread.to_numpy(float)
    depth = np.maximum(depth - _groove_gap(book, on["tire_id"]), 0.0)
    judged = judge(measured(book, [vehicle_id]), removal_depth_mm).set_index("tire_id").loc[on["tire_id"]]
    down = (judged["verdict"] == Verdict.AT_OR_UNDER).to_numpy(dtype=bool)
    depth = np.where(down, np.minimum(depth, judged["limit_mm"].to_numpy(float)), depth)
    read = verdict_columns(judged.reset_index())
    placard = [
        float(vehicles.loc[vehicle_id, f"placard_{'front' if p in FRONT else 'rear'}_kpa"])  # type: ignore[arg-type]
        if p != "SP"
        else np.nan
        for p in spots
    ]
    own = book.tires.set_index("tire_id").reindex(on["tire_id"])
    tires = pd.DataFrame(
        {
            "tire_id": on["tire_id"].to_numpy(object),
            "tire_line": own["tire_line"].to_numpy(object),
            "size": own["size"].fillna("").to_numpy(object),
            "depth_mm": depth,
            "depth_sd_mm": fitted["depth_sd_mm"].to_numpy(float),
            "wear_mm_per_1000km": 1000 * now,
            "wear_log_sd": fitted["log_wear_sd"].to_numpy(float),
            "placard_kpa": placard,
            "note": fitted["reason"].fillna("").to_numpy(object),
            **{name: read[name].to_numpy() for name in VERDICT_COLUMNS},
        },
        index=pd.Index(spots, name="position"),
    )
    return SetNow(vehicle_id, tires, rates, fitted["depth_log_wear_cov"].fillna(0.0).to_numpy(float))


def compare_plans(
    now: SetNow,
    limit_mm: float,
    interval_km: float,
    rng: np.random.Generator,
    *,
    plans: Sequence[Plan] | None = None,
    directional: bool = False,
    temporary_spare: bool = False,
    first_km: float | None = 0.0,
    draws: int = 400,
) -> pd.DataFrame:
    """Set the usual plans side by side for a vehicle's set, with ranges.

    Parameters
    ----------
    now : SetNow
    limit_mm : float
        Removal depth. [mm]
    interval_km : float
        Distance between rotations. [km]
    rng : Generator
    plans : sequence of Plan, optional
        The patterns with a trade name that fit the number of wheels, and no rotation, by default.
    directional, temporary_spare
        As for :func:`tirelife.rotation.legality`; sizes are those of the logbook.
    first_km : float, optional
        Distance to the first rotation; now by default. [km]
    draws : int

    Returns
    -------
    DataFrame
        plan, interval_km, allowed, reason, codes (of :class:`tirelife.rotation.Refusal`), life_km,
        life_km_p10, life_km_p50, life_km_p90, of_bound, axle_difference_mm, use; NaN where a plan is not
        allowed. ``life_km`` is at the central rates.
    """
    wheels = 5 if "SP" in now.tires.index and not temporary_spare else 4
    if plans is None:
        plans = [stay(wheels), *(p for p in PATTERNS.values() if len(p.positions) <= wheels)]
    depth, rates = now.draws(draws, rng)
    rows: list[tuple[Any, ...]] = []
    for known in plans:
        plan = known.every(interval_km)
        verdict = legality(
            plan, directional=directional, sizes=now.sizes, temporary_spare=temporary_spare,
            verdicts=now.verdicts,
        )  # fmt: skip
        missing = [p for p in plan.positions if p not in now.tires.index]
        if missing or not verdict.allowed:
            reason = verdict.reason or f"no tire is logged at {', '.join(missing)}"
            rows.append((plan.name, interval_km, False, reason, verdict.codes, *[np.nan] * 6, plan.use))
            continue
        keep = [list(now.tires.index).index(p) for p in plan.positions]
        out = simulate(now.depths, now.rates, plan, limit_mm, first_km)
        usable, _ = set_arrays(now.depths, now.rates, plan, limit_mm)
        above = depth[:, keep] - (now.depths.to_numpy(float)[keep] - usable)
        lives = set_lives(above, rates[:, keep][:, :, keep], plan, [interval_km], first_km)[:, 0]
        low, mid, high = np.quantile(lives, [0.1, 0.5, 0.9])
        rows.append(
            (
                plan.name,
                interval_km,
                True,
                "",
                (),
                out.life_km,
                low,
                mid,
                high,
                out.of_bound,
                out.axle_difference_mm,
                plan.use,
            )
        )
    return pd.DataFrame(
        rows,
        columns=["plan", "interval_km", "allowed", "reason", "codes", "life_km", "life_km_p10", "life_km_p50",
                 "life_km_p90", "of_bound", "axle_difference_mm", "use"],
    )  # fmt: skip


def _severity(book: Logbook, vehicle_id: str) -> dict[str, float]:
    """Severity at each wheel of a vehicle over the last distance, whichever tire was there."""
    parts = stretch_severity(book)
    parts = parts[(parts["vehicle_id"] == vehicle_id) & (parts["position"] != "SP")]
    begin = np.maximum(parts["from_km"], parts["to_km"].max() - RECENT_KM)
    length = np.maximum(parts["to_km"] - begin, 0.0) + 1e-9
    total = pd.DataFrame({"km": length, "run": length * parts["severity"]}).groupby(parts["position"]).sum()
    mean = total["run"] / total["km"]
    return {p: float(mean.get(p, 1.0)) for p in ROAD_POSITIONS}


def _groove_gap(book: Logbook, tire_ids: pd.Series) -> Floats:
    """How much shallower the shallowest groove is than the mean, over the last three visits [mm]."""
    visits = tire_visits(book)
    gap = (
        (visits["depth_mm"] - visits["shallowest_mm"])
        .groupby(visits["tire_id"])
        .apply(lambda g: g.tail(3).mean())
    )
    out: Floats = gap.reindex(tire_ids).fillna(0.0).to_numpy(float)
    return out
