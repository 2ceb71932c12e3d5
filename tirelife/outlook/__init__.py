"""Distance left and replacement dates: forecasts, what-ifs, back-tests, the walk-in."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
