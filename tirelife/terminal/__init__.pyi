"""What ``tirelife.terminal`` offers other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

if FOR_OTHER_ROOMS:
    from .align import alignment_answer as alignment_answer
    from .align import alignment_text as alignment_text
    from .audit import changes_text as changes_text
    from .backtest import backtest_answer as backtest_answer
    from .backtest import backtest_scores as backtest_scores
    from .backtest import backtest_text as backtest_text
    from .check import problems_text as problems_text
    from .decision import all_rows as all_rows
    from .decision import decision_rows as decision_rows
    from .decision import with_changed as with_changed
    from .decision import with_decisions as with_decisions
    from .fit import fit_data as fit_data
    from .fit import fit_text as fit_text
    from .forecast import forecast_data as forecast_data
    from .forecast import forecast_text as forecast_text
    from .groups import group_answer as group_answer
    from .groups import group_data as group_data
    from .groups import group_text as group_text
    from .imports import columns_text as columns_text
    from .imports import import_answer as import_answer
    from .imports import import_texts as import_texts
    from .imports import on_the_way as on_the_way
    from .imports import outcome_text as outcome_text
    from .pressures import pressure_answer as pressure_answer
    from .pressures import pressure_text as pressure_text
    from .progress_bar import progress as progress
    from .record import recorded_answer as recorded_answer
    from .record import recorded_text as recorded_text
    from .replace import replace_answer as replace_answer
    from .replace import replace_text as replace_text
    from .rotate import rotation_answer as rotation_answer
    from .rotate import rotation_text as rotation_text
    from .table import framed as framed
    from .tread import tread_answer as tread_answer
    from .tread import tread_text as tread_text
    from .trips import faults_worded as faults_worded
    from .trips import trip_notes as trip_notes
    from .trips import trips_text as trips_text
    from .trust import fit_lines as fit_lines
    from .values import rows_of as rows_of
    from .verdict import first_lines as first_lines
    from .verdict import told_verdicts as told_verdicts
    from .verdict import verdict_lines as verdict_lines
    from .walkin import walkin_answer as walkin_answer
    from .walkin import walkin_text as walkin_text
    from .whatif import changes_of as changes_of
    from .whatif import whatif_data as whatif_data
    from .whatif import whatif_text as whatif_text
