"""A cast's readings as the fit takes them."""

import math

import numpy as np
import pytest

from models.series import LevelSeries, SeriesError, filling


def test_single_sigmas_and_placements_stand_for_all_readings():
    part = filling(earliest_s=0, latest_s=10, times_s=[20, 40], levels_mm=[3, 4], sigma_mm=0.3)
    assert part.sigma_mm.tolist() == [0.3, 0.3]
    assert part.drift_sigma_mm.tolist() == [0.3, 0.3]
    assert part.placement.tolist() == [0, 0]
    assert part.full_s == 5.0
    assert LevelSeries((part, part)).readings == 4


def test_readings_cannot_be_changed_once_given():
    part = filling(earliest_s=0, latest_s=10, times_s=[20, 40], levels_mm=[3, 4])
    with pytest.raises(ValueError, match="read-only"):
        part.levels_mm[0] = 9.0


def test_what_was_handed_in_stays_the_caller_s():
    levels = np.array([3.0, 4.0])
    filling(earliest_s=0, latest_s=10, times_s=[20, 40], levels_mm=levels)
    levels[0] = 9.0


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"levels_mm": [3.0]}, "levels_mm holds 1 values for 2 readings"),
        ({"levels_mm": [3.0, math.nan]}, "levels_mm holds a level that is no number"),
        ({"times_s": [40, 20]}, "times_s runs backwards"),
        ({"times_s": [20, math.inf]}, "times_s holds a moment that is no number"),
        ({"sigma_mm": 0.0}, "must be above 0 mm"),
        ({"sigma_mm": [0.3, -0.3]}, "must be above 0 mm"),
        ({"drift_sigma_mm": math.nan}, "must be above 0 mm"),
        ({"latest_s": -5.0}, "give two moments in order"),
        ({"pour_s": 0.0}, "pour_s is 0.0"),
        ({"pour_s": math.nan}, "pour_s is nan"),
        ({"began_earliest_s": 5.0, "began_latest_s": 50.0}, "give moments in order"),
    ],
)
def test_readings_that_cannot_be_are_refused(wrong, says):
    given = {"earliest_s": 0, "latest_s": 10, "times_s": [20, 40], "levels_mm": [3.0, 4.0]} | wrong
    with pytest.raises(SeriesError) as caught:
        filling(**given)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)
