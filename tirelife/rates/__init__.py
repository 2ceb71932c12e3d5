"""The fit: wear rates of tires, vehicles, tire lines and driver groups."""

from tirelife.rates.ahead import depth_ahead, path_depth
from tirelife.rates.result import WearFit

__all__ = ["WearFit", "depth_ahead", "path_depth"]
