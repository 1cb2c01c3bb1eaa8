"""Truth: hydrostatics by a fine sum over the depth, written here."""

import math

import numpy as np
import pytest

from models.doors import BadValue
from models.slip_pressure import straps_for


def test_the_push_is_the_sum_of_pressure_over_the_joint():
    z = np.linspace(0, 0.3, 100001)
    push = float(np.trapezoid(1750 * 9.81 * z * 0.12, z))
    assert straps_for(depth_mm=300, width_mm=120, sg=1.75).push_n == pytest.approx(push, rel=1e-6)


def test_twice_as_deep_pushes_four_times():
    one = straps_for(depth_mm=150, width_mm=120, sg=1.75).push_n
    assert straps_for(depth_mm=300, width_mm=120, sg=1.75).push_n == pytest.approx(4 * one)


def test_small_moulds_get_two_straps_and_large_ones_more():
    # 100 mm deep, 80 wide: 6.9 N. 600 deep, 400 wide: 1236 N, twice that over 300 N: 9 straps
    assert straps_for(depth_mm=100, width_mm=80, sg=1.75).straps == 2
    big = straps_for(depth_mm=600, width_mm=400, sg=1.75)
    assert big.straps == 9
    assert "1236 N" in big.working


@pytest.mark.parametrize("bad", [math.nan, 0.0, -1.0, 1e9])
def test_absurd_moulds_are_refused(bad):
    with pytest.raises(BadValue, match=r"^depth of slip is "):
        straps_for(depth_mm=bad, width_mm=100, sg=1.75)
    with pytest.raises(BadValue, match=r"^width at the joint is "):
        straps_for(depth_mm=100, width_mm=bad, sg=1.75)
    with pytest.raises(BadValue, match=r"^specific gravity is "):
        straps_for(depth_mm=100, width_mm=100, sg=bad)
    with pytest.raises(BadValue, match=r"^pull of a strap is "):
        straps_for(depth_mm=100, width_mm=100, sg=1.75, strap_n=bad)
