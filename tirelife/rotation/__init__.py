"""Plans of moves and the distance they buy from a set."""

from tirelife.rotation.best import BestPlan, all_plans, best_plan, stay
from tirelife.rotation.book import SetNow, compare_plans, vehicle_set
from tirelife.rotation.plan import (
    CAUTIONS,
    PATTERNS,
    WORDS,
    Legality,
    Plan,
    Refusal,
    after,
    legality,
    moves,
    parse_plan,
    pattern,
)
from tirelife.rotation.simulate import SetLife, bounds, set_lives, simulate

__all__ = [
    "CAUTIONS",
    "PATTERNS",
    "WORDS",
    "BestPlan",
    "Legality",
    "Plan",
    "Refusal",
    "SetLife",
    "SetNow",
    "after",
    "all_plans",
    "best_plan",
    "bounds",
    "compare_plans",
    "legality",
    "moves",
    "parse_plan",
    "pattern",
    "set_lives",
    "simulate",
    "stay",
    "vehicle_set",
]
