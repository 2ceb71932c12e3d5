"""Contact-patch energy, position by position, and what each cause takes."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
