"""One decision a vehicle: what to inspect, replace, correct, rotate, and when to look again."""

from tirelife.advice.decide import decide, first_due
from tirelife.advice.facts import CheckFirst, Facts, RotationFacts, Settings, TireFacts
from tirelife.advice.record import Action, Decision, Kind, Reason, Scope, Soon

__all__ = [
    "Action",
    "CheckFirst",
    "Decision",
    "Facts",
    "Kind",
    "Reason",
    "RotationFacts",
    "Scope",
    "Settings",
    "Soon",
    "TireFacts",
    "decide",
    "first_due",
]
