"""What ``tirelife.sheet`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

from .answer import Answer as Answer
from .answer import answer_for as answer_for
from .bundle import start_bundle as start_bundle
from .page import compose_page as compose_page
from .page import customer_page as customer_page
from .printing import print_page as print_page
from .recording import visit_form as visit_form
from .talk import customer_talk as customer_talk
from .walkin import walkin_answer as walkin_answer
from .walkin import walkin_page as walkin_page

if FOR_OTHER_ROOMS:
    from .answer import check_vehicle as check_vehicle
    from .backtest_tables import backtest_words as backtest_words
    from .backtest_tables import in_shown_units as in_shown_units
    from .backtest_tables import method_words as method_words
    from .backtest_tables import part_words as part_words
    from .backtest_tables import target_words as target_words
    from .counter import counter_page as counter_page
    from .days import day_said as day_said
    from .days import in_order as in_order
    from .drawer import page_helpers as page_helpers
    from .drawer import start_drawing as start_drawing
    from .fit_words import check_table as check_table
    from .fit_words import fit_tables as fit_tables
    from .fit_words import ranged as ranged
    from .fleet import fleet_answer as fleet_answer
    from .fleet_page import compose_fleet as compose_fleet
    from .fleet_page import fleet_lists as fleet_lists
    from .group_tables import budget_table as budget_table
    from .group_tables import cost_table as cost_table
    from .group_tables import group_table as group_table
    from .group_tables import group_texts as group_texts
    from .group_tables import pair_table as pair_table
    from .group_tables import pair_words as pair_words
    from .group_tables import saving_table as saving_table
    from .group_tables import why_table as why_table
    from .group_tables import worth_words as worth_words
    from .limits import removal_limits as removal_limits
    from .limits import road_most as road_most
    from .notebook import numeric as numeric
    from .one_browser import printer as printer
    from .pages import write_pages as write_pages
    from .pressures import caution as caution
    from .pressures import pressure_rows as pressure_rows
    from .quantities import DEEP as DEEP
    from .quantities import depth as depth
    from .quantities import distance_step as distance_step
    from .quantities import far_within as far_within
    from .quantities import half_up as half_up
    from .quantities import rounded as rounded
    from .shop import NO_SHOP as NO_SHOP
    from .shop import Shop as Shop
    from .shop import read_shop as read_shop
    from .tread_tables import gauge_asks as gauge_asks
    from .tread_words import CHECKS as CHECKS
    from .tread_words import WEAK as WEAK
    from .tread_words import evidence_words as evidence_words
    from .tread_words import step_words as step_words
