"""Shapes as a caster measures them; a wrong value gets one sentence: field, value, what is wanted."""

import math

import pytest

from models.mould import PourHole, ProfileError, checked_mould, target_window

BORE = [[0, 60], [20, 50], [60, 80], [100, 60]]


def test_a_bore_is_straight_between_its_rows_and_a_radius_is_half_a_diameter():
    mould = checked_mould("jug", BORE)
    assert mould.radius_mm(10.0) == pytest.approx(27.5)
    assert mould.radius_mm(40.0) == pytest.approx(32.5)
    assert mould.depth_mm == 100.0


def test_the_neck_is_the_first_narrowest_place_unless_a_trim_line_is_given():
    assert checked_mould("jug", BORE).neck_mm == 20.0
    assert checked_mould("jug", BORE, trim_line_mm=26).neck_mm == 26.0


def test_without_a_neck_the_spare_ends_with_the_steepest_taper_near_the_rim():
    beaker = checked_mould("beaker", [[0, 84], [16, 78], [20, 72], [84, 68], [104, 62], [110, 50]])
    assert beaker.neck_mm == 20.0
    assert checked_mould("tube", [[0, 50], [90, 50]]).neck_mm == 0.0


def test_one_wanted_number_is_the_thin_end_of_a_window():
    assert target_window(3.0) == pytest.approx((3.0, 3.3))
    assert target_window([2.5, 3.5]) == (2.5, 3.5)
    assert target_window(None) is None


@pytest.mark.parametrize(
    ("bore", "says"),
    [
        ([[0, 60]], "at least two rows"),
        ([[0, 60], [0, 50]], "depths must grow"),
        ([[0, 60], [20, 50], [10, 40]], "depths must grow"),
        ([[0, 60], [20, 0]], "diameter at 20 mm is 0"),
        ([[0, 60], [20, -5]], "diameter at 20 mm is -5"),
        ([[0, math.nan], [20, 50]], "diameter at 0 mm is nan"),
        ([[0, 60], [math.inf, 50]], "depth is inf"),
        ([[0, 60], [20, 99999]], "diameter at 20 mm is 99999"),
        ([[5, 60], [20, 50]], "first row is the rim"),
        ([[0, 60, 1], [20, 50]], "a depth and a diameter"),
    ],
)
def test_a_bore_that_cannot_be_is_refused(bore, says):
    with pytest.raises(ProfileError) as caught:
        checked_mould("jug", bore)
    assert says in str(caught.value)
    assert str(caught.value).startswith("jug: bore")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"target_wall_mm": 0.0}, "target_wall_mm is 0"),
        ({"target_wall_mm": -3.0}, "target_wall_mm is -3"),
        ({"target_wall_mm": math.nan}, "target_wall_mm is nan"),
        ({"target_wall_mm": [4.0, 3.0]}, "from 4 to 60 mm"),
        ({"target_wall_mm": [4.0, 3.0, 2.0]}, "thin and thick"),
        ({"target_wall_mm": 40.0}, "thinner than half"),
        ({"wetted_area_mm2": 0.0}, "wetted_area_mm2 is 0"),
        ({"target_water_ml": -1.0}, "target_water_ml is -1"),
        ({"trim_line_mm": 150.0}, "from 0 to 100 mm"),
        ({"area_rel_sigma": math.inf}, "area_rel_sigma is inf"),
        ({"holes": [PourHole(axes_mm=(20.0, 30.0))]}, "axes_mm long is 20"),
        ({"holes": [PourHole(axes_mm=(20.0, 0.0))]}, "axes_mm short is 0"),
        ({"holes": [PourHole(centre_mm=(math.nan, 0.0))]}, "centre_mm is nan"),
        ({"holes": [PourHole(bore=((0.0, 20.0), (200.0, 20.0)))]}, "end it where the hole joins the body"),
    ],
)
def test_a_profile_that_cannot_be_is_refused(options, says):
    with pytest.raises(ProfileError) as caught:
        checked_mould("jug", BORE, **options)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)
