"""What a fit hands out: frames that answer, and frames that say whether to trust them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import pandas as pd

from tirelife.rates.reporting import report
from tirelife.rates.verdict import FitVerdict
from tirelife.wear import Factors

if TYPE_CHECKING:
    from tirelife.rates.prior import Prior

__all__ = ["CHECKS", "COMPONENTS", "ESTIMATES", "TIRES", "VEHICLES", "VISITS", "WearFit"]

READING: Final = "reading"
VISIT: Final = "visit"
"""Terms of the error of a reading in the components."""
WANDER: Final = "wander"
HABIT: Final = "vehicle-wander"
"""Terms of what the log of a tire's, and of a vehicle's, rate changes by over 10,000 km."""
ESTIMATES: Final = ("term", "estimate", "std_error", "lower", "upper", "unit", "source")
COMPONENTS: Final = ("term", "estimate", "lower", "upper", "unit", "source")
CHECKS: Final = ("check", "value", "limit", "passed", "advice", "code", "about")
TIRES: Final = (
    "tire_id", "vehicle_id", "tire_line", "position", "new_depth_mm", "new_depth_sd_mm", "visits",
    "last_date", "last_odometer_km", "reference_km", "depth_mm", "depth_sd_mm", "log_wear", "log_wear_sd",
    "depth_log_wear_cov", "q", "q_sd", "depth_q_cov", "log_wear_q_cov", "log_axle_front", "log_axle_rear",
    "axle_sd", "depth_axle_cov", "log_wear_axle_cov", "axle_q_cov", "shared_cov", "shared_both_mm",
    "shared_depth_mm2", "wander_var_per_km", "scatter_km",
    "wear_mm_per_1000km", "std_error", "straight_line_mm_per_1000km", "belongs", "reason",
)  # fmt: skip
VEHICLES: Final = ("vehicle_id", "drive", "driver_group", "tires", "visits", "log_effect", "log_effect_sd")
VISITS: Final = (
    "vehicle_id", "tire_id", "position", "date", "odometer_km", "reference_km", "depth_mm", "fitted_mm",
    "residual_mm", "standardized", "weight", "outlier",
    "outer_mm", "outer_mid_mm", "center_mm", "inner_mid_mm", "inner_mm", "shallowest_mm", "resolution_mm",
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class WearFit:
    """Fitted wear rates; every frame handed out is a copy.

    Attributes
    ----------
    estimates : DataFrame
        ``term, estimate, std_error, lower, upper, unit, source``; 95 % ranges. ``source`` says whether a
        term was fitted or is the prior's alone.
    components : DataFrame
        Spreads (standard deviations): ``term, estimate, lower, upper, unit, source``.
    tires : DataFrame
        The posterior of each tire at its last visit; see Notes.
    vehicles : DataFrame
        ``vehicle_id, drive, driver_group, tires, visits, log_effect, log_effect_sd``: how fast each vehicle
        wears its tires, as a log ratio to the fleet's average.
    visits : DataFrame
        Each tire-visit with what the fit makes of it: ``fitted_mm, residual_mm, standardized`` (left out
        of its own prediction), ``weight`` (under 1 where the reading is too far off to count in full) and
        ``outlier``; the grooves' depths and the shallowest, as read.
    checks : DataFrame
        ``check, value, limit, passed, advice, code, about``: whether to trust the rest.
    method : str
        How it was fitted.
    q : float
        Curvature: wear per distance goes as (depth / new depth)**q.
    prior : Prior
        The prior that it used.
    criterion : float
        -2 log restricted likelihood of the linearized model, priors included, with as many vehicles as the
        spreads came from: for comparing fits of the same readings.
    verdict : FitVerdict
        Whether to trust it, from the checks: good, rough or refused, with its reasons. A refused fit holds
        the prior's answers: every tire stands where it was read last, and wears as tires do that nothing is
        known of.
    posterior : Prior
        What it learned about tires, lines and vehicles that it never saw: the next walk-in's prior.
    factors : Factors
        Of the causes, learned from the log or held as assumed; its reference distances are made with them.
    anchors : DataFrame
        ``tire_id, axle`` and a column a cause: the mix of causes at which a tire's rate on an axle is known
        whatever the factors are. Under another mix m ahead its log rate has the further variance
        (m - anchor)' C (m - anchor), with C the factors' covariance; ``factors.spread(m - anchor)`` is the
        square root.

    Notes
    -----
    ``tires`` describes the joint normal posterior of three quantities at a tire's last visit: the depth D
    (``depth_mm, depth_sd_mm``), the log of the present wear rate r (``log_wear, log_wear_sd``; r in mm per
    reference km *on the axle that the tire was last on, at its present depth*) and the curvature q (``q,
    q_sd``), with covariances ``depth_log_wear_cov, depth_q_cov, log_wear_q_cov``. A tire that moves to the
    other axle has ``log_wear - log_axle_<present> + log_axle_<new>``; the log ratio of front to rear that
    both come from is a fourth quantity, with ``axle_sd, depth_axle_cov, log_wear_axle_cov, axle_q_cov``.
    ``shared_cov`` is the covariance of its log rate with those of its vehicle's other tires, on average;
    ``shared_both_mm`` that of its depth with their log rates (and of its log rate with their depths),
    ``shared_depth_mm2`` that of the depths: a visit's effect is common to all its tires. See
    :class:`tirelife.rates.posterior.Posterior`, which carries all of this.

    After a further reference distance x the depth is ``D * (1 - (1 - q) r x / D)**(1 / (1 - q))``, which is
    ``D - r x`` for q = 0. The rate wanders on the way: its log is a random walk with variance
    ``wander_var_per_km`` [1/km], and the path scatters about it, so the depth at x has the further variance
    ``r**2 * (wander_var_per_km * x**3 / 3 + scatter_km * x)``.
    ``wear_mm_per_1000km`` is 1000 r with ``std_error``;
    ``straight_line_mm_per_1000km`` is the tire's own least-squares line over its real distance, for
    comparison.

    A tire never read stands at its new depth on the day that it was mounted. ``reason`` says why a value is
    missing or shrunk to the prior; ``belongs`` is False where a tire wore unlike its vehicle and line.
    """

    frames: Mapping[str, pd.DataFrame] = field(repr=False)
    method: str
    q: float
    prior: Prior = field(repr=False)
    posterior: Prior = field(repr=False)
    criterion: float = field(default=math.nan, repr=False)
    verdict: FitVerdict = field(default_factory=FitVerdict)
    factors: Factors = field(default_factory=Factors, repr=False)

    @property
    def estimates(self) -> pd.DataFrame:
        """Estimates with 95 % ranges, a row a term."""
        return self.frames["estimates"].copy()

    @property
    def components(self) -> pd.DataFrame:
        """Spreads, a row a source of variation."""
        return self.frames["components"].copy()

    @property
    def tires(self) -> pd.DataFrame:
        """The posterior of each tire at its last visit."""
        return self.frames["tires"].copy()

    @property
    def vehicles(self) -> pd.DataFrame:
        """How fast each vehicle wears its tires."""
        return self.frames["vehicles"].copy()

    @property
    def visits(self) -> pd.DataFrame:
        """Each tire-visit beside its fitted depth."""
        return self.frames["visits"].copy()

    @property
    def anchors(self) -> pd.DataFrame:
        """The mix of causes that each tire's rate is known at, a row a tire and axle; none without a log."""
        none = pd.DataFrame(columns=["tire_id", "axle"], dtype="str")
        return self.frames.get("anchors", none).copy()

    @property
    def checks(self) -> pd.DataFrame:
        """Whether to trust the fit, a row a check."""
        return self.frames["checks"].copy()

    def __str__(self) -> str:
        return report(self)
