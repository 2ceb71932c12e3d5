"""Answers where the fit is refused: every tire where it was read last, wearing as the prior has it."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from tirelife.rates.advice import Says

__all__ = ["last_seen", "stand_at_readings"]

READING_SD_MM: Final = 0.25
"""Sd of one tire's mean depth at one visit, gauge and visit together; an assumption, no source."""


def _last(used: pd.DataFrame) -> pd.DataFrame:
    """Each read tire's last visit, by tire."""
    return used.drop_duplicates("tire_id", keep="last").set_index("tire_id")


def last_seen(used: pd.DataFrame, tires: pd.DataFrame) -> pd.DataFrame:
    """Tires as if they had been mounted where they were read last.

    Parameters
    ----------
    used : DataFrame
        Tire-visits, sorted by tire and date.
    tires : DataFrame
        As they go into the fit; a tire that was never read stays as it is.
    """
    last = _last(used).reindex(tires["tire_id"])
    read = last["depth_mm"].notna().to_numpy()
    out = tires.copy()
    for name, source in (
        ("vehicle_id", "vehicle_id"), ("first_position", "position"), ("first_date", "date"),
        ("first_odometer_km", "odometer_km"),
    ):  # fmt: skip
        before = out[name] if name in out else pd.Series(None, index=out.index, dtype=object)
        out[name] = before.where(~read, pd.Series(last[source].to_numpy(), index=out.index))
    return out


def stand_at_readings(frames: dict[str, pd.DataFrame], used: pd.DataFrame) -> dict[str, pd.DataFrame]:
    """A fit to no reading at all, with each tire put to the depth that it was last read at.

    Parameters
    ----------
    frames : dict of DataFrame
        Of a fit to the prior alone, the tires as :func:`last_seen` has them.
    used : DataFrame
        Tire-visits, sorted by tire and date.
    """
    tires = frames["tires"].copy()
    last = _last(used).reindex(tires["tire_id"])
    read = last["depth_mm"].notna().to_numpy()
    tires["visits"] = used.groupby("tire_id").size().reindex(tires["tire_id"], fill_value=0).to_numpy()
    tires["depth_mm"] = np.where(read, last["depth_mm"].to_numpy(float), tires["depth_mm"])
    tires["depth_sd_mm"] = np.where(read, READING_SD_MM, tires["depth_sd_mm"])
    tires["reference_km"] = np.where(read, last["reference_km"].to_numpy(float), tires["reference_km"])
    for name in ("depth_log_wear_cov", "depth_q_cov", "depth_axle_cov"):
        tires[name] = np.where(read, 0.0, tires[name])
    # A bent path's rate is quoted at the depth that it has.
    share: pd.Series = np.clip(tires["depth_mm"] / np.maximum(tires["new_depth_mm"], 0.1), 1e-3, 1.0)
    tires["log_wear"] = tires["log_wear"] + np.where(read, tires["q"] * np.log(share), 0.0)
    tires["wear_mm_per_1000km"] = 1000 * np.exp(tires["log_wear"])
    tires["std_error"] = tires["wear_mm_per_1000km"] * tires["log_wear_sd"]
    tires["reason"] = np.where(read, Says.REFUSED.value, tires["reason"])
    visits = frames["visits"].iloc[:0]
    columns = [name for name in visits if name in used]
    seen = used[columns].sort_values(["tire_id", "date"], ignore_index=True)
    # What the fit makes of the readings is not known; they are kept, each in full.
    seen = seen.assign(fitted_mm=np.nan, residual_mm=np.nan, standardized=np.nan, weight=1.0, outlier=False)
    return frames | {"tires": tires, "visits": seen[list(visits)]}
