"""Words for notes: where a code becomes a sentence, a module a language; the rest is in ``saying``."""

from tirelife.doors import door

__getattr__, __dir__, __all__ = door(__name__, __file__)
