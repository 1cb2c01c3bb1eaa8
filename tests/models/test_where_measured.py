"""Truth: a mould whose plaster and slip are other than the caster believes, run forward; walls by hand."""

import math

import numpy as np
import pytest

from models.balance import sink
from models.calibration import Place, WallTest, calibrated, first_belief, mean_wall_mm, sharpen
from models.cavity import cut
from models.doors import BadValue
from models.mould import checked_mould
from models.slip import checked_slip
from models.where_measured import place_in_model

BORE = [(0, 70), (22, 62), (28, 58), (60, 90), (100, 96), (120, 70)]
TRUE_SLIP = checked_slip(specific_gravity=1.75, cake_solids_fraction=0.62)  # f .323
TOLD_SLIP = checked_slip(specific_gravity=1.75, cake_solids_fraction=0.59)  # f .259, 20 % less


def _run(mould, slip):
    cavity = cut(mould)
    return sink(
        cavity,
        level_mm=4.0,
        clocks_mm2=np.zeros(len(cavity.depths_mm)),
        water_per_cake=slip.water_per_cake,
        most_mm2=25.0,
    )


def _water_ml(run, slip, wall):
    return slip.water_per_cake * float(np.interp(wall, run.wall_mm, run.cake_mm3)) / 1000


def test_after_one_cut_test_water_and_wall_agree_though_area_and_slip_were_wrong():
    # truth: 15 % more plaster than the bore tells, and another cake. The caster cuts a belly of 2.6 mm.
    plain = checked_mould("jar", BORE)
    own_area = cut(plain).wetted_mm2(4.0)
    truth = _run(checked_mould("jar", BORE, wetted_area_mm2=1.15 * own_area), TRUE_SLIP)
    water = _water_ml(truth, TRUE_SLIP, 2.6)
    there = place_in_model(plain, TOLD_SLIP, mean_wall_mm=2.6, place=Place.BELLY)
    belief = first_belief(
        wetted_area_mm2=own_area, area_rel_sigma=0.3, water_per_cake=TOLD_SLIP.water_per_cake, f_rel_sigma=0.2
    )
    test = WallTest(
        2.6 * there.expected_ratio,
        0.05,
        Place.BELLY,
        water,
        0.2,
        expected_ratio=there.expected_ratio,
        thinning=there.thinning,
    )
    done = sharpen(belief, test)
    mould = calibrated(done.calibration, plain, water_per_cake=TOLD_SLIP.water_per_cake)
    again = _run(mould, TOLD_SLIP)
    for wall in (2.0, 2.6, 3.2):
        # the profile that came out, run forward with the slip as told, against the truth at the same water
        waters = TOLD_SLIP.water_per_cake * again.cake_mm3 / 1000
        at = float(np.interp(_water_ml(truth, TRUE_SLIP, wall), waters, again.wall_mm))
        assert at == pytest.approx(wall, rel=0.04)
    # and the belief alone, without running anything
    assert mean_wall_mm(done.calibration, water, thinning=there.thinning).value == pytest.approx(
        2.6, rel=0.03
    )


def test_an_upright_wall_that_stayed_covered_is_the_mean():
    straight = checked_mould("beaker", [(0, 80), (40, 80), (100, 80)], trim_line_mm=40)
    belly = place_in_model(straight, TRUE_SLIP, mean_wall_mm=2.0, place=Place.FOOT)
    assert belly.expected_ratio == pytest.approx(1.0, abs=0.01)
    # ring of 2 mm in 80: pi (40^2 - 38^2) over 2 x 80 pi = .975; floor and dry part shift it a little
    assert belly.thinning == pytest.approx(0.975, abs=0.05)


def test_a_place_that_the_level_left_is_thinner():
    mould = checked_mould("jar", BORE)
    spare = place_in_model(mould, TRUE_SLIP, mean_wall_mm=3.0, place=Place.SPARE, depth_mm=8.0)
    foot = place_in_model(mould, TRUE_SLIP, mean_wall_mm=3.0, place=Place.FOOT)
    assert spare.expected_ratio < 0.9 < foot.expected_ratio


@pytest.mark.parametrize("bad", [math.nan, -1.0, 2.0, 500.0])
def test_a_place_outside_the_slip_is_refused(bad):
    mould = checked_mould("jar", BORE)
    with pytest.raises(BadValue, match=r"^depth of the place is .*; give mm below the rim, 4 "):
        place_in_model(mould, TRUE_SLIP, mean_wall_mm=3.0, place=Place.SPARE, depth_mm=bad)
    if bad != 2.0:
        with pytest.raises(BadValue, match=r"^mean wall is "):
            place_in_model(mould, TRUE_SLIP, mean_wall_mm=bad, place=Place.SPARE)
