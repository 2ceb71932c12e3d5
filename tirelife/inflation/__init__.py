"""Readings to cold pressure, its history, and its cost."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
