"""Plans of moves and the distance they buy from a set."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
