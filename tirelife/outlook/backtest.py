"""Hide the last visits, forecast them, and score the forecasts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri, stdtrit

from tirelife.errors import InputError
from tirelife.outlook.score import clustered_error, covered, crps_normal, interval_score, pinball, pit_band
from tirelife.rates import fit_logbook
from tirelife.rates.posterior import Posterior
from tirelife.rates.present import tires_at
from tirelife.tread import tire_visits
from tirelife.wear import add_reference

if TYPE_CHECKING:
    from tirelife.logbook import Logbook
    from tirelife.rates import Prior, WearFit

__all__ = ["BacktestResult", "backtest", "hidden_forecasts", "hide_visits"]

Floats = NDArray[np.float64]

LEVELS: Final = (0.5, 0.8, 0.9)
QUANTILES: Final = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)
_WHICH: Final = ["vehicle_id", "tire_id", "position", "date"]
BANDS_KM: Final = {
    "0 to 8,000 km": (0.0, 8_046.72),
    "8,000 to 16,000 km": (8_046.72, 16_093.44),
    "16,000 to 32,000 km": (16_093.44, 32_186.88),
    "over 32,000 km": (32_186.88, np.inf),
}
"""Distances ahead that scores are given for: 5,000, 10,000 and 20,000 miles, named in round km."""
METHODS: Final = {
    "tirelife": "this forecast",
    "straight line": "each tire's own line",
    "fleet mean": "fleet's mean",
}


@dataclass(frozen=True, eq=False)
class BacktestResult:
    """What hidden readings say about the forecasts.

    Attributes
    ----------
    predictions : DataFrame
        One row a hidden tire-visit: vehicle_id, tire_id, position, date, odometer_km, ahead_km (since the
        last reading that was left), depth_mm (as read), and for each method its mean and sd
        (``tirelife_mm, tirelife_sd_mm, straight_line_mm, ...``); NaN where a method has no answer.
    scores : DataFrame
        One row a method and band of distance ahead (and ``all``): method, ahead, readings, answered,
        cover_50, cover_80, cover_90, cover_80_error (standard error, readings of a vehicle leaning
        together), weighted_interval_mm, log_score (normal, without its constant), sharpness_mm (median sd),
        pit_off (largest distance of the ranked probability integral transforms from even) and pit_band (what
        that stays within by chance, nine times in ten), interval_score_mm (80 %), crps_mm, bias_mm (read less
        forecast), median_error_mm, median_error_km (the error over the tire's wear per km).
    verdict : str
        The same in words.
    """

    predictions: pd.DataFrame
    scores: pd.DataFrame
    verdict: str

    def quantiles(self) -> pd.DataFrame:
        """Every forecast quantile as a row, for scores of one's own.

        Returns
        -------
        DataFrame
            vehicle_id, tire_id, position, date, ahead_km, moved, visits_before, target (``"depth"``), method,
            quantile, value_mm, observed_mm.
        """
        parts = []
        for method in METHODS:
            name = method.replace(" ", "_")
            mean, sd = (self.predictions[f"{name}{end}"].to_numpy(dtype=float) for end in ("_mm", "_sd_mm"))
            for level in QUANTILES:
                part = self.predictions[[*_WHICH, "ahead_km", "moved", "visits_before"]].assign(
                    target="depth"
                )
                part = part.assign(
                    target="depth", method=method, quantile=level, value_mm=mean + float(ndtri(level)) * sd
                )
                parts.append(part.assign(observed_mm=self.predictions["depth_mm"]))
        return pd.concat(parts, ignore_index=True)


def backtest(book: Logbook, hide: int = 1, prior: Prior | None = None) -> BacktestResult:
    """Hide each vehicle's last visits, forecast their readings from the rest, and score.

    Parameters
    ----------
    book : Logbook
    hide : int
        How many visits of each vehicle to hide; a vehicle with no more than that keeps one.
    prior : Prior, optional

    Returns
    -------
    BacktestResult

    Raises
    ------
    InputError
        If ``hide`` is under 1, or no vehicle was read on two days.

    Notes
    -----
    Mounts and odometer stay: what is scored is the depth at the distance that was really run, gauge and
    visit error included. The straight line is each tire's least-squares line through its new depth and its
    readings, with the prediction range of a line; the fleet mean wears every tire from its last reading
    at the mean rate of all tires, with the spread of their rates.
    """
    if hide < 1:
        raise InputError(f"hide {hide}: give 1 or more visits to hide.")
    known, hidden = hide_visits(book, hide)
    fit = fit_logbook(known, prior=prior)
    table = hidden_forecasts(known, fit, add_reference(book, hidden, fit.factors))
    if table.empty:
        raise InputError("no tire was read before and after: a back-test needs two visits of a vehicle.")
    _straight_lines(table, known)
    _fleet_mean(table, fit)
    scores = _scores(table)
    columns = [*_WHICH, "odometer_km", "ahead_km", "moved", "visits_before", "depth_mm"]
    columns += [f"{m.replace(' ', '_')}{end}" for m in METHODS for end in ("_mm", "_sd_mm")]
    return BacktestResult(table[columns].copy(), scores, _verdict(scores, book.units))


def hide_visits(book: Logbook, hide: int | float) -> tuple[Logbook, pd.DataFrame]:
    """Take each vehicle's last visits out of a logbook.

    Parameters
    ----------
    book : Logbook
    hide : int or float
        How many visits; a share of them if under 1. One visit at least is left.

    Returns
    -------
    book : Logbook
        Without those readings; mounts and odometer stay.
    hidden : DataFrame
        The tire-visits taken out.
    """
    depths = book.depths
    days = depths[["vehicle_id", "date"]].drop_duplicates()
    rank = days.groupby("vehicle_id")["date"].rank(ascending=False, method="first")
    count = days.groupby("vehicle_id")["date"].transform("size")
    most = np.floor(count * hide) if hide < 1 else np.full(len(days), hide)
    out = days[rank <= np.minimum(most, count - 1)].assign(hidden=True)
    marked = depths.merge(out, on=["vehicle_id", "date"], how="left")["hidden"].notna().to_numpy()
    left = replace(book, tables={**book.tables, "depths": depths[~marked].reset_index(drop=True)})
    hidden = tire_visits(book).merge(out, on=["vehicle_id", "date"])
    return left, hidden[hidden["tire_id"] != ""].drop(columns="hidden")


def hidden_forecasts(known: Logbook, fit: WearFit, hidden: pd.DataFrame) -> pd.DataFrame:
    """Forecast hidden readings of tires that were read before.

    Parameters
    ----------
    known : Logbook
        Without the hidden readings.
    fit : WearFit
        Of it.
    hidden : DataFrame
        From :func:`hide_visits`, with reference distances under the fit's factors: see
        :func:`tirelife.wear.add_reference`.

    Returns
    -------
    DataFrame
        The hidden tire-visits of tires with a reading left, with ahead_km, tirelife_mm, tirelife_sd_mm,
        and what makes up the latter's square: read_var_mm2 (of the reading and of the depth at the last
        visit), ahead_cov_mm2 and ahead_var_mm2 (what a factor on the spread of the wear multiplies once and
        twice); moved (to another wheel), visits_before.

    Notes
    -----
    The depth is carried as every forecast's: :func:`tirelife.rates.present.tires_at` and
    :meth:`tirelife.rates.posterior.Posterior.run`.
    """
    table = hidden[hidden["tire_id"].isin(fit.frames["visits"]["tire_id"])].reset_index(drop=True)
    now = tires_at(known, fit, table)
    posterior = Posterior.of_frame(now)
    front, rear = (now[f"since_{axle}_km"].to_numpy(dtype=float) for axle in ("front", "rear"))
    # Of the variance under a factor k on all but the depth: what does not hang on k, then its powers.
    none, once, twice = (posterior.widened(k).run(front, rear) for k in (0.0, 1.0, 2.0))
    first, square = _powers(*(run.cov[:, 0, 0] for run in (none, once, twice)))
    spread = fit.components.set_index("term")["estimate"]
    noise = sum(float(spread[term]) ** 2 for term in ("one reading", "visit, shared by its readings"))
    tires = fit.frames["tires"].set_index("tire_id").reindex(table["tire_id"])
    table["ahead_km"] = table["odometer_km"].to_numpy() - tires["last_odometer_km"].to_numpy(dtype=float)
    table["moved"] = tires["position"].to_numpy(dtype=object) != table["position"].to_numpy(dtype=object)
    table["visits_before"] = tires["visits"].to_numpy(dtype=float)
    table["tirelife_mm"] = once.mean[:, 0]
    table["read_var_mm2"] = none.cov[:, 0, 0] + noise
    table["ahead_var_mm2"] = square
    table["ahead_cov_mm2"] = first
    total = table["read_var_mm2"].to_numpy() + first + square
    table["tirelife_sd_mm"] = np.sqrt(np.maximum(total, noise))
    table["wear_mm_per_km"] = np.exp(posterior.mean[:, 1])
    good = np.isfinite(table[["tirelife_mm", "tirelife_sd_mm", "depth_mm"]]).all(axis=1)
    out: pd.DataFrame = table[good & (front + rear > 0)]
    return out.reset_index(drop=True)


def _powers(none: Floats, once: Floats, twice: Floats) -> tuple[Floats, Floats]:
    """What is multiplied by k and by k squared in a quantity known at k = 0, 1 and 2."""
    square = (twice - 2 * once + none) / 2
    return once - none - square, np.maximum(square, 0.0)


def _straight_lines(table: pd.DataFrame, known: Logbook) -> None:
    """Each tire's least-squares line and its prediction range, as sd of the normal with the same 80 %."""
    visits = tire_visits(known)
    visits = visits[visits["tire_id"] != ""]
    new = known.tires.set_index("tire_id")["new_depth_mm"].dropna()
    rows = pd.concat(
        [
            visits[["tire_id", "tire_km", "depth_mm"]],
            pd.DataFrame({"tire_id": new.index, "tire_km": 0.0, "depth_mm": new.to_numpy(dtype=float)}),
        ]
    ).dropna()
    by = rows.groupby("tire_id")
    mean = by[["tire_km", "depth_mm"]].transform("mean")
    dx, dy = rows["tire_km"] - mean["tire_km"], rows["depth_mm"] - mean["depth_mm"]
    sums = pd.DataFrame({"n": 1.0, "xx": dx**2, "xy": dx * dy, "yy": dy**2}).groupby(rows["tire_id"]).sum()
    line = sums.join(by[["tire_km", "depth_mm"]].mean()).reindex(table["tire_id"])
    get = {name: line[name].to_numpy(dtype=float) for name in line}
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = np.where(get["xx"] > 0, get["xy"] / get["xx"], np.nan)
        away = table["tire_km"].to_numpy(dtype=float) - get["tire_km"]
        free = get["n"] - 2
        square = np.where(free > 0, (get["yy"] - slope * get["xy"]) / free, np.nan)
        sd = np.sqrt(np.maximum(square, 1e-6) * (1 + 1 / get["n"] + away**2 / get["xx"]))
        sd = sd * np.where(free > 0, stdtrit(np.maximum(free, 1), 0.9) / ndtri(0.9), np.nan)
    table["straight_line_mm"] = get["depth_mm"] + slope * away
    table["straight_line_sd_mm"] = sd


def _fleet_mean(table: pd.DataFrame, fit: WearFit) -> None:
    rates = fit.tires["straight_line_mm_per_1000km"].to_numpy(dtype=float) / 1000
    rates = rates[np.isfinite(rates)]
    last = fit.visits.groupby("tire_id")["depth_mm"].last().reindex(table["tire_id"]).to_numpy(dtype=float)
    run = table["ahead_km"].to_numpy(dtype=float)
    mean, sd = (float(np.mean(rates)), float(np.std(rates))) if len(rates) else (np.nan, np.nan)
    table["fleet_mean_mm"] = last - mean * run
    table["fleet_mean_sd_mm"] = np.sqrt((sd * run) ** 2 + 2 * table["read_var_mm2"].to_numpy())


def _scores(table: pd.DataFrame) -> pd.DataFrame:
    ahead = table["ahead_km"].to_numpy()
    bands = [("all", np.ones(len(table), dtype=bool))]
    for name, (low, high) in BANDS_KM.items():
        bands.append((name, (ahead >= low) & (ahead < high)))
    moved = table["moved"].to_numpy(dtype=bool)
    bands += [("at the wheel of the last reading", ~moved), ("moved since the last reading", moved)]
    rows = []
    for method in METHODS:
        name = method.replace(" ", "_")
        mean, sd = (table[f"{name}{end}"].to_numpy() for end in ("_mm", "_sd_mm"))
        for band, chosen in bands:
            if chosen.any():
                rows.append({"method": method, "ahead": band} | _one(table[chosen], mean[chosen], sd[chosen]))
    return pd.DataFrame(rows)


def _one(table: pd.DataFrame, mean: Floats, sd: Floats) -> dict[str, float]:
    read = table["depth_mm"].to_numpy()
    good = np.isfinite(mean)
    miss = (read - mean)[good]
    out: dict[str, float] = {"readings": len(read), "answered": int(good.sum())}
    ranged = np.isfinite(mean) & np.isfinite(sd)
    for level in LEVELS:
        z = ndtri((1 + level) / 2)
        inside = covered(read[ranged], (mean - z * sd)[ranged], (mean + z * sd)[ranged])
        out[f"cover_{level * 100:.0f}"] = float(inside.mean()) if ranged.any() else np.nan
    z = ndtri(0.9)
    vehicle = table["vehicle_id"].to_numpy(dtype=object)[ranged]
    held = covered(read[ranged], (mean - ndtri(0.9) * sd)[ranged], (mean + ndtri(0.9) * sd)[ranged])
    out["cover_80_error"] = clustered_error(held, vehicle) if ranged.any() else np.nan
    z = ((read - mean) / sd)[ranged]
    losses = [pinball(read[ranged], (mean + ndtri(p) * sd)[ranged], p) for p in QUANTILES]
    out["weighted_interval_mm"] = 2 * float(np.mean(losses)) if ranged.any() else np.nan
    out["log_score"] = float(np.mean(z**2 / 2 + np.log(sd[ranged]))) if ranged.any() else np.nan
    out["sharpness_mm"] = float(np.median(sd[ranged])) if ranged.any() else np.nan
    ranked = np.sort(ndtr(z))
    even = (np.arange(len(ranked)) + 0.5) / max(len(ranked), 1)
    out["pit_off"] = float(np.abs(ranked - even).max()) if ranged.any() else np.nan
    out["pit_band"] = pit_band(len(np.unique(vehicle)))
    z = ndtri(0.9)
    score = interval_score(read[ranged], (mean - z * sd)[ranged], (mean + z * sd)[ranged], 0.8)
    out["interval_score_mm"] = float(score.mean()) if ranged.any() else np.nan
    crps = crps_normal(read[ranged], mean[ranged], sd[ranged])
    out["crps_mm"] = float(crps.mean()) if ranged.any() else np.nan
    out["bias_mm"] = float(miss.mean()) if good.any() else np.nan
    out["median_error_mm"] = float(np.median(np.abs(miss))) if good.any() else np.nan
    km = np.abs(miss) / table["wear_mm_per_km"].to_numpy()[good]
    out["median_error_km"] = float(np.median(km)) if good.any() else np.nan
    return out


def _verdict(scores: pd.DataFrame, units: str) -> str:
    """Whether to trust forecasts of this logbook, in plain words."""
    of = scores[scores["ahead"] == "all"].set_index("method")
    own = {
        name: float(of[name]["tirelife"]) for name in ("readings", "cover_80", "median_error_km", "crps_mm")
    }
    count, cover = int(own["readings"]), own["cover_80"]
    error = 2 * np.sqrt(0.8 * 0.2 / max(count / 4, 1))  # four tires of a visit lean alike
    held = f"{cover:.0%} of {count} hidden readings fell in their 80 % ranges"
    if count < 20:
        trust = f"Only {count} readings could be hidden: too few to judge the ranges."
    elif abs(cover - 0.8) <= max(error, 0.04):
        trust = f"The ranges held: {held}."
    elif cover < 0.8:
        trust = f"The ranges are too narrow here: only {held}."
    else:
        trust = f"The ranges are wider than they need be: {held}."
    far, per = ("miles", 1.609344) if units == "us" else ("km", 1.0)
    words = f"Half of the forecasts were within {own['median_error_km'] / per:,.0f} {far} of wear"
    rivals = {"each tire's own straight line": "straight line", "the fleet's mean": "fleet mean"}
    others = []
    for name, method in rivals.items():
        if of["answered"][method]:
            words += f"; {name}: {of['median_error_km'][method] / per:,.0f}"
        if np.isfinite(of["crps_mm"][method]):
            others.append(float(of["crps_mm"][method]))
    if others:
        better = own["crps_mm"] < min(others)
        words += ". By CRPS it does better than both" if better else ". By CRPS a simpler rule did as well"
    return f"{trust} {words}."
