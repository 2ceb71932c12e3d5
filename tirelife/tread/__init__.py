"""Readings to the state of a tire at a visit, and what its pattern says."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
