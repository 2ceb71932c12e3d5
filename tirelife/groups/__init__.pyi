"""What ``tirelife.groups`` offers users; read by :mod:`tirelife.doors`."""

from .anova import adjusted_anova as adjusted_anova
from .budget import replacements_by_month as replacements_by_month
from .budget import replacements_from as replacements_from
from .compare import compare_groups as compare_groups
from .compare import compare_rates as compare_rates
from .money import Costs as Costs
from .money import break_even as break_even
from .money import comparison_tables as comparison_tables
from .money import cost_per_1000km as cost_per_1000km
from .money import cost_table as cost_table
from .money import savings as savings
from .response import tire_rates as tire_rates
from .result import GroupComparison as GroupComparison
from .trial import plan_trial as plan_trial
from .trial import rate_log_se as rate_log_se
