"""Driver groups and tire lines compared; why they differ, what it costs, and trials to settle it."""

from tirelife.groups.anova import adjusted_anova
from tirelife.groups.budget import replacements_by_month, replacements_from
from tirelife.groups.compare import compare_groups, compare_rates
from tirelife.groups.money import Costs, break_even, cost_per_1000km, cost_table, savings
from tirelife.groups.response import tire_rates
from tirelife.groups.result import GroupComparison
from tirelife.groups.show import in_units
from tirelife.groups.trial import plan_trial, rate_log_se

__all__ = [
    "Costs",
    "GroupComparison",
    "adjusted_anova",
    "break_even",
    "compare_groups",
    "compare_rates",
    "cost_per_1000km",
    "cost_table",
    "in_units",
    "plan_trial",
    "rate_log_se",
    "replacements_by_month",
    "replacements_from",
    "savings",
    "tire_rates",
]
