"""How many miles are left in a tire's tread, by which date, how surely, and what would change it.

Importing the package loads nothing heavy; each name that its stub lists loads its module when first used.
"""

from tirelife.doors import door

__version__ = "0.1.0"
__getattr__, __dir__, names = door(__name__, __file__)
__all__ = [*names, "__version__"]
