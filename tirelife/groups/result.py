"""What a comparison of groups found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import pandas as pd

__all__ = ["GroupComparison"]


@dataclass(frozen=True, eq=False)
class GroupComparison:
    """Groups compared; the frames handed out are copies.

    Attributes
    ----------
    by : str
        Grouping column.
    adjusted_for : tuple of str
    groups : DataFrame
        group, tires, vehicles, distance_km, raw_mm_per_1000km, rate_mm_per_1000km, lower_mm_per_1000km,
        upper_mm_per_1000km (adjusted, at the fleet's mix), ratio, ratio_lower, ratio_upper (to the mean of
        all groups).
    pairs : DataFrame
        group, other, raw_ratio, raw_lower, raw_upper, ratio, lower, upper (each pair alone), family_lower,
        family_upper, p_value (all pairs at once), df, detectable_ratio, power, different, told_apart, code
        (a :class:`~tirelife.groups.advice.Told`), reasons (codes of ``Apart``, semicolons between).
    why : DataFrame
        group, other, part, ratio, lower, upper, note; see :mod:`tirelife.groups.why`. Empty where a
        comparison is not made from a logbook.
    checks : DataFrame
        check, value, limit, passed, advice (a code of :class:`tirelife.groups.advice.Advice`), about (what is
        to stand in its words).
    components : DataFrame
        component, value: vehicle_log_sd, tire_log_sd and the log of front over rear wear by drive.
    tires : DataFrame
        One row a tire, as from :func:`tire_rates`; those that are not used say why.
    level : float
        Of the ranges.
    hidden : int
        Groups too small to be shown.
    """

    by: str
    adjusted_for: tuple[str, ...]
    frames: Mapping[str, pd.DataFrame] = field(repr=False)
    level: float
    hidden: int

    @property
    def groups(self) -> pd.DataFrame:
        """Rates, a row a group."""
        return self.frames["groups"].copy()

    @property
    def pairs(self) -> pd.DataFrame:
        """Ratios, a row a pair of groups."""
        return self.frames["pairs"].copy()

    @property
    def why(self) -> pd.DataFrame:
        """What a ratio is made of, a row a pair and part."""
        return self.frames["why"].copy()

    @property
    def checks(self) -> pd.DataFrame:
        """Whether to trust the comparison, a row a check."""
        return self.frames["checks"].copy()

    @property
    def components(self) -> pd.DataFrame:
        """Spreads and axle ratios, a row each."""
        return self.frames["components"].copy()

    @property
    def tires(self) -> pd.DataFrame:
        """The tires compared, used or not."""
        return self.frames["tires"].copy()
