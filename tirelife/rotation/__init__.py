"""Plans of moves and the distance they buy from a set."""

from tirelife.rotation.allowed import none_allowed, since_moved
from tirelife.rotation.book import SetNow, advise_set, compare_plans, directional_vehicles, vehicle_set
from tirelife.rotation.plan import (
    CAUTIONS,
    PATTERNS,
    Legality,
    Plan,
    Refusal,
    after,
    all_plans,
    legality,
    moves,
    parse_plan,
    pattern,
    stay,
)
from tirelife.rotation.simulate import SetLife, bounds, set_lives, simulate
from tirelife.rotation.worth import Advice, Aim, Why

__all__ = [
    "CAUTIONS",
    "PATTERNS",
    "Advice",
    "Aim",
    "Legality",
    "Plan",
    "Refusal",
    "SetLife",
    "SetNow",
    "Why",
    "advise_set",
    "after",
    "all_plans",
    "bounds",
    "compare_plans",
    "directional_vehicles",
    "legality",
    "moves",
    "none_allowed",
    "parse_plan",
    "pattern",
    "set_lives",
    "simulate",
    "since_moved",
    "stay",
    "vehicle_set",
]
