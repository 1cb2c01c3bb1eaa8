"""The volume balance: closed at every step, against finer integrations of its own and closed forms."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from models.balance import clocks_when_poured, sink
from models.cavity import CORNER_LOSS, cut
from models.mould import PourHole, checked_mould

VASE = ((0.0, 46.0), (20.0, 40.0), (34.0, 31.0), (66.0, 72.0), (100.0, 79.0), (124.0, 70.0), (138.0, 54.0))


def _fine_grid(bore, n=6000):
    edges = np.linspace(0.0, bore[-1][0], n + 1)
    z = 0.5 * (edges[1:] + edges[:-1])
    depths, radii = [row[0] for row in bore], [row[1] / 2.0 for row in bore]
    lean = np.empty(n)
    for (d0, w0), (d1, w1) in itertools.pairwise(bore):
        here = (z >= d0) & (z < d1)
        lean[here] = math.hypot(d1 - d0, 0.5 * (w1 - w0)) / (d1 - d0)
    return z, np.interp(z, depths, radii), lean, bore[-1][0] / n


def _volumes(bore, run, cavity, row):
    """Slip below the level and cake everywhere, summed anew on 6000 slices of the test's own."""
    z, radius, lean, dz = _fine_grid(bore)
    clock = np.interp(z, cavity.depths_mm, run.clocks_mm2)
    passed = np.interp(z, run.level_mm, np.sqrt(run.growth_mm2), left=0.0, right=np.inf) ** 2
    passed = np.where(z > run.level_mm[-1], np.inf, passed)
    ring = np.sqrt(np.minimum(run.growth_mm2[row], passed) + clock) * lean
    free = math.pi * (radius - ring) ** 2
    floor_wall = math.sqrt(run.growth_mm2[row] + run.clocks_mm2[-1])
    floor_ring = floor_wall * lean[-1]
    corner = math.pi * (radius[-1] ** 2 - (radius[-1] - floor_ring) ** 2)
    floor = (math.pi * radius[-1] ** 2 - CORNER_LOSS * corner) * floor_wall
    below = np.clip((z - run.level_mm[row]) / dz + 0.5, 0.0, 1.0)
    cake = float(((math.pi * radius**2 - free) * dz).sum()) + floor
    return float((free * below * dz).sum()) - floor, cake


@settings(max_examples=25, deadline=None)
@given(
    mouth=st.floats(24.0, 110.0),
    neck=st.floats(0.7, 1.0),
    belly=st.floats(1.0, 2.2),
    foot=st.floats(0.6, 1.0),
    height=st.floats(60.0, 180.0),
    level=st.floats(0.5, 8.0),
    pour=st.floats(0.05, 1.5),
    f=st.floats(0.12, 0.5),
)
def test_what_slip_loses_is_cake_and_its_water_at_every_step(
    mouth, neck, belly, foot, height, level, pour, f
):
    wide = mouth * max(1.0, belly)
    bore = ((0.0, mouth), (25.0, mouth * neck), (25.0 + 0.4 * height, wide), (25.0 + height, wide * foot))
    cavity = cut(checked_mould("any", bore))
    clocks = clocks_when_poured(cavity, level, pour)
    most = min(4.0, 0.35 * mouth * neck / 2.0) ** 2
    run = sink(cavity, level_mm=level, clocks_mm2=clocks, water_per_cake=f, most_mm2=most)
    slip_0, cake_0 = _volumes(bore, run, cavity, 0)
    total = f * (_volumes(bore, run, cavity, len(run.level_mm) - 1)[1] - cake_0)
    for row in range(0, len(run.level_mm), 12):
        slip, cake = _volumes(bore, run, cavity, row)
        water = slip_0 - slip - (cake - cake_0)
        assert water == pytest.approx(f * (cake - cake_0), abs=1e-3 * total)


def test_a_cylinder_against_an_integrator_of_its_own():
    # one clock everywhere: (R - L)^2 dz = f d[(R^2 - (R-L)^2)(H - z) + floor L] below the level
    cavity = cut(checked_mould("tube", [[0, 60], [100, 60]]))
    clocks = np.full(len(cavity.depths_mm), 0.25)
    run = sink(cavity, level_mm=3.0, clocks_mm2=clocks, water_per_cake=0.3, most_mm2=30.0)

    def slope(wall, level):
        side = 2.0 * (30.0 - wall) * (100.0 - level[0])
        corner = 2.0 * (30.0 - wall) * wall + 30.0**2 - (30.0 - wall) ** 2
        return [0.3 * (side + 30.0**2 - CORNER_LOSS * corner) / (30.0 - wall) ** 2]

    walls = np.sqrt(run.growth_mm2 + 0.25)
    done = solve_ivp(slope, (walls[0], walls[-1]), [3.0], t_eval=walls, rtol=1e-10, atol=1e-10)
    drop = done.y[0] - 3.0
    assert np.abs(run.level_mm - done.y[0]).max() < 1e-3 * drop[-1]


def test_a_cone_against_an_integrator_of_its_own():
    cavity = cut(checked_mould("cone", [[0, 90], [120, 50]]))
    lean = math.hypot(120.0, 20.0) / 120.0
    clocks = np.full(len(cavity.depths_mm), 0.25)
    run = sink(cavity, level_mm=3.0, clocks_mm2=clocks, water_per_cake=0.3, most_mm2=30.0)

    def slope(wall, level):
        # side: integral from z to H of 2 (r - ring) lean dz; r falls from 45 to 25
        z, ring = level[0], wall * lean
        r_z = 45.0 - z / 6.0
        side = 2.0 * lean * (120.0 - z) * (0.5 * (r_z + 25.0) - ring)
        corner = 25.0**2 - (25.0 - ring) ** 2 + 2.0 * (25.0 - ring) * lean * wall
        return [0.3 * (side + 25.0**2 - CORNER_LOSS * corner) / (r_z - ring) ** 2]

    walls = np.sqrt(run.growth_mm2 + 0.25)
    done = solve_ivp(slope, (walls[0], walls[-1]), [3.0], t_eval=walls, rtol=1e-10, atol=1e-10)
    assert np.abs(run.level_mm - done.y[0]).max() < 1e-3 * (done.y[0, -1] - 3.0)


def test_a_wide_flat_cavity_under_a_narrow_hole_sinks_by_the_flat_wall_sum():
    # h = f L A / a: f 0.29293, L 4 mm, A/a 20 makes 23.4 mm (worked by hand). A dish so wide that its wall is
    # flat, an open hole that no cake narrows: here a wall of 0.04 mm, so a hundredth of the figure.
    bore = [[0, 200], [60, 200], [260, 700], [300, 700]]
    cavity = cut(checked_mould("dish", bore))
    a, whole = math.pi * 100.0**2, cavity.wetted_mm2(1.0)
    clocks = np.zeros(len(cavity.depths_mm))
    run = sink(cavity, level_mm=1.0, clocks_mm2=clocks, water_per_cake=0.29293, most_mm2=0.04**2)
    assert run.level_mm[-1] - 1.0 == pytest.approx(0.29293 * 0.04 * whole / a, rel=2e-3)
    assert 0.29293 * 4.0 * 20.0 == pytest.approx(23.4, abs=0.05)


def test_two_holes_share_the_drop_between_them():
    one = PourHole(bore=((0.0, 24.0), (30.0, 24.0)))
    two = PourHole((50.0, 0.0), ((0.0, 24.0), (30.0, 24.0)))
    body = [[0, 90], [30, 90], [120, 90]]
    drops, areas = [], []
    for holes in ([one], [one, two]):
        cavity = cut(checked_mould("teapot", body, holes=holes))
        clocks = np.full(len(cavity.depths_mm), 0.25)
        run = sink(cavity, level_mm=2.0, clocks_mm2=clocks, water_per_cake=0.3, most_mm2=0.04)
        drops.append(run.level_mm[-1] - 2.0)
        areas.append(cavity.wetted_mm2(2.0))
    # by hand: twice the free surface, and the second hole's own wall (pi 24 28 mm2) more to drink
    assert areas[1] - areas[0] == pytest.approx(math.pi * 24 * 28, rel=1e-6)
    assert drops[1] / drops[0] == pytest.approx(0.5 * areas[1] / areas[0], rel=0.01)


def test_the_ring_closes_a_narrow_hole_and_the_drop_speeds_up():
    cavity = cut(checked_mould("tube", [[0, 24], [140, 24]]))
    clocks = np.full(len(cavity.depths_mm), 0.01)
    run = sink(cavity, level_mm=2.0, clocks_mm2=clocks, water_per_cake=0.3, most_mm2=8.0**2)
    wall, level = np.sqrt(run.growth_mm2), run.level_mm
    early = np.interp(2.0, wall, level) - np.interp(1.5, wall, level)
    late = np.interp(6.0, wall, level) - np.interp(5.5, wall, level)
    # drop per mm of wall goes with (12-L)(H-z)/(12-L)^2: the ring narrows the hole faster than the wall
    assert late > 1.2 * early


def test_a_neck_under_a_wide_spare_freezes_shut_when_its_radius_is_full_of_cake():
    bore = [[0, 60], [30, 60], [40, 16], [50, 16], [70, 40], [100, 40]]
    cavity = cut(checked_mould("ampoule", bore))
    clocks = clocks_when_poured(cavity, 2.0, 0.3)
    run = sink(cavity, level_mm=2.0, clocks_mm2=clocks, water_per_cake=0.3, most_mm2=81.0)
    # neck of 8 mm radius, upright wall: L = 8 mm, so growth since full is 64 mm2 less the neck's own clock
    at_neck = float(np.interp(50.0, cavity.depths_mm, clocks))
    assert run.shut_mm2 == pytest.approx(64.0 - at_neck, rel=2e-3)
    assert run.level_mm[-1] < 40.0


def test_an_open_tube_never_shuts_before_its_slip_is_gone():
    cavity = cut(checked_mould("planter", [[0, 200], [60, 200]]))
    clocks = clocks_when_poured(cavity, 2.0, 0.2)
    run = sink(cavity, level_mm=2.0, clocks_mm2=clocks, water_per_cake=0.3, most_mm2=64.0)
    assert math.isinf(run.shut_mm2)


def test_cake_left_above_the_level_stays_as_it_was():
    cavity = cut(checked_mould("vase", VASE))
    run = sink(
        cavity,
        level_mm=3.0,
        clocks_mm2=clocks_when_poured(cavity, 3.0, 0.4),
        water_per_cake=0.3,
        most_mm2=9.0,
    )
    at_15 = np.interp(15.0, run.level_mm, run.growth_mm2)  # growth when the level sank past 15 mm
    clocks = run.clocks_at(9.0)
    depth = int(np.searchsorted(cavity.depths_mm, 15.0))
    assert clocks[depth] == pytest.approx(at_15 + run.clocks_mm2[depth], rel=0.05)
    assert clocks[-1] == pytest.approx(9.0 + 0.4)


def test_a_top_up_restarts_the_drop_and_not_the_growth():
    cavity = cut(checked_mould("vase", VASE))
    first = sink(
        cavity,
        level_mm=3.0,
        clocks_mm2=clocks_when_poured(cavity, 3.0, 0.4),
        water_per_cake=0.3,
        most_mm2=9.0,
    )
    again = sink(cavity, level_mm=3.0, clocks_mm2=first.clocks_at(4.0), water_per_cake=0.3, most_mm2=5.0)
    assert again.level_mm[0] == 3.0
    assert again.wall_mm[0] == pytest.approx(np.interp(4.0, first.growth_mm2, first.wall_mm), abs=0.01)
    assert again.wall_mm[-1] == pytest.approx(np.interp(9.0, first.growth_mm2, first.wall_mm), abs=0.01)
    fast, slow = first.level_mm[20] - 3.0, again.level_mm[20] - 3.0
    assert slow < fast  # an old cake drinks more slowly


def test_a_level_above_the_rim_is_taken_as_a_full_hole():
    cavity = cut(checked_mould("vase", VASE))
    run = sink(
        cavity,
        level_mm=-0.5,
        clocks_mm2=clocks_when_poured(cavity, -0.5, 0.4),
        water_per_cake=0.3,
        most_mm2=4.0,
    )
    assert np.all(np.isfinite(run.level_mm))
    assert np.all(np.diff(run.level_mm) > 0.0)
