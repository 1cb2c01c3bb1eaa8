"""A camera sees the slip's edge on the ring of cake: what a wrong guess of that ring does to the fit."""

from __future__ import annotations

import numpy as np
import pytest

from models.fit import AbsorptionFit, fit_absorption
from models.mould import checked_mould
from models.prior import AbsorptionPrior
from models.series import LevelSeries, SeriesError, filling
from models.slip import checked_slip
from tests.models.made_casts import JUG, JUG_NECK, run_cast

SLIP = checked_slip(specific_gravity=1.78, cake_solids_fraction=0.635)
F = 0.635 / 0.4875 - 1.0  # worked by hand
MOULD = checked_mould("jug", JUG, target_wall_mm=3.0)
K = 0.6  # half of what the trade's middle would have one expect
PER_CLAY = 0.9  # cot of a view 48 degrees from the vertical


@pytest.fixture(scope="module")
def truth():
    return run_cast(JUG, JUG_NECK, f=F, k=K, level=3.0, pour_s=40.0, seconds=900, skin=0.2, bend=0.012)


def series(truth, *, guess: float, told: bool) -> LevelSeries:
    """Readings made with a ring `guess` times that of a mould of K 1.2; the fit is told so or not."""
    times = np.arange(10.0, 800.0, 25.0)
    wall = np.sqrt(K * times / 60.0)  # the ring by the root law, near the rim, from the moment it was full
    guessed = guess * np.sqrt(1.2 * times / 60.0)
    levels = np.interp(times, truth[0], truth[1]) - PER_CLAY * (guessed - wall)
    clay = {"clay_mm": guessed, "mm_per_clay_mm": PER_CLAY} if told else {}
    part = filling(
        earliest_s=-2.0, latest_s=2.0, times_s=times, levels_mm=levels, sigma_mm=0.3, drift_sigma_mm=0.1,
        pour_s=40.0, **clay,
    )  # fmt: skip
    return LevelSeries((part,))


def wall_error(truth, given: LevelSeries) -> float:
    fit = fit_absorption(given, MOULD, SLIP, AbsorptionPrior())
    assert isinstance(fit, AbsorptionFit)
    return fit.at(800.0).wall_mm.value - float(np.interp(800.0, truth[0], truth[2]))


@pytest.mark.parametrize("guess", [0.5, 1.0, 1.5])
def test_a_wrong_guess_of_the_ring_does_not_bend_the_wall_when_the_fit_knows_of_it(truth, guess):
    assert abs(wall_error(truth, series(truth, guess=guess, told=True))) < 0.15


@pytest.mark.parametrize("guess", [0.5, 1.5])
def test_the_same_guess_bends_the_wall_when_it_is_hidden_from_the_fit(truth, guess):
    told = abs(wall_error(truth, series(truth, guess=guess, told=True)))
    hidden = abs(wall_error(truth, series(truth, guess=guess, told=False)))
    assert hidden > 2.0 * told


def test_clay_that_is_no_number_is_refused():
    with pytest.raises(SeriesError, match="clay_mm"):
        filling(earliest_s=0, latest_s=1, times_s=[5.0], levels_mm=[3.0], clay_mm=float("nan"))
