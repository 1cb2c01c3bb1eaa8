"""Whatever the eyes bring, the fit answers with finite ranges or with a reason; it never breaks."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.fit import AbsorptionFit, CannotFit, fit_absorption
from models.mould import PourHole, checked_mould
from models.prior import AbsorptionPrior
from models.series import LevelSeries, filling
from models.slip import checked_slip
from models.tip import estimate_tip

SLIP = checked_slip(specific_gravity=1.78, cake_solids_fraction=0.635)
JUG = checked_mould(
    "jug", [[0, 62], [20, 54], [30, 49], [60, 76], [84, 81], [104, 70], [112, 56]], target_wall_mm=3
)


def answer(series, mould=JUG, prior=None):
    fit = fit_absorption(series, mould, SLIP, prior or AbsorptionPrior())
    if isinstance(fit, CannotFit):
        assert fit.why
        return
    assert isinstance(fit, AbsorptionFit)
    for at in (-100.0, 0.0, 300.0, 1e5):
        state = fit.at(at)
        for figure in (state.level_mm, state.wall_mm, state.water_ml):
            assert math.isfinite(figure.value)
            assert figure.low <= figure.value <= figure.high
        tip = estimate_tip(fit, mould, at)
        if tip.ready_s is not None:
            assert tip.ready_low_s <= tip.ready_s <= tip.ready_high_s
        else:
            assert tip.why
    assert np.all(np.isfinite(fit.cake_on_wall(300.0, np.linspace(0.0, 110.0, 12))))


levels = st.lists(st.floats(-5.0, 111.0), min_size=0, max_size=14)


@settings(max_examples=60, deadline=None)
@given(levels=levels, every=st.floats(0.0, 120.0), sigma=st.floats(0.02, 3.0), wide=st.floats(0.0, 300.0))
def test_any_levels_at_all_get_an_answer(levels, every, sigma, wide):
    part = filling(
        earliest_s=-wide,
        latest_s=5.0,
        times_s=[5.0 + every * i for i in range(len(levels))],
        levels_mm=levels,
        sigma_mm=sigma,
    )
    answer(LevelSeries((part,)))


@pytest.mark.parametrize("level", [-3.0, 0.0, 5.0, 60.0, 111.9, 500.0])
def test_a_level_that_never_moves_gets_an_answer(level):
    times = np.arange(10.0, 600.0, 30.0)
    answer(
        LevelSeries((filling(earliest_s=0, latest_s=5, times_s=times, levels_mm=np.full(len(times), level)),))
    )


def test_a_level_that_rises_gets_an_answer():
    times = np.arange(10.0, 600.0, 30.0)
    answer(LevelSeries((filling(earliest_s=0, latest_s=5, times_s=times, levels_mm=20.0 - times / 60.0),)))


def test_five_top_ups_and_a_refill_get_an_answer():
    parts = []
    for i in range(6):
        times = np.arange(10.0, 100.0, 30.0) + 120.0 * i
        parts.append(
            filling(
                earliest_s=120.0 * i,
                latest_s=120.0 * i + 5.0,
                times_s=times,
                levels_mm=3.0 + 0.01 * (times - 120.0 * i),
                placement=i,
                drained_from_s=120.0 * i - 15.0 if i == 3 else None,
            )
        )
    answer(LevelSeries(tuple(parts)))


@pytest.mark.parametrize(
    "mould",
    [
        checked_mould("dish", [[0, 200], [30, 180]], target_wall_mm=4),
        checked_mould("tube", [[0, 12], [300, 12]], target_wall_mm=3),
        checked_mould("oval", [[0, 60], [50, 60]], holes=[PourHole(axes_mm=(90, 40))], target_wall_mm=3),
        checked_mould(
            "teapot",
            [[0, 90], [30, 90], [120, 90]],
            holes=[PourHole(bore=((0, 24), (30, 24))), PourHole((40, 0), ((0, 12), (30, 12)))],
            target_wall_mm=3,
        ),
        checked_mould("hole alone", [[0, 40], [20, 36]], wetted_area_mm2=20000, target_water_ml=20),
        checked_mould("no target", [[0, 40], [90, 36]]),
    ],
    ids=lambda mould: mould.name,
)
def test_moulds_of_every_kind_get_an_answer(mould):
    times = np.arange(10.0, 400.0, 30.0)
    sinking = 2.0 + 0.25 * np.sqrt(times)
    answer(LevelSeries((filling(earliest_s=0, latest_s=5, times_s=times, levels_mm=sinking),)), mould)
