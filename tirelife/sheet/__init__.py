"""Words, tables and the customer's page."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
