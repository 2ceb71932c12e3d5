"""What ``tirelife.rotation`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

from .allowed import none_allowed as none_allowed
from .allowed import since_moved as since_moved
from .book import SetNow as SetNow
from .book import advise_set as advise_set
from .book import compare_plans as compare_plans
from .book import directional_vehicles as directional_vehicles
from .book import vehicle_set as vehicle_set
from .plan import CAUTIONS as CAUTIONS
from .plan import PATTERNS as PATTERNS
from .plan import Legality as Legality
from .plan import Plan as Plan
from .plan import Refusal as Refusal
from .plan import after as after
from .plan import all_plans as all_plans
from .plan import legality as legality
from .plan import moves as moves
from .plan import parse_plan as parse_plan
from .plan import pattern as pattern
from .plan import stay as stay
from .simulation import SetLife as SetLife
from .simulation import bounds as bounds
from .simulation import set_lives as set_lives
from .simulation import simulate as simulate
from .worth import Advice as Advice
from .worth import Aim as Aim
from .worth import Why as Why

if FOR_OTHER_ROOMS:
    from .jointly import Scope as Scope
    from .jointly import scope_of as scope_of
    from .jointly import together as together
    from .replace import Line as Line
    from .replace import bill as bill
    from .replace import line_typed as line_typed
    from .replace import vehicle_ways as vehicle_ways
    from .replace import ways_to_replace as ways_to_replace
    from .worth import RULES as RULES
    from .worth import SURE as SURE
    from .worth import USUAL_INTERVAL as USUAL_INTERVAL
    from .worth import USUAL_INTERVALS_KM as USUAL_INTERVALS_KM
