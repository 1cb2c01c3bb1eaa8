"""Truth: shrinkage arithmetic by hand; published shrinkages as a band [S18, read, trade]."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.doors import BadValue
from models.wall_basis import Basis, Shrinkage, wall_in, wet_wall


def test_a_fired_wall_was_thicker_when_wet():
    # s = 0.12: 2.64 mm fired was 3.0 mm wet
    wet = wet_wall(2.64, 0.05, Basis.FIRED, Shrinkage())
    assert wet.wall_mm == pytest.approx(3.0)
    # 0.05/0.88 and 0.015 x 2.64/0.88^2
    assert wet.sigma_mm == pytest.approx(math.hypot(0.05682, 0.05114), rel=1e-3)


def test_a_wet_wall_is_itself():
    wet = wet_wall(3.0, 0.1, Basis.WET, Shrinkage())
    assert (wet.wall_mm, wet.sigma_mm) == (3.0, 0.1)


def test_starting_values_lie_in_the_printed_band():
    # earthenware 9.5 +-1, stoneware 14.5 +-1, porcelain 11.75 and 12.5 % to fired [S18, read]
    assert 0.085 <= Shrinkage().fired <= 0.155


@given(st.floats(0.5, 30), st.sampled_from(Basis))
def test_there_and_back_is_the_same_wall(wall, basis):
    s = Shrinkage()
    assert wet_wall(wall_in(basis, wall, s), 0.1, basis, s).wall_mm == pytest.approx(wall)


@pytest.mark.parametrize("bad", [math.nan, 0.0, -1.0, 900.0])
def test_absurd_walls_are_refused(bad):
    with pytest.raises(BadValue, match=r"^wall is .*; give the wall in mm"):
        wet_wall(bad, 0.1, Basis.WET, Shrinkage())
    with pytest.raises(BadValue, match=r"^wall is "):
        wall_in(Basis.DRY, bad, Shrinkage())


@pytest.mark.parametrize(
    ("values", "text"),
    [
        (
            (0.02, 0.01, 0.12),
            "shrinkage dry is 0.01; give the linear shrinkage from wet as a share, 0.02 to 0.3",
        ),
        ((2, 6, 12), "shrinkage leather_hard is 2;"),
        ((0.02, 0.06, math.nan), "shrinkage fired is nan;"),
        ((0.02, 0.06, 0.12, -1), "shrinkage sigma is -1;"),
    ],
)
def test_absurd_shrinkages_are_refused(values, text):
    with pytest.raises(BadValue, match=text.replace(".", r"\.")):
        Shrinkage(*values)
