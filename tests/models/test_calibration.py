"""Truth: water = f x wall x area worked by hand [S28]; moulds drawn here with known truth."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.calibration import (
    Place,
    Questioned,
    Sharpened,
    WallTest,
    calibrated,
    first_belief,
    mean_wall_mm,
    sharpen,
    wall_half_width_mm,
    weighed_moisture,
)
from models.doors import BadValue
from models.mould import checked_mould


def _calliper(area=30000.0, f=0.293):
    return first_belief(wetted_area_mm2=area, area_rel_sigma=0.3, water_per_cake=f, f_rel_sigma=0.2)


def _cut(wall, place=Place.MEAN, water=26.37, **more):
    return WallTest(wall, 0.1, place, water, 0.3, **more)


def test_water_over_f_over_area_is_the_wall():
    # 26.37 mL / (.293 x 30000 mm2) = 3.0 mm
    assert mean_wall_mm(_calliper(), 26.37).value == pytest.approx(3.0, rel=1e-3)
    # half as much cake fits on a closing bore: twice the wall for the same water
    assert mean_wall_mm(_calliper(), 26.37, thinning=0.5).value == pytest.approx(6.0, rel=1e-3)


def test_one_cut_test_sharpens_the_wall_though_neither_area_nor_f_is_known():
    done = sharpen(_calliper(), _cut(2.5))
    assert isinstance(done, Sharpened)
    # 80 %: 1.28 x 3 mm x hypot(.3, .2) = 1.39 mm before; wall and water leave 1.28 x 3 x .0416 = .16
    assert done.before_mm == pytest.approx(1.39, abs=0.01)
    assert done.after_mm == pytest.approx(0.16, abs=0.01)
    assert mean_wall_mm(done.calibration, 26.37).value == pytest.approx(2.5, rel=0.02)
    # f alone is still open: its own range narrowed little
    f = done.calibration.water_per_cake
    assert f.high / f.low > 1.4


def test_weighed_trimmings_settle_f_and_then_the_area_follows():
    done = sharpen(_calliper(), _cut(2.5))
    known = weighed_moisture(done.calibration, 0.293, 0.02)
    # A = 26.37 mL / (.293 x 2.5 mm) = 36 000 mm2
    assert known.wetted_area_mm2.value == pytest.approx(36000, rel=0.02)
    assert known.wetted_area_mm2.high / known.wetted_area_mm2.low < 1.15


def test_a_test_that_disagrees_is_shown_not_averaged():
    first = sharpen(_calliper(), _cut(2.5)).calibration
    said = sharpen(first, _cut(3.6))
    assert isinstance(said, Questioned)
    assert said.apart_sigma > 2
    assert said.expected_mm.value == pytest.approx(2.5, rel=0.03)
    assert "a wall of 3.6 mm on the mean does not fit the 2." in said.why
    trusted = sharpen(first, _cut(3.6), trust=True)
    assert isinstance(trusted, Sharpened)


def test_places_are_learned_as_ratios_to_the_mean():
    belief = _calliper()
    for _ in range(4):
        for place, wall in ((Place.BELLY, 3.0), (Place.FOOT, 3.4), (Place.SPARE, 2.7)):
            done = sharpen(belief, _cut(wall, place), trust=True)
            belief = done.calibration
    foot, spare = belief.place_ratio(Place.FOOT), belief.place_ratio(Place.SPARE)
    assert foot.value / spare.value == pytest.approx(3.4 / 2.7, rel=0.03)
    assert foot.value > 1.0 > spare.value
    # mean over the shares spare .2, belly .55, foot .25: 2.7^.2 x 3^.55 x 3.4^.25 = 3.03
    assert mean_wall_mm(belief, 26.37).value == pytest.approx(3.03, rel=0.03)
    assert belief.place_ratio(Place.MEAN).value == 1.0


def test_learned_places_are_taken_up_again_from_the_profile():
    belief = _calliper()
    for place, wall in ((Place.BELLY, 3.0), (Place.FOOT, 3.4), (Place.SPARE, 2.7)) * 3:
        belief = sharpen(belief, _cut(wall, place), trust=True).calibration
    again = first_belief(
        wetted_area_mm2=30000,
        area_rel_sigma=0.3,
        water_per_cake=0.293,
        f_rel_sigma=0.2,
        places=belief.learned_places(),
    )
    for place in (Place.SPARE, Place.BELLY, Place.FOOT):
        assert again.place_ratio(place).value == pytest.approx(belief.place_ratio(place).value, rel=0.02)


def test_a_nick_above_the_line_counts_with_what_the_model_says_of_that_place():
    # the level left that place early: the model says .8 of the mean there; 2.4 mm there is 3.0 mm on the mean
    done = sharpen(_calliper(), _cut(2.4, Place.SPARE, expected_ratio=0.8))
    assert mean_wall_mm(done.calibration, 26.37).value == pytest.approx(3.0, rel=0.03)


def test_beliefs_hold_the_truth_four_times_in_five():
    rng = np.random.default_rng(3)
    runs, inside = 500, 0
    for _ in range(runs):
        area, f = 30000 * math.exp(rng.normal(0, 0.3)), 0.293 * math.exp(rng.normal(0, 0.2))
        foot = math.exp(rng.normal(0, 0.10))
        water = 26.0
        mean = 1000 * water / (f * area)
        seen = mean * foot + rng.normal(0, 0.1)
        done = sharpen(_calliper(), WallTest(seen, 0.1, Place.FOOT, water, 0.1), trust=True)
        there = mean_wall_mm(done.calibration, water)
        inside += there.low <= mean <= there.high
    assert 0.74 <= inside / runs <= 0.88


def test_a_calibrated_mould_gives_the_measured_wall_with_the_slip_it_is_used_with():
    # 26.37 mL and 2.5 mm: f A = 10 548 mm2, so 36 000 mm2 with f .293 and 52 740 with .2
    done = sharpen(_calliper(), _cut(2.5))
    mould = checked_mould("jug", [(0, 60), (100, 60)])
    for f, area in ((0.293, 36000), (0.2, 52740)):
        told = calibrated(done.calibration, mould, water_per_cake=f)
        assert told.wetted_area_mm2 == pytest.approx(area, rel=0.02)
        assert told.area_rel_sigma == pytest.approx(0.042, abs=0.003)
        assert told.bore == mould.bore


@given(st.floats(1, 8), st.sampled_from(Place), st.floats(10, 200))
def test_a_test_never_widens_the_belief(wall, place, water):
    before = _calliper()
    done = sharpen(before, _cut(wall, place, water), trust=True)
    assert done.after_mm < done.before_mm
    assert (np.diag(done.calibration.covariance) <= np.diag(before.covariance) + 1e-12).all()
    assert np.linalg.eigvalsh(done.calibration.covariance).min() > 0


@pytest.mark.parametrize("bad", [math.nan, 0.0, -1.0, 1e9])
def test_absurd_tests_are_refused(bad):
    with pytest.raises(BadValue, match=r"^measured wall is .*; give the wall in mm"):
        sharpen(_calliper(), _cut(bad))
    with pytest.raises(BadValue, match=r"^measured wall's spread is "):
        sharpen(_calliper(), WallTest(3.0, bad, Place.MEAN, 26.0, 0.3))
    with pytest.raises(BadValue, match=r"^water given up is "):
        sharpen(_calliper(), _cut(3.0, water=bad))
    with pytest.raises(BadValue, match=r"^spread of the water is "):
        sharpen(_calliper(), WallTest(3.0, 0.1, Place.MEAN, 26.0, bad))
    with pytest.raises(BadValue, match=r"^expected ratio is "):
        sharpen(_calliper(), _cut(3.0, expected_ratio=bad))
    with pytest.raises(BadValue, match=r"^thinning is "):
        sharpen(_calliper(), _cut(3.0, thinning=bad))
    with pytest.raises(BadValue, match=r"^wetted area is "):
        _calliper(area=bad)
    with pytest.raises(BadValue, match=r"^f is "):
        _calliper(f=bad)
    with pytest.raises(BadValue, match=r"^measured f is "):
        weighed_moisture(_calliper(), bad, 0.1)
    with pytest.raises(BadValue, match=r"^wall is "):
        wall_half_width_mm(_calliper(), bad)
