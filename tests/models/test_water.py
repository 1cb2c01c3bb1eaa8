"""Truth: IAPWS R12-08 Table 4 [S6, read]; package iapws (IAPWS95) run beside the code [S6]."""

import math
import warnings

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models import water
from models.doors import BadValue


@pytest.mark.parametrize(
    ("kelvin", "kg_m3", "upa_s"),
    [(298.15, 998.0, 889.735100), (373.15, 1000.0, 307.883622)],  # IAPWS R12-08 Table 4 [read]
)
def test_viscosity_holds_the_release_s_own_check_values(kelvin, kg_m3, upa_s):
    assert water.viscosity_pa_s(kelvin, kg_m3) * 1e6 == pytest.approx(upa_s, rel=1e-8)


# iapws 1.5.5, IAPWS95, 101.325 kPa [run]
TABLE = [
    (5, 999.967, 1.5182),
    (10, 999.702, 1.3059),
    (15, 999.103, 1.1376),
    (20, 998.207, 1.0016),
    (25, 997.048, 0.8900),
    (30, 995.649, 0.7972),
    (40, 992.216, 0.6527),
    (45, 990.213, 0.5958),
]


@pytest.mark.parametrize(("t_c", "rho", "mu"), TABLE)
def test_density_and_viscosity_agree_with_the_table(t_c, rho, mu):
    assert water.density_kg_m3(t_c) == pytest.approx(rho, rel=1e-5)
    assert water.viscosity_mpa_s(t_c) == pytest.approx(mu, abs=6e-5)


def test_density_agrees_with_the_reference_library_between_the_table_s_points():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from iapws import IAPWS95

        for t_c in (1.0, 18.3, 33.7, 59.0):
            there = IAPWS95(T=t_c + 273.15, P=0.101325)
            assert water.density_kg_m3(t_c) == pytest.approx(there.rho, rel=1e-4)
            assert water.viscosity_mpa_s(t_c) == pytest.approx(there.mu * 1e3, rel=1e-3)


@pytest.mark.parametrize(("a", "b", "ratio"), [(15, 25, 1.278), (20, 30, 1.256), (20, 15, 0.88)])  # derived
def test_a_warmer_bench_casts_faster(a, b, ratio):
    assert water.speed_ratio(a, b) == pytest.approx(ratio, abs=0.002)


@given(st.floats(0, 99), st.floats(0.01, 1))
def test_warming_always_speeds_casting(t_c, step):
    assert water.speed_ratio(t_c, t_c + step) > 1


@pytest.mark.parametrize("bad", [math.nan, -1, 101, math.inf, "warm"])
def test_absurd_temperatures_are_refused(bad):
    with pytest.raises(BadValue, match=r"water temperature is .*; give water's temperature in C, 0 to 100"):
        water.density_kg_m3(bad)


@pytest.mark.parametrize("bad", [math.nan, -1, 0])
def test_viscosity_refuses_what_is_no_state_of_water(bad):
    with pytest.raises(BadValue, match="temperature_k"):
        water.viscosity_pa_s(bad, 998)
    with pytest.raises(BadValue, match="density_kg_m3"):
        water.viscosity_pa_s(298, bad)
