"""One decision a vehicle: what to inspect, replace, correct, rotate, and when to look again."""

from tirelife.advice.decide import decide, first_due
from tirelife.advice.facts import CheckFirst, Facts, RotationFacts, Settings, TireFacts
from tirelife.advice.gather import (
    FleetDecisions,
    checks_first,
    checks_of,
    facts_of,
    fleet_decisions,
    limits_by_position,
    tire_facts,
)
from tirelife.advice.otherwise import decisions_otherwise
from tirelife.advice.record import Action, Decision, Kind, Reason, Scope, Soon, WouldChange
from tirelife.advice.rotating import rotation_due
from tirelife.advice.walkin import walkin_facts

__all__ = [
    "Action",
    "CheckFirst",
    "Decision",
    "Facts",
    "FleetDecisions",
    "Kind",
    "Reason",
    "RotationFacts",
    "Scope",
    "Settings",
    "Soon",
    "TireFacts",
    "WouldChange",
    "checks_first",
    "checks_of",
    "decide",
    "decisions_otherwise",
    "facts_of",
    "first_due",
    "fleet_decisions",
    "limits_by_position",
    "rotation_due",
    "tire_facts",
    "walkin_facts",
]
