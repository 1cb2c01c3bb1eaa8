"""Truth: ASHRAE 2017 by way of psychrolib's own tests [S7, read]; psychrolib 2.5.0 run beside the code."""

import math
import warnings

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models import air
from models.doors import BadValue


@pytest.fixture(scope="module")
def psychrolib():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import psychrolib as lib
    lib.SetUnitSystem(lib.SI)
    return lib


@pytest.mark.parametrize(("t_c", "pa"), [(5, 872.6), (25, 3169.7), (50, 12351.3)])  # [read]
def test_saturation_pressure_agrees_with_the_table(t_c, pa):
    assert air.saturation_pa(t_c) == pytest.approx(pa, rel=3e-4)


def test_the_handbook_s_first_example():
    # 40 C dry, 20 C wet bulb, 101.325 kPa: W .0065, dew point 7 C, RH 14 %, h 56.7 kJ/kg, v .896 [read]
    w = air.humidity_ratio_from_wet_bulb(40, 20, 101325)
    rh = air.relative_humidity(40, w, 101325)
    assert w == pytest.approx(0.0065, abs=1e-4)
    assert rh == pytest.approx(0.14, abs=0.01)
    assert air.enthalpy_kj_kg(40, w) == pytest.approx(56.7, abs=0.1)
    assert air.volume_m3_kg(40, w, 101325) == pytest.approx(0.896, abs=0.001)
    assert air.dew_point_c(air.Room(40, rh)) == pytest.approx(7, abs=0.5)


@pytest.mark.parametrize(
    ("t_c", "rh", "w", "wet", "dew"),
    [(20, 0.5, 0.007262, 13.78, 9.27), (25, 0.5, 0.009881, 17.89, 13.86), (45, 0.3, 0.018182, 28.69, 23.39)],
)  # psychrolib 2.5.0 [run]
def test_room_points(t_c, rh, w, wet, dew):
    room = air.Room(t_c, rh)
    assert air.humidity_ratio(t_c, rh, 101325) == pytest.approx(w, abs=1e-6)
    assert air.wet_bulb_c(room) == pytest.approx(wet, abs=0.01)
    assert air.dew_point_c(room) == pytest.approx(dew, abs=0.01)


@settings(max_examples=60, deadline=None)
@given(t_c=st.floats(8, 55), rh=st.floats(0.2, 1.0), p=st.floats(8e4, 1.05e5))
def test_any_room_agrees_with_the_reference_library(psychrolib, t_c, rh, p):
    room = air.Room(t_c, rh, pressure_pa=p)
    w = air.humidity_ratio(t_c, rh, p)
    assert w == pytest.approx(psychrolib.GetHumRatioFromRelHum(t_c, rh, p), rel=1e-5)
    wet_there = psychrolib.GetTWetBulbFromRelHum(t_c, rh, p)
    if wet_there > 0.5:
        assert air.wet_bulb_c(room) == pytest.approx(wet_there, abs=0.005)
    dew_there = psychrolib.GetTDewPointFromRelHum(t_c, rh)
    if dew_there > 0.5:
        assert air.dew_point_c(room) == pytest.approx(dew_there, abs=0.005)


def test_still_room_dries_at_the_published_order():
    # 20 C, 50 %, still air, surface at wet bulb: about 0.065 kg/m2h [S22, derived]; the rule is doubted: 10 %
    assert air.evaporation_kg_m2_h(air.Room(20, 0.5, air_speed_m_s=0)) == pytest.approx(0.065, rel=0.1)


@given(t_c=st.floats(5, 45), rh=st.floats(0, 0.98))
def test_drier_air_never_dries_slower_and_full_air_not_at_all(t_c, rh):
    damp = air.evaporation_kg_m2_h(air.Room(t_c, rh + 0.02))
    dry = air.evaporation_kg_m2_h(air.Room(t_c, rh))
    assert dry > damp > -1e-8  # the wet bulb is found to a nanokelvin


def test_saturated_air_dries_nothing():
    assert air.evaporation_kg_m2_h(air.Room(20, 1.0)) == pytest.approx(0, abs=1e-6)
    assert air.dew_point_c(air.Room(20, 0.0)) == 0.01


@pytest.mark.parametrize(
    ("field", "room"),
    [
        ("room temperature", {"temperature_c": math.nan, "relative_humidity": 0.5}),
        ("room temperature", {"temperature_c": 200.0, "relative_humidity": 0.5}),
        ("room temperature", {"temperature_c": -3.0, "relative_humidity": 0.5}),
        ("room humidity", {"temperature_c": 20.0, "relative_humidity": 50}),
        ("room humidity", {"temperature_c": 20.0, "relative_humidity": -0.1}),
        ("air speed", {"temperature_c": 20.0, "relative_humidity": 0.5, "air_speed_m_s": -1.0}),
        ("air pressure", {"temperature_c": 20.0, "relative_humidity": 0.5, "pressure_pa": 1013.0}),
    ],
)
def test_absurd_rooms_are_refused_in_one_sentence(field, room):
    with pytest.raises(BadValue, match=f"^{field} is .*; give "):
        air.Room(**room)


def test_a_wet_bulb_cannot_stand_above_the_dry_one():
    with pytest.raises(BadValue, match="wet bulb is 21; give at most the dry bulb's 20 C"):
        air.humidity_ratio_from_wet_bulb(20, 21, 101325)
    with pytest.raises(BadValue, match="less far below"):
        air.humidity_ratio_from_wet_bulb(40, 2, 101325)
