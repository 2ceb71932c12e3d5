"""Visits and vehicles that are likelier slips than as typed: asked about, and kept."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
