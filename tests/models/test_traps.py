"""Truth: the limit of hanging water worked by hand [S19, memory: sure]; necks that shut [S30, read]."""

import math

import pytest

from models.doors import BadValue
from models.traps import Trap, hanging_width_mm, traps

BOTTLE = [(0.0, 34.0), (22.0, 22.0), (40.0, 14.0), (60.0, 14.0), (90.0, 66.0), (170.0, 60.0)]
BEAKER = [(0.0, 90.0), (20.0, 84.0), (100.0, 70.0)]
FLAT_SHOULDER = [(0.0, 40.0), (30.0, 36.0), (33.0, 90.0), (120.0, 80.0)]


def test_water_hangs_in_a_tube_of_a_centimetre():
    # R = 1.8412 sqrt(.072/(1000 x 9.81)) = 4.99 mm [S19]
    assert hanging_width_mm(1.0) == pytest.approx(9.98, abs=0.01)
    assert hanging_width_mm(1.75) == pytest.approx(7.54, abs=0.01)


def test_a_beaker_drains():
    assert traps(BEAKER, wall_mm=4.0, sg=1.75) == ()


def test_a_bottle_neck_needs_air_then_shuts():
    # 14 mm neck: 8 mm left at 3 mm wall, 6 mm at 4 mm, nothing at 7 mm
    assert traps(BOTTLE, wall_mm=3.0, sg=1.75) == ()
    (narrow, *_) = traps(BOTTLE, wall_mm=4.0, sg=1.75)
    assert narrow.trap is Trap.NO_AIR
    assert narrow.open_mm == pytest.approx(6.0)
    (shut, *_) = traps(BOTTLE, wall_mm=7.0, sg=1.75)
    assert shut.trap is Trap.SHUT
    assert shut.depth_mm == 40.0
    assert shut.open_mm == 0.0


def test_a_flat_shoulder_keeps_a_puddle():
    # 3 mm down over 27 mm out: 6.3 degrees
    (shelf,) = traps(FLAT_SHOULDER, wall_mm=3.0, sg=1.75)
    assert shelf.trap is Trap.SHELF
    assert shelf.depth_mm == 33.0


def test_a_foot_that_narrows_traps_nothing():
    assert traps([(0.0, 60.0), (80.0, 9.0)], wall_mm=3.0, sg=1.75) == ()


@pytest.mark.parametrize("bad", [math.nan, -1.0, 1e9])
def test_absurd_bores_are_refused(bad):
    with pytest.raises(BadValue, match=r"^bore row 2 depth is "):
        traps([(0.0, 40.0), (bad, 30.0)], wall_mm=3.0, sg=1.75)
    with pytest.raises(BadValue, match=r"^bore row 1 diameter is "):
        traps([(0.0, bad), (10.0, 30.0)], wall_mm=3.0, sg=1.75)
    with pytest.raises(BadValue, match=r"^wall is "):
        traps(BEAKER, wall_mm=bad, sg=1.75)
    with pytest.raises(BadValue, match=r"^specific gravity is "):
        traps(BEAKER, wall_mm=3.0, sg=bad)
    with pytest.raises(BadValue, match=r"give depths that grow"):
        traps([(10.0, 40.0), (10.0, 30.0)], wall_mm=3.0, sg=1.75)
    with pytest.raises(BadValue, match=r"bore has 1 rows"):
        traps([(0.0, 40.0)], wall_mm=3.0, sg=1.75)
