"""The fit: wear rates of tires, vehicles, tire lines and driver groups."""

from tirelife.rates.ahead import path_depth
from tirelife.rates.fit import fit_logbook, fit_rates
from tirelife.rates.lmm import LinearMixedFit, fit_lmm
from tirelife.rates.paths import PathFit, fit_paths
from tirelife.rates.prior import PUBLISHED, Belief, Prior, load_prior, save_prior
from tirelife.rates.result import WearFit
from tirelife.rates.vehicles import wear_by_vehicle
from tirelife.rates.verdict import FitReason, FitVerdict, Trust

__all__ = [
    "PUBLISHED",
    "Belief",
    "FitReason",
    "FitVerdict",
    "LinearMixedFit",
    "PathFit",
    "Prior",
    "Trust",
    "WearFit",
    "fit_lmm",
    "fit_logbook",
    "fit_paths",
    "fit_rates",
    "load_prior",
    "path_depth",
    "save_prior",
    "wear_by_vehicle",
]
