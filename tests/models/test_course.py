"""A topped-up cast whose K has moved since its tables were laid out."""

import math

import numpy as np
import pytest

from models.course import (
    FIRST_LEVEL,
    GAIN,
    LOG_BEND,
    LOG_K,
    LOG_POUR,
    LOG_SKIN,
    LOG_SLOPE,
    SEEP,
    SHIFT,
    course,
)
from models.mould import checked_mould
from models.series import LevelSeries, filling
from models.slip import checked_slip

MOULD = checked_mould("planter", [[0, 62], [25, 56], [60, 88], [140, 80]], target_wall_mm=4)
SLIP = checked_slip(specific_gravity=1.78, cake_solids_fraction=0.635)
SERIES = LevelSeries((filling(earliest_s=-3, latest_s=3), filling(earliest_s=397, latest_s=403)))
TIMES = np.concatenate([np.arange(20.0, 390.0, 40.0), np.arange(410.0, 1500.0, 60.0)])


def unknowns(log_k):
    place = np.zeros(FIRST_LEVEL + 2)
    place[LOG_K], place[LOG_SKIN], place[LOG_SLOPE] = log_k - math.log(60.0), math.log(0.2), math.log(0.03)
    place[LOG_BEND], place[GAIN], place[SHIFT] = math.log(0.008), 0.0, 0.0
    place[LOG_POUR], place[SEEP] = math.log(40.0), 0.25 / 3600.0
    place[FIRST_LEVEL:] = 3.3, 2.4
    return place


@pytest.mark.parametrize("moved", [-0.25, -0.1, 0.0, 0.1, 0.25])
def test_slopes_after_a_top_up_are_those_of_small_differences(moved):
    laid = course(SERIES, MOULD, SLIP, unknowns(0.2))
    at = unknowns(0.2 + moved)
    _, slopes = laid.predict(at, TIMES)
    for i in range(len(at)):
        step = np.zeros(len(at))
        step[i] = 1e-4
        difference = (laid.predict(at + step, TIMES)[0] - laid.predict(at - step, TIMES)[0]) / 2e-4
        scale = max(1.0, float(np.abs(difference[0]).max()))
        # tables are straight between columns, so slopes jump a little there
        assert slopes[0, :, i] == pytest.approx(difference[0], abs=0.06 * scale), i


@pytest.mark.parametrize("moved", [-0.06, -0.03, 0.03, 0.06])
def test_tables_laid_out_at_another_k_foretell_the_same_levels(moved):
    at = unknowns(0.2 + moved)
    anew, _ = course(SERIES, MOULD, SLIP, at).predict(at, TIMES)
    kept, _ = course(SERIES, MOULD, SLIP, unknowns(0.2)).predict(at, TIMES)
    assert kept[0] == pytest.approx(anew[0], abs=0.1)
    assert kept[1] == pytest.approx(anew[1], abs=0.02)
