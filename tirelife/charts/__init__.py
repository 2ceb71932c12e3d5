"""Frames in, Altair charts out; no arithmetic, no files, no global settings."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
