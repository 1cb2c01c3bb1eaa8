"""Slices of a cavity against the closed forms of cylinder, cone, ellipse and several holes."""

import math

import numpy as np
import pytest
from scipy.special import ellipe

from models.cavity import CORNER_LOSS, cut
from models.mould import MouldProfile, PourHole, checked_mould


def test_a_cylinder_wets_its_side_and_its_floor():
    cavity = cut(checked_mould("tube", [[0, 60], [100, 60]]))
    assert cavity.wetted_mm2(0.0) == pytest.approx(math.pi * 60 * 100 + math.pi * 30**2, rel=1e-9)
    assert cavity.wetted_mm2(25.0) == pytest.approx(math.pi * 60 * 75 + math.pi * 30**2, rel=1e-9)
    assert cavity.slices_of_water_mm3().sum() == pytest.approx(math.pi * 900 * 100, rel=1e-9)


def test_a_cone_wets_its_slant_and_holds_its_frustum():
    cavity = cut(checked_mould("cone", [[0, 80], [120, 40]]))
    slant = math.hypot(120.0, 20.0)  # lateral area of a frustum: pi (r1 + r2) slant
    assert cavity.wetted_mm2(0.0) == pytest.approx(math.pi * 60 * slant + math.pi * 400, rel=1e-9)
    frustum = math.pi * 120.0 / 3.0 * (40**2 + 40 * 20 + 20**2)
    assert cavity.slices_of_water_mm3().sum() == pytest.approx(frustum, rel=1e-9)


def test_cake_in_a_cone_leaves_a_smaller_cone():
    # moved inwards by L along its normal, a leaning wall leaves r - L / cos(lean) at every depth
    cavity = cut(checked_mould("cone", [[0, 80], [120, 40]]))
    lean = math.hypot(120.0, 20.0) / 120.0
    assert cavity.free_mm2(30.0, 4.0) == pytest.approx(math.pi * (35.0 - 4.0 * lean) ** 2, rel=1e-9)
    walls = np.full(len(cavity.depths_mm) - 1, 4.0)
    hollow = math.pi * 120.0 / 3.0
    outer = hollow * (40**2 + 40 * 20 + 20**2)
    r1, r2 = 40.0 - 4.0 * lean, 20.0 - 4.0 * lean
    inner = hollow * (r1 * r1 + r1 * r2 + r2 * r2)
    assert cavity.cake_mm3(walls).sum() == pytest.approx(outer - inner, rel=1e-9)


def test_the_floor_takes_its_share_of_the_corner():
    cavity = cut(checked_mould("tube", [[0, 60], [100, 60]]))
    sharp = math.pi * (30.0 - 3.0) ** 2 * 3.0
    round_foot = math.pi * 30.0**2 * 3.0
    there = float(cavity.floor_cake_mm3(np.array(3.0)))
    assert there == pytest.approx(CORNER_LOSS * sharp + (1.0 - CORNER_LOSS) * round_foot, rel=1e-9)


def test_a_hole_that_cake_has_closed_leaves_nothing_free():
    cavity = cut(checked_mould("tube", [[0, 20], [100, 20]]))
    assert cavity.free_mm2(10.0, 9.9) > 0.0
    assert cavity.free_mm2(10.0, 10.0) == 0.0
    assert cavity.free_mm2(10.0, 15.0) == 0.0


def test_an_oval_hole_has_the_area_and_edge_of_an_ellipse():
    mould = checked_mould("tray", [[0, 60], [40, 60]], holes=[PourHole(axes_mm=(90.0, 40.0))])
    cavity = cut(mould)
    assert cavity.area_mm2[0, 0] == pytest.approx(math.pi * 45 * 20)
    # exact circumference by the complete elliptic integral: 4 a E(1 - b^2/a^2)
    edge = 4.0 * 45.0 * float(ellipe(1.0 - (20.0 / 45.0) ** 2))
    assert cavity.edge_mm[0, 0] == pytest.approx(edge, rel=1e-4)
    assert cavity.closes_mm[0, 0] == 20.0


def test_several_holes_add_their_surfaces_down_to_where_they_join():
    holes = [PourHole(bore=((0.0, 20.0), (30.0, 20.0))), PourHole((60.0, 0.0), ((0.0, 12.0), (30.0, 12.0)))]
    cavity = cut(checked_mould("teapot", [[0, 80], [30, 80], [100, 80]], holes=holes))
    assert cavity.free_mm2(10.0, 2.0) == pytest.approx(math.pi * (8.0**2 + 4.0**2), rel=1e-9)
    assert cavity.free_mm2(60.0, 2.0) == pytest.approx(math.pi * 38.0**2, rel=1e-9)
    # once the small one has shut, the big one is left
    assert cavity.free_mm2(10.0, 7.0) == pytest.approx(math.pi * 3.0**2, rel=1e-9)


def test_a_measured_wetted_area_is_the_whole_then():
    plain = cut(checked_mould("jug", [[0, 60], [20, 50], [60, 80], [100, 60]]))
    told = plain.wetted_mm2(0.0) * 1.2
    cavity = cut(checked_mould("jug", [[0, 60], [20, 50], [60, 80], [100, 60]], wetted_area_mm2=told))
    assert cavity.wetted_mm2(0.0) == pytest.approx(told, rel=1e-9)
    assert cavity.free_mm2(5.0, 1.0) == plain.free_mm2(5.0, 1.0)


def test_a_body_known_by_its_area_alone_is_gathered_below_the_spare():
    mould = MouldProfile("egg cup", ((0.0, 40.0), (20.0, 36.0)), wetted_area_mm2=12000.0)
    assert cut(mould).wetted_mm2(0.0) == pytest.approx(12000.0, rel=1e-9)
