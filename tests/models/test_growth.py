"""The law of growth, with cake and plaster in series and plaster that fills up."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from models.growth import Growth
from models.resistance import (
    PlasterBehind,
    checked_plaster,
    growth_on,
    in_series,
    minutes_for_wall,
    warmed,
)


@given(st.floats(0.1, 10.0), st.floats(0.0, 240.0))
def test_without_skin_or_bend_the_wall_squared_is_k_times_time(k, minutes):
    wall = float(Growth(k / 60.0).wall_mm(60.0 * minutes))
    assert wall**2 == pytest.approx(k * minutes, rel=1e-12, abs=1e-12)


@given(
    st.floats(0.1, 10.0), st.floats(0.0, 2.0), st.floats(0.0, 0.3), st.floats(0.0, 0.5), st.floats(0.0, 15.0)
)
def test_wall_and_time_undo_one_another(k, skin, bend, slope, wall):
    law = Growth(k / 60.0, skin, bend, slope)
    assert float(law.wall_mm(law.seconds(wall))) == pytest.approx(wall, abs=1e-6)


@given(
    st.floats(0.2, 6.0), st.floats(0.0, 1.0), st.floats(0.0, 0.1), st.floats(1.0, 100.0), st.floats(1.0, 2.0)
)
def test_more_time_never_thins_the_wall(k, skin, bend, minutes, factor):
    law = Growth(k / 60.0, skin, bend)
    assert law.wall_mm(60.0 * minutes * factor) >= law.wall_mm(60.0 * minutes) - 1e-9


def test_the_wall_solves_its_own_differential_equation():
    # solve_ivp as an independent integrator of (2L(1 + aL + bL^2) + r) dL/dt = K
    k, r, a, b = 1.2 / 60.0, 0.3, 0.04, 0.02

    def rate(_, y):
        return k / (2 * y * (1 + a * y + b * y**2) + r)

    done = solve_ivp(rate, (0, 1500), [0.0], rtol=1e-9, atol=1e-12)
    assert float(Growth(k, r, b, a).wall_mm(1500.0)) == pytest.approx(done.y[0, -1], rel=1e-6)


def test_cake_and_plaster_in_series_against_figures_worked_by_hand():
    # f 0.293 and S 3.8, 2.0, 0.8: f^2/S^2 = 0.00595, 0.02146, 0.13414 min/mm2 [S27, S13]
    for s, share in ((3.8, 0.00595), (2.0, 0.02146), (0.8, 0.13414)):
        k = in_series(1.0, water_per_cake=0.293, sorptivity_mm_per_sqrt_min=s)
        assert 1.0 / k - 1.0 == pytest.approx(share, abs=6e-6)


def test_a_dry_thick_mould_falls_back_to_the_root_law():
    endless = PlasterBehind(2.0, 1e6)
    k = in_series(1.5, water_per_cake=0.293, sorptivity_mm_per_sqrt_min=2.0)
    for wall in (0.5, 2.0, 6.0):
        minutes = float(minutes_for_wall(wall, endless, k_cake_mm2_per_min=1.5, water_per_cake=0.293))
        assert wall**2 / minutes == pytest.approx(k, rel=1e-3)
    law = growth_on(endless, k_cake_mm2_per_min=1.5, water_per_cake=0.293)
    assert float(law.wall_mm(60.0 * 10.0)) ** 2 / 10.0 == pytest.approx(k, rel=1e-3)


def test_plaster_that_fills_up_against_a_numerical_integral():
    plaster, f, kc = PlasterBehind(1.2, 30.0, free_water=0.02), 0.3, 1.4

    def rate(wall):
        water = 0.02 + f * wall / (30.0 * 1.08)
        return 2.0 * wall * (1.0 / kc + (f / 1.2) ** 2 * (1.0 + water / 0.05) ** 2)

    for wall in (1.0, 3.0, 5.0):
        minutes = float(minutes_for_wall(wall, plaster, k_cake_mm2_per_min=kc, water_per_cake=f))
        assert minutes == pytest.approx(quad(rate, 0.0, wall)[0], rel=1e-9)


def test_the_fit_s_law_takes_the_times_of_cake_on_filling_plaster():
    plaster = PlasterBehind(1.0, 25.0, free_water=0.03)
    law = growth_on(plaster, k_cake_mm2_per_min=1.4, water_per_cake=0.3)
    walls = np.array([0.5, 2.0, 5.0])
    minutes = minutes_for_wall(walls, plaster, k_cake_mm2_per_min=1.4, water_per_cake=0.3)
    assert law.seconds(walls) / 60.0 == pytest.approx(minutes, rel=1e-12)


def test_a_damp_mould_is_slower_and_a_soaked_one_never_gets_there():
    dry, damp = PlasterBehind(1.0, 30.0), PlasterBehind(1.0, 30.0, free_water=0.1)
    both = [float(minutes_for_wall(3.0, p, k_cake_mm2_per_min=2.0, water_per_cake=0.3)) for p in (dry, damp)]
    assert both[1] > both[0]
    soaked = PlasterBehind(1.0, 30.0, free_water=0.37)
    assert np.isinf(minutes_for_wall(3.0, soaked, k_cake_mm2_per_min=2.0, water_per_cake=0.3))


def test_one_cast_loads_the_plaster_as_worked_by_hand():
    # 4 mm at f 0.293 puts 1.17 mm of water into 40 mm of plaster at 1.06: 1.8 casts make 5 % free water
    plaster = PlasterBehind(2.0, 40.0, dry_g_per_ml=1.06)
    assert float(plaster.free_water_after(1.8 * 4.0 * 0.293)) == pytest.approx(0.05, abs=0.001)


@pytest.mark.parametrize(("a", "b", "factor"), [(15, 25, 1.278), (20, 30, 1.256), (20, 15, 0.880)])
def test_warmth_goes_with_the_viscosity_of_water(a, b, factor):
    # ratios of IAPWS95 viscosities 1.1376, 1.0016, 0.8900, 0.7972 mPa s at 15, 20, 25, 30 C [S6]
    assert warmed(1.0, from_c=a, to_c=b) == pytest.approx(factor, abs=0.002)


@pytest.mark.parametrize("bad", [float("nan"), -1.0, 0.0, 1e6])
def test_plaster_that_cannot_be_is_refused(bad):
    with pytest.raises(ValueError, match=r"^thickness_mm is .*; give the plaster's thickness"):
        checked_plaster(sorptivity_mm_per_sqrt_min=2.0, thickness_mm=bad)
