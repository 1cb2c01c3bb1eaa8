"""Truth: plaster data sheets [S10, read], bulletins [S11, S13: read], arithmetic [derived]; beside each."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models import plaster
from models.doors import BadValue

# consistency, wet and dry lb/ft3 [S10, read]
SHEETS = [
    (0.74, 97.6, 66.0),
    (0.70, 99.0, 69.0),
    (0.65, 100.0, 72.5),
    (0.45, 110.6, 90.0),
    (0.38, 115.0, 99.0),
    (0.32, 119.4, 108.7),
]


@pytest.mark.parametrize(("w", "wet", "dry"), SHEETS)
def test_bound_water_alone_tells_the_dry_density(w, wet, dry):
    assert plaster.dry_density_from_wet(wet, w) == pytest.approx(dry, rel=0.015)


@pytest.mark.parametrize(("dry", "capacity", "absorbs"), [(1.06, 0.515, 0.41), (1.10, 0.474, 0.36)])
def test_published_absorption_stays_below_what_the_pores_hold(dry, capacity, absorbs):
    # [S10, S12: derived]; absorption is about 0.8 of the pores
    assert plaster.pore_capacity(dry) == pytest.approx(capacity, rel=0.015)
    assert absorbs < plaster.pore_capacity(dry)
    assert absorbs / plaster.pore_capacity(dry) == pytest.approx(0.78, abs=0.03)


def test_a_soaked_mould_holds_what_the_sheets_print():
    held = plaster.block(10.0).capacity_ml / 1000 / 10.0
    assert 0.36 <= held <= 0.41


def test_five_per_cent_of_free_water_halves_the_thirst():
    assert plaster.thirst(0.0) == 1.0
    assert plaster.thirst(0.05) == pytest.approx(0.5, abs=0.1)  # "about 50 %" [S13, read]
    assert 0.05 < plaster.thirst(0.15) < plaster.thirst(0.05)  # many shops still cast at 15 % [S13, read]


@given(st.floats(0, 0.59), st.floats(1e-4, 0.01))
def test_a_damper_mould_is_never_thirstier(m, more):
    assert plaster.thirst(m + more) < plaster.thirst(m)


def test_one_cast_s_load_and_when_five_per_cent_is_reached():
    # 4 mm, f .293 -> 1.17 kg/m2; 40 mm of plaster 42.4 kg/m2 dry; 5 % after 1.8 casts [derived]
    load = plaster.load_kg_m2(4.0, water_per_cake=0.293)
    assert load == pytest.approx(1.17, abs=0.005)
    assert 0.05 * 0.040 * 1060 / load == pytest.approx(1.8, abs=0.05)


def test_stiffening_gives_another_0_44_kg():
    # w .25 -> .18 at 4 mm [derived]
    extra = plaster.setting_load_kg_m2(
        4.0, cake_solids_fraction=0.60606, solids_sg=2.6, moisture_from=0.25, moisture_to=0.18
    )
    assert extra == pytest.approx(0.44, abs=0.005)


def test_a_cube_of_plaster_has_the_face_of_a_cube():
    # 1.08 kg is one litre: a cube of 0.1 m, 0.06 m2
    assert plaster.block(1.08).drying_m2 == pytest.approx(0.06)


@pytest.mark.parametrize("bad", [math.nan, 0, -1, 1e9, math.inf])
def test_absurd_plaster_is_refused(bad):
    with pytest.raises(BadValue, match=r"^mould's dry weight is .*; give the weight in kg"):
        plaster.block(bad)
    with pytest.raises(BadValue, match=r"^drying face is "):
        plaster.PlasterBlock(3.0, bad)
    with pytest.raises(BadValue, match=r"^wet density is "):
        plaster.dry_density_from_wet(bad, 0.7)
    with pytest.raises(BadValue, match=r"^consistency is "):
        plaster.dry_density_from_wet(1.6, bad)
    with pytest.raises(BadValue, match=r"^dry density is "):
        plaster.pore_capacity(bad)
    if bad != 0:
        with pytest.raises(BadValue, match=r"^free water is "):
            plaster.thirst(bad)


def test_a_wall_cannot_get_wetter_by_stiffening():
    with pytest.raises(BadValue, match=r"moisture after is 0.3"):
        plaster.setting_load_kg_m2(
            4.0, cake_solids_fraction=0.6, solids_sg=2.6, moisture_from=0.25, moisture_to=0.30
        )
