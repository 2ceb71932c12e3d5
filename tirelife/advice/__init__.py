"""One decision a vehicle: what to inspect, replace, correct, rotate, and when to look again."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
