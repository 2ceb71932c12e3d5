"""Trips or plain answers to a driving profile."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
