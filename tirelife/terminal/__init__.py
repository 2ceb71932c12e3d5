"""Each answer as an object for a program and in lines for a terminal."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
