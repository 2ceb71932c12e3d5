"""What ``tirelife.advice`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

from .deciding import decide as decide
from .deciding import first_due as first_due
from .facts import CheckFirst as CheckFirst
from .facts import Facts as Facts
from .facts import RotationFacts as RotationFacts
from .facts import Settings as Settings
from .facts import TireFacts as TireFacts
from .gather import FleetDecisions as FleetDecisions
from .gather import checks_first as checks_first
from .gather import checks_of as checks_of
from .gather import facts_of as facts_of
from .gather import fleet_decisions as fleet_decisions
from .gather import limits_by_position as limits_by_position
from .gather import tire_facts as tire_facts
from .moves import RotationAnswer as RotationAnswer
from .moves import advise_rotation as advise_rotation
from .otherwise import decisions_otherwise as decisions_otherwise
from .reading import TreadReading as TreadReading
from .reading import read_tread as read_tread
from .record import Action as Action
from .record import Decision as Decision
from .record import Kind as Kind
from .record import Reason as Reason
from .record import Scope as Scope
from .record import Soon as Soon
from .record import WouldChange as WouldChange
from .rotating import rotation_due as rotation_due
from .walkin import walkin_facts as walkin_facts

if FOR_OTHER_ROOMS:
    from .script_rules import rules as rules
