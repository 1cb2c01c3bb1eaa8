"""Truth: printed stiffening and draining times [S3, S17: read, trade]; water by hand [S28]."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special

from models.doors import BadValue
from models.draining import PastStep, after_tip, slumps

F = 0.29293


def _after(**more):
    return after_tip(wall_mm=4.0, slowness=1.0, water_per_cake=F, **more)


@pytest.mark.parametrize("minutes", [10, 15, 30, 45])
def test_what_makers_print_of_draining_lies_in_the_prior(minutes):
    # inverted 10-15, 15-60, 30 min [S17, read, trade]
    said = _after().drained
    assert said.low <= minutes <= said.high


@pytest.mark.parametrize("minutes", [30, 40, 50, 60, 70, 80])
def test_what_makers_print_of_demoulding_lies_in_the_prior(minutes):
    # 30-80 min at 4 mm [S3, read, trade]
    said = _after().demould
    assert said.low <= minutes <= said.high


@pytest.mark.parametrize(("cast_min", "stiff_min"), [(3.5, 35), (4.0, 40)])
def test_the_damp_mould_s_stiffening_is_foretold_from_its_first(cast_min, stiff_min):
    # casts of 3/3.5/4 min stiffen 30/35/40 min [S3, read]; slowness = K dry / K = cast time over 3 min
    past = (PastStep(30.0, 4.0, 1.0),)
    said = after_tip(wall_mm=4.0, slowness=cast_min / 3.0, water_per_cake=F, past_demoulds=past)
    assert said.demould.value == pytest.approx(stiff_min, rel=0.10)
    assert said.demould.low < stiff_min < said.demould.high


@pytest.mark.parametrize(("first", "second"), [((4, 50), (4.5, 60)), ((5, 70), (6, 80)), ((5, 50), (6, 60))])
def test_other_moulds_of_the_same_source(first, second):
    # [S3, read, trade]: 4->4.5 min stiffen 50->60; 5->6: 70->80; 5->6: 50->60
    past = (PastStep(float(first[1]), 4.0, 1.0),)
    said = after_tip(wall_mm=4.0, slowness=second[0] / first[0], water_per_cake=F, past_demoulds=past)
    assert said.demould.value == pytest.approx(second[1], rel=0.10)


def test_stiffening_adds_at_most_four_tenths_of_the_cast_s_water():
    # 0.44 beside 1.17 kg/m2 [S28, derived]
    assert _after().set_water_share.high == pytest.approx(0.44 / 1.17, rel=0.01)


def test_own_history_narrows_the_range():
    past = tuple(PastStep(m, 4.0, 1.0) for m in (50.0, 55.0, 52.0, 51.0))
    said, prior = _after(past_demoulds=past).demould, _after().demould
    assert math.log(said.high / said.low) < 0.5 * math.log(prior.high / prior.low)
    assert said.value == pytest.approx(52, rel=0.05)
    drains = tuple(PastStep(m, 4.0, 1.0) for m in (12.0, 13.0, 12.5))
    assert _after(past_drains=drains).drained.value == pytest.approx(12.5, rel=0.05)


def test_too_soon_is_said():
    said = _after()
    assert slumps(5.0, said)
    assert not slumps(60.0, said)


@given(st.floats(0.5, 20), st.floats(0.01, 5), st.floats(0.5, 5), st.floats(0.01, 3))
def test_thicker_and_damper_never_sets_sooner(wall, more, slow, damper):
    a = after_tip(wall_mm=wall, slowness=slow, water_per_cake=F).demould.value
    b = after_tip(wall_mm=wall + more, slowness=slow + damper, water_per_cake=F).demould.value
    assert b > a


@pytest.mark.parametrize("bad", [math.nan, 0.0, -1.0, 1e9])
def test_absurd_casts_are_refused(bad):
    with pytest.raises(BadValue, match=r"^wall is .*; give the wet wall in mm"):
        after_tip(wall_mm=bad, slowness=1.0, water_per_cake=F)
    with pytest.raises(BadValue, match=r"^slowness is "):
        after_tip(wall_mm=4.0, slowness=bad, water_per_cake=F)
    with pytest.raises(BadValue, match=r"^f is "):
        after_tip(wall_mm=4.0, slowness=1.0, water_per_cake=bad)
    with pytest.raises(BadValue, match=r"^demould 1 minutes is "):
        _after(past_demoulds=(PastStep(bad, 4.0, 1.0),))
    with pytest.raises(BadValue, match=r"^drain 1 wall is "):
        _after(past_drains=(PastStep(10.0, bad, 1.0),))


@pytest.mark.parametrize("minutes", [20.0, 45.0, 90.0, 200.0])
def test_a_cast_that_stuck_says_that_the_right_moment_was_later(minutes):
    # truth: the posterior summed on a fine grid, the median of the next time read off it
    prior_log, prior_sd, scatter = math.log(45.0), 0.60, 0.20
    mu = np.linspace(prior_log - 6 * prior_sd, prior_log + 6 * prior_sd, 6001)
    belief = np.exp(-0.5 * ((mu - prior_log) / prior_sd) ** 2)
    belief *= 0.5 * special.erfc((math.log(minutes) - mu) / scatter / math.sqrt(2.0))
    belief /= belief.sum()
    mean = float((belief * mu).sum())
    spread = math.sqrt(float((belief * (mu - mean) ** 2).sum()) + scatter**2)
    said = _after(too_soon=(PastStep(minutes, 4.0, 1.0),)).demould
    assert said.value == pytest.approx(math.exp(mean), rel=0.005)
    assert math.log(said.high / said.low) == pytest.approx(2 * 1.2816 * spread, rel=0.005)
    assert said.value > _after().demould.value


def test_slumping_far_sooner_than_forecast_teaches_little_and_far_later_teaches_much():
    before = _after().demould.value
    early, late = (_after(too_soon=(PastStep(m, 4.0, 1.0),)).demould.value for m in (5.0, 120.0))
    assert early == pytest.approx(before, rel=0.01)
    assert late > 120.0
    clean = _after(past_demoulds=(PastStep(60.0, 4.0, 1.0),)).demould.value
    both = _after(
        past_demoulds=(PastStep(60.0, 4.0, 1.0),), too_soon=(PastStep(60.0, 4.0, 1.0),)
    ).demould.value
    assert both > clean


@pytest.mark.parametrize("bad", [math.nan, -1.0, 0.0])
def test_absurd_times_at_which_a_cast_stuck_are_refused(bad):
    with pytest.raises(BadValue, match=r"^too soon 1 minutes is "):
        _after(too_soon=(PastStep(bad, 4.0, 1.0),))
