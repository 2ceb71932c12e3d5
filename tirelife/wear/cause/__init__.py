"""What wear is split into, one module a cause; whatever is here is priced, learned, shown and reported.

A new cause is a new module with its record, ``CAUSE``, and a test of its physics.
"""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
