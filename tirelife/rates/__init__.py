"""The fit: wear rates of tires, vehicles, tire lines and driver groups."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
