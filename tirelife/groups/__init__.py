"""Driver groups and tire lines compared; why they differ, what it costs, and trials to settle it."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
