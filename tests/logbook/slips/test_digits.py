"""Digits of readings tell a gauge in 32nds from one in tenths of a mm."""

import numpy as np

from tirelife.logbook.slips.digits import digit_odds


def test_halves_speak_for_32nds_and_tenths_for_mm():
    off, many, who = np.array([0, 14, 0]), np.array([20, 20, 0]), np.array([0, 1, 2])
    odds = digit_odds(off, many, who)
    assert odds["mm"][1] > odds["mm"][0]
    assert odds["32nds"][0] > odds["32nds"][1]
    assert abs(odds["mm"][2]) < abs(odds["mm"][1])
