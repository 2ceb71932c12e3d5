"""What ``tirelife.logbook.slips`` offers users, and below it other rooms; read by :mod:`tirelife.doors`."""

from tirelife.doors import FOR_OTHER_ROOMS

from .asking import ask_depths as ask_depths
from .asking import ask_pressures as ask_pressures
from .asking import asked_once as asked_once

if FOR_OTHER_ROOMS:
    from .depths import odds_rule as odds_rule
    from .digits import digits_rule as digits_rule
    from .odometers import judge_odometers as judge_odometers
    from .odometers import judge_tables as judge_tables
    from .predict import USUAL_WEAR as USUAL_WEAR
    from .predict import Law as Law
    from .predict import learn as learn
    from .predict import spreads_rule as spreads_rule
    from .road import Points as Points
    from .visits import STEPS as STEPS
    from .visits import WHEELS as WHEELS
    from .visits import Visits as Visits
