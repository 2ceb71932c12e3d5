"""Driver groups and tire lines compared; why they differ, what it costs, and trials to settle it."""

from tirelife.groups.compare import GroupComparison, compare_groups, compare_rates
from tirelife.groups.response import tire_rates

__all__ = ["GroupComparison", "compare_groups", "compare_rates", "tire_rates"]
