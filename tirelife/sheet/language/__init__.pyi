"""What ``tirelife.sheet.language`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

from .saying import say as say
from .saying import say_all as say_all
from .saying import say_short as say_short
from .saying import scripted as scripted
from .saying import sentences as sentences
from .saying import texts as texts
from .saying import upper_first as upper_first

if FOR_OTHER_ROOMS:
    from .decisions import SHOWN_MM as SHOWN_MM
    from .decisions import Said as Said
    from .decisions import action_words as action_words
    from .decisions import lead_words as lead_words
    from .decisions import place_words as place_words
    from .decisions import said_of as said_of
    from .unknown import fact_words as fact_words
from .decisions import change_words as change_words
from .decisions import decision_words as decision_words
